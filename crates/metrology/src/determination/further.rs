//! How many more runs are likely to be needed.

use crate::budget::type_a;
use crate::determination::agreement::{Ends, agreeing, last_makes_agree};
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use rand_distr::{ChiSquared, Distribution as _, StandardNormal};

/// More runs than this are not planned for: the cause of the scatter is looked for instead.
pub(crate) const MOST_FURTHER: usize = 10;

/// Futures that are played through.
const FUTURES: usize = 400;

/// Fixes the futures: the same runs always give the same answer.
const SEED: u64 = 5;

/// Two runs differ by at most this many standard deviations of repeatability in 95 of 100 cases
/// (repeatability limit r = 2.8 s, ISO 5725-6).
pub(crate) const LIMIT_OVER_REPEATABILITY: f64 = 2.8;

/// Median number of further runs until enough agree, at most [`MOST_FURTHER`]; 0 when they agree.
///
/// Each future draws the repeatability of each end from what the runs show of it (scaled inverse
/// χ²; with one run, the repeatability that the limit of agreement implies), a true value, and then
/// run after run, ends independent of each other. A drift is not foreseen.
pub(crate) fn further_runs(runs: &[Ends], limit_c: f64) -> usize {
    if agreeing(runs, limit_c).is_some() {
        return 0;
    }
    let mut generator = ChaCha8Rng::seed_from_u64(SEED);
    let mut needed: Vec<usize> = (0..FUTURES)
        .map(|_| one_future(runs, limit_c, &mut generator))
        .collect();
    needed.sort_unstable();
    needed.get(FUTURES / 2).copied().unwrap_or(MOST_FURTHER)
}

fn one_future(runs: &[Ends], limit_c: f64, generator: &mut ChaCha8Rng) -> usize {
    let truths = [0, 1].map(|end| Truth::drawn(runs, end, limit_c, generator));
    let mut all = runs.to_vec();
    for further in 1..=MOST_FURTHER {
        all.push([truths[0].run(generator), truths[1].run(generator)]);
        if last_makes_agree(&all, limit_c) {
            return further;
        }
    }
    MOST_FURTHER
}

struct Truth {
    centre_c: f64,
    repeatability_c: f64,
}

impl Truth {
    fn drawn(runs: &[Ends], end: usize, limit_c: f64, generator: &mut ChaCha8Rng) -> Self {
        let values: Vec<f64> = runs
            .iter()
            .filter_map(|run| run.get(end).copied())
            .collect();
        let assumed_c = limit_c / LIMIT_OVER_REPEATABILITY;
        let (centre_c, repeatability_c) = match type_a(&values) {
            Some(scatter) => {
                let nu = scatter.degrees_of_freedom;
                let chi_squared: f64 =
                    ChiSquared::new(nu).map_or(nu, |distribution| distribution.sample(generator));
                (
                    scatter.mean,
                    scatter.standard_deviation * (nu / chi_squared).sqrt(),
                )
            }
            None => (values.first().copied().unwrap_or(0.0), assumed_c),
        };
        let z: f64 = StandardNormal.sample(generator);
        let root = (values.len().max(1) as f64).sqrt();
        Self {
            centre_c: centre_c + z * repeatability_c / root,
            repeatability_c,
        }
    }

    fn run(&self, generator: &mut ChaCha8Rng) -> f64 {
        let z: f64 = StandardNormal.sample(generator);
        self.centre_c + z * self.repeatability_c
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_agrees_needs_no_more_and_what_scatters_needs_many() {
        assert_eq!(further_runs(&[[121.5, 122.5], [121.7, 122.6]], 0.5), 0);
        assert_eq!(further_runs(&[[121.5, 122.5]], 0.5), 1);
        let near = further_runs(&[[121.5, 122.5], [122.1, 122.6]], 0.5);
        let far = further_runs(&[[115.0, 122.5], [122.1, 130.0]], 0.5);
        assert!((1..=3).contains(&near), "{near}");
        assert!(far > near, "{far} after {near}");
    }
}
