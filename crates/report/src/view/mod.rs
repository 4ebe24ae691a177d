//! A report in words: everything as texts in the order in which they are read. PDF and HTML show the same.

mod conclusions;
mod facts;
mod runs;

use crate::language::{Locale, fill};
use crate::model::{
    Chain, ChangedSince, Convention, Meaning, MeltingResult, Report, SignOff, Stamp, Standing,
};
use crate::pictures::{Asset, decoded};
use crate::warnings::Warning;
use conclusions::sentence;
pub(crate) use runs::outcome_in_words;
use serde::Serialize;

/// A report in words.
#[derive(Debug, Serialize)]
pub(crate) struct View {
    pub number: String,
    pub sample: String,
    pub title: &'static str,
    pub letterhead: LetterheadView,
    pub meta: Vec<Fact>,
    pub banners: Vec<Banner>,
    pub watermark: Option<&'static str>,
    pub result_title: &'static str,
    pub headline: String,
    pub headline_notes: Vec<String>,
    pub has_range: bool,
    pub ends: Option<Table>,
    pub result_lines: Vec<String>,
    pub groups: Vec<Group>,
    pub runs_title: &'static str,
    pub runs_note: Option<&'static str>,
    pub runs: Vec<runs::RunView>,
    pub sections: Vec<Section>,
    pub closing: Vec<Group>,
    /// Records and SHA-256 digests, by which what is reported is found again.
    pub digests: Group,
    pub pictures_title: &'static str,
    /// For the overview of a batch: what the temperatures are and what was decided.
    pub summary: String,
    pub definitions: Vec<&'static str>,
}

#[derive(Debug, Serialize)]
pub(crate) struct LetterheadView {
    pub name: String,
    pub lines: Vec<String>,
    pub logo: Option<String>,
    pub note: Option<&'static str>,
}

/// A name and what it is.
#[derive(Debug, Serialize)]
pub(crate) struct Fact {
    pub name: String,
    pub value: String,
    /// Whether it is a digest: set in figures of one width, broken anywhere.
    pub digest: bool,
}

/// A line that nobody may overlook.
#[derive(Debug, Serialize)]
pub(crate) struct Banner {
    pub kind: BannerKind,
    pub text: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum BannerKind {
    Draft,
    Signed,
    Altered,
    Caution,
}

#[derive(Debug, Serialize)]
pub(crate) struct Group {
    pub title: &'static str,
    pub facts: Vec<Fact>,
}

#[derive(Debug, Default, Serialize)]
pub(crate) struct Section {
    pub title: &'static str,
    pub strong: Option<String>,
    pub lines: Vec<String>,
    pub table: Option<Table>,
    /// Whether it is running text of any length.
    pub long: bool,
}

/// Cells as texts; the first of each row names it.
#[derive(Debug, Default, Serialize)]
pub(crate) struct Table {
    pub name: String,
    /// Heads over several columns each, with how many; empty for none.
    pub over: Vec<(String, usize)>,
    pub head: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

impl Fact {
    pub fn new(name: &str, value: impl Into<String>) -> Self {
        Self {
            name: name.to_owned(),
            value: value.into(),
            digest: false,
        }
    }

    pub fn digest(name: &str, value: impl Into<String>) -> Self {
        Self {
            digest: true,
            ..Self::new(name, value)
        }
    }
}

/// Puts a report into words; pictures go to `assets`, doubts to `warnings`.
pub(crate) struct Teller<'a> {
    pub report: &'a Report,
    pub locale: &'a Locale,
    pub standing: Standing,
    /// Which report of the document it is; parts the paths of its pictures from those of others.
    pub index: usize,
    pub assets: &'a mut Vec<Asset>,
    pub warnings: &'a mut Vec<Warning>,
}

impl Teller<'_> {
    pub fn view(mut self) -> View {
        let report = self.report;
        let words = self.locale.words;
        let before = self.locale.not_numbers();
        let letterhead = self.letterhead();
        let (headline, headline_notes) = self.headline();
        let runs = self.runs();
        let sections = self.sections();
        let decided = sections
            .iter()
            .filter(|section| section.title != words.purity)
            .filter_map(|section| section.strong.clone());
        let summary: Vec<String> = headline_notes.iter().cloned().chain(decided).collect();
        let mut view = View {
            summary: summary.join("; "),
            number: report.number.clone(),
            sample: report.sample.label.clone(),
            title: words.title,
            letterhead,
            meta: self.meta(),
            banners: self.banners(),
            watermark: (self.standing == Standing::Draft).then_some(words.draft),
            result_title: words.result,
            has_range: report.result.as_ref().is_some_and(has_range),
            headline,
            headline_notes,
            ends: self.ends(),
            result_lines: self.result_lines(),
            groups: self.groups(),
            runs_title: words.runs,
            runs_note: report.runs.is_empty().then_some(words.no_runs),
            runs,
            sections,
            closing: self.closing(),
            digests: self.digests(),
            pictures_title: words.pictures,
            definitions: vec![words.first_liquid_means, words.last_crystal_means],
        };
        // The curve and the tables may meet the same value twice: counted is what is printed.
        let missing = self.locale.not_numbers() - before;
        if missing > 0 {
            let text = fill(words.bad_numbers, &[("count", &missing.to_string())]);
            view.banners.push(Banner {
                kind: BannerKind::Caution,
                text,
            });
            self.warnings.push(Warning::NotNumbers {
                report: report.number.clone(),
                count: missing,
            });
        }
        view
    }

