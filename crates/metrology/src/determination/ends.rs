//! One end of a result: mean, correction, budget, check.

use crate::budget::{Component, DegreesOfFreedomRule, Distribution, Source, combine, type_a};
use crate::determination::further::LIMIT_OVER_REPEATABILITY;
use crate::determination::result::{
    Correction, DeterminationOptions, End, EndResult, MonteCarloCheck,
};
use crate::determination::runs::{DeterminationError, RunMean};
use crate::monte_carlo::{MonteCarloOptions, numerical_tolerance, propagate};
use crate::stem::correct_for_stem;
use crate::temperature::{Convention, Corrected, Indicated};
use meltrange_physics::Celsius;

/// Coverage of expanded uncertainties.
const COVERAGE: f64 = 0.95;

/// Standard errors of an end by Monte Carlo that count as chance.
const DRAW_NOISE: f64 = 3.0;

/// Mean, correction, budget and check of one end.
pub(crate) fn end_result(
    used: &[&RunMean],
    end: End,
    options: &DeterminationOptions<'_>,
) -> Result<(EndResult, Option<Convention>), DeterminationError> {
    let values: Vec<f64> = used.iter().map(|run| run.value_c(end)).collect();
    let indicated_c = values.iter().sum::<f64>() / values.len() as f64;
    // The uncertainty of the mean is kept in the budget, not in the reading.
    let reading = Indicated::new(Celsius(indicated_c), 0.0)?;
    let (corrected, from_correction, sensitivity) = corrected(reading, options.correction)?;
    let value_c = corrected.map_or(indicated_c, |corrected| corrected.value().0);
    let mut budget = run_components(used, end, &values, options, sensitivity);
    budget.extend(from_correction);
    let combined = combine(&budget, COVERAGE, DegreesOfFreedomRule::AsTheyCome);
    let monte_carlo = options.monte_carlo.map(|options| {
        let draws = propagate(
            value_c,
            &budget,
            MonteCarloOptions {
                coverage: COVERAGE,
                ..options
            },
        );
        let tolerance_c = numerical_tolerance(combined.standard_uncertainty);
        // Draws scatter too: an end must be off by more than they explain.
        let off = |found: f64, noise: f64, first_order: f64| {
            (found - first_order).abs() > tolerance_c + DRAW_NOISE * noise
        };
        MonteCarloCheck {
            low_c: draws.low,
            high_c: draws.high,
            draws: draws.draws,
            differs: off(
                draws.low,
                draws.low_standard_error,
                value_c - combined.expanded_uncertainty,
            ) || off(
                draws.high,
                draws.high_standard_error,
                value_c + combined.expanded_uncertainty,
            ),
        }
    });
    let effective = combined.effective_degrees_of_freedom;
    let result = EndResult {
        value_c,
        standard_uncertainty_c: combined.standard_uncertainty,
        expanded_uncertainty_c: combined.expanded_uncertainty,
        coverage_factor: combined.coverage_factor,
        effective_degrees_of_freedom: effective.is_finite().then_some(effective),
        indicated_c,
        correction_c: value_c - indicated_c,
        extrapolated: corrected.is_some_and(|corrected| corrected.is_extrapolated()),
        budget,
        monte_carlo,
    };
    Ok((result, corrected.map(|corrected| corrected.convention())))
}

/// The correction, its line of the budget, and how much the result moves with the reading.
fn corrected(
    reading: Indicated,
    correction: Correction<'_>,
) -> Result<(Option<Corrected>, Option<Component>, f64), DeterminationError> {
    let component = |source, text: &str, standard_uncertainty, degrees_of_freedom| Component {
        source,
        text: text.to_owned(),
        standard_uncertainty,
        sensitivity: 1.0,
        degrees_of_freedom,
        distribution: if f64::is_finite(degrees_of_freedom) {
            Distribution::StudentT
        } else {
            Distribution::Normal
        },
    };
    Ok(match correction {
        Correction::None => (None, None, 1.0),
        Correction::Calibration(calibration) => {
            let line = component(
                Source::Calibration,
                "the fitted correction at this temperature",
                calibration.standard_uncertainty_c(reading.value()),
                calibration.degrees_of_freedom(),
            );
            let sensitivity = calibration.sensitivity(reading.value());
            (Some(calibration.correct(reading)), Some(line), sensitivity)
        }
        Correction::Stem(thermometer, stem) => {
            let corrected = correct_for_stem(thermometer, stem, reading, None)?;
            let line = component(
                Source::Stem,
                "mean temperature of the emergent column, expansion of the liquid",
                corrected.standard_uncertainty_c(),
                f64::INFINITY,
            );
            (Some(corrected), Some(line), 1.0)
        }
    })
}

/// What readings and their scatter contribute.
fn run_components(
    used: &[&RunMean],
    end: End,
    values: &[f64],
    options: &DeterminationOptions<'_>,
    sensitivity: f64,
) -> Vec<Component> {
    let count = values.len() as f64;
    let reading_variance = used
        .iter()
        .map(|run| run.mean(end).reading_u_c.powi(2))
        .sum::<f64>()
        / count;
    let scatter = scatter(values, options);
    let beyond = (scatter.standard_deviation_c.powi(2) - reading_variance).max(0.0);
    let distribution = if scatter.degrees_of_freedom.is_finite() {
        Distribution::StudentT
    } else {
        Distribution::Normal
    };
    vec![
        Component {
            source: Source::Reading,
            text: "readings of the tubes, their stated uncertainty or the step they are written in"
                .to_owned(),
            standard_uncertainty: (reading_variance / count).sqrt(),
            sensitivity,
            degrees_of_freedom: f64::INFINITY,
            distribution: Distribution::Normal,
        },
        Component {
            source: Source::Repeatability,
            text: scatter.text,
            standard_uncertainty: (beyond / count).sqrt(),
            sensitivity,
            degrees_of_freedom: scatter.degrees_of_freedom,
            distribution,
        },
    ]
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
