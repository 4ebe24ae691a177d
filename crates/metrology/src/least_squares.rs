//! Linear least squares by Householder QR on scaled columns, with what is needed to judge a fit.

use nalgebra::{DMatrix, DVector};

/// A column whose part outside the earlier ones is smaller than this fraction of it adds nothing.
const RANK_TOLERANCE: f64 = 1e-12;

/// Why a system of observations has no least-squares answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LeastSquaresError {
    /// Fewer observations than parameters.
    #[error("{observations} observations do not determine {parameters} parameters")]
    TooFew {
        /// Rows.
        observations: usize,
        /// Columns.
        parameters: usize,
    },
    /// Rows, values and weights do not belong together.
    #[error(
        "{rows} rows, {values} values and {weights} weights were given; expected as many of each"
    )]
    Shape {
        /// Rows of regressors.
        rows: usize,
        /// Observed values.
        values: usize,
        /// Weights.
        weights: usize,
    },
    /// NaN, infinite, or so large that squares overflow.
    #[error("observation {observation} holds a number that cannot be used: {found:?}")]
    NotUsable {
        /// Counted from 1.
        observation: usize,
        /// The number.
        found: f64,
    },
    /// A column is a combination of the others.
    #[error(
        "parameter {parameter} cannot be told from the earlier ones: the observations do not differ enough"
    )]
    Dependent {
        /// Counted from 1.
        parameter: usize,
    },
}

/// The least-squares answer to a system of observations.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastSquares {
    /// Estimates, one for each column.
    pub estimates: Vec<f64>,
    /// (XᵀWX)⁻¹, row by row; times the variance of an observation of weight 1 it is the covariance.
    pub cofactors: Vec<Vec<f64>>,
    /// Observed minus fitted, in the order of the observations, not weighted.
    pub residuals: Vec<f64>,
    /// Influence of each observation on its own fitted value, 0..=1.
    pub leverages: Vec<f64>,
    /// Σ w r².
    pub weighted_sum_of_squares: f64,
    /// Observations less parameters.
    pub degrees_of_freedom: usize,
}

impl LeastSquares {
    /// Variance of an observation of weight 1, told from the residuals; `None` without degrees of freedom.
    pub fn residual_variance(&self) -> Option<f64> {
        (self.degrees_of_freedom > 0)
            .then(|| self.weighted_sum_of_squares / self.degrees_of_freedom as f64)
    }

    /// Standard uncertainties of the estimates for a given variance of an observation of weight 1.
    pub fn standard_uncertainties(&self, variance: f64) -> Vec<f64> {
        self.cofactors
            .iter()
            .enumerate()
            .filter_map(|(index, row)| row.get(index))
            .map(|cofactor| (cofactor * variance).sqrt())
            .collect()
    }
}

