//! Whether the runs of a sample agree, and what a result from them says.
//!
//! Two runs within 0.5 °C at both ends: common practice, no source. Tubes of one run are averaged
//! first, because they share its heating and its thermometer and are no repeats of each other.

use crate::wire::{Agreement, AgreementRun, TubeRef};
use meltrange_labbook::{Moment, ResultValue, RunId};

/// Farthest apart that agreeing runs may be at either end [°C]. Common practice, no source.
pub(crate) const WITHIN_C: f64 = 0.5;

/// Runs that must agree.
const RUNS: usize = 2;

/// Slack for sums in binary [°C]: far below what any thermometer shows.
const ROUNDING_C: f64 = 1e-9;

/// Runs looked at: the newest. More say nothing that these do not.
const MOST_RUNS: usize = 50;

/// Expanded uncertainties cover about 95 % (GUM 6.3.3: 2 where the degrees of freedom are not small;
/// with few runs this is an approximation).
const COVERAGE_FACTOR: f64 = 2.0;

/// One tube with a full range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ranged {
    /// In which run.
    pub run: RunId,
    /// Which tube of which reading.
    pub tube: TubeRef,
    pub first_liquid: Moment,
    pub last_crystal: Moment,
    /// Whether a person stands behind it.
    pub decided: bool,
}

/// The mean of one run's tubes.
#[derive(Debug, Clone, PartialEq)]
struct RunMean {
    run: RunId,
    tubes: Vec<TubeRef>,
    decided: bool,
    first: Mean,
    last: Mean,
}

/// A mean with its standard uncertainty from those of the readings [°C].
#[derive(Debug, Clone, Copy, PartialEq)]
struct Mean {
    value_c: f64,
    uncertainty_c: f64,
}

impl Mean {
    fn of(moments: impl Iterator<Item = (f64, f64)> + Clone) -> Self {
        let count = moments.clone().count().max(1) as f64;
        let squares: f64 = moments.clone().map(|(_, u_c)| u_c * u_c).sum();
        Self {
            value_c: moments.map(|(value_c, _)| value_c).sum::<f64>() / count,
            uncertainty_c: squares.sqrt() / count,
        }
    }
}

/// Runs in order of time, each with the mean of its tubes.
fn by_run(tubes: &[Ranged]) -> Vec<RunMean> {
    let mut runs: Vec<RunId> = tubes.iter().map(|tube| tube.run).collect();
    // Ids sort by the time they were made.
    runs.sort_unstable();
    runs.dedup();
    runs.iter()
        .skip(runs.len().saturating_sub(MOST_RUNS))
        .map(|&run| {
            let own = tubes.iter().filter(move |tube| tube.run == run);
            let end = |moment: fn(&Ranged) -> &Moment| {
                Mean::of(own.clone().map(move |tube| {
                    let moment = moment(tube);
                    (moment.temperature_c, moment.standard_uncertainty_c)
                }))
            };
            RunMean {
                run,
                tubes: own.clone().map(|tube| tube.tube).collect(),
                decided: own.clone().all(|tube| tube.decided),
                first: end(|tube| &tube.first_liquid),
                last: end(|tube| &tube.last_crystal),
            }
        })
        .collect()
}

/// The largest set of runs within [`WITHIN_C`] at both ends; of equal ones that with the newest runs.
fn largest_set(runs: &[RunMean]) -> Vec<bool> {
    let mut best = vec![false; runs.len()];
    let mut best_count = 0;
    for lowest_first in runs {
        for lowest_last in runs {
            let within = |value_c: f64, from_c: f64| {
                value_c >= from_c - ROUNDING_C && value_c <= from_c + WITHIN_C + ROUNDING_C
            };
            let set: Vec<bool> = runs
                .iter()
                .map(|run| {
                    within(run.first.value_c, lowest_first.first.value_c)
                        && within(run.last.value_c, lowest_last.last.value_c)
                })
                .collect();
            let count = set.iter().filter(|&&is_in| is_in).count();
            let newer = set.iter().rev().gt(best.iter().rev());
            if count > best_count || (count == best_count && newer) {
                best = set;
                best_count = count;
            }
        }
    }
    best
}

