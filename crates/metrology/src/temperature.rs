//! What a thermometer showed and what it was in truth, as two types.

use meltrange_physics::Celsius;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Lowest temperature that a reading may claim [°C]; absolute zero, exact.
pub(crate) const LOWEST_C: f64 = -273.15;
/// Highest temperature that a reading in a glass capillary may claim [°C]; glass is soft long before.
pub(crate) const HIGHEST_C: f64 = 1000.0;

/// A temperature that no thermometer at a glass capillary shows, or an uncertainty that is none.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TemperatureError {
    /// NaN, infinite or out of range.
    #[error("the temperature is {found:?} °C; expected a number from {LOWEST_C} to {HIGHEST_C}")]
    OutOfRange {
        /// The number.
        found: f64,
    },
    /// Negative, NaN, infinite or beyond any temperature.
    #[error("the standard uncertainty is {found:?} °C; expected a number from 0 to {HIGHEST_C}")]
    Uncertainty {
        /// The number.
        found: f64,
    },
}

/// Which temperature a melting point is: conventions differ by 0.2 to 2.2 °C.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Convention {
    /// At zero heating rate, as certificates of liquefaction points and tables of triple points give it.
    Thermodynamic,
    /// At a heating rate, as pharmacopoeias define it.
    AtRate {
        /// Which, if stated [°C/min].
        rate_c_per_min: Option<f64>,
    },
    /// Nobody said.
    #[default]
    NotStated,
}

impl fmt::Display for Convention {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Thermodynamic => f.write_str("thermodynamic"),
            Self::AtRate {
                rate_c_per_min: Some(rate),
            } => write!(f, "at rate, {rate} °C/min"),
            Self::AtRate {
                rate_c_per_min: None,
            } => f.write_str("at rate"),
            Self::NotStated => f.write_str("not stated"),
        }
    }
}

/// A temperature as the thermometer showed it, not corrected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Indicated {
    value: Celsius,
    standard_uncertainty_c: f64,
}

impl Indicated {
    /// Take a reading and its standard uncertainty [°C], 0 where it is counted elsewhere.
    ///
    /// # Errors
    /// [`TemperatureError`] for what no thermometer shows.
    pub fn new(value: Celsius, standard_uncertainty_c: f64) -> Result<Self, TemperatureError> {
        if !(value.0 >= LOWEST_C && value.0 <= HIGHEST_C) {
            return Err(TemperatureError::OutOfRange { found: value.0 });
        }
        if !(0.0..=HIGHEST_C).contains(&standard_uncertainty_c) {
            return Err(TemperatureError::Uncertainty {
                found: standard_uncertainty_c,
            });
        }
        Ok(Self {
            value,
            standard_uncertainty_c,
        })
    }

    /// What was shown.
    pub fn value(&self) -> Celsius {
        self.value
    }

    /// Standard uncertainty of the reading [°C].
    pub fn standard_uncertainty_c(&self) -> f64 {
        self.standard_uncertainty_c
    }
}

/// A corrected temperature. Nothing in this crate takes one back, so it cannot be corrected twice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corrected {
    pub(crate) value: Celsius,
    pub(crate) convention: Convention,
    pub(crate) standard_uncertainty_c: f64,
    pub(crate) extrapolated: bool,
}

impl Corrected {
    /// The temperature.
    pub fn value(&self) -> Celsius {
        self.value
    }

    /// The convention it inherits from the correction.
    pub fn convention(&self) -> Convention {
        self.convention
    }

    /// Standard uncertainty of reading and correction together [°C].
    pub fn standard_uncertainty_c(&self) -> f64 {
        self.standard_uncertainty_c
    }

    /// Whether the correction was taken beyond the temperatures it was determined at.
    pub fn is_extrapolated(&self) -> bool {
        self.extrapolated
    }
}

/// Coarsest step that all values are whole multiples of [°C], the resolution that they betray.
///
/// Looked for among 1, 0.5, 0.2, 0.1 and so on down to 0.0001; less than that counts as 0.0001.
pub fn resolution_of(values_c: &[f64]) -> f64 {
    /// Steps in units of 0.0001 °C.
    const STEPS: [f64; 13] = [
        1e4, 5e3, 2e3, 1e3, 500.0, 200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0,
    ];
    let fits = |step: f64| {
        values_c.iter().all(|value| {
            let steps = value * 1e4 / step;
            (steps - steps.round()).abs() * step < 1e-3
        })
    };
    STEPS.into_iter().find(|&step| fits(step)).unwrap_or(1.0) / 1e4
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_resolution_shows_in_the_values() {
        for (values, expected) in [
            (&[121.0, 122.0] as &[f64], 1.0),
            (&[121.5, 122.0], 0.5),
            (&[121.4, 122.0], 0.2),
            (&[121.3, 122.0], 0.1),
            (&[21.521, 22.012], 0.001),
            (&[121.333_333_3], 0.0001),
        ] {
            assert!(
                (resolution_of(values) - expected).abs() < 1e-12,
                "{values:?}"
            );
        }
    }

    #[test]
    fn no_thermometer_shows_this() {
        for bad in [f64::NAN, f64::INFINITY, 1e308, -300.0] {
            assert!(Indicated::new(Celsius(bad), 0.1).is_err(), "{bad}");
        }
        assert!(Indicated::new(Celsius(100.0), -0.1).is_err());
    }
}
