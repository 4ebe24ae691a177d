//! The runs: tubes with their moments, curves and pictures.

use super::{Fact, Table, Teller};
use crate::curve_chart::curve_chart;
use crate::language::{Words, fill};
use crate::model::{Frame, Moment, Outcome, Run};
use crate::numbers;
use crate::pictures::cropped;
use crate::warnings::Warning;
use serde::Serialize;
use typst::foundations::Bytes;

/// Most tubes that share a chart; further tubes of a run are shown below in the same way.
const MOST_TUBES: usize = 6;

#[derive(Debug, Serialize)]
pub(crate) struct RunView {
    pub title: String,
    pub facts: Vec<Fact>,
    pub curve_title: &'static str,
    pub curve: Option<Shown>,
    pub no_curve: Option<&'static str>,
    pub tubes: Vec<TubeView>,
    pub moments: Option<Table>,
    pub remarks_title: &'static str,
    pub remarks: Vec<String>,
}

/// What became of one tube.
#[derive(Debug, Serialize)]
pub(crate) struct TubeView {
    /// Which; none where the run has no other.
    pub name: Option<String>,
    pub outcome: String,
    pub range: Option<String>,
    pub pictures: Vec<PictureView>,
}

/// A picture by its path, and what it shows.
#[derive(Debug, Serialize)]
pub(crate) struct Shown {
    pub path: String,
    pub alt: String,
}

#[derive(Debug, Serialize)]
pub(crate) struct PictureView {
    /// Complete in itself.
    pub caption: String,
    /// The same where its tube is named beside it.
    pub short: String,
    pub shown: Option<Shown>,
}

impl<'a> Teller<'a> {
    /// Tubes that were heated together, in order, with the number of their run.
    ///
    /// Those of one run have the same name and began at the same time. A tube without either stands alone.
    pub(super) fn heated_together(&self) -> Vec<(usize, Vec<&'a Run>)> {
        let mut together: Vec<(usize, Vec<&'a Run>)> = Vec::new();
        for run in &self.report.runs {
            let (number, before) = match together.last_mut() {
                Some((number, tubes)) => (*number, tubes.first().copied().map(|one| (one, tubes))),
                None => (0, None),
            };
            match before {
                Some((one, tubes)) if same_run(one, run) => {
                    if tubes.len() < MOST_TUBES {
                        tubes.push(run);
                    } else {
                        together.push((number, vec![run]));
                    }
                }
                _ => together.push((number + 1, vec![run])),
            }
        }
        together
    }

    pub(super) fn runs(&mut self) -> Vec<RunView> {
        self.heated_together()
            .into_iter()
            .enumerate()
            .map(|(index, (number, tubes))| self.run(&tubes, number, index))
            .collect()
    }

    fn run(&mut self, tubes: &[&Run], number: usize, index: usize) -> RunView {
        let words = self.locale.words;
        let mut title = fill(words.run, &[("n", &number.to_string())]);
        if let Some(name) = tubes.first().and_then(|run| run.name.as_ref()) {
            title = format!("{title} ({name})");
        }
        if let [only] = tubes {
            title = format!("{title}, {}", self.tube(only));
        }
        let id = format!("curve-clip-{}-{index}", self.index);
        let curve = curve_chart(tubes, number, &id, self.locale).map(|chart| Shown {
            path: self.add_asset(Bytes::new(chart.svg.into_bytes()), "image/svg+xml", "svg"),
            alt: chart.label,
        });
        let several = tubes.len() > 1;
        let tube_views = tubes
            .iter()
            .map(|run| self.tube_view(run, several, number))
            .collect();
        RunView {
            title,
            facts: self.run_facts(tubes),
            curve_title: words.curve,
            no_curve: curve.is_none().then_some(words.no_curve),
            curve,
            tubes: tube_views,
            moments: self.moments(tubes),
            remarks_title: words.remarks,
            remarks: self.run_remarks(tubes),
        }
    }

    fn tube(&self, run: &Run) -> String {
        fill(self.locale.words.tube, &[("n", &run.place.to_string())])
    }

    fn tube_view(&mut self, run: &Run, several: bool, number: usize) -> TubeView {
        let mut outcome = outcome_in_words(run.outcome, self.locale.words).to_owned();
        if let Some(because) = &run.outcome_because {
            outcome = format!("{outcome}: {because}");
        }
        let tube = several.then(|| self.tube(run));
        let pictures = self
            .ends_of(run)
            .into_iter()
            .map(|(name, moment)| self.picture(name, tube.as_deref(), moment, number))
            .collect();
        TubeView {
            name: tube,
            outcome,
            range: self.run_range(run),
            pictures,
        }
    }

    /// Both moments that were seen, with what they are called.
    fn ends_of<'r>(&self, run: &'r Run) -> Vec<(&'static str, &'r Moment)> {
        let words = self.locale.words;
        let first = run.first_liquid.iter().map(|one| (words.first_liquid, one));
        let last = run.last_crystal.iter().map(|one| (words.last_crystal, one));
        first.chain(last).collect()
    }

