//! The lines of the budget of one end.

use crate::budget::{Component, Distribution, Source, type_a};
use crate::determination::corrections::{Group, GroupMean};
use crate::determination::further::LIMIT_OVER_REPEATABILITY;
use crate::determination::result::{Correction, DeterminationOptions, End};
use crate::determination::runs::RunMean;
use crate::zero_rate::one_rate;

/// Largest difference seen between a melting point at a pharmacopoeia's rate, about 1 °C/min, and at
/// zero rate [°C]: twelve reference substances, listed clear points against triple points. It grows
/// with the root of the rate.
const MOST_RATE_EFFECT_C: f64 = 2.2;

/// What readings of the runs used contribute: their stated uncertainties, and the step of those
/// without.
pub(crate) fn readings(used: &[&RunMean], end: End, sensitivity: f64) -> Vec<Component> {
    let count = used.len() as f64;
    let share = |part: fn(f64) -> f64| {
        let squares: f64 = used
            .iter()
            .map(|run| {
                let mean = run.mean(end);
                mean.reading_u_c.powi(2) * part(mean.step_share)
            })
            .sum();
        squares.sqrt() / count
    };
    let lines = [
        (
            Source::Reading,
            "readings of the tubes, as their uncertainty is stated",
            share(|step| 1.0 - step),
        ),
        (
            Source::Resolution,
            "step of the readings without a stated uncertainty, δ/√12",
            share(|step| step),
        ),
    ];
    lines
        .into_iter()
        .filter(|(.., u)| *u > 0.0)
        .map(|(source, text, standard_uncertainty)| Component {
            source,
            text: text.to_owned(),
            standard_uncertainty,
            sensitivity,
            degrees_of_freedom: f64::INFINITY,
            distribution: Distribution::Normal,
        })
        .collect()
}

/// What the runs scatter beyond their readings. `values_c` are the runs as they are compared.
pub(crate) fn repeatability(
    used: &[&RunMean],
    values_c: &[f64],
    end: End,
    options: &DeterminationOptions<'_>,
    sensitivity: f64,
) -> Component {
    let count = used.len() as f64;
    let reading_variance = used
        .iter()
        .map(|run| run.mean(end).reading_u_c.powi(2))
        .sum::<f64>()
        / count;
    let scatter = scatter(values_c, options);
    let beyond = (scatter.standard_deviation_c.powi(2) - reading_variance).max(0.0);
    Component {
        source: Source::Repeatability,
        text: scatter.text,
        standard_uncertainty: (beyond / count).sqrt(),
        sensitivity,
        degrees_of_freedom: scatter.degrees_of_freedom,
        distribution: t_or_normal(scatter.degrees_of_freedom),
    }
}

/// What the correction contributes for one group; `weight` is its share of the runs.
pub(crate) fn correction(group: &Group<'_>, mean: &GroupMean, weight: f64) -> Option<Component> {
    let of_runs = if weight < 1.0 {
        let count = group.runs.len();
        format!(" ({count} of {:.0} runs)", count as f64 / weight)
    } else {
        String::new()
    };
    let (source, text, standard_uncertainty, degrees_of_freedom) = match group.correction {
        Correction::None => return None,
        Correction::Calibration(calibration) => (
            Source::Calibration,
            "the fitted correction at this temperature",
            calibration.standard_uncertainty_c(mean.indicated),
            calibration.degrees_of_freedom(),
        ),
        Correction::Stem(..) => (
            Source::Stem,
            "mean temperature of the emergent column, expansion of the liquid",
            mean.corrected
                .map_or(0.0, |corrected| corrected.standard_uncertainty_c()),
            f64::INFINITY,
        ),
    };
    Some(Component {
        source,
        text: format!("{text}{of_runs}"),
        standard_uncertainty,
        sensitivity: weight,
        degrees_of_freedom,
        distribution: t_or_normal(degrees_of_freedom),
    })
}

