//! Which standards do not belong to the others.

use crate::distributions::student_t_beyond;
use crate::least_squares::LeastSquares;

/// Chance to suspect any standard at all when none is at fault.
pub(crate) const SIGNIFICANCE: f64 = 0.05;

/// Leverage above which a point decides its own fit and cannot be tested.
const DECIDES_ITSELF: f64 = 1.0 - 1e-9;

/// Screen of one point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screened {
    /// Residual over its standard uncertainty told from the other points; `None` where that cannot be told.
    pub deleted_residual: Option<f64>,
    /// Probability of such a residual among as many sound points (Bonferroni), at most 1.
    pub probability: Option<f64>,
    /// Whether it is below [`SIGNIFICANCE`].
    pub suspect: bool,
}

/// Studentised deleted residuals with Bonferroni's bound.
///
/// tᵢ = rᵢ / (s₍ᵢ₎ √(1 − hᵢ)/√wᵢ), where s₍ᵢ₎ is the scatter without point i; it follows Student's
/// t with ν − 1 degrees of freedom, and the smallest of n probabilities is compared with 5 % / n.
/// `floor_c` is the least scatter that readings of their resolution can have.
///
/// # Source
/// R. D. Cook, S. Weisberg, Residuals and Influence in Regression (1982), section 2.2.
pub(crate) fn screen(fit: &LeastSquares, weights: Option<&[f64]>, floor_c: f64) -> Vec<Screened> {
    let unknown = Screened {
        deleted_residual: None,
        probability: None,
        suspect: false,
    };
    let count = fit.residuals.len();
    if fit.degrees_of_freedom < 2 {
        return vec![unknown; count];
    }
    let rest = (fit.degrees_of_freedom - 1) as f64;
    let average_weight = weights.map_or(1.0, |w| w.iter().sum::<f64>() / count as f64);
    let floor = floor_c * floor_c * average_weight;
    (0..count)
        .map(|index| {
            let weight = weights.map_or(1.0, |w| w[index]);
            let (leverage, residual) = (fit.leverages[index], fit.residuals[index]);
            if leverage > DECIDES_ITSELF {
                return unknown;
            }
            let own = weight * residual * residual / (1.0 - leverage);
            let variance = ((fit.weighted_sum_of_squares - own).max(0.0) / rest).max(floor);
            let t = (own / variance).sqrt().copysign(residual);
            let probability = (student_t_beyond(rest, t) * count as f64).min(1.0);
            Screened {
                deleted_residual: Some(t),
                probability: Some(probability),
                suspect: probability < SIGNIFICANCE,
            }
        })
        .collect()
}
