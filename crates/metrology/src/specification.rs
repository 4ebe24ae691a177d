//! Does a melting range meet what is required of it?

use crate::distributions::{student_t, student_t_below};
use serde::{Deserialize, Serialize};

/// How the uncertainty enters a decision.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DecisionRule {
    /// The value decides; the risk of a wrong decision is up to one half at a limit.
    SimpleAcceptance,
    /// A guard band as wide as lets a value at its edge conform with this probability, 0.5..1.
    Guarded {
        /// Probability asked for, on the side of the limit.
        probability: f64,
    },
}

/// A required range [°C] within which the whole melting range must lie.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RequiredRange {
    /// No first liquid below this.
    pub lower_c: f64,
    /// No last crystal above this.
    pub upper_c: f64,
}

/// One end of a result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResultEnd {
    /// Value [°C].
    pub value_c: f64,
    /// Standard uncertainty [°C], ≥ 0.
    pub standard_uncertainty_c: f64,
    /// Effective degrees of freedom, may be infinite.
    pub degrees_of_freedom: f64,
}

/// The decision.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Decision {
    /// Within the limits, beyond the guard bands.
    Meets,
    /// Outside, beyond the guard bands.
    DoesNotMeet,
    /// Within a guard band of a limit.
    CannotBeDecided,
}

/// The decision with what it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SpecificationCheck {
    /// What was decided.
    pub decision: Decision,
    /// Width of the guard band at the lower limit [°C].
    pub guard_lower_c: f64,
    /// Width of the guard band at the upper limit [°C].
    pub guard_upper_c: f64,
    /// Probability that the first liquid is not below the lower limit.
    pub probability_lower: f64,
    /// Probability that the last crystal is not above the upper limit.
    pub probability_upper: f64,
}

/// Why nothing can be decided at all.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SpecificationError {
    /// Limits the wrong way round or no numbers.
    #[error(
        "the required range is {lower_c:?} to {upper_c:?} °C; expected two numbers, the lower first"
    )]
    Limits {
        /// Lower.
        lower_c: f64,
        /// Upper.
        upper_c: f64,
    },
    /// A rule without sense.
    #[error(
        "the guard band asks for a probability of {found:?}; expected at least 0.5 and below 1"
    )]
    Probability {
        /// The number.
        found: f64,
    },
    /// A result without sense.
    #[error(
        "a value of {value_c:?} °C with a standard uncertainty of {standard_uncertainty_c:?} °C was given; expected finite numbers, the uncertainty not below 0"
    )]
    Value {
        /// Value.
        value_c: f64,
        /// Uncertainty.
        standard_uncertainty_c: f64,
    },
}

/// Check a melting range against a required one.
///
/// First liquid against the lower limit, last crystal against the upper; each end has one limit
/// that matters, so each guard band is one-sided: t(ν, p) · u.
///
/// # Errors
/// [`SpecificationError`] for limits, rule or result that make no sense.
///
/// # Source
/// JCGM 106:2012, clauses 7 (probability of conformity) and 8 (acceptance limits and guard bands).
pub fn check_specification(
    first_liquid: ResultEnd,
    last_crystal: ResultEnd,
    required: RequiredRange,
    rule: DecisionRule,
) -> Result<SpecificationCheck, SpecificationError> {
    let RequiredRange { lower_c, upper_c } = required;
    if !(lower_c <= upper_c && lower_c.is_finite() && upper_c.is_finite()) {
        return Err(SpecificationError::Limits { lower_c, upper_c });
    }
    for end in [first_liquid, last_crystal] {
        let u = end.standard_uncertainty_c;
        if !(end.value_c.is_finite() && u >= 0.0 && u.is_finite()) {
            return Err(SpecificationError::Value {
                value_c: end.value_c,
                standard_uncertainty_c: u,
            });
        }
    }
    let guard = |end: ResultEnd| match rule {
        DecisionRule::SimpleAcceptance => Ok(0.0),
        DecisionRule::Guarded { probability: found } if !(0.5..1.0).contains(&found) => {
            Err(SpecificationError::Probability { found })
        }
        DecisionRule::Guarded { probability } if probability > 0.5 => {
            // One-sided p is two-sided 2p − 1.
            Ok(student_t(end.degrees_of_freedom, 2.0 * probability - 1.0)
                * end.standard_uncertainty_c)
        }
        DecisionRule::Guarded { .. } => Ok(0.0),
    };
    let (guard_lower_c, guard_upper_c) = (guard(first_liquid)?, guard(last_crystal)?);
    let inside_lower_c = first_liquid.value_c - lower_c;
    let inside_upper_c = upper_c - last_crystal.value_c;
    let decision = if inside_lower_c < -guard_lower_c || inside_upper_c < -guard_upper_c {
        Decision::DoesNotMeet
    } else if inside_lower_c >= guard_lower_c && inside_upper_c >= guard_upper_c {
        Decision::Meets
    } else {
        Decision::CannotBeDecided
    };
    Ok(SpecificationCheck {
        decision,
        guard_lower_c,
        guard_upper_c,
        probability_lower: conforms(inside_lower_c, first_liquid),
        probability_upper: conforms(inside_upper_c, last_crystal),
    })
}

fn conforms(inside_c: f64, end: ResultEnd) -> f64 {
    if end.standard_uncertainty_c > 0.0 {
        student_t_below(
            end.degrees_of_freedom,
            inside_c / end.standard_uncertainty_c,
        )
    } else {
        f64::from(u8::from(inside_c >= 0.0))
    }
}
