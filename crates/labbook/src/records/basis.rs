//! What a result rests on.

use crate::ids::{CalibrationId, RecordId, RunId};
use serde::{Deserialize, Serialize};

/// What a result rests on: the whole computation and which correction each run had.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Basis {
    /// The result with its budget, as computed.
    pub result: meltrange_metrology::Determination,
    /// Run by run.
    pub corrections: Vec<RunCorrection>,
    /// The range that was required, and what was decided.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub required: Option<Required>,
    /// What was said of the emergent column; corrected for where no calibration, which contains it, is in
    /// force.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stem: Option<meltrange_metrology::StatedStem>,
}

/// Which correction a run had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunCorrection {
    /// Which run.
    pub run: RunId,
    /// The calibration in force on its day; none where there was none.
    #[serde(default)]
    pub calibration: Option<CalibrationId>,
    /// The record of that calibration that was used.
    #[serde(default)]
    pub record: Option<RecordId>,
    /// The thermometer on the run's day, as it was known when the result was worked out.
    #[serde(default)]
    pub state: Option<ThermometerState>,
}

/// How far a thermometer can be relied on, on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ThermometerState {
    /// Never checked.
    NeverChecked,
    /// Checked within its interval, nothing out of the ordinary.
    InOrder,
    /// Its next check is due.
    Due,
    /// Its next check is long overdue.
    Overdue,
    /// Its latest check is further off than chance explains.
    OutOfControl,
}

impl ThermometerState {
    /// As written in records and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::NeverChecked => "never_checked",
            Self::InOrder => "in_order",
            Self::Due => "due",
            Self::Overdue => "overdue",
            Self::OutOfControl => "out_of_control",
        }
    }
}

/// A required range and what was decided about it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Required {
    /// No first liquid below this [°C].
    pub from_c: f64,
    /// No last crystal above this [°C].
    pub to_c: f64,
    /// Probability that the guard bands ask for, 0.5..1; none for simple acceptance.
    #[serde(default)]
    pub guard: Option<f64>,
    /// What was decided.
    pub decision: meltrange_metrology::Decision,
    /// Width of the guard band at the lower limit [°C].
    pub guard_lower_c: f64,
    /// Width of the guard band at the upper limit [°C].
    pub guard_upper_c: f64,
    /// Probability that the first liquid is not below the lower limit.
    pub probability_lower: f64,
    /// Probability that the last crystal is not above the upper limit.
    pub probability_upper: f64,
}
