//! `[thermometer]`.

use serde::{Deserialize, Serialize};

/// What tells the temperature.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum ThermometerSpec {
    /// A person keys it in.
    #[default]
    Keyed,
    /// Of the simulated bench.
    Simulated(SimulatedThermometer),
}

/// How the simulated thermometer tells.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct SimulatedThermometer {
    /// Between temperatures [s].
    pub interval_s: f64,
    /// Resolution [°C].
    pub resolution_c: f64,
    /// Standard deviation of one temperature [°C].
    pub noise_c: f64,
}

impl Default for SimulatedThermometer {
    fn default() -> Self {
        Self {
            interval_s: 0.5,
            resolution_c: 0.1,
            noise_c: 0.02,
        }
    }
}
