//! Control charts of single values: individuals, moving range, exponentially weighted average.

use crate::drift::rules::{ChartRule, RUN_ON_ONE_SIDE};
use serde::{Deserialize, Serialize};

/// Mean range of two values from a normal distribution of standard deviation 1: 2/√π.
const D2: f64 = std::f64::consts::FRAC_2_SQRT_PI;
/// Standard deviation of that range, √(2 − 4/π).
const D3: f64 = 0.852_502_466_131_884_5;

/// Standard deviations from the centre to a limit.
const LIMIT: f64 = 3.0;

/// Fewer values than this make limits that are provisional; common practice asks for about 20.
const FIRM: usize = 20;

/// Rounding of decimals that must not make a value on a limit lie beyond it [°C].
const ROUNDING_C: f64 = 1e-9;

/// Least values that show any scatter.
const FEWEST: usize = 2;

/// How to chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartOptions {
    /// How many of the first values set centre and limits; all if not said.
    pub baseline: Option<usize>,
    /// Centre, if it is not the mean of the baseline.
    pub centre_c: Option<f64>,
    /// Standard deviation of one value [°C], > 0, if it is not told from the baseline.
    pub sigma_c: Option<f64>,
    /// Weight of the newest value in the weighted average, 0..=1; 0.2 to 0.3 is usual.
    pub lambda: f64,
    /// Standard deviations of the weighted average to its limits.
    pub width: f64,
    /// Least standard deviation believed [°C], ≥ 0: checks read in coarse steps may repeat exactly.
    pub least_sigma_c: f64,
}

impl Default for ChartOptions {
    fn default() -> Self {
        Self {
            baseline: None,
            centre_c: None,
            sigma_c: None,
            lambda: 0.3,
            width: LIMIT,
            least_sigma_c: 0.0,
        }
    }
}

/// Standard deviation of a check that is believed at best while few checks have been made [°C]: half the
/// smallest expanded uncertainty, 0.2 °C, that a laboratory states for organic melting points
/// (Le Goff et al., J. Therm. Anal. Calorim. 96 (2009) 653).
const BEST_SIGMA_C: f64 = 0.1;

impl ChartOptions {
    /// For `count` checks of a thermometer read in steps of `resolution_c`: the first checks, 20 at most
    /// and never the latest, set the limits, so that what is judged does not judge itself.
    pub fn of_checks(count: usize, resolution_c: f64) -> Self {
        let baseline = count.saturating_sub(1).min(FIRM);
        let rounding_c = resolution_c / 12f64.sqrt();
        Self {
            baseline: Some(baseline),
            least_sigma_c: if baseline < FIRM {
                BEST_SIGMA_C.max(rounding_c)
            } else {
                rounding_c
            },
            ..Self::default()
        }
    }
}

/// Two limits [°C].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ChartLimits {
    /// Lower [°C].
    pub low_c: f64,
    /// Upper [°C].
    pub high_c: f64,
}

/// One value with what the rules say of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ChartPoint {
    /// The value [°C].
    pub value_c: f64,
    /// Rules that it breaks.
    pub alarms: Vec<Alarm>,
}

/// A rule that is broken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Alarm {
    /// Which.
    pub rule: ChartRule,
    /// What was found, in words.
    pub text: String,
}

/// Differences of neighbours.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MovingRangeChart {
    /// Without sign [°C]; null for the first.
    pub values_c: Vec<Option<f64>>,
    /// Mean over the baseline [°C].
    pub mean_c: f64,
    /// Upper limit [°C].
    pub high_c: f64,
}

/// The exponentially weighted average.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct WeightedAverageChart {
    /// Weight of the newest value.
    pub lambda: f64,
    /// Standard deviations to the limits.
    pub width: f64,
    /// After each value [°C].
    pub values_c: Vec<f64>,
    /// Limits after each value [°C]; they widen to a steady state.
    pub limits: Vec<ChartLimits>,
}

/// The charts of one series.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ControlChart {
    /// Centre [°C].
    pub centre_c: f64,
    /// Standard deviation of one value [°C].
    pub sigma_c: f64,
    /// Limits of single values.
    pub limits: ChartLimits,
    /// In order.
    pub points: Vec<ChartPoint>,
    /// Differences of neighbours.
    pub moving_range: MovingRangeChart,
    /// The weighted average.
    pub weighted_average: WeightedAverageChart,
    /// Whether the limits rest on too few values to be firm.
    pub provisional: bool,
}

impl ControlChart {
    /// What the latest value breaks; the series is out of control while this is not empty.
    pub fn latest_alarms(&self) -> &[Alarm] {
        self.points.last().map_or(&[], |point| &point.alarms)
    }
}

