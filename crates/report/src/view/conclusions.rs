//! Requirement, candidates, mixed melting, purity, verdict, deviations and remarks.

use super::{Section, Table, Teller};
use crate::language::fill;
use crate::model::{Candidates, Decision, MixedMelting, MixedOutcome, Purity, Specification};

impl Teller<'_> {
    pub(super) fn sections(&self) -> Vec<Section> {
        let words = self.locale.words;
        let report = self.report;
        let mut sections = Vec::new();
        sections.extend(report.specification.iter().map(|one| self.requirement(one)));
        sections.extend(report.candidates.iter().map(|one| self.candidates(one)));
        sections.extend(report.mixed_meltings.iter().map(|one| self.mixed(one)));
        sections.extend(report.purity.iter().map(|one| self.purity(one)));
        if let Some(verdict) = &report.verdict {
            sections.push(Section {
                title: words.verdict,
                strong: Some(verdict.text.clone()),
                lines: verdict.by.iter().map(|by| sentence(by)).collect(),
                ..Section::default()
            });
        }
        sections.push(Section {
            title: words.deviations,
            lines: if report.deviations.is_empty() {
                vec![words.no_deviations.to_owned()]
            } else {
                report.deviations.iter().map(|one| sentence(one)).collect()
            },
            long: report.deviations.iter().map(String::len).sum::<usize>() > 300,
            ..Section::default()
        });
        let remarks: Vec<String> = report
            .remarks
            .iter()
            .flat_map(|text| text.lines())
            .filter(|line| !line.trim().is_empty())
            .map(str::to_owned)
            .collect();
        if !remarks.is_empty() {
            sections.push(Section {
                title: words.remarks,
                long: remarks.iter().map(String::len).sum::<usize>() > 300,
                lines: remarks,
                ..Section::default()
            });
        }
        sections
    }

    fn requirement(&self, found: &Specification) -> Section {
        let words = self.locale.words;
        let range = self.locale.limits(found.from_c, found.to_c);
        let mut lines = vec![fill(words.required, &[("range", &range)])];
        if let Some(source) = &found.source {
            lines = vec![format!("{} ({source})", lines.concat())];
        }
        lines = vec![sentence(&lines.concat())];
        lines.push(match found.guard {
            None => words.rule_simple.to_owned(),
            Some(guard) => fill(
                words.rule_guarded,
                &[
                    ("p", &self.locale.percent(guard)),
                    ("lower", &self.locale.celsius(found.guard_lower_c, 2)),
                    ("upper", &self.locale.celsius(found.guard_upper_c, 2)),
                ],
            ),
        });
        for (gap, probability) in [
            (words.probability_lower, found.probability_lower),
            (words.probability_upper, found.probability_upper),
        ] {
            if let Some(probability) = probability {
                lines.push(fill(gap, &[("p", &self.locale.percent(probability))]));
            }
        }
        let decision = match found.decision {
            Decision::Meets => words.meets,
            Decision::DoesNotMeet => words.does_not_meet,
            Decision::CannotBeDecided => words.cannot_be_decided,
        };
        Section {
            title: words.specification,
            strong: Some(decision.to_owned()),
            lines,
            ..Section::default()
        }
    }

    fn candidates(&self, found: &Candidates) -> Section {
        let words = self.locale.words;
        let mut rows: Vec<Vec<String>> = found
            .shown
            .iter()
            .map(|one| {
                let from = self.locale.number(one.from_c, 1);
                let range = match one.to_c {
                    Some(to_c) => format!("{from}–{}", self.locale.number(to_c, 1)),
                    None => from,
                };
                vec![
                    one.name.clone(),
                    range,
                    self.locale.percent(one.probability),
                ]
            })
            .collect();
        if found.others_count > 0 {
            let count = self.locale.count(u64::from(found.others_count));
            rows.push(vec![
                fill(words.others, &[("count", &count)]),
                String::new(),
                self.locale.percent(found.others),
            ]);
        }
        rows.push(vec![
            words.not_in_list.to_owned(),
            String::new(),
            self.locale.percent(found.not_in_list),
        ]);
        let head = [words.candidate, words.literature_c, words.probability];
        // The record of a verdict keeps probabilities; the list's values are those of the day of the report.
        let made = self.locale.date(self.report.made.local().date());
        Section {
            title: words.candidates,
            strong: found
                .shown
                .is_empty()
                .then(|| words.no_candidates.to_owned()),
            lines: vec![
                fill(words.candidates_list, &[("list", &found.list)]),
                fill(words.candidates_source, &[("date", &made)]),
            ],
            table: Some(Table {
                name: words.candidates.to_owned(),
                head: head.map(str::to_owned).to_vec(),
                rows,
                ..Table::default()
            }),
            ..Section::default()
        }
    }

    fn mixed(&self, found: &MixedMelting) -> Section {
        let words = self.locale.words;
        let mut parts = vec![fill(words.mixed_with, &[("reference", &found.reference)])];
        if let Some(share) = found.reference_mass_fraction {
            let share = self.locale.percent(share);
            parts.push(fill(words.mixed_share, &[("share", &share)]));
        }
        let number = |value: f64| self.locale.number(value, 1);
        if let Some(range) = self.locale.range_of(
            found.first_liquid_c.map(number),
            found.last_crystal_c.map(number),
        ) {
            parts.push(fill(words.mixed_range, &[("range", &range)]));
        }
        if let Some(depression_c) = found.depression_c {
            let depression = match found.depression_uncertainty_c {
                Some(u_c) => {
                    let (value, u) = self.locale.rounded(depression_c, u_c);
                    let value = self.locale.with_unit(&value, "°C");
                    format!("{value} (u {})", self.locale.with_unit(&u, "°C"))
                }
                None => self.locale.celsius(depression_c, 1),
            };
            parts.push(fill(words.mixed_depression, &[("d", &depression)]));
        }
        let outcome = match found.outcome {
            MixedOutcome::Same => words.mixed_same,
            MixedOutcome::Different => words.mixed_different,
            MixedOutcome::CannotTell => words.mixed_cannot_tell,
        };
        let mut lines = vec![sentence(&parts.join("; "))];
        lines.extend(found.remarks.iter().map(|one| sentence(one)));
        Section {
            title: words.mixed_melting,
            strong: Some(outcome.to_owned()),
            lines,
            ..Section::default()
        }
    }

    fn purity(&self, found: &Purity) -> Section {
        let words = self.locale.words;
        let statement = match (found.mole_fraction, found.standard_uncertainty) {
            (Some(fraction), Some(u)) => {
                let (value, u) = self.locale.rounded(fraction * 100.0, u * 100.0);
                let value = self.locale.with_unit(&value, "%");
                let text = format!("{value} (u {})", self.locale.with_unit(&u, "%"));
                fill(words.purity_value, &[("x", &text)])
            }
            (Some(fraction), None) => {
                let text = self
                    .locale
                    .with_unit(&self.locale.number(fraction * 100.0, 1), "%");
                fill(words.purity_value, &[("x", &text)])
            }
            (None, _) => words.purity_none.to_owned(),
        };
        let lines: Vec<String> = found
            .method
            .iter()
            .chain(&found.limits)
            .map(|one| sentence(one))
            .collect();
        Section {
            title: words.purity,
            strong: Some(statement),
            lines,
            ..Section::default()
        }
    }
}

/// With a full stop where there is no sign at its end, so that sentences can follow each other.
pub(super) fn sentence(text: &str) -> String {
    let text = text.trim_end();
    if text.is_empty() || text.ends_with(['.', '!', '?', ':', ';', '…', '。', '؟']) {
        text.to_owned()
    } else {
        format!("{text}.")
    }
}
