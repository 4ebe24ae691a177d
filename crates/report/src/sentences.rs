//! Sentences to paste: what a paper, a notebook and a certificate say of a result.

use crate::error::ReportError;
use crate::language::{Locale, fill};
use crate::model::{Convention, Decision, MeltingResult, Outcome, Report, SignOff, Standing};
use crate::options::ReportOptions;
use crate::view::{convention, outcome_in_words, range_text};

/// Sentences from one result, each complete in itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sentences {
    /// For the experimental part of a paper, e.g. `mp 121.6–122.4 °C (corrected, 1.02 °C/min)`.
    pub journal: String,
    /// For a notebook: with runs, uncertainties and who.
    pub notebook: String,
    /// For a certificate: convention, uncertainty with k, and the requirement.
    pub certificate: String,
}

/// Sentences to paste. Each says whether the temperatures are corrected, at which rate, and the last two
/// whether they are signed off.
///
/// # Errors
/// [`ReportError::Standing`] where the report is signed off and must not be shown as such.
pub fn sentences(report: &Report, options: &ReportOptions) -> Result<Sentences, ReportError> {
    let locale = Locale::new(options.language, options.dates);
    let standing = report.standing()?;
    let teller = Sayer {
        report,
        locale: &locale,
        standing,
    };
    Ok(Sentences {
        journal: teller.journal(),
        notebook: teller.notebook(),
        certificate: teller.certificate(),
    })
}

struct Sayer<'a> {
    report: &'a Report,
    locale: &'a Locale,
    standing: Standing,
}

impl Sayer<'_> {
    fn result(&self) -> Option<(&MeltingResult, String)> {
        let result = self.report.result.as_ref()?;
        Some((result, range_text(result, self.locale)?))
    }

    /// Why there is no result, as the report says it.
    fn no_result(&self) -> String {
        let words = self.locale.words;
        let because = self
            .report
            .no_result_because
            .as_deref()
            .unwrap_or(words.no_result_reason);
        format!("{}: {because}", words.no_result)
    }

    fn journal(&self) -> String {
        let words = self.locale.words;
        let Some((result, range)) = self.result() else {
            return self.no_result();
        };
        let mut marks = vec![self.correction(result)];
        marks.extend(
            result
                .heating_rate_c_per_min
                .map(|rate| self.locale.rate(rate)),
        );
        let mut text = format!("{} {range}", words.mp_journal);
        for mark in self.trouble() {
            text = format!("{text} ({mark})");
        }
        format!("{text} ({})", marks.join(", "))
    }

    fn notebook(&self) -> String {
        let words = self.locale.words;
        let report = self.report;
        let name = format!("{} {}: ", words.sample, report.sample.label);
        let Some((result, range)) = self.result() else {
            return format!("{name}{}", self.no_result());
        };
        let mut marks = vec![self.correction(result)];
        marks.extend(self.trouble().into_iter().map(str::to_owned));
        marks.extend(
            result
                .heating_rate_c_per_min
                .map(|rate| fill(words.rate_of, &[("r", &self.locale.rate(rate))])),
        );
        marks.push(self.runs());
        marks.extend(self.uncertainty(result));
        let mut tail: Vec<String> = Vec::new();
        tail.extend(report.people.first().map(|person| person.name.clone()));
        tail.push(self.locale.date(report.made.local().date()));
        tail.push(self.signed());
        format!(
            "{name}{} {range} ({}). {}.",
            words.mp_notebook,
            marks.join("; "),
            tail.join(", ")
        )
    }

    fn certificate(&self) -> String {
        let words = self.locale.words;
        let report = self.report;
        let Some((result, range)) = self.result() else {
            return format!("{}: {}", words.melting_range, self.no_result());
        };
        let mut marks = vec![
            words.capillary.to_owned(),
            convention(result.convention, self.locale),
        ];
        marks.extend(self.trouble().into_iter().map(str::to_owned));
        let mut text = format!("{} ({}): {range}", words.melting_range, marks.join("; "));
        let parts = self.uncertainty(result).into_iter().chain(
            result
                .first_liquid
                .or(result.last_crystal)
                .map(|end| format!("k = {}", self.locale.number(end.coverage_factor, 1))),
        );
        for part in parts {
            text.push_str("; ");
            text.push_str(&part);
        }
        text.push('.');
        if let Some(required) = &report.specification {
            let limits = self.locale.limits(required.from_c, required.to_c);
            let decision = match required.decision {
                Decision::Meets => words.meets,
                Decision::DoesNotMeet => words.does_not_meet,
                Decision::CannotBeDecided => words.cannot_be_decided,
            };
            let asked = fill(words.required, &[("range", &limits)]);
            text.push_str(&format!(" {}: {asked}; {decision}.", words.specification));
        }
        format!(
            "{text} {} {}, {}.",
            words.report,
            report.number,
            self.signed()
        )
    }

    /// The mark that every temperature carries.
    fn correction(&self, result: &MeltingResult) -> String {
        let words = self.locale.words;
        match result.convention {
            Convention::AsLogged => words.uncorr,
            Convention::Thermodynamic => words.corr_thermodynamic,
            Convention::AtRate { .. } => words.corr,
            Convention::NotStated => words.corr_not_stated,
        }
        .to_owned()
    }

    /// Decomposition and sublimation of tubes that the result rests on.
    fn trouble(&self) -> Vec<&'static str> {
        let words = self.locale.words;
        let met = |outcome: Outcome| {
            self.report
                .runs
                .iter()
                .any(|run| run.used && run.outcome == outcome)
        };
        let mut marks = Vec::new();
        if met(Outcome::Decomposed) {
            marks.push(words.dec);
        }
        if met(Outcome::Sublimed) {
            marks.push(words.subl);
        }
        if met(Outcome::PartlyMelted) {
            marks.push(outcome_in_words(Outcome::PartlyMelted, words));
        }
        marks
    }

    fn runs(&self) -> String {
        let words = self.locale.words;
        match &self.report.agreement {
            Some(found) if found.spread_c.is_some() && found.runs_used > 1 => {
                let text = if found.agreed {
                    words.runs_agree_short
                } else {
                    words.runs_disagree_short
                };
                fill(text, &[("count", &found.runs_used.to_string())])
            }
            _ => words.one_run_short.to_owned(),
        }
    }

    fn uncertainty(&self, result: &MeltingResult) -> Option<String> {
        let (first, last) = (result.first_liquid?, result.last_crystal?);
        let text = |expanded_c: f64| {
            let number = self.locale.uncertainty(expanded_c);
            self.locale.with_unit(&number, "°C")
        };
        Some(fill(
            self.locale.words.u_short,
            &[
                ("first", &text(first.expanded_uncertainty_c)),
                ("last", &text(last.expanded_uncertainty_c)),
            ],
        ))
    }

    fn signed(&self) -> String {
        let words = self.locale.words;
        match (&self.report.sign_off, self.standing) {
            (SignOff::Reviewed { by, when, .. }, Standing::Signed) => {
                let when = self.locale.date(when.local().date());
                fill(words.signed_short, &[("by", by), ("when", &when)])
            }
            _ => words.draft_short.to_owned(),
        }
    }
}