/// Why there is no chart.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ChartError {
    /// Nothing scatters yet.
    #[error("there are {found} check(s); expected at least {FEWEST} for a chart")]
    TooFew {
        /// How many.
        found: usize,
    },
    /// No number.
    #[error("check {place} is {found:?} °C; expected a finite number")]
    Value {
        /// Which, from 1.
        place: usize,
        /// The number.
        found: f64,
    },
    /// An option without sense.
    #[error("{option} is {found:?}; expected {expected}")]
    Option {
        /// Which.
        option: &'static str,
        /// The number.
        found: f64,
        /// In words.
        expected: &'static str,
    },
}

/// Chart a series of check results in order.
///
/// Standard deviation from the mean moving range over 2/√π; limits of single values at three of
/// them; limit of the moving range at its mean plus three of its own standard deviations (3.27
/// times the mean); exponentially weighted average with the limits of each step.
///
/// # Errors
/// [`ChartError`] for fewer than two values, numbers that are none and options without sense.
///
/// # Source
/// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 and 6.3.2.4. Check values:
/// tests/published/control_charts.rs.
pub fn control_chart(values_c: &[f64], options: ChartOptions) -> Result<ControlChart, ChartError> {
    check(values_c, options)?;
    let ranges: Vec<f64> = values_c
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .collect();
    let baseline = options
        .baseline
        .unwrap_or(values_c.len())
        .clamp(FEWEST, values_c.len());
    let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
    let centre_c = options
        .centre_c
        .unwrap_or_else(|| mean(&values_c[..baseline]));
    let shown_sigma_c = mean(&ranges[..baseline - 1]) / D2;
    let sigma_c = options
        .sigma_c
        .unwrap_or_else(|| shown_sigma_c.max(options.least_sigma_c));
    let limits = ChartLimits {
        low_c: centre_c - LIMIT * sigma_c,
        high_c: centre_c + LIMIT * sigma_c,
    };
    let moving_range = MovingRangeChart {
        values_c: std::iter::once(None)
            .chain(ranges.iter().copied().map(Some))
            .collect(),
        mean_c: D2 * sigma_c,
        high_c: (D2 + LIMIT * D3) * sigma_c,
    };
    let weighted_average = weighted_average(values_c, centre_c, sigma_c, options);
    let mut chart = ControlChart {
        centre_c,
        sigma_c,
        limits,
        points: Vec::new(),
        moving_range,
        weighted_average,
        provisional: baseline < FIRM && options.sigma_c.is_none(),
    };
    let mut on_one_side = 0i64;
    chart.points = (0..)
        .zip(values_c)
        .map(|(place, &value_c)| {
            on_one_side = match (value_c > centre_c, value_c < centre_c) {
                (true, _) => on_one_side.max(0) + 1,
                (_, true) => on_one_side.min(0) - 1,
                _ => 0,
            };
            ChartPoint {
                value_c,
                alarms: alarms(&chart, place, value_c, on_one_side.unsigned_abs() as usize),
            }
        })
        .collect();
    Ok(chart)
}

fn check(values_c: &[f64], options: ChartOptions) -> Result<(), ChartError> {
    if values_c.len() < FEWEST {
        return Err(ChartError::TooFew {
            found: values_c.len(),
        });
    }
    for (place, &found) in (1..).zip(values_c) {
        if !found.is_finite() {
            return Err(ChartError::Value { place, found });
        }
    }
    let option = |option, found, expected| {
        Err(ChartError::Option {
            option,
            found,
            expected,
        })
    };
    if !(options.lambda > 0.0 && options.lambda <= 1.0) {
        return option(
            "the weight of the newest check",
            options.lambda,
            "above 0 and at most 1",
        );
    }
    if !(options.width > 0.0 && options.width.is_finite()) {
        return option("the width of the limits", options.width, "a number above 0");
    }
    match options.sigma_c {
        Some(found) if !(found > 0.0 && found.is_finite()) => {
            option("the standard deviation", found, "a number above 0")
        }
        _ => Ok(()),
    }
}

fn weighted_average(
    values_c: &[f64],
    centre_c: f64,
    sigma_c: f64,
    options: ChartOptions,
) -> WeightedAverageChart {
    let ChartOptions { lambda, width, .. } = options;
    let kept = 1.0 - lambda;
    let mut average_c = centre_c;
    let mut values = Vec::with_capacity(values_c.len());
    let mut limits = Vec::with_capacity(values_c.len());
    for (step, value_c) in (1..).zip(values_c) {
        average_c = lambda * value_c + kept * average_c;
        let variance = lambda / (2.0 - lambda) * (1.0 - kept.powi(2 * step));
        let aside_c = width * sigma_c * variance.sqrt();
        values.push(average_c);
        limits.push(ChartLimits {
            low_c: centre_c - aside_c,
            high_c: centre_c + aside_c,
        });
    }
    WeightedAverageChart {
        lambda,
        width,
        values_c: values,
        limits,
    }
}

