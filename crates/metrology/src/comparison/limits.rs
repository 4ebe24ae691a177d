//! Limits of agreement: how far two ways of reading the same may lie apart.

use crate::distributions::student_t;
use serde::{Deserialize, Serialize};

/// Standard deviations from the mean difference to a limit, for 95 % of differences.
const WIDTH: f64 = 1.96;

/// Coverage of the intervals of bias and limits.
const COVERAGE: f64 = 0.95;

/// Two ways of reading the same.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LimitsOfAgreement {
    /// Pairs.
    pub n: usize,
    /// Mean difference, one less the other [°C].
    pub bias_c: f64,
    /// Standard deviation of the differences [°C].
    pub standard_deviation_c: f64,
    /// Bias less 1.96 standard deviations [°C].
    pub lower_c: f64,
    /// Bias and 1.96 standard deviations [°C].
    pub upper_c: f64,
    /// Interval of 95 % of the bias [°C].
    #[cfg_attr(feature = "schema", schema(value_type = (f64, f64)))]
    pub bias_95_c: [f64; 2],
    /// Of the lower limit [°C].
    #[cfg_attr(feature = "schema", schema(value_type = (f64, f64)))]
    pub lower_95_c: [f64; 2],
    /// Of the upper limit [°C].
    #[cfg_attr(feature = "schema", schema(value_type = (f64, f64)))]
    pub upper_95_c: [f64; 2],
    /// Each pair, to be drawn.
    pub points: Vec<AgreementPoint>,
}

/// One pair.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct AgreementPoint {
    /// Mean of both [°C].
    pub mean_c: f64,
    /// One less the other [°C].
    pub difference_c: f64,
}

/// Why there are no limits of agreement.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum AgreementError {
    /// Too few pairs.
    #[error("{found} recordings were read both ways; expected at least 2, better 30 or more")]
    TooFew {
        /// How many.
        found: usize,
    },
    /// Not a number.
    #[error("pair {pair} is {one} and {other}; expected two numbers of °C")]
    NotFinite {
        /// From 1.
        pair: usize,
        /// As given.
        one: f64,
        /// As given.
        other: f64,
    },
}

/// Limits of agreement of pairs (one, other) read on the same.
///
/// d̄ ± 1.96 s. Standard errors: s/√n of the bias and s√(1/n + 1.96²/(2(n − 1))) of a limit; intervals with
/// Student's t, n − 1 degrees of freedom. Those of the limits are approximate: near 95 % from about ten pairs on.
///
/// # Errors
/// [`AgreementError`] for fewer than 2 pairs and for what is no number.
///
/// # Range of use
/// Differences that do not grow with the value and are roughly normal; pairs of different recordings.
///
/// # Example
/// ```
/// use meltrange_metrology::limits_of_agreement;
/// let found = limits_of_agreement(&[(121.0, 121.2), (80.4, 80.3), (114.1, 114.4), (94.9, 95.1)])?;
/// assert!((found.bias_c + 0.15).abs() < 1e-9);
/// assert!(found.lower_c < -0.4 && found.upper_c > 0.1);
/// # Ok::<(), meltrange_metrology::AgreementError>(())
/// ```
///
/// # Source
/// J. M. Bland, D. G. Altman, Lancet 327 (1986) 307, with the standard error of the limits of the same authors,
/// Stat. Methods Med. Res. 8 (1999) 135, section 2.1. Check values: crates/metrology/tests/it/reader_comparison.rs.
pub fn limits_of_agreement(pairs: &[(f64, f64)]) -> Result<LimitsOfAgreement, AgreementError> {
    for (place, &(one, other)) in pairs.iter().enumerate() {
        if !(one.is_finite() && other.is_finite()) {
            return Err(AgreementError::NotFinite {
                pair: place + 1,
                one,
                other,
            });
        }
    }
    if pairs.len() < 2 {
        return Err(AgreementError::TooFew { found: pairs.len() });
    }
    let points: Vec<AgreementPoint> = pairs
        .iter()
        .map(|(one, other)| AgreementPoint {
            mean_c: 0.5 * (one + other),
            difference_c: one - other,
        })
        .collect();
    let n = pairs.len() as f64;
    let bias_c = points.iter().map(|point| point.difference_c).sum::<f64>() / n;
    let squares: f64 = points
        .iter()
        .map(|point| (point.difference_c - bias_c).powi(2))
        .sum();
    let standard_deviation_c = (squares / (n - 1.0)).sqrt();
    let (lower_c, upper_c) = (
        bias_c - WIDTH * standard_deviation_c,
        bias_c + WIDTH * standard_deviation_c,
    );
    let t = student_t(n - 1.0, COVERAGE);
    let bias_half_c = t * standard_deviation_c / n.sqrt();
    let limit_half_c =
        t * standard_deviation_c * (1.0 / n + WIDTH * WIDTH / (2.0 * (n - 1.0))).sqrt();
    Ok(LimitsOfAgreement {
        n: pairs.len(),
        bias_c,
        standard_deviation_c,
        lower_c,
        upper_c,
        bias_95_c: [bias_c - bias_half_c, bias_c + bias_half_c],
        lower_95_c: [lower_c - limit_half_c, lower_c + limit_half_c],
        upper_95_c: [upper_c - limit_half_c, upper_c + limit_half_c],
        points,
    })
}
