//! Propagation of distributions by Monte Carlo, as JCGM 101 describes it.

use crate::budget::{Component, Distribution};
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_distr::{ChiSquared, Distribution as _, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rayon::prelude::*;

/// Draws from one stream of the generator; fixes the result whatever the number of threads.
const CHUNK: usize = 16_384;

/// Fewest draws that make an interval; JCGM 101 asks for 10⁴/(1 − p) at least.
const FEWEST_DRAWS: usize = 1_000;

/// Which interval of the stated coverage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Interval {
    /// As much left out on either side (JCGM 101:2008, 7.7.2).
    #[default]
    Symmetric,
    /// The shortest (JCGM 101:2008, 5.3.4).
    Shortest,
}

/// How to draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonteCarloOptions {
    /// Number of draws; at least 1,000 are made.
    pub draws: usize,
    /// Fixes the draws: the same seed gives the same numbers on any number of threads.
    pub seed: u64,
    /// Probability of the interval, 0..1.
    pub coverage: f64,
    /// Kind of interval.
    pub interval: Interval,
}

impl Default for MonteCarloOptions {
    fn default() -> Self {
        Self {
            draws: 200_000,
            seed: 20,
            coverage: 0.95,
            interval: Interval::Symmetric,
        }
    }
}

/// What the draws gave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonteCarlo {
    /// Mean of the draws.
    pub mean: f64,
    /// Standard deviation of the draws; grows without end for Student's t with 2 degrees of freedom or fewer.
    pub standard_deviation: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
    /// Standard error of the lower end, from the order statistics around it.
    pub low_standard_error: f64,
    /// Standard error of the upper end, from the order statistics around it.
    pub high_standard_error: f64,
    /// Draws made.
    pub draws: usize,
}

/// Draw an additive result: `value` plus every component times its sensitivity.
///
/// Normal components are drawn as the one normal that their sum is, which is exact. Random numbers:
/// xoshiro256++, one generator for each 16,384 draws, seeded from seed and place.
///
/// # Source
/// JCGM 101:2008, clause 7. Check values: tests/published/gum_supplement.rs.
pub fn propagate(value: f64, components: &[Component], options: MonteCarloOptions) -> MonteCarlo {
    let samplers = Sampler::of_all(components);
    let mut draws = vec![value; options.draws.max(FEWEST_DRAWS)];
    draws
        .par_chunks_mut(CHUNK)
        .enumerate()
        .for_each(|(place, chunk)| {
            let mut generator = generator(options.seed, place as u64);
            for sampler in &samplers {
                sampler.add(chunk, &mut generator);
            }
        });
    summary(draws, options)
}