    fn letterhead(&mut self) -> LetterheadView {
        let head = &self.report.letterhead;
        let logo = head.logo.as_deref().map(|file| self.add_picture(file));
        let unreadable = matches!(logo, Some(None));
        if unreadable {
            self.warnings.push(Warning::Logo {
                report: self.report.number.clone(),
            });
        }
        LetterheadView {
            name: head.name.clone(),
            lines: head.lines.clone(),
            logo: logo.flatten(),
            note: unreadable.then_some(self.locale.words.logo_missing),
        }
    }

    /// The path of a picture that can be shown.
    fn add_picture(&mut self, file: &[u8]) -> Option<String> {
        let (bytes, media_type, ending) = decoded(file)?;
        Some(self.add_asset(bytes, media_type, ending))
    }

    fn add_asset(
        &mut self,
        bytes: typst::foundations::Bytes,
        media_type: &'static str,
        ending: &str,
    ) -> String {
        let path = format!("/{}/{}.{ending}", self.index, self.assets.len());
        self.assets.push(Asset {
            path: path.clone(),
            media_type,
            bytes,
        });
        path
    }

    fn meta(&self) -> Vec<Fact> {
        let words = self.locale.words;
        vec![
            Fact::new(words.report, &self.report.number),
            Fact::new(words.made, self.locale.time(self.report.made)),
            Fact::new(words.book, &self.report.book),
        ]
    }

    fn banners(&self) -> Vec<Banner> {
        let words = self.locale.words;
        let mut banners = Vec::new();
        let (kind, text) = match (&self.report.sign_off, self.standing) {
            (
                SignOff::Reviewed {
                    by, when, meaning, ..
                },
                Standing::Signed,
            ) => {
                let when = self.locale.time(*when);
                let mut text = fill(words.signed, &[("by", by), ("when", &when)]);
                text = format!(
                    "{text} {}: {}",
                    words.meaning,
                    sentence(self.meaning(*meaning))
                );
                (BannerKind::Signed, text)
            }
            _ => {
                let told = self.no_longer();
                let text = told.unwrap_or_else(|| words.draft_banner.to_owned());
                (BannerKind::Draft, text)
            }
        };
        banners.push(Banner { kind, text });
        match &self.report.chain {
            Chain::Verified { .. } => {}
            Chain::NotVerified => banners.push(Banner {
                kind: BannerKind::Caution,
                text: words.chain_not_verified.to_owned(),
            }),
            Chain::Broken { found } => banners.push(Banner {
                kind: BannerKind::Altered,
                text: fill(words.chain_broken, &[("found", found)]),
            }),
        }
        banners
    }