/// Fit `values` by linear combinations of the columns of `rows`, minimising Σ w (value − fitted)².
///
/// Columns are scaled to unit length before the decomposition; normal equations are never formed.
///
/// # Arguments
/// * `rows`: one row of regressors for each observation, all equally long; a column of ones where
///   a constant is wanted.
/// * `weights`: one for each observation, > 0; `None` weighs all alike.
///
/// # Errors
/// [`LeastSquaresError`] for too few, unusable or dependent observations.
///
/// # Source
/// Å. Björck, Numerical Methods for Least Squares Problems (1996). Check values: NIST Statistical
/// Reference Datasets, tests/published/nist_strd.rs.
pub fn least_squares(
    rows: &[Vec<f64>],
    values: &[f64],
    weights: Option<&[f64]>,
) -> Result<LeastSquares, LeastSquaresError> {
    let parameters = rows.first().map_or(0, Vec::len);
    check(rows, values, weights, parameters)?;
    let root_weights: Vec<f64> = match weights {
        Some(weights) => weights.iter().map(|weight| weight.sqrt()).collect(),
        None => vec![1.0; rows.len()],
    };
    let mut design = DMatrix::from_iterator(
        rows.len(),
        parameters,
        (0..parameters).flat_map(|column| {
            rows.iter()
                .zip(&root_weights)
                .map(move |(row, root)| row.get(column).copied().unwrap_or(f64::NAN) * root)
        }),
    );
    let observed = DVector::from_iterator(
        values.len(),
        values
            .iter()
            .zip(&root_weights)
            .map(|(value, root)| value * root),
    );
    let scales: Vec<f64> = design.column_iter().map(|column| column.norm()).collect();
    for (index, (mut column, &scale)) in design.column_iter_mut().zip(&scales).enumerate() {
        if scale == 0.0 {
            return Err(LeastSquaresError::Dependent {
                parameter: index + 1,
            });
        }
        column /= scale;
    }
    let decomposed = design.qr();
    let (q, r) = (decomposed.q(), decomposed.r());
    for index in 0..parameters {
        if r[(index, index)].abs() <= RANK_TOLERANCE {
            return Err(LeastSquaresError::Dependent {
                parameter: index + 1,
            });
        }
    }
    let dependent = LeastSquaresError::Dependent {
        parameter: parameters,
    };
    let scaled = r
        .solve_upper_triangular(&(q.transpose() * &observed))
        .ok_or(dependent.clone())?;
    let inverse = r
        .solve_upper_triangular(&DMatrix::identity(parameters, parameters))
        .ok_or(dependent)?;
    let cofactors = &inverse * inverse.transpose();
    let estimates: Vec<f64> = scaled
        .iter()
        .zip(&scales)
        .map(|(value, scale)| value / scale)
        .collect();
    let residuals: Vec<f64> = rows
        .iter()
        .zip(values)
        .map(|(row, value)| value - row.iter().zip(&estimates).map(|(x, b)| x * b).sum::<f64>())
        .collect();
    Ok(LeastSquares {
        cofactors: (0..parameters)
            .map(|i| {
                (0..parameters)
                    .map(|j| cofactors[(i, j)] / (scales[i] * scales[j]))
                    .collect()
            })
            .collect(),
        leverages: q
            .row_iter()
            .map(|row| row.norm_squared().min(1.0))
            .collect(),
        weighted_sum_of_squares: residuals
            .iter()
            .zip(&root_weights)
            .map(|(residual, root)| (residual * root).powi(2))
            .sum(),
        degrees_of_freedom: rows.len() - parameters,
        estimates,
        residuals,
    })
}

/// Largest magnitude whose square can still be summed.
const LARGEST: f64 = 1e150;

fn check(
    rows: &[Vec<f64>],
    values: &[f64],
    weights: Option<&[f64]>,
    parameters: usize,
) -> Result<(), LeastSquaresError> {
    let weight_count = weights.map_or(rows.len(), <[f64]>::len);
    if values.len() != rows.len()
        || weight_count != rows.len()
        || rows.iter().any(|row| row.len() != parameters)
    {
        return Err(LeastSquaresError::Shape {
            rows: rows.len(),
            values: values.len(),
            weights: weight_count,
        });
    }
    if rows.len() < parameters || parameters == 0 {
        return Err(LeastSquaresError::TooFew {
            observations: rows.len(),
            parameters,
        });
    }
    for (index, (row, value)) in rows.iter().zip(values).enumerate() {
        let unusable = row
            .iter()
            .chain([value])
            .find(|number| number.is_nan() || number.abs() > LARGEST);
        let weight = weights
            .and_then(|weights| weights.get(index))
            .copied()
            .unwrap_or(1.0);
        let found = unusable
            .copied()
            .or((!(weight > 0.0 && weight < LARGEST)).then_some(weight));
        if let Some(found) = found {
            return Err(LeastSquaresError::NotUsable {
                observation: index + 1,
                found,
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dependent_columns_are_refused() {
        let rows = vec![vec![1.0, 2.0], vec![1.0, 2.0], vec![1.0, 2.0]];
        assert_eq!(
            least_squares(&rows, &[1.0, 2.0, 3.0], None),
            Err(LeastSquaresError::Dependent { parameter: 2 })
        );
    }

    #[test]
    fn numbers_that_cannot_be_squared_are_refused() {
        for bad in [f64::NAN, f64::INFINITY, 1e308] {
            let found = least_squares(&[vec![1.0], vec![1.0]], &[1.0, bad], None);
            assert!(
                matches!(
                    found,
                    Err(LeastSquaresError::NotUsable { observation: 2, .. })
                ),
                "{found:?}"
            );
        }
        let found = least_squares(&[vec![1.0], vec![1.0]], &[1.0, 2.0], Some(&[1.0, 0.0]));
        assert!(matches!(
            found,
            Err(LeastSquaresError::NotUsable { observation: 2, .. })
        ));
    }

    #[test]
    fn nothing_is_too_few() {
        assert!(matches!(
            least_squares(&[], &[], None),
            Err(LeastSquaresError::TooFew { .. })
        ));
    }
}
