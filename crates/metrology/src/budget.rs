//! First-order uncertainty by components, with effective degrees of freedom.

use crate::distributions::student_t;
use serde::{Deserialize, Serialize};

/// How a component is distributed, for the Monte Carlo check and for people.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case", tag = "shape")]
pub enum Distribution {
    /// Gauss.
    Normal,
    /// Anything within ±√3 u alike.
    Rectangular,
    /// Within ±√6 u, the middle likeliest.
    Triangular,
    /// A mean of few readings: Student's t scaled by u.
    StudentT,
}

impl Distribution {
    /// Standard uncertainty of limits ±`half_width` (JCGM 100:2008, 4.3.7 and 4.3.9).
    ///
    /// For the unlimited shapes the half width is taken as the standard uncertainty itself.
    pub fn standard_uncertainty(self, half_width: f64) -> f64 {
        match self {
            Self::Rectangular => half_width / 3f64.sqrt(),
            Self::Triangular => half_width / 6f64.sqrt(),
            Self::Normal | Self::StudentT => half_width,
        }
    }
}

/// Where a contribution to an uncertainty comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// Runs differ more than their readings explain.
    Repeatability,
    /// When the moment was, told by eye or engine.
    Reading,
    /// The step of the readings.
    Resolution,
    /// The correction.
    Calibration,
    /// Extrapolation to zero heating rate.
    Rate,
    /// The sample behind the thermometer.
    Lag,
    /// The emergent column of a liquid-in-glass thermometer.
    Stem,
    /// Anything else.
    Other,
}

/// One line of a budget.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Component {
    /// Where it comes from.
    pub source: Source,
    /// How it was told, in words.
    pub text: String,
    /// Standard uncertainty of the quantity, ≥ 0.
    pub standard_uncertainty: f64,
    /// How much the result moves with the quantity.
    pub sensitivity: f64,
    /// Infinite where the uncertainty itself is taken as known.
    #[serde(
        serialize_with = "null_if_infinite",
        deserialize_with = "infinite_if_null"
    )]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, required))]
    pub degrees_of_freedom: f64,
    /// Its distribution.
    #[serde(flatten)]
    pub distribution: Distribution,
}

fn null_if_infinite<S: serde::Serializer>(value: &f64, to: S) -> Result<S::Ok, S::Error> {
    value.is_finite().then_some(*value).serialize(to)
}

fn infinite_if_null<'de, D: serde::Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
    Ok(Option::<f64>::deserialize(from)?.unwrap_or(f64::INFINITY))
}

impl Component {
    /// Contribution to the standard uncertainty of the result.
    pub fn contribution(&self) -> f64 {
        (self.sensitivity * self.standard_uncertainty).abs()
    }
}

/// Which degrees of freedom the coverage factor is taken with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DegreesOfFreedomRule {
    /// Rounded down to a whole number, as GUM G.4.1 tells those who look k up in a table.
    RoundedDown,
    /// As they come.
    #[default]
    AsTheyCome,
}

/// A combined uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Combined {
    /// Root of the sum of squared contributions.
    pub standard_uncertainty: f64,
    /// By Welch and Satterthwaite; may be infinite.
    pub effective_degrees_of_freedom: f64,
    /// Student's t for the coverage asked for.
    pub coverage_factor: f64,
    /// Coverage factor times standard uncertainty.
    pub expanded_uncertainty: f64,
}

/// Combine independent contributions.
///
/// # Arguments
/// * `coverage`: probability that the expanded uncertainty is to cover, 0..1, usually 0.95.
///
/// # Source
/// JCGM 100:2008 (GUM), equation (10), annex G.4. Check values: tests/published/gum.rs (4.4.3, H.1).
pub fn combine(components: &[Component], coverage: f64, rule: DegreesOfFreedomRule) -> Combined {
    let contributions: Vec<(f64, f64)> = components
        .iter()
        .map(|component| (component.contribution(), component.degrees_of_freedom))
        .collect();
    let standard_uncertainty = contributions.iter().map(|(u, _)| u * u).sum::<f64>().sqrt();
    let effective = welch_satterthwaite(&contributions);
    let counted = match rule {
        // Below 1 there is no table; t with less than one degree of freedom covers nothing useful.
        DegreesOfFreedomRule::RoundedDown => effective.floor().max(1.0),
        DegreesOfFreedomRule::AsTheyCome => effective,
    };
    let coverage_factor = student_t(counted, coverage);
    Combined {
        standard_uncertainty,
        effective_degrees_of_freedom: effective,
        coverage_factor,
        expanded_uncertainty: coverage_factor * standard_uncertainty,
    }
}

/// Effective degrees of freedom u⁴ / Σ (uᵢ⁴/νᵢ) of contributions (uᵢ, νᵢ); infinite when none is finite
/// or nothing contributes.
///
/// # Source
/// JCGM 100:2008 (GUM), equation (G.2b).
pub fn welch_satterthwaite(contributions: &[(f64, f64)]) -> f64 {
    let variance: f64 = contributions.iter().map(|(u, _)| u * u).sum();
    // As shares of the variance, so that small uncertainties do not underflow in the fourth power.
    let denominator: f64 = contributions
        .iter()
        .filter(|(u, nu)| *u > 0.0 && nu.is_finite())
        .map(|(u, nu)| (u * u / variance).powi(2) / nu)
        .sum();
    if denominator > 0.0 {
        1.0 / denominator
    } else {
        f64::INFINITY
    }
}

/// Mean of repeated readings, their standard deviation, and the standard uncertainty of the mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TypeA {
    /// Mean.
    pub mean: f64,
    /// Experimental standard deviation of one reading.
    pub standard_deviation: f64,
    /// Of the mean.
    pub standard_uncertainty: f64,
    /// Readings less one.
    pub degrees_of_freedom: f64,
}

/// Type A evaluation of repeated readings; `None` for fewer than two (JCGM 100:2008, 4.2).
pub fn type_a(values: &[f64]) -> Option<TypeA> {
    if values.len() < 2 {
        return None;
    }
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    let standard_deviation = (squares / (count - 1.0)).sqrt();
    Some(TypeA {
        mean,
        standard_deviation,
        standard_uncertainty: standard_deviation / count.sqrt(),
        degrees_of_freedom: count - 1.0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_component_keeps_its_degrees_of_freedom() {
        assert!((welch_satterthwaite(&[(0.3, 4.0)]) - 4.0).abs() < 1e-12);
        assert!((welch_satterthwaite(&[(1e-90, 4.0)]) - 4.0).abs() < 1e-12);
        assert!(welch_satterthwaite(&[(0.3, f64::INFINITY)]).is_infinite());
        assert!(welch_satterthwaite(&[]).is_infinite());
    }

    #[test]
    fn one_reading_has_no_scatter() {
        assert_eq!(type_a(&[1.0]), None);
    }
}
