//! From runs at several heating rates to the value at zero rate.

use crate::least_squares::LeastSquaresError;
use crate::polynomial::{PolynomialFit, fit_polynomial};
use meltrange_physics::Celsius;
use serde::{Deserialize, Serialize};

/// Rates closer than this part of each other are one rate.
pub(crate) const SAME_RATE: f64 = 0.05;

/// A temperature determined at a heating rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtRate {
    /// Heating rate through the melting [°C/min], > 0.
    pub rate_c_per_min: f64,
    /// Temperature at that rate.
    pub temperature: Celsius,
    /// Its standard uncertainty [°C], > 0.
    pub standard_uncertainty_c: f64,
}

/// Value at zero rate by one law.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Extrapolated {
    /// At zero rate.
    #[serde(rename = "temperature_c")]
    #[cfg_attr(feature = "schema", schema(value_type = f64))]
    pub temperature: Celsius,
    /// From the uncertainties of the runs alone [°C].
    pub standard_uncertainty_c: f64,
    /// Shift [°C] at 1 °C/min by this law.
    pub shift_at_1_c_per_min_c: f64,
    /// Of that shift, from the uncertainties of the runs alone [°C].
    pub shift_standard_uncertainty_c: f64,
}

/// Value at zero rate by both laws.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ZeroRate {
    /// By a straight line in the rate: onset, constant resistance.
    pub line: Extrapolated,
    /// By a straight line in the root of the rate: clear point, the latent heat must flow in.
    pub root: Extrapolated,
    /// Line less root [°C].
    pub difference_c: f64,
    /// Halfway between the laws.
    #[serde(rename = "temperature_c")]
    #[cfg_attr(feature = "schema", schema(value_type = f64))]
    pub temperature: Celsius,
    /// Larger of the laws' own uncertainties and half their difference, in squares [°C].
    pub standard_uncertainty_c: f64,
    /// Whether the laws differ by more than their own uncertainties.
    pub depends_on_law: bool,
}

/// Why there is no value at zero rate.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ZeroRateError {
    /// One rate, or none.
    #[error(
        "there are runs at {found} different heating rate(s); expected two or more: from a single rate nothing can be extrapolated"
    )]
    OneRate {
        /// Different rates.
        found: usize,
    },
    /// An impossible number.
    #[error("{quantity} is {found:?}; expected a number above 0")]
    Quantity {
        /// Which.
        quantity: &'static str,
        /// The number.
        found: f64,
    },
    /// The fit failed.
    #[error("the runs could not be fitted")]
    Fit(#[from] LeastSquaresError),
}

/// The mean of heating rates that are one rate, within 5 % of each other; `None` for none or several.
pub fn one_rate(rates_c_per_min: &[f64]) -> Option<f64> {
    let lowest = rates_c_per_min.iter().copied().reduce(f64::min)?;
    let highest = rates_c_per_min.iter().copied().reduce(f64::max)?;
    (lowest > 0.0 && highest <= lowest * (1.0 + SAME_RATE))
        .then(|| rates_c_per_min.iter().sum::<f64>() / rates_c_per_min.len() as f64)
}

/// Extrapolate to zero rate by the straight-line and the square-root law, with weights 1/u².
///
/// Half the difference of the laws is the standard deviation of "one of the two, no telling which"
/// about their middle.
///
/// # Errors
/// [`ZeroRateError`] for fewer than two different rates or impossible numbers.
///
/// # Source
/// Laws derived in docs/models/physics.md. Onset at zero rate as the thermodynamic temperature:
/// Charsley et al., Thermochim. Acta 446 (2006) 29.
pub fn zero_rate(runs: &[AtRate]) -> Result<ZeroRate, ZeroRateError> {
    for run in runs {
        for (quantity, found) in [
            ("the heating rate", run.rate_c_per_min),
            ("the standard uncertainty", run.standard_uncertainty_c),
        ] {
            if !(found > 0.0 && found.is_finite()) {
                return Err(ZeroRateError::Quantity { quantity, found });
            }
        }
    }
    let mut rates: Vec<f64> = runs.iter().map(|run| run.rate_c_per_min).collect();
    rates.sort_by(f64::total_cmp);
    rates.dedup_by(|later, earlier| *later <= *earlier * (1.0 + SAME_RATE));
    if rates.len() < 2 {
        return Err(ZeroRateError::OneRate { found: rates.len() });
    }
    let line = law(runs, |rate| rate)?;
    let root = law(runs, f64::sqrt)?;
    let difference_c = line.temperature.0 - root.temperature.0;
    let own = line.standard_uncertainty_c.max(root.standard_uncertainty_c);
    Ok(ZeroRate {
        line,
        root,
        difference_c,
        temperature: Celsius((line.temperature.0 + root.temperature.0) / 2.0),
        standard_uncertainty_c: own.hypot(difference_c / 2.0),
        depends_on_law: difference_c.abs() > own,
    })
}

fn law(runs: &[AtRate], of_rate: impl Fn(f64) -> f64) -> Result<Extrapolated, ZeroRateError> {
    let x: Vec<f64> = runs.iter().map(|run| of_rate(run.rate_c_per_min)).collect();
    let y: Vec<f64> = runs.iter().map(|run| run.temperature.0).collect();
    let weights: Vec<f64> = runs
        .iter()
        .map(|run| run.standard_uncertainty_c.powi(-2))
        .collect();
    let PolynomialFit {
        coefficients,
        cofactors,
        ..
    } = fit_polynomial(&x, &y, Some(&weights), 1, 0.0)?;
    Ok(Extrapolated {
        temperature: Celsius(coefficients[0]),
        standard_uncertainty_c: cofactors[0][0].sqrt(),
        shift_at_1_c_per_min_c: coefficients[1],
        shift_standard_uncertainty_c: cofactors[1][1].sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(rate_c_per_min: f64, temperature_c: f64) -> AtRate {
        AtRate {
            rate_c_per_min,
            temperature: Celsius(temperature_c),
            standard_uncertainty_c: 0.1,
        }
    }

    #[test]
    fn a_single_rate_is_refused() {
        for runs in [
            vec![],
            vec![run(1.0, 122.0)],
            vec![run(1.0, 122.0), run(1.02, 122.4)],
        ] {
            let error = zero_rate(&runs).expect_err("one rate");
            assert!(matches!(error, ZeroRateError::OneRate { .. }), "{error}");
        }
        assert!(zero_rate(&[run(0.0, 122.0), run(1.0, 122.0)]).is_err());
    }
}