/// A generator for one stretch of draws. Places are spread by the odd number nearest 2⁶⁴ over the
/// golden ratio, and seeding mixes the bits (SplitMix64).
fn generator(seed: u64, place: u64) -> Generator {
    let spread = (place + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    Generator::seed_from_u64(seed.rotate_left(32) ^ spread)
}

type Generator = Xoshiro256PlusPlus;

/// One component ready to draw.
struct Sampler {
    scale: f64,
    kind: Kind,
}

enum Kind {
    Normal,
    Rectangular,
    Triangular,
    /// `scale` holds the root of the degrees of freedom.
    StudentT {
        chi_squared: ChiSquared<f64>,
    },
}

impl Sampler {
    fn of_all(components: &[Component]) -> Vec<Self> {
        let mut samplers = Vec::new();
        let mut normal_variance = 0.0;
        for component in components {
            let contribution = component.contribution();
            let degrees_of_freedom = component.degrees_of_freedom;
            let chi_squared = ChiSquared::new(degrees_of_freedom);
            let (scale, kind) = match (component.distribution, chi_squared) {
                _ if contribution == 0.0 => continue,
                (Distribution::Rectangular, _) => (contribution * 3f64.sqrt(), Kind::Rectangular),
                (Distribution::Triangular, _) => (contribution * 6f64.sqrt(), Kind::Triangular),
                (Distribution::StudentT, Ok(chi_squared)) if degrees_of_freedom.is_finite() => (
                    contribution * degrees_of_freedom.sqrt(),
                    Kind::StudentT { chi_squared },
                ),
                (Distribution::StudentT | Distribution::Normal, _) => {
                    normal_variance += contribution * contribution;
                    continue;
                }
            };
            samplers.push(Self { scale, kind });
        }
        if normal_variance > 0.0 {
            samplers.push(Self {
                scale: normal_variance.sqrt(),
                kind: Kind::Normal,
            });
        }
        samplers
    }

    fn add(&self, draws: &mut [f64], generator: &mut Generator) {
        let normal = |generator: &mut Generator| -> f64 { StandardNormal.sample(generator) };
        let scale = self.scale;
        match &self.kind {
            Kind::Normal => {
                for draw in draws {
                    *draw += scale * normal(generator);
                }
            }
            Kind::Rectangular => {
                for draw in draws {
                    *draw += scale * (2.0 * generator.random::<f64>() - 1.0);
                }
            }
            Kind::Triangular => {
                for draw in draws {
                    *draw += scale * (generator.random::<f64>() - generator.random::<f64>());
                }
            }
            Kind::StudentT { chi_squared } => {
                for draw in draws {
                    let spread = chi_squared.sample(generator).sqrt();
                    *draw += scale * normal(generator) / spread;
                }
            }
        }
    }
}

fn summary(mut draws: Vec<f64>, options: MonteCarloOptions) -> MonteCarlo {
    let count = draws.len();
    let mean = draws.iter().sum::<f64>() / count as f64;
    let squares: f64 = draws.iter().map(|draw| (draw - mean).powi(2)).sum();
    let inside = ((options.coverage * count as f64).round() as usize).clamp(1, count - 1);
    let start = match options.interval {
        Interval::Symmetric => (count - inside) / 2,
        Interval::Shortest => {
            draws.par_sort_unstable_by(f64::total_cmp);
            (0..count - inside)
                .min_by(|&a, &b| {
                    (draws[a + inside] - draws[a]).total_cmp(&(draws[b + inside] - draws[b]))
                })
                .unwrap_or(0)
        }
    };
    // Only these places need to hold what a sort would put there.
    let mut places: Vec<usize> = [start, start + inside]
        .into_iter()
        .flat_map(|place| around(count, place))
        .collect();
    places.sort_unstable();
    select(&mut draws, &places, 0);
    MonteCarlo {
        mean,
        standard_deviation: (squares / (count - 1) as f64).sqrt(),
        low: draws[start],
        high: draws[start + inside],
        low_standard_error: standard_error(&draws, start),
        high_standard_error: standard_error(&draws, start + inside),
        draws: count,
    }
}

/// A place and those one binomial standard deviation to either side of it.
fn around(count: usize, place: usize) -> [usize; 3] {
    let share = place as f64 / count as f64;
    let aside = (count as f64 * share * (1.0 - share)).sqrt().ceil() as usize;
    [
        place.saturating_sub(aside),
        place,
        (place + aside).min(count - 1),
    ]
}

/// Half the distance of the order statistics one binomial standard deviation to either side.
fn standard_error(selected: &[f64], place: usize) -> f64 {
    let [below, _, above] = around(selected.len(), place);
    (selected[above] - selected[below]) / 2.0
}

/// Put at each of the rising `places`, counted from `first`, the value that a sort would put there.
fn select(values: &mut [f64], places: &[usize], first: usize) {
    let middle = places.len() / 2;
    let Some(&place) = places.get(middle) else {
        return;
    };
    let (low, _, high) = values.select_nth_unstable_by(place - first, f64::total_cmp);
    let (before, after) = (&places[..middle], &places[middle + 1..]);
    let before: Vec<usize> = before
        .iter()
        .copied()
        .filter(|&other| other < place)
        .collect();
    let after: Vec<usize> = after
        .iter()
        .copied()
        .filter(|&other| other > place)
        .collect();
    select(low, &before, first);
    select(high, &after, place + 1);
}

/// Numerical tolerance of a standard uncertainty stated with two significant digits: half a unit of
/// the last of them (JCGM 101:2008, 7.9.2). 0 for an uncertainty of 0.
pub fn numerical_tolerance(standard_uncertainty: f64) -> f64 {
    if !(standard_uncertainty > 0.0 && standard_uncertainty.is_finite()) {
        return 0.0;
    }
    let mut exponent = standard_uncertainty.log10().floor() as i32 - 1;
    // 0.0996 is 1.0e-1 when written with two digits, not 10e-2.
    if (standard_uncertainty / 10f64.powi(exponent)).round() >= 100.0 {
        exponent += 1;
    }
    0.5 * 10f64.powi(exponent)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::budget::Source;

    fn component(distribution: Distribution, degrees_of_freedom: f64) -> Component {
        Component {
            source: Source::Other,
            text: String::new(),
            standard_uncertainty: 1.0,
            sensitivity: 1.0,
            degrees_of_freedom,
            distribution,
        }
    }

    #[test]
    fn draws_repeat_whatever_the_threads() {
        let budget = [component(Distribution::Normal, f64::INFINITY)];
        let found = propagate(0.0, &budget, MonteCarloOptions::default());
        let one = rayon::ThreadPoolBuilder::new()
            .num_threads(1)
            .build()
            .expect("one thread");
        assert_eq!(
            found,
            one.install(|| propagate(0.0, &budget, MonteCarloOptions::default()))
        );
        let other = MonteCarloOptions {
            seed: 21,
            ..MonteCarloOptions::default()
        };
        assert_ne!(found, propagate(0.0, &budget, other));
    }

    #[test]
    fn each_shape_has_the_standard_deviation_it_claims() {
        for (shape, nu) in [
            (Distribution::Normal, f64::INFINITY),
            (Distribution::Rectangular, f64::INFINITY),
            (Distribution::Triangular, f64::INFINITY),
        ] {
            let found = propagate(5.0, &[component(shape, nu)], MonteCarloOptions::default());
            // Standard error of a standard deviation from 200,000 draws: below 0.002.
            assert!((found.standard_deviation - 1.0).abs() < 0.01, "{shape:?}");
            assert!((found.mean - 5.0).abs() < 0.01, "{shape:?}");
        }
    }

    #[test]
    fn students_t_covers_as_its_table_says() {
        let found = propagate(
            0.0,
            &[component(Distribution::StudentT, 5.0)],
            MonteCarloOptions::default(),
        );
        assert!((found.high - 2.5706).abs() < 0.05, "{found:?}");
        assert!((found.low + 2.5706).abs() < 0.05, "{found:?}");
    }

    #[test]
    fn nothing_uncertain_is_a_point() {
        let found = propagate(3.0, &[], MonteCarloOptions::default());
        assert_eq!(
            (found.low, found.high, found.standard_deviation),
            (3.0, 3.0, 0.0)
        );
    }
}
