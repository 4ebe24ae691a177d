//! When an approach counts as arrived, told by the soaks that follow.

use super::fit::Fitted;
use super::model::Crossing;
use super::run_log::{Approach, RunLog};
use super::told::Display;
use serde::{Deserialize, Serialize};

/// Distances from the target that programmes take for arrived [°C], the more usual first.
const WITHIN_C: [f64; 12] = [
    0.5, 1.0, 0.2, 0.1, 0.3, 2.0, 0.25, 0.05, 0.4, 1.5, 0.75, 0.15,
];
/// A less usual one has to fit better by this [s]: with a coarse display several fit alike.
const BETTER_S: f64 = 0.3;
/// Taken where the logs do not tell; it may then be anywhere from the least to the most of [`UNTOLD_C`].
const USUAL_C: f64 = 0.5;
/// See [`USUAL_C`].
pub(super) const UNTOLD_C: [f64; 2] = [0.2, 1.0];
/// Soaks are whole minutes [s].
const SOAK_STEP_S: f64 = 60.0;
/// Fewest soaks that tell anything.
const ENOUGH: usize = 3;
/// And their mean distance from whole minutes at most [s]: by chance it is 15 s.
const MEAN_OFF_S: f64 = 2.5;

/// When an approach counts as arrived.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Arrival {
    /// This close to its target [°C].
    pub within_c: f64,
    /// Whether the logs tell so; else it is the usual distance.
    pub told: bool,
    /// Whether the first of many noisy readings counts, or the temperature behind them.
    pub by_reading: bool,
}

impl Arrival {
    /// The way for which the soaks of the logs are nearest to whole minutes.
    pub(super) fn of(
        fit: &Fitted<'_>,
        logs: &[RunLog],
        approaches: &[(usize, Approach)],
        display: Display,
    ) -> Self {
        let usual = Self {
            within_c: USUAL_C,
            told: false,
            by_reading: false,
        };
        let shown: Vec<Option<Vec<f64>>> = (0..logs.len())
            .map(|log| fit.problem.course_of(log, &fit.point))
            .collect();
        let mut best: Option<(f64, Self)> = None;
        for within_c in WITHIN_C {
            for by_reading in [false, true] {
                let way = Self {
                    within_c,
                    told: true,
                    by_reading,
                };
                let mut off_s = Vec::new();
                for (number, approach) in approaches.iter().filter(|(_, found)| found.then_scan) {
                    let log = &logs[*number];
                    let arrived_s = match (by_reading, &shown[*number]) {
                        (true, _) => log.arrival_s(approach, within_c),
                        (false, Some(shown)) => way.modelled_s(log, approach, shown, display),
                        (false, None) => None,
                    };
                    if let Some(arrived_s) = arrived_s {
                        let soaked_s = log.samples()[approach.until - 1].time_s - arrived_s;
                        off_s.push((soaked_s - whole_s(soaked_s)).abs());
                    }
                }
                let mean_s = off_s.iter().sum::<f64>() / off_s.len().max(1) as f64;
                let better = best.is_none_or(|(least_s, _)| mean_s < least_s - BETTER_S);
                if off_s.len() >= ENOUGH && mean_s <= MEAN_OFF_S && better {
                    best = Some((mean_s, way));
                }
            }
        }
        best.map_or(usual, |(_, way)| way)
    }

    /// When the model arrives in a log [s].
    pub(super) fn modelled_s(
        &self,
        log: &RunLog,
        approach: &Approach,
        shown_c: &[f64],
        display: Display,
    ) -> Option<f64> {
        let first = log.first_of_arrival(approach);
        let mut crossing = self.crossing(approach.to_c, display.noise_c, display.step_c);
        (first..approach.until)
            .find(|&at| crossing.reached(shown_c[at], 1.0))
            .map(|at| log.samples()[at].time_s)
    }

    /// When the block really arrived in a log [s]: where the soaks tell, so long before their end.
    pub(super) fn real_s(&self, log: &RunLog, approach: &Approach) -> Option<f64> {
        let read_s = log.arrival_s(approach, self.within_c)?;
        if self.told && !self.by_reading && approach.then_scan {
            let end_s = log.samples()[approach.until - 1].time_s;
            return Some(end_s - whole_s(end_s - read_s));
        }
        Some(read_s)
    }

    /// The crossing at which an approach to `to_c` has arrived.
    pub(super) fn crossing(&self, to_c: f64, noise_c: f64, step_c: f64) -> Crossing {
        let threshold_c = to_c - self.within_c;
        if self.by_reading {
            Crossing::rising(threshold_c, noise_c, step_c)
        } else {
            Crossing::rising(threshold_c, 0.0, 0.0)
        }
    }
}

/// The nearest whole minutes, one at least [s].
fn whole_s(soaked_s: f64) -> f64 {
    (soaked_s / SOAK_STEP_S).round().max(1.0) * SOAK_STEP_S
}
