//! Absolute temperatures as types, so that a Celsius value is never taken for a kelvin value.

use serde::{Deserialize, Serialize};

/// The ice-point offset between the Celsius and the kelvin scale [K]; exact, SI definition.
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// Molar gas constant [J mol⁻¹ K⁻¹]; exact product of SI 2019 constants, printed to 10 digits.
pub const GAS_CONSTANT_J_PER_MOL_K: f64 = 8.314_462_618;

/// An absolute temperature in degrees Celsius.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Celsius(pub f64);

/// An absolute temperature in kelvin.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Kelvin(pub f64);

impl From<Celsius> for Kelvin {
    fn from(celsius: Celsius) -> Self {
        Kelvin(celsius.0 + ZERO_CELSIUS_K)
    }
}

impl From<Kelvin> for Celsius {
    fn from(kelvin: Kelvin) -> Self {
        Celsius(kelvin.0 - ZERO_CELSIUS_K)
    }
}
