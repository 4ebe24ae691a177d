//! Polynomials about a chosen origin, fitted about their own centre.

use crate::least_squares::{LeastSquares, LeastSquaresError, least_squares};

/// A fitted polynomial Σ cᵢ (x − origin)ⁱ.
#[derive(Debug, Clone, PartialEq)]
pub struct PolynomialFit {
    /// Where the powers are zero.
    pub origin: f64,
    /// Constant first.
    pub coefficients: Vec<f64>,
    /// Cofactors of the coefficients, see [`LeastSquares::cofactors`].
    pub cofactors: Vec<Vec<f64>>,
    /// The fit about the centre of the points: residuals, leverages, degrees of freedom.
    pub about_centre: LeastSquares,
}

/// Fit a polynomial of `degree` in (x − origin).
///
/// The work is done in a variable centred and scaled to −1..1, so that the answer does not depend
/// on where the origin is; coefficients and cofactors are then moved to the origin.
///
/// # Errors
/// [`LeastSquaresError`], for example when fewer than `degree` + 1 different x are given.
pub fn fit_polynomial(
    x: &[f64],
    y: &[f64],
    weights: Option<&[f64]>,
    degree: usize,
    origin: f64,
) -> Result<PolynomialFit, LeastSquaresError> {
    let (least, most) = x
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), &x| {
            (least.min(x), most.max(x))
        });
    let centre = least + (most - least) / 2.0;
    let half = (most - least) / 2.0;
    let scale = if half > 0.0 { half } else { 1.0 };
    let rows: Vec<Vec<f64>> = x
        .iter()
        .map(|x| powers((x - centre) / scale, degree))
        .collect();
    let about_centre = least_squares(&rows, y, weights)?;
    let shift = moved(degree, (origin - centre) / scale, scale);
    let coefficients = shift
        .iter()
        .map(|row| dot(row, &about_centre.estimates))
        .collect();
    Ok(PolynomialFit {
        origin,
        coefficients,
        cofactors: sandwich(&shift, &about_centre.cofactors),
        about_centre,
    })
}

/// 1, x, x², … up to `degree`.
pub(crate) fn powers(x: f64, degree: usize) -> Vec<f64> {
    (0..=degree).map(|power| x.powi(power as i32)).collect()
}

pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// vᵀ M v.
pub(crate) fn quadratic_form(v: &[f64], matrix: &[Vec<f64>]) -> f64 {
    matrix.iter().zip(v).map(|(row, a)| a * dot(row, v)).sum()
}

/// Matrix that takes coefficients in z to those in (x − origin), where z = z₀ + (x − origin)/scale:
/// element (i, j) is C(j, i) z₀^(j−i) / scaleⁱ.
fn moved(degree: usize, z0: f64, scale: f64) -> Vec<Vec<f64>> {
    let element = |i: usize, j: usize| {
        if j < i {
            return 0.0;
        }
        let choose = (0..i).fold(1.0, |product, k| product * (j - k) as f64 / (k + 1) as f64);
        choose * z0.powi((j - i) as i32) / scale.powi(i as i32)
    };
    (0..=degree)
        .map(|i| (0..=degree).map(|j| element(i, j)).collect())
        .collect()
}

/// A M Aᵀ.
fn sandwich(a: &[Vec<f64>], matrix: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let half: Vec<Vec<f64>> = a
        .iter()
        .map(|row| matrix.iter().map(|column| dot(row, column)).collect())
        .collect();
    half.iter()
        .map(|row| a.iter().map(|other| dot(row, other)).collect())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parabola_is_found_wherever_the_origin() {
        let x = [1.0, 2.0, 3.0, 4.0];
        let y: Vec<f64> = x.iter().map(|x| 2.0 + 3.0 * x - 0.5 * x * x).collect();
        let fit = fit_polynomial(&x, &y, None, 2, 0.0).expect("four sound points");
        for (found, expected) in fit.coefficients.iter().zip([2.0, 3.0, -0.5]) {
            assert!((found - expected).abs() < 1e-12, "{:?}", fit.coefficients);
        }
        let fit = fit_polynomial(&x, &y, None, 2, 10.0).expect("four sound points");
        // Taylor about 10: 2 + 30 − 50, 3 − 10, −0.5.
        for (found, expected) in fit.coefficients.iter().zip([-18.0, -7.0, -0.5]) {
            assert!((found - expected).abs() < 1e-11, "{:?}", fit.coefficients);
        }
    }
}
