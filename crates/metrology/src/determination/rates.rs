//! Runs at several heating rates: the value of each end at zero rate.

use crate::determination::further::LIMIT_OVER_REPEATABILITY;
use crate::determination::result::{Correction, DeterminationOptions, End};
use crate::determination::runs::RunMean;
use crate::zero_rate::{AtRate, SAME_RATE, ZeroRate, zero_rate};
use meltrange_physics::Celsius;
use serde::{Deserialize, Serialize};

/// Rates further apart than this factor are no repeats of each other.
const RATES_DIFFER: f64 = 1.25;

/// Both ends at zero heating rate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct EndsAtZeroRate {
    /// First liquid.
    pub first_liquid: ZeroRate,
    /// Last crystal.
    pub last_crystal: ZeroRate,
    /// Slowest and fastest run [°C/min].
    pub rates_c_per_min: [f64; 2],
    /// What the value is and is not, in words.
    pub note: String,
}

/// Slowest and fastest of the runs whose rate is known [°C/min].
pub(crate) fn extremes(runs: &[RunMean], options: &DeterminationOptions<'_>) -> Option<[f64; 2]> {
    let rates = || runs.iter().filter_map(|run| options.rate_of(&run.run));
    let lowest = rates().reduce(f64::min)?;
    Some([lowest, rates().reduce(f64::max)?])
}

/// Whether runs were heated so differently that they are no repeats.
pub(crate) fn differ([lowest, highest]: [f64; 2]) -> bool {
    highest > lowest * RATES_DIFFER
}

/// Extrapolate the runs, as they are compared, whose heating rate is known; none at fewer than two rates.
pub(crate) fn at_zero_rate(
    runs: &[RunMean],
    options: &DeterminationOptions<'_>,
) -> Option<EndsAtZeroRate> {
    let rates_c_per_min = extremes(runs, options).filter(|&rates| differ(rates))?;
    let end = |end: End| {
        let scatter_c = scatter_c(runs, end, options);
        let points: Vec<AtRate> = runs
            .iter()
            .filter_map(|run| {
                Some(AtRate {
                    rate_c_per_min: options.rate_of(&run.run)?,
                    temperature: Celsius(run.value_c(end)),
                    standard_uncertainty_c: run.mean(end).reading_u_c.max(scatter_c),
                })
            })
            .collect();
        zero_rate(&points).ok()
    };
    Some(EndsAtZeroRate {
        first_liquid: end(End::FirstLiquid)?,
        last_crystal: end(End::LastCrystal)?,
        rates_c_per_min,
        note: note(runs, options),
    })
}

/// Scatter of one run among runs at its rate [°C]; where each rate has one run, that which the limit
/// of agreement implies.
fn scatter_c(runs: &[RunMean], end: End, options: &DeterminationOptions<'_>) -> f64 {
    let mut known: Vec<(f64, f64)> = runs
        .iter()
        .filter_map(|run| Some((options.rate_of(&run.run)?, run.value_c(end))))
        .collect();
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut squares, mut spare) = (0.0, 0.0);
    for alike in known.chunk_by(|a, b| b.0 <= a.0 * (1.0 + SAME_RATE)) {
        let count = alike.len() as f64;
        let mean = alike.iter().map(|(_, value)| value).sum::<f64>() / count;
        squares += alike
            .iter()
            .map(|(_, value)| (value - mean).powi(2))
            .sum::<f64>();
        spare += count - 1.0;
    }
    if spare > 0.0 {
        (squares / spare).sqrt()
    } else {
        options.agree_within_c / LIMIT_OVER_REPEATABILITY
    }
}

fn note(runs: &[RunMean], options: &DeterminationOptions<'_>) -> String {
    let corrections = || runs.iter().map(|run| options.correction_of(&run.run));
    let read_at = corrections().find_map(|correction| match correction {
        Correction::Calibration(calibration) => calibration.curve().read_at_c_per_min,
        _ => None,
    });
    match read_at {
        Some(rate) => format!(
            "the standards were read at {rate} °C/min, so what the thermometer lags at that rate is in the correction: extrapolated to zero it is taken off twice. Read the standards at the same rates and extrapolate them too, or use the value at {rate} °C/min"
        ),
        None if corrections().any(|correction| correction != Correction::None) => {
            "thermodynamic only if the standards of the calibration were extrapolated to zero rate as well".to_owned()
        }
        None => "as indicated, at zero rate; not corrected".to_owned(),
    }
}