/// What the value at `place` breaks; `on_one_side` values up to it lie on its side of the centre.
fn alarms(chart: &ControlChart, place: usize, value_c: f64, on_one_side: usize) -> Vec<Alarm> {
    let mut alarms = Vec::new();
    let mut alarm = |rule, text| alarms.push(Alarm { rule, text });
    let outside = |value: f64, limits: ChartLimits| {
        value < limits.low_c - ROUNDING_C || value > limits.high_c + ROUNDING_C
    };
    if outside(value_c, chart.limits) {
        alarm(
            ChartRule::BeyondLimits,
            format!(
                "{value_c:+.2} °C, beyond {:+.2} to {:+.2} °C",
                chart.limits.low_c, chart.limits.high_c
            ),
        );
    }
    let range = chart.moving_range.values_c.get(place).copied().flatten();
    if let Some(range_c) = range.filter(|range_c| *range_c > chart.moving_range.high_c + ROUNDING_C)
    {
        alarm(
            ChartRule::MovingRange,
            format!(
                "{range_c:.2} °C from the check before, more than {:.2} °C",
                chart.moving_range.high_c
            ),
        );
    }
    let average = &chart.weighted_average;
    if let Some((&average_c, &limits)) = average.values_c.get(place).zip(average.limits.get(place))
        && outside(average_c, limits)
    {
        alarm(
            ChartRule::WeightedAverage,
            format!(
                "weighted average {average_c:+.2} °C, beyond {:+.2} to {:+.2} °C",
                limits.low_c, limits.high_c
            ),
        );
    }
    if on_one_side >= RUN_ON_ONE_SIDE {
        alarm(
            ChartRule::RunOnOneSide,
            format!(
                "{on_one_side} checks in a row on one side of {:+.2} °C",
                chart.centre_c
            ),
        );
    }
    alarms
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_series_has_no_chart() {
        let chart = |values: &[f64]| control_chart(values, ChartOptions::default());
        assert!(matches!(
            chart(&[0.1]),
            Err(ChartError::TooFew { found: 1 })
        ));
        for bad in [f64::NAN, f64::INFINITY] {
            let error = chart(&[0.1, bad]).expect_err("no number");
            assert!(error.to_string().contains("check 2"), "{error}");
        }
        for lambda in [0.0, 1.5, f64::NAN] {
            let options = ChartOptions {
                lambda,
                ..ChartOptions::default()
            };
            assert!(control_chart(&[0.1, 0.2], options).is_err(), "{lambda}");
        }
    }

    #[test]
    fn a_jump_and_a_drift_are_both_seen() {
        let sound = [
            0.05, -0.04, 0.02, -0.06, 0.03, 0.0, 0.05, -0.03, 0.01, -0.02,
        ];
        let options = ChartOptions {
            baseline: Some(sound.len()),
            ..ChartOptions::default()
        };
        let rules = |more: &[f64]| -> Vec<ChartRule> {
            let series: Vec<f64> = sound.iter().chain(more).copied().collect();
            let chart = control_chart(&series, options).expect("a series");
            chart
                .latest_alarms()
                .iter()
                .map(|alarm| alarm.rule)
                .collect()
        };
        assert_eq!(rules(&[]), []);
        let jump = rules(&[0.6]);
        assert!(jump.contains(&ChartRule::BeyondLimits) && jump.contains(&ChartRule::MovingRange));
        // Each within three standard deviations, all on one side: the average moves.
        let drift = rules(&[0.09, 0.10, 0.11, 0.10, 0.11, 0.10]);
        assert_eq!(drift, [ChartRule::WeightedAverage]);
        let side = rules(&[0.02, 0.03, 0.02, 0.02, 0.03, 0.02, 0.03, 0.02]);
        assert!(side.contains(&ChartRule::RunOnOneSide), "{side:?}");
    }

    #[test]
    fn checks_that_repeat_exactly_still_have_limits() {
        let options = ChartOptions {
            least_sigma_c: 0.1 / 12f64.sqrt(),
            ..ChartOptions::default()
        };
        let chart = control_chart(&[0.1, 0.1, 0.1], options).expect("a series");
        assert!(chart.latest_alarms().is_empty());
        assert!(chart.limits.high_c > 0.18);
        assert!(chart.provisional);
    }
}