/// What heating rate and lag contribute over all runs used.
///
/// Both are of the same sample with the same sign, whatever the bench: their limits add up.
pub(crate) fn heating(used: &[&RunMean], options: &DeterminationOptions<'_>) -> Vec<Component> {
    let count = used.len() as f64;
    let rectangular = Distribution::Rectangular;
    let line = |source, text, standard_uncertainty| Component {
        source,
        text,
        standard_uncertainty,
        sensitivity: 1.0,
        degrees_of_freedom: f64::INFINITY,
        distribution: rectangular,
    };
    let (mut rate_half_width_c, mut rates_known, mut others) = (0.0, false, Vec::new());
    let (mut lag_c_per_s, mut lag_known) = (0.0, false);
    for run in used {
        let Some(rate) = options.rate_of(&run.run) else {
            continue;
        };
        // Standards lag as samples do: only what the rates differ is left.
        let beyond = match options.correction_of(&run.run) {
            Correction::Calibration(calibration) => {
                let Some(standards) = calibration.curve().read_at_c_per_min else {
                    continue;
                };
                rates_known = true;
                if one_rate(&[rate, standards]).is_some() {
                    0.0
                } else {
                    rate_half_width_c +=
                        MOST_RATE_EFFECT_C * (rate.sqrt() - standards.sqrt()).abs() / count;
                    others.push(format!(
                        "{rate:.2} °C/min, the standards {standards:.2} °C/min"
                    ));
                    (rate - standards).abs()
                }
            }
            Correction::None | Correction::Stem(..) => rate,
        };
        lag_known = true;
        lag_c_per_s += beyond / 60.0 / count;
    }
    let mut lines = Vec::new();
    if rates_known {
        let text = if others.is_empty() {
            "heated as the standards were: nothing to add".to_owned()
        } else {
            format!(
                "heated otherwise than the standards, not corrected: {}",
                others.join("; ")
            )
        };
        lines.push(line(
            Source::Rate,
            text,
            rectangular.standard_uncertainty(rate_half_width_c),
        ));
    }
    if let Some(lag) = options.lag.filter(|_| lag_known) {
        lines.push(line(
            Source::Lag,
            format!(
                "the sample follows the thermometer by {:.0} s; not corrected",
                lag.seconds
            ),
            rectangular
                .standard_uncertainty(lag.seconds * lag_c_per_s)
                .hypot(lag.standard_uncertainty_s * lag_c_per_s),
        ));
    }
    lines
}

fn t_or_normal(degrees_of_freedom: f64) -> Distribution {
    if degrees_of_freedom.is_finite() {
        Distribution::StudentT
    } else {
        Distribution::Normal
    }
}

struct Scatter {
    standard_deviation_c: f64,
    degrees_of_freedom: f64,
    text: String,
}

/// Scatter of one run: of these runs, pooled with what is known; with neither, what the limit implies.
fn scatter(values: &[f64], options: &DeterminationOptions<'_>) -> Scatter {
    let here = type_a(values);
    let count = values.len();
    match (here, options.repeatability) {
        (Some(here), None) => Scatter {
            standard_deviation_c: here.standard_deviation,
            degrees_of_freedom: here.degrees_of_freedom,
            text: format!("scatter of {count} runs beyond their readings' uncertainty"),
        },
        (Some(here), Some(known)) if known.degrees_of_freedom.is_finite() => {
            let together = here.degrees_of_freedom + known.degrees_of_freedom;
            let squares = here.degrees_of_freedom * here.standard_deviation.powi(2)
                + known.degrees_of_freedom * known.standard_deviation_c.powi(2);
            Scatter {
                standard_deviation_c: (squares / together).sqrt(),
                degrees_of_freedom: together,
                text: format!("scatter of {count} runs pooled with the known repeatability"),
            }
        }
        (_, Some(known)) => Scatter {
            standard_deviation_c: known.standard_deviation_c,
            degrees_of_freedom: known.degrees_of_freedom,
            text: "the known repeatability".to_owned(),
        },
        (None, None) => Scatter {
            standard_deviation_c: options.agree_within_c / LIMIT_OVER_REPEATABILITY,
            degrees_of_freedom: f64::INFINITY,
            text: "assumed: one run shows no scatter, so that which the limit of agreement implies (limit/2.8)"
                .to_owned(),
        },
    }
}
