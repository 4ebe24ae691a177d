//! Sample, heating, thermometers, people, review and verification as names and values.

use super::{Fact, Group, Teller, convention};
use crate::language::fill;
use crate::model::{Chain, Leg, LegKind, Part, SignOff, Thermometer, ThermometerState};

/// Heating rates that are listed one by one.
const MOST_RATES: usize = 3;

impl Teller<'_> {
    /// What stands beside the result.
    pub(super) fn groups(&self) -> Vec<Group> {
        let words = self.locale.words;
        let mut groups = vec![
            Group {
                title: words.sample,
                facts: self.sample_facts(),
            },
            Group {
                title: words.heating,
                facts: self.heating_facts(),
            },
        ];
        for thermometer in &self.report.thermometers {
            groups.push(Group {
                title: words.thermometer,
                facts: self.thermometer_facts(thermometer),
            });
        }
        groups
    }

    fn sample_facts(&self) -> Vec<Fact> {
        let words = self.locale.words;
        let sample = &self.report.sample;
        let mut facts = vec![Fact::new(words.sample, &sample.label)];
        let mut add = |name: &str, value: &Option<String>| {
            if let Some(value) = value.as_deref().filter(|value| !value.trim().is_empty()) {
                facts.push(Fact::new(name, value));
            }
        };
        add(words.origin, &sample.origin);
        add(words.expected, &sample.expected_substance);
        facts.push(Fact::new(words.preparation, self.preparation()));
        let hazards = sample.hazards.as_deref().unwrap_or(words.hazards_none);
        facts.push(Fact::new(words.hazards, hazards));
        if let Some(remarks) = &sample.remarks {
            facts.push(Fact::new(words.remarks, remarks));
        }
        facts
    }

    fn preparation(&self) -> String {
        let words = self.locale.words;
        let sample = &self.report.sample;
        let mut parts = Vec::new();
        if let Some(dried) = sample.dried {
            parts.push(if dried { words.dried } else { words.not_dried }.to_owned());
        }
        if let Some(ground) = sample.ground {
            parts.push(
                if ground {
                    words.ground
                } else {
                    words.not_ground
                }
                .to_owned(),
            );
        }
        if let Some(height_mm) = sample.column_height_mm {
            let height = self
                .locale
                .with_unit(&self.locale.number(height_mm, 1), "mm");
            parts.push(fill(words.column, &[("h", &height)]));
        }
        if let Some(solvent) = &sample.solvent {
            parts.push(fill(words.solvent, &[("s", solvent)]));
        }
        if parts.is_empty() {
            words.not_noted.to_owned()
        } else {
            parts.join("; ")
        }
    }

    fn heating_facts(&self) -> Vec<Fact> {
        let words = self.locale.words;
        let mut facts = Vec::new();
        let programme = if self.report.runs.is_empty() {
            words.not_noted.to_owned()
        } else if self.one_programme() {
            self.report
                .runs
                .first()
                .map(|run| self.programme(&run.programme))
                .unwrap_or_default()
        } else {
            words.programme_varies.to_owned()
        };
        facts.push(Fact::new(words.programme, programme));
        let rates = self.report.runs.iter();
        let mut rates: Vec<f64> = rates.filter_map(|run| run.heating_rate_c_per_min).collect();
        if !rates.is_empty() {
            let told = if rates.len() > MOST_RATES {
                // Each stands beside its run; here it is how far they reach.
                rates.sort_by(f64::total_cmp);
                let ends = [rates.first(), rates.last()];
                let ends: Vec<String> = ends
                    .into_iter()
                    .flatten()
                    .map(|&rate| self.locale.rate_number(rate))
                    .collect();
                self.locale.with_unit(&ends.join("–"), "°C/min")
            } else {
                let rates: Vec<String> = rates.iter().map(|&rate| self.locale.rate(rate)).collect();
                rates.join("; ")
            };
            facts.push(Fact::new(words.actual_rate, told));
        }
        facts
    }

    /// Whether every run had the same programme, so that it is said once.
    pub(super) fn one_programme(&self) -> bool {
        let mut programmes = self.report.runs.iter().map(|run| &run.programme);
        match programmes.next() {
            Some(first) => programmes.all(|other| other == first),
            None => true,
        }
    }

    /// A programme leg by leg.
    pub(super) fn programme(&self, legs: &[Leg]) -> String {
        if legs.is_empty() {
            return self.locale.words.not_noted.to_owned();
        }
        let legs: Vec<String> = legs.iter().map(|leg| self.leg(leg)).collect();
        legs.join("; ")
    }

    fn leg(&self, leg: &Leg) -> String {
        let words = self.locale.words;
        let (name, place) = match leg.kind {
            LegKind::Approach => (words.leg_approach, words.leg_to),
            LegKind::Soak => (words.leg_soak, words.leg_held),
            LegKind::Attend => (words.leg_attend, words.leg_held),
            LegKind::Scan => (words.leg_scan, words.leg_to),
            LegKind::Cool => (words.leg_cool, words.leg_to),
        };
        let mut parts = vec![name.to_owned()];
        if let Some(rate) = leg.rate_c_per_min {
            let rate = self.locale.set_rate(rate);
            parts.push(fill(words.leg_at_rate, &[("r", &rate)]));
        }
        if let Some(to_c) = leg.to_c {
            parts.push(fill(place, &[("t", &self.locale.plain_celsius(to_c))]));
        }
        if let Some(hold_s) = leg.hold_s {
            parts.push(fill(words.leg_for, &[("d", &self.locale.minutes(hold_s))]));
        }
        parts.join(" ")
    }

    fn thermometer_facts(&self, thermometer: &Thermometer) -> Vec<Fact> {
        let words = self.locale.words;
        let date = |gap: &str, date| fill(gap, &[("date", &self.locale.date(date))]);
        let mut name = thermometer.name.clone();
        if let Some(bench) = &thermometer.bench {
            name = format!("{name}; {bench}");
        }
        let mut facts = vec![Fact::new(words.thermometer, name)];
        let calibration = match thermometer.calibrated_from {
            Some(from) => {
                let mut parts = vec![date(words.calibrated_from, from)];
                if let Some(found) = thermometer.convention {
                    parts.push(convention(found, self.locale));
                }
                parts.join("; ")
            }
            None => words.no_calibration.to_owned(),
        };
        facts.push(Fact::new(words.calibration, calibration));
        if !thermometer.standards.is_empty() {
            facts.push(Fact::new(words.standards, thermometer.standards.join(", ")));
        }
        let mut state = vec![state_in_words(thermometer.state, words).to_owned()];
        if let Some(last) = thermometer.last_check {
            state.push(date(words.last_check, last));
        }
        if let Some(next) = thermometer.next_check {
            state.push(date(words.next_check, next));
        }
        state.extend(thermometer.state_because.iter().cloned());
        facts.push(Fact::new(words.state, state.join("; ")));
        facts
    }

    /// People, review and what the lab book's chain says.
    pub(super) fn closing(&self) -> Vec<Group> {
        let words = self.locale.words;
        let report = self.report;
        let mut people: Vec<Fact> = report
            .people
            .iter()
            .map(|person| {
                let part = match person.part {
                    Part::Measured => words.measured,
                    Part::Read => words.read,
                    Part::Determined => words.determined,
                    Part::Supervised => words.supervised,
                };
                Fact::new(part, &person.name)
            })
            .collect();
        let mut review = Vec::new();
        match &report.sign_off {
            SignOff::Draft => review.push(Fact::new(words.review, words.draft_banner)),
            SignOff::Reviewed {
                by,
                when,
                meaning,
                statement,
                ..
            } => {
                let when = self.locale.time(*when);
                review.push(Fact::new(words.review, format!("{by}, {when}")));
                review.push(Fact::new(words.meaning, self.meaning(*meaning)));
                if let Some(statement) = statement {
                    review.push(Fact::new(words.remarks, statement));
                }
            }
            SignOff::Outdated { .. } | SignOff::Withdrawn { .. } => {
                let told = self.no_longer();
                review.extend(told.map(|text| Fact::new(words.review, text)));
            }
        }
        if people.is_empty() {
            people.push(Fact::new(words.people, words.not_noted));
        }
        people.extend(review);
        let mut book = Vec::new();
        match &report.chain {
            Chain::Verified { when, records, .. } => {
                let when = self.locale.time(*when);
                let text = fill(
                    words.chain_verified,
                    &[("when", &when), ("records", &self.locale.count(*records))],
                );
                book.push(Fact::new(words.state, text));
            }
            Chain::NotVerified => book.push(Fact::new(words.state, words.chain_not_verified)),
            Chain::Broken { found } => {
                let text = fill(words.chain_broken, &[("found", found)]);
                book.push(Fact::new(words.state, text));
            }
        }
        if let Some(stated) = report.result.as_ref().and_then(|result| result.stated) {
            book.push(Fact::new(words.determined, self.locale.time(stated)));
        }
        book.push(Fact::new(words.program, &report.program));
        vec![
            Group {
                title: words.people,
                facts: people,
            },
            Group {
                title: words.chain,
                facts: book,
            },
        ]
    }

    /// Where it all stands: records of result, calibrations and review, digests of recordings and book.
    pub(super) fn digests(&self) -> Group {
        let words = self.locale.words;
        let report = self.report;
        let mut facts = Vec::new();
        let mut add = |of: &str, record: &Option<String>| {
            if let Some(record) = record {
                facts.push(Fact::digest(&format!("{of}: {}", words.record), record));
            }
        };
        add(
            words.result,
            &report
                .result
                .as_ref()
                .and_then(|result| result.record.clone()),
        );
        for thermometer in &report.thermometers {
            let name = format!("{} {}", words.calibration, thermometer.name);
            add(&name, &thermometer.record);
        }
        if let SignOff::Reviewed { record, .. } = &report.sign_off {
            add(words.review, record);
        }
        for (number, tubes) in self.heated_together() {
            let mut digests: Vec<&String> = tubes
                .iter()
                .filter_map(|run| run.recording_digest.as_ref())
                .collect();
            digests.dedup();
            let run = fill(words.run, &[("n", &number.to_string())]);
            for digest in digests {
                facts.push(Fact::digest(&format!("{run}: {}", words.recording), digest));
            }
        }
        if let Chain::Verified { head, .. } = &report.chain {
            facts.push(Fact::digest(words.chain_head, head));
        }
        Group {
            title: words.digests,
            facts,
        }
    }
}

fn state_in_words(state: ThermometerState, words: &'static crate::language::Words) -> &'static str {
    match state {
        ThermometerState::NeverChecked => words.state_never_checked,
        ThermometerState::InOrder => words.state_in_order,
        ThermometerState::Due => words.state_due,
        ThermometerState::Overdue => words.state_overdue,
        ThermometerState::OutOfControl => words.state_out_of_control,
    }
}