fn spread_c<'a>(runs: impl Iterator<Item = &'a RunMean> + Clone) -> Option<f64> {
    let across = |value: fn(&RunMean) -> f64| {
        let lowest = runs.clone().map(value).reduce(f64::min)?;
        Some(runs.clone().map(value).reduce(f64::max)? - lowest)
    };
    Some(across(|run| run.first.value_c)?.max(across(|run| run.last.value_c)?))
}

/// Whether the runs that these tubes belong to agree.
pub(crate) fn agreement(tubes: &[Ranged]) -> Agreement {
    let runs = by_run(tubes);
    let set = largest_set(&runs);
    let agreeing: Vec<&RunMean> = runs
        .iter()
        .zip(&set)
        .filter_map(|(run, &is_in)| is_in.then_some(run))
        .collect();
    let agreed = agreeing.len() >= RUNS;
    Agreement {
        agreed,
        within_c: WITHIN_C,
        spread_c: if agreed {
            spread_c(agreeing.iter().copied())
        } else {
            (runs.len() >= RUNS)
                .then(|| spread_c(runs.iter()))
                .flatten()
        },
        further_runs_needed: if agreed {
            0
        } else {
            // Even among many that disagree, one more may agree with one of them.
            (RUNS - agreeing.len().min(RUNS - 1)) as u32
        },
        from: if agreed {
            agreeing.iter().flat_map(|run| run.tubes.clone()).collect()
        } else {
            Vec::new()
        },
        range_text: agreed.then(|| {
            let (first, last) = (
                result(agreeing.iter().map(|run| run.first)),
                result(agreeing.iter().map(|run| run.last)),
            );
            range_text(first.value_c, last.value_c)
        }),
        runs: runs
            .iter()
            .zip(&set)
            .map(|(run, &is_in)| AgreementRun {
                run: run.run,
                first_liquid_c: run.first.value_c,
                last_crystal_c: run.last.value_c,
                tubes: run.tubes.len() as u32,
                agrees: agreed && is_in,
                decided: run.decided,
            })
            .collect(),
    }
}

/// A result stated from all of these tubes, whether or not their runs agree.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Stated {
    pub agreed: bool,
    pub spread_c: Option<f64>,
    pub further_runs_needed: u32,
    pub first_liquid: ResultValue,
    pub last_crystal: ResultValue,
    pub range_text: String,
}

/// State a result from `tubes`; none without any.
pub(crate) fn state(tubes: &[Ranged]) -> Option<Stated> {
    let runs = by_run(tubes);
    if runs.is_empty() {
        return None;
    }
    let spread_c = (runs.len() >= RUNS)
        .then(|| spread_c(runs.iter()))
        .flatten();
    let agreed = spread_c.is_some_and(|spread_c| spread_c <= WITHIN_C + ROUNDING_C);
    let first_liquid = result(runs.iter().map(|run| run.first));
    let last_crystal = result(runs.iter().map(|run| run.last));
    Some(Stated {
        agreed,
        spread_c,
        further_runs_needed: u32::from(!agreed),
        range_text: range_text(first_liquid.value_c, last_crystal.value_c),
        first_liquid,
        last_crystal,
    })
}

