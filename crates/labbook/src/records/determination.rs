//! Results.

use super::Basis;
use crate::ids::{ReadingId, SampleId};
use serde::{Deserialize, Serialize};

/// The result for a sample from its readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Determination {
    /// For which sample.
    pub sample: SampleId,
    /// From which tubes of which readings.
    pub from: Vec<TubeRef>,
    /// Whether the runs agree.
    pub agreed: bool,
    /// Farthest apart at either end [°C].
    #[serde(default)]
    pub spread_c: Option<f64>,
    /// How many more runs are needed.
    pub further_runs_needed: u32,
    /// What the temperatures below are.
    pub convention: Convention,
    /// First liquid.
    pub first_liquid: Option<ResultValue>,
    /// Last crystal.
    pub last_crystal: Option<ResultValue>,
    /// As it is written, e.g. "121.6–122.4 °C".
    pub range_text: String,
    /// What it rests on. Left out of the record where it is not known, so that records of older books
    /// keep their hashes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub basis: Option<Box<Basis>>,
}

/// One tube of one reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "schema", schema(as = SaidTube))]
pub struct TubeRef {
    /// Which reading.
    #[cfg_attr(feature = "schema", schema(value_type = String, format = Uuid))]
    pub reading: ReadingId,
    /// Which tube, 1...
    pub place: u8,
}

/// What a temperature is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Convention {
    /// As the thermometer indicated; not corrected.
    AsLogged,
    /// Corrected, at zero heating rate.
    Thermodynamic,
    /// Corrected, at the heating rate used.
    AtRate,
    /// Corrected; nobody said which melting points the references are.
    NotStated,
}

/// A value with its uncertainty [°C].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ResultValue {
    /// The value [°C].
    pub value_c: f64,
    /// Standard uncertainty [°C].
    pub standard_uncertainty_c: f64,
    /// Expanded uncertainty [°C].
    pub expanded_uncertainty_c: f64,
    /// Their ratio.
    pub coverage_factor: f64,
}
