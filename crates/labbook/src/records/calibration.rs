//! Calibrations of thermometers.

use crate::ids::{BenchId, CheckId, StandardId};
use meltrange_metrology::CorrectionCurve;
use serde::{Deserialize, Serialize};

/// A correction for a bench's thermometer, fitted to checks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Calibration {
    /// Of which bench.
    pub bench: BenchId,
    /// Of which thermometer, in the bench's words; it holds for no other.
    #[serde(default)]
    pub thermometer: Option<String>,
    /// First day on which it holds.
    pub in_force_from: jiff::civil::Date,
    /// The correction.
    pub curve: CorrectionCurve,
    /// The checks it was fitted to, and those that were left out.
    pub points: Vec<CalibrationPoint>,
    /// Why the correction has this degree.
    pub degree_because: String,
    /// Doubts about it.
    #[serde(default)]
    pub remarks: Vec<meltrange_metrology::Remark>,
    /// Whether it was taken back; the record's reason says why.
    #[serde(default)]
    pub withdrawn: bool,
}

/// One check in a calibration, with the standard as it was then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CalibrationPoint {
    /// Which check.
    pub check: CheckId,
    /// Of which standard.
    pub standard: StandardId,
    /// Name of the substance.
    pub substance: String,
    /// Reference value [°C].
    pub reference_c: f64,
    /// Its standard uncertainty [°C].
    #[serde(default)]
    pub reference_u_c: Option<f64>,
    /// What the thermometer showed [°C].
    pub indicated_c: f64,
    /// Its standard uncertainty [°C].
    #[serde(default)]
    pub indicated_u_c: Option<f64>,
    /// Whether the certificate held on the day of the check.
    pub certificate: CertificateState,
    /// Whether it was used in the fit.
    pub used: bool,
    /// Reference − indicated, less the fitted correction [°C].
    #[serde(default)]
    pub residual_c: Option<f64>,
    /// Whether it does not belong to the others.
    pub suspect: bool,
}

/// Whether the certificate of a standard held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CertificateState {
    /// Not past its date.
    InForce,
    /// Past its date.
    Expired,
    /// No date was given.
    NotStated,
}
