//! One end of a result: mean, correction, budget, check.

use crate::budget::{Combined, Component, DegreesOfFreedomRule, combine};
use crate::determination::components;
use crate::determination::corrections::{Group, GroupMean};
use crate::determination::result::{
    DeterminationOptions, End, EndResult, MonteCarloCheck, StatedFrom,
};
use crate::determination::runs::{DeterminationError, RunMean};
use crate::distributions::student_t;
use crate::monte_carlo::{MonteCarloOptions, numerical_tolerance, propagate};

/// Coverage of expanded uncertainties.
const COVERAGE: f64 = 0.95;

/// Standard errors of an end by Monte Carlo that count as chance.
const DRAW_NOISE: f64 = 3.0;

/// Mean, correction, budget and check of one end. `values_c` are the runs used as they are compared.
pub(crate) fn end_result(
    used: &[&RunMean],
    groups: &[Group<'_>],
    values_c: &[f64],
    end: End,
    options: &DeterminationOptions<'_>,
) -> Result<EndResult, DeterminationError> {
    let weights = groups
        .iter()
        .map(|group| group.runs.len() as f64 / used.len() as f64);
    let parts: Vec<(&Group<'_>, GroupMean, f64)> = groups
        .iter()
        .zip(weights)
        .map(|(group, weight)| Ok((group, group.mean(end)?, weight)))
        .collect::<Result<_, DeterminationError>>()?;
    let over = |of: fn(&GroupMean) -> f64| -> f64 {
        parts
            .iter()
            .map(|(_, mean, weight)| weight * of(mean))
            .sum()
    };
    let indicated_c = over(|mean| mean.indicated.0);
    let value_c = over(GroupMean::value_c);
    let sensitivity = over(|mean| mean.sensitivity);
    let mut budget = components::readings(used, end, sensitivity);
    budget.push(components::repeatability(
        used,
        values_c,
        end,
        options,
        sensitivity,
    ));
    for (group, mean, weight) in &parts {
        budget.extend(components::correction(group, mean, *weight));
    }
    budget.extend(components::heating(used, options));
    let combined = combine(&budget, COVERAGE, DegreesOfFreedomRule::AsTheyCome);
    let monte_carlo = options
        .monte_carlo
        .map(|options| check(value_c, &budget, &combined, options));
    let (stated_expanded_uncertainty_c, stated_from) =
        stated(value_c, &budget, &combined, monte_carlo.as_ref());
    let effective = combined.effective_degrees_of_freedom;
    Ok(EndResult {
        value_c,
        standard_uncertainty_c: combined.standard_uncertainty,
        expanded_uncertainty_c: combined.expanded_uncertainty,
        coverage_factor: combined.coverage_factor,
        effective_degrees_of_freedom: effective.is_finite().then_some(effective),
        indicated_c,
        correction_c: value_c - indicated_c,
        extrapolated: parts.iter().any(|(_, mean, _)| {
            mean.corrected
                .is_some_and(|corrected| corrected.is_extrapolated())
        }),
        budget,
        monte_carlo,
        stated_expanded_uncertainty_c,
        stated_from,
    })
}

fn check(
    value_c: f64,
    budget: &[Component],
    combined: &Combined,
    options: MonteCarloOptions,
) -> MonteCarloCheck {
    let draws = propagate(
        value_c,
        budget,
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
    let expanded_c = combined.expanded_uncertainty;
    MonteCarloCheck {
        low_c: draws.low,
        high_c: draws.high,
        draws: draws.draws,
        differs: off(draws.low, draws.low_standard_error, value_c - expanded_c)
            || off(draws.high, draws.high_standard_error, value_c + expanded_c),
    }
}

/// The expanded uncertainty to be written down: the first-order one, unless it is known to be too
/// small.
///
/// A few degrees of freedom beside a component of many make the effective ones of Welch and
/// Satterthwaite too large. Draws show it; without them, components are expanded each with its own
/// factor and then added in squares, which is on the safe side.
fn stated(
    value_c: f64,
    budget: &[Component],
    combined: &Combined,
    monte_carlo: Option<&MonteCarloCheck>,
) -> (f64, StatedFrom) {
    let first_order_c = combined.expanded_uncertainty;
    let (other_c, from) = match monte_carlo {
        Some(check) if check.differs => (
            (value_c - check.low_c).max(check.high_c - value_c),
            StatedFrom::MonteCarlo,
        ),
        Some(_) => (0.0, StatedFrom::FirstOrder),
        None => {
            let squares: f64 = budget
                .iter()
                .map(|component| {
                    let factor = student_t(component.degrees_of_freedom, COVERAGE);
                    (factor * component.contribution()).powi(2)
                })
                .sum();
            (squares.sqrt(), StatedFrom::EachComponent)
        }
    };
    let tolerance_c = numerical_tolerance(combined.standard_uncertainty);
    if other_c > first_order_c + tolerance_c {
        (other_c, from)
    } else {
        (first_order_c, StatedFrom::FirstOrder)
    }
}