    /// What a signature means.
    fn meaning(&self, meaning: Meaning) -> &'static str {
        match meaning {
            Meaning::Reviewed => self.locale.words.meaning_reviewed,
            Meaning::ReviewedAndApproved => self.locale.words.meaning_approved,
        }
    }

    /// Who signed when, and why it no longer counts; none where that is not so.
    fn no_longer(&self) -> Option<String> {
        let words = self.locale.words;
        match &self.report.sign_off {
            SignOff::Draft | SignOff::Reviewed { .. } => None,
            SignOff::Withdrawn { by, when, reason } => {
                let because = fill(words.taken_back, &[("reason", reason.trim())]);
                Some(self.outdated(by, *when, &because))
            }
            SignOff::Outdated { by, when, changed } => {
                let changed: Vec<&str> = changed
                    .iter()
                    .map(|what| match what {
                        ChangedSince::Sample => words.changed_sample,
                        ChangedSince::Readings => words.changed_readings,
                        ChangedSince::Result => words.changed_result,
                        ChangedSince::Verdict => words.changed_verdict,
                    })
                    .collect();
                Some(self.outdated(by, *when, &changed.join("; ")))
            }
        }
    }

    fn outdated(&self, by: &str, when: Stamp, because: &str) -> String {
        let words = self.locale.words;
        let told = |text: &str| match text.trim() {
            "" => words.not_noted.to_owned(),
            text => text.to_owned(),
        };
        fill(
            words.outdated,
            &[
                ("by", &told(by)),
                ("when", &self.locale.time(when)),
                ("because", &sentence(&told(because))),
            ],
        )
    }

    fn headline(&self) -> (String, Vec<String>) {
        let words = self.locale.words;
        let report = self.report;
        let Some((result, range)) = report
            .result
            .as_ref()
            .and_then(|result| Some((result, range_text(result, self.locale)?)))
        else {
            let because = report
                .no_result_because
                .as_deref()
                .unwrap_or(words.no_result_reason);
            return (words.no_result.to_owned(), vec![because.to_owned()]);
        };
        let mut notes = vec![convention(result.convention, self.locale)];
        if let Some(rate) = result.heating_rate_c_per_min {
            notes.push(fill(words.rate_of, &[("r", &self.locale.rate(rate))]));
        }
        (range, notes)
    }

    fn ends(&self) -> Option<Table> {
        let words = self.locale.words;
        let result = self.report.result.as_ref()?;
        let rows: Vec<Vec<String>> = [
            (words.first_liquid, result.first_liquid),
            (words.last_crystal, result.last_crystal),
        ]
        .into_iter()
        .filter_map(|(name, end)| {
            let end = end?;
            let (value, expanded) = self.locale.rounded(end.value_c, end.expanded_uncertainty_c);
            Some(vec![
                name.to_owned(),
                value,
                expanded,
                self.locale.number(end.coverage_factor, 1),
                self.locale.uncertainty(end.standard_uncertainty_c),
            ])
        })
        .collect();
        let head = [
            words.end,
            words.value_c,
            words.expanded_u,
            words.coverage_factor,
            words.standard_u,
        ];
        (!rows.is_empty()).then(|| Table {
            name: words.melting_range.to_owned(),
            head: head.map(str::to_owned).to_vec(),
            rows,
            ..Table::default()
        })
    }

    fn result_lines(&self) -> Vec<String> {
        let words = self.locale.words;
        let mut lines = Vec::new();
        if let Some(found) = &self.report.agreement {
            let limit = self.locale.celsius(found.within_c, 1);
            lines.push(match found.spread_c {
                Some(spread_c) => fill(
                    if found.agreed {
                        words.agree
                    } else {
                        words.disagree
                    },
                    &[
                        ("count", &found.runs_used.to_string()),
                        ("limit", &limit),
                        ("spread", &self.locale.celsius(spread_c, 2)),
                    ],
                ),
                None => fill(words.agree_one_run, &[("limit", &limit)]),
            });
            if found.further_runs_needed > 0 {
                let count = found.further_runs_needed.to_string();
                lines.push(fill(words.further_runs, &[("count", &count)]));
            }
            for run in &found.left_out {
                lines.push(format!("{}: {run}", words.left_out));
            }
        } else if self.report.result.is_some() {
            lines.push(words.one_run.to_owned());
        }
        let coverage = self.report.result.as_ref().and_then(|result| {
            let end = result.first_liquid.or(result.last_crystal)?;
            end.coverage
        });
        if let Some(coverage) = coverage {
            let share = self.locale.percent(coverage);
            lines.push(fill(words.coverage, &[("p", &share)]));
        }
        if let Some(reason) = self
            .report
            .result
            .as_ref()
            .and_then(|result| result.reason.as_deref())
        {
            lines.push(format!("{}: {reason}", words.why_anew));
        }
        lines
    }
}

fn has_range(result: &MeltingResult) -> bool {
    result.range_text.is_some() || result.first_liquid.is_some() || result.last_crystal.is_some()
}

/// The range as it is printed; none where neither end was seen.
pub(crate) fn range_text(result: &MeltingResult, locale: &Locale) -> Option<String> {
    match &result.range_text {
        Some(text) => Some(locale.recorded(text)),
        None => locale.range(result.first_liquid, result.last_crystal),
    }
}

/// A convention in words.
pub(crate) fn convention(convention: Convention, locale: &Locale) -> String {
    let words = locale.words;
    match convention {
        Convention::AsLogged => words.as_logged.to_owned(),
        Convention::Thermodynamic => words.thermodynamic.to_owned(),
        Convention::AtRate {
            rate_c_per_min: Some(rate),
        } => fill(words.at_rate_of, &[("rate", &locale.set_rate(rate))]),
        Convention::AtRate {
            rate_c_per_min: None,
        } => words.at_rate.to_owned(),
        Convention::NotStated => words.not_stated.to_owned(),
    }
}