/// The mean of runs. Its uncertainty: that of the readings, and what lies between the runs taken as
/// a rectangle of their spread (GUM 4.3.7). The thermometer's own is not in it: as logged.
fn result(runs: impl Iterator<Item = Mean> + Clone) -> ResultValue {
    let mean = Mean::of(runs.clone().map(|run| (run.value_c, run.uncertainty_c)));
    let values = runs.map(|run| run.value_c);
    let lowest = values.clone().reduce(f64::min).unwrap_or(mean.value_c);
    let half_spread_c = 0.5 * (values.reduce(f64::max).unwrap_or(lowest) - lowest);
    let standard_uncertainty_c = mean.uncertainty_c.hypot(half_spread_c / 3.0_f64.sqrt());
    ResultValue {
        value_c: mean.value_c,
        standard_uncertainty_c,
        expanded_uncertainty_c: COVERAGE_FACTOR * standard_uncertainty_c,
        coverage_factor: COVERAGE_FACTOR,
    }
}

fn range_text(first_c: f64, last_c: f64) -> String {
    format!("{first_c:.1}–{last_c:.1} °C")
}

#[cfg(test)]
mod tests {
    use super::*;
    use meltrange_labbook::ReadingId;

    fn tube(run: RunId, first_c: f64, last_c: f64) -> Ranged {
        let moment = |temperature_c| Moment {
            time_s: 0.0,
            temperature_c,
            standard_uncertainty_c: 0.1,
        };
        Ranged {
            run,
            tube: TubeRef {
                reading: ReadingId::new(),
                place: 1,
            },
            first_liquid: moment(first_c),
            last_crystal: moment(last_c),
            decided: true,
        }
    }

    #[test]
    fn two_runs_within_half_a_degree_at_both_ends_agree() {
        let [one, two] = [RunId::new(), RunId::new()];
        let found = agreement(&[tube(one, 121.5, 122.3), tube(two, 121.7, 122.8)]);
        assert!(found.agreed);
        assert_eq!(found.further_runs_needed, 0);
        assert_eq!(found.range_text.as_deref(), Some("121.6–122.5 °C"));
        assert!((found.spread_c.expect("two runs") - 0.5).abs() < 1e-9);
        let apart = agreement(&[tube(one, 121.5, 122.3), tube(two, 121.7, 122.9)]);
        assert!(!apart.agreed, "0.6 °C at the last crystal");
        assert_eq!((apart.further_runs_needed, apart.range_text), (1, None));
    }

    #[test]
    fn tubes_of_one_run_are_no_repeats() {
        let run = RunId::new();
        let found = agreement(&[tube(run, 121.5, 122.3), tube(run, 121.5, 122.3)]);
        assert!(!found.agreed);
        assert_eq!(found.further_runs_needed, 1);
        assert_eq!(agreement(&[]).further_runs_needed, 2);
    }

    #[test]
    fn an_outlier_does_not_spoil_the_others() {
        let runs = [RunId::new(), RunId::new(), RunId::new()];
        let found = agreement(&[
            tube(runs[0], 120.1, 121.9),
            tube(runs[1], 121.6, 122.4),
            tube(runs[2], 121.8, 122.5),
        ]);
        let agrees: Vec<bool> = found.runs.iter().map(|run| run.agrees).collect();
        assert_eq!(agrees, [false, true, true]);
        assert_eq!(found.from.len(), 2);
    }

    #[test]
    fn the_uncertainty_is_that_of_the_readings_and_of_the_spread() {
        let [one, two] = [RunId::new(), RunId::new()];
        let stated = state(&[tube(one, 121.0, 122.0), tube(two, 121.4, 122.0)]).expect("tubes");
        // Readings: 0.1/√2. Spread at the first liquid: 0.2/√3. GUM 4.3.7 and 5.1.2 by hand.
        let expected_c = (0.005_f64 + 0.04 / 3.0).sqrt();
        let found = stated.first_liquid;
        assert!((found.standard_uncertainty_c - expected_c).abs() < 1e-12);
        assert!((found.expanded_uncertainty_c - 2.0 * expected_c).abs() < 1e-12);
        assert!((stated.last_crystal.standard_uncertainty_c - 0.005_f64.sqrt()).abs() < 1e-12);
        assert!(stated.agreed);
        assert!(state(&[]).is_none());
    }
}
