//! The runs: moments, curve and pictures of each.

use super::{Fact, Table, Teller};
use crate::curve_chart::curve_chart;
use crate::language::{Words, fill};
use crate::model::{Frame, Moment, Outcome, Run};
use crate::numbers;
use crate::warnings::Warning;
use serde::Serialize;
use typst::foundations::Bytes;

#[derive(Debug, Serialize)]
pub(crate) struct RunView {
    pub title: String,
    pub outcome: String,
    pub range: Option<String>,
    pub moments: Option<Table>,
    pub facts: Vec<Fact>,
    pub curve_title: &'static str,
    pub curve: Option<Shown>,
    pub no_curve: Option<&'static str>,
    pub pictures: Vec<PictureView>,
    pub remarks_title: &'static str,
    pub remarks: Vec<String>,
}

/// A picture by its path, and what it shows.
#[derive(Debug, Serialize)]
pub(crate) struct Shown {
    pub path: String,
    pub alt: String,
}

#[derive(Debug, Serialize)]
pub(crate) struct PictureView {
    pub caption: String,
    pub shown: Option<Shown>,
}

impl Teller<'_> {
    pub(super) fn runs(&mut self) -> Vec<RunView> {
        let report = self.report;
        report
            .runs
            .iter()
            .enumerate()
            .map(|(index, run)| self.run(run, index + 1))
            .collect()
    }

    fn run(&mut self, run: &Run, number: usize) -> RunView {
        let words = self.locale.words;
        let mut title = fill(words.run, &[("n", &number.to_string())]);
        if let Some(name) = &run.name {
            title = format!("{title} ({name})");
        }
        let tube = fill(words.tube, &[("n", &run.place.to_string())]);
        let mut outcome = outcome_in_words(run.outcome, words).to_owned();
        if let Some(because) = &run.outcome_because {
            outcome = format!("{outcome}: {because}");
        }
        let id = format!("curve-clip-{}-{number}", self.index);
        let curve = curve_chart(run, number, &id, self.locale).map(|chart| Shown {
            path: self.add_asset(Bytes::new(chart.svg.into_bytes()), "image/svg+xml", "svg"),
            alt: chart.label,
        });
        let pictures = [
            (words.first_liquid, &run.first_liquid),
            (words.last_crystal, &run.last_crystal),
        ]
        .into_iter()
        .filter_map(|(name, moment)| Some(self.picture(name, moment.as_ref()?, number)))
        .collect();
        RunView {
            title: format!("{title}, {tube}"),
            outcome,
            range: self.run_range(run),
            moments: self.moments(run),
            facts: self.run_facts(run),
            curve_title: words.curve,
            no_curve: curve.is_none().then_some(words.no_curve),
            curve,
            pictures,
            remarks_title: words.remarks,
            remarks: run
                .remarks
                .iter()
                .map(|remark| match remark.time_s {
                    Some(time_s) => format!("{} {}", self.locale.clock(time_s), remark.text),
                    None => remark.text.clone(),
                })
                .collect(),
        }
    }

    /// Corrected where both ends that were seen are, as logged otherwise.
    fn run_range(&self, run: &Run) -> Option<String> {
        let seen: Vec<&Moment> = [&run.first_liquid, &run.last_crystal]
            .into_iter()
            .flatten()
            .collect();
        let corrected = seen.iter().all(|moment| moment.corrected_c.is_some());
        let text = |moment: &Option<Moment>| {
            let moment = moment.as_ref()?;
            let value = moment
                .corrected_c
                .filter(|_| corrected)
                .unwrap_or(moment.logged_c);
            Some(self.locale.number(value, 1))
        };
        let range = self
            .locale
            .range_of(text(&run.first_liquid), text(&run.last_crystal))?;
        let words = self.locale.words;
        let mark = if corrected { words.corr } else { words.uncorr };
        Some(format!("{range} ({mark})"))
    }

    fn moments(&self, run: &Run) -> Option<Table> {
        let words = self.locale.words;
        let rows: Vec<Vec<String>> = [
            (words.first_liquid, &run.first_liquid),
            (words.last_crystal, &run.last_crystal),
        ]
        .into_iter()
        .filter_map(|(name, moment)| {
            let moment = moment.as_ref()?;
            let logged = self.with_uncertainty(moment.logged_c, moment.standard_uncertainty_c);
            let corrected = match (moment.corrected_c, moment.corrected_uncertainty_c) {
                (Some(value), Some(u)) => self.with_uncertainty(value, u),
                (Some(value), None) => self.locale.number(value, 2),
                (None, _) => numbers::NONE.to_owned(),
            };
            Some(vec![
                name.to_owned(),
                logged,
                corrected,
                self.locale.clock(moment.time_s),
            ])
        })
        .collect();
        let head = [words.moment, words.logged_c, words.corrected_c, words.time];
        (!rows.is_empty()).then(|| Table {
            name: words.moment.to_owned(),
            head: head.map(str::to_owned).to_vec(),
            rows,
        })
    }

    fn with_uncertainty(&self, value_c: f64, u_c: f64) -> String {
        let (value, u) = self.locale.rounded(value_c, u_c);
        format!("{value} (u {u})")
    }

    fn run_facts(&self, run: &Run) -> Vec<Fact> {
        let words = self.locale.words;
        let mut facts = Vec::new();
        if let Some(began) = run.began {
            facts.push(Fact::new(words.began, self.locale.time(began)));
        }
        if let Some(bench) = &run.bench {
            facts.push(Fact::new(words.bench, bench));
        }
        if !self.one_programme() {
            facts.push(Fact::new(words.programme, self.programme(&run.programme)));
        }
        if let Some(rate) = run.heating_rate_c_per_min {
            facts.push(Fact::new(words.rate, self.locale.rate(rate)));
        }
        if let Some(read_by) = &run.read_by {
            facts.push(Fact::new(words.read_by, read_by));
        }
        if !run.used {
            let because = run.unused_because.as_deref().unwrap_or(words.not_noted);
            facts.push(Fact::new(words.not_used, because));
        }
        if run.outcome == Outcome::Decomposed && !run.curve.is_empty() {
            facts.push(Fact::new(words.curve, words.curve_doubt));
        }
        facts.push(match &run.recording_digest {
            Some(digest) => Fact::digest(words.recording, digest),
            None => Fact::new(words.recording, words.no_recording),
        });
        facts
    }

    fn picture(&mut self, name: &str, moment: &Moment, number: usize) -> PictureView {
        let words = self.locale.words;
        let missing = |because: &str| PictureView {
            caption: format!(
                "{name}: {}",
                fill(words.picture_missing, &[("because", because)])
            ),
            shown: None,
        };
        match &moment.picture {
            Frame::NotAsked => missing(words.picture_not_asked),
            Frame::Missing { because } => missing(because),
            Frame::Shown {
                file,
                time_s,
                logged_c,
            } => {
                let Some(path) = self.add_picture(file) else {
                    self.warnings.push(Warning::Picture {
                        report: self.report.number.clone(),
                        run: number,
                    });
                    return missing(words.picture_unreadable);
                };
                let caption = fill(
                    words.picture_caption,
                    &[
                        ("moment", name),
                        ("time", &self.locale.clock(*time_s)),
                        ("t", &self.locale.celsius(*logged_c, 2)),
                    ],
                );
                PictureView {
                    shown: Some(Shown {
                        path,
                        alt: caption.clone(),
                    }),
                    caption,
                }
            }
        }
    }
}

pub(crate) fn outcome_in_words(outcome: Outcome, words: &'static Words) -> &'static str {
    match outcome {
        Outcome::Melted => words.melted,
        Outcome::PartlyMelted => words.partly_melted,
        Outcome::Unmelted => words.unmelted,
        Outcome::Decomposed => words.decomposed,
        Outcome::Sublimed => words.sublimed,
        Outcome::Empty => words.empty,
        Outcome::CannotTell => words.cannot_tell,
    }
}
