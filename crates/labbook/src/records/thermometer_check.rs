//! Checks of thermometers: what a reference substance showed on a bench.

use super::TubeRef;
use crate::ids::{BenchId, StandardId};
use serde::{Deserialize, Serialize};

/// What a reference substance showed on a bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Check {
    /// Which reference substance.
    pub standard: StandardId,
    /// On which bench.
    pub bench: BenchId,
    /// On which day.
    pub made_on: jiff::civil::Date,
    /// What the thermometer showed, uncorrected [°C].
    pub indicated_c: f64,
    /// Standard uncertainty of what it showed [°C], > 0.
    #[serde(default)]
    pub standard_uncertainty_c: Option<f64>,
    /// Heating rate through the melting [°C/min], > 0.
    #[serde(default)]
    pub heating_rate_c_per_min: Option<f64>,
    /// The thermometer, in the bench's words of that day.
    #[serde(default)]
    pub thermometer: Option<String>,
    /// The tube of a reading in this book that it was taken from.
    #[serde(default)]
    pub from: Option<TubeRef>,
    /// Anything else.
    #[serde(default)]
    pub remarks: Option<String>,
    /// Whether it does not count; the record's reason says why.
    #[serde(default)]
    pub void: bool,
}