    fn run_remarks(&self, tubes: &[&Run]) -> Vec<String> {
        let mut remarks = Vec::new();
        for run in tubes {
            for remark in &run.remarks {
                let mut text = match remark.time_s {
                    Some(time_s) => format!("{} {}", self.locale.clock(time_s), remark.text),
                    None => remark.text.clone(),
                };
                if tubes.len() > 1 {
                    text = format!("{}: {text}", self.tube(run));
                }
                remarks.push(text);
            }
        }
        remarks
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

    /// Both moments: one below the other for one tube, side by side for several.
    fn moments(&self, tubes: &[&Run]) -> Option<Table> {
        let words = self.locale.words;
        let heads = [words.logged_c, words.corrected_c, words.time];
        let mut table = Table {
            name: words.moment.to_owned(),
            ..Table::default()
        };
        if let [only] = tubes {
            let ends = self.ends_of(only).into_iter();
            table.rows = ends
                .map(|(name, moment)| self.moment_row(name.to_owned(), &[Some(moment)]))
                .collect();
            table.head = [words.moment]
                .into_iter()
                .chain(heads)
                .map(str::to_owned)
                .collect();
        } else {
            let seen = tubes
                .iter()
                .filter(|run| run.first_liquid.is_some() || run.last_crystal.is_some());
            table.rows = seen
                .map(|run| {
                    let ends = [run.first_liquid.as_ref(), run.last_crystal.as_ref()];
                    self.moment_row(self.tube(run), &ends)
                })
                .collect();
            let tube = fill(words.tube, &[("n", "")]).trim().to_owned();
            table.head = [tube.as_str()]
                .into_iter()
                .chain(heads)
                .chain(heads)
                .map(str::to_owned)
                .collect();
            table.over = vec![
                (String::new(), 1),
                (words.first_liquid.to_owned(), heads.len()),
                (words.last_crystal.to_owned(), heads.len()),
            ];
        }
        (!table.rows.is_empty()).then_some(table)
    }

    fn moment_row(&self, name: String, moments: &[Option<&Moment>]) -> Vec<String> {
        let mut row = vec![name];
        for moment in moments {
            let Some(moment) = moment else {
                row.extend([numbers::NONE; 3].map(str::to_owned));
                continue;
            };
            row.push(self.with_uncertainty(moment.logged_c, moment.standard_uncertainty_c));
            row.push(match (moment.corrected_c, moment.corrected_uncertainty_c) {
                (Some(value), Some(u)) => self.with_uncertainty(value, u),
                (Some(value), None) => self.locale.number(value, 2),
                (None, _) => numbers::NONE.to_owned(),
            });
            row.push(self.locale.clock(moment.time_s));
        }
        row
    }

    fn with_uncertainty(&self, value_c: f64, u_c: f64) -> String {
        let (value, u) = self.locale.rounded(value_c, u_c);
        format!("{value} (u {u})")
    }

    fn run_facts(&self, tubes: &[&Run]) -> Vec<Fact> {
        let words = self.locale.words;
        let mut facts = Vec::new();
        let mut say = |name: &str, of: &dyn Fn(&Run) -> Option<String>| {
            facts.extend(self.of_tubes(tubes, of).map(|value| Fact::new(name, value)));
        };
        say(words.began, &|run| {
            run.began.map(|began| self.locale.time(began))
        });
        say(words.bench, &|run| run.bench.clone());
        if !self.one_programme() {
            say(words.programme, &|run| Some(self.programme(&run.programme)));
        }
        say(words.rate, &|run| {
            run.heating_rate_c_per_min
                .map(|rate| self.locale.rate(rate))
        });
        say(words.read_by, &|run| run.read_by.clone());
        say(words.not_used, &|run| {
            let because = run.unused_because.as_deref().unwrap_or(words.not_noted);
            (!run.used).then(|| because.to_owned())
        });
        say(words.curve, &|run| {
            (run.outcome == Outcome::Decomposed && !run.curve.is_empty())
                .then(|| words.curve_doubt.to_owned())
        });
        say(words.recording, &|run| {
            run.recording_digest
                .is_none()
                .then(|| words.no_recording.to_owned())
        });
        facts
    }

    /// What is said of tubes: once where it is the same of all, else tube by tube.
    fn of_tubes(&self, tubes: &[&Run], of: &dyn Fn(&Run) -> Option<String>) -> Option<String> {
        let values: Vec<Option<String>> = tubes.iter().map(|run| of(run)).collect();
        let first = values.first()?;
        if values.iter().all(|value| value == first) {
            return first.clone();
        }
        let parts: Vec<String> = tubes
            .iter()
            .zip(values)
            .filter_map(|(run, value)| Some(format!("{}: {}", self.tube(run), value?)))
            .collect();
        Some(parts.join("; "))
    }

    fn picture(
        &mut self,
        name: &str,
        tube: Option<&str>,
        moment: &Moment,
        number: usize,
    ) -> PictureView {
        let words = self.locale.words;
        let full_name = match tube {
            Some(tube) => format!("{name}, {tube}"),
            None => name.to_owned(),
        };
        let missing = |because: &str| {
            let told = fill(words.picture_missing, &[("because", because)]);
            PictureView {
                caption: format!("{full_name}: {told}"),
                short: format!("{name}: {told}"),
                shown: None,
            }
        };
        let (file, time_s, logged_c, crop) = match &moment.picture {
            Frame::NotAsked => return missing(words.picture_not_asked),
            Frame::Missing { because } => return missing(because),
            Frame::Shown {
                file,
                time_s,
                logged_c,
                crop,
            } => (file, *time_s, *logged_c, *crop),
        };
        let part = crop.and_then(|crop| cropped(file, crop));
        let Some(path) = self.add_picture(part.as_deref().unwrap_or(file)) else {
            self.warnings.push(Warning::Picture {
                report: self.report.number.clone(),
                run: number,
            });
            return missing(words.picture_unreadable);
        };
        let (time, t) = (self.locale.clock(time_s), self.locale.celsius(logged_c, 2));
        let mut doubt = String::new();
        if crop.is_some() && part.is_none() {
            self.warnings.push(Warning::Crop {
                report: self.report.number.clone(),
                run: number,
            });
            doubt = format!(" ({})", words.whole_frame);
        }
        let alt = fill(
            words.picture_caption,
            &[("moment", &full_name), ("time", &time), ("t", &t)],
        );
        PictureView {
            caption: format!("{full_name}: {time}, {t}{doubt}"),
            short: format!("{name}: {time}, {t}{doubt}"),
            shown: Some(Shown {
                path,
                alt: format!("{alt}{doubt}"),
            }),
        }
    }
}

/// Whether two tubes were heated in the same run.
fn same_run(one: &Run, other: &Run) -> bool {
    (one.name.is_some() || one.began.is_some())
        && (&one.name, one.began, &one.bench) == (&other.name, other.began, &other.bench)
        && one.place != other.place
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
