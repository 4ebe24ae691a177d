//! Calibrations, and what they change.

use super::of_metrology::{ConventionShape, CurveShape, RemarkShape};
use meltrange_labbook as kept;
use meltrange_labbook::{
    CalibrationId, CheckId, DeterminationId, PersonId, RecordId, SampleId, StandardId, When,
};
use meltrange_metrology as metrology;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The calibration that is in force, in short.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct CalibrationInForce {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: CalibrationId,
    /// The latest record of it.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// First day on which it holds.
    #[schema(format = Date)]
    pub in_force_from: String,
    /// Whose record.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub when: When,
    /// Degree of the correction, 0..=2.
    pub degree: usize,
    /// Lowest indicated temperature among the standards [°C].
    pub valid_from_c: f64,
    /// Highest indicated temperature among the standards [°C].
    pub valid_to_c: f64,
    /// Convention of the reference values, which corrected temperatures inherit.
    #[schema(value_type = ConventionShape)]
    pub convention: metrology::Convention,
}

/// Whether the certificate of a standard held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CertificateState {
    /// Not past its date.
    InForce,
    /// Past its date.
    Expired,
    /// No date was given.
    NotStated,
}

impl From<kept::CertificateState> for CertificateState {
    fn from(found: kept::CertificateState) -> Self {
        match found {
            kept::CertificateState::InForce => Self::InForce,
            kept::CertificateState::Expired => Self::Expired,
            kept::CertificateState::NotStated => Self::NotStated,
        }
    }
}

/// One check in a calibration.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct CalibrationPoint {
    /// Which check.
    #[schema(value_type = String, format = Uuid)]
    pub check: CheckId,
    /// Of which standard.
    #[schema(value_type = String, format = Uuid)]
    pub standard: StandardId,
    /// Name of the substance.
    pub substance: String,
    /// Reference value [°C].
    pub reference_c: f64,
    /// Its standard uncertainty [°C].
    #[schema(required)]
    pub reference_u_c: Option<f64>,
    /// What the thermometer showed [°C].
    pub indicated_c: f64,
    /// Its standard uncertainty [°C].
    #[schema(required)]
    pub indicated_u_c: Option<f64>,
    /// Whether the certificate held on the day of the check.
    pub certificate: CertificateState,
    /// Whether it was used in the fit.
    pub used: bool,
    /// Reference − indicated, less the fitted correction [°C].
    #[schema(required)]
    pub residual_c: Option<f64>,
    /// Whether it does not belong to the others.
    pub suspect: bool,
}

impl From<&kept::CalibrationPoint> for CalibrationPoint {
    fn from(found: &kept::CalibrationPoint) -> Self {
        Self {
            check: found.check,
            standard: found.standard,
            substance: found.substance.clone(),
            reference_c: found.reference_c,
            reference_u_c: found.reference_u_c,
            indicated_c: found.indicated_c,
            indicated_u_c: found.indicated_u_c,
            certificate: found.certificate.into(),
            used: found.used,
            residual_c: found.residual_c,
            suspect: found.suspect,
        }
    }
}

/// A calibration with everything on it.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct CalibrationView {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: CalibrationId,
    /// The latest record of it.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Whose record.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub when: When,
    /// Why it was changed, where it was.
    #[schema(required)]
    pub reason: Option<String>,
    /// Of which thermometer, in the bench's words; it holds for no other.
    #[schema(required)]
    pub thermometer: Option<String>,
    /// First day on which it holds.
    #[schema(format = Date)]
    pub in_force_from: String,
    /// The correction.
    #[schema(value_type = CurveShape)]
    pub curve: metrology::CorrectionCurve,
    /// Its checks.
    pub points: Vec<CalibrationPoint>,
    /// Why the correction has this degree.
    pub degree_because: String,
    /// Doubts about it.
    #[schema(value_type = Vec<RemarkShape>)]
    pub remarks: Vec<metrology::Remark>,
    /// Whether it was taken back; `reason` says why.
    pub withdrawn: bool,
    /// Whether it is in force today.
    pub in_force: bool,
    /// The correction over its range, to be drawn.
    pub plot: CorrectionPlot,
}

/// A correction with its band, to be drawn: columns of equal length, or null where nothing tells it.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct CorrectionPlot {
    /// Where [°C].
    pub indicated_c: Vec<f64>,
    /// The correction [°C].
    pub correction_c: Vec<f64>,
    /// Lower end of its 95 % interval [°C].
    #[schema(required)]
    pub low_c: Option<Vec<f64>>,
    /// Upper end of its 95 % interval [°C].
    #[schema(required)]
    pub high_c: Option<Vec<f64>>,
}

/// From which checks a correction is to be fitted.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CalibrationRequest {
    /// Checks of this thermometer that are used.
    #[schema(min_items = 1, max_items = 500, value_type = Vec<String>)]
    pub checks: Vec<CheckId>,
    /// Checks that are left out, and shown as such.
    #[serde(default)]
    #[schema(max_items = 500, value_type = Vec<String>)]
    pub left_out: Vec<CheckId>,
    /// Degree of the correction; by evidence where it is not said.
    #[serde(default)]
    #[schema(minimum = 0, maximum = 2)]
    pub degree: Option<u8>,
    /// First day on which it is to hold; a date.
    #[schema(format = Date)]
    pub in_force_from: String,
}

/// A correction as it would be.
#[derive(Debug, Serialize, ToSchema)]
pub struct CalibrationTried {
    /// The correction.
    #[schema(value_type = CurveShape)]
    pub curve: metrology::CorrectionCurve,
    /// Why it has this degree.
    pub degree_because: String,
    /// Its checks.
    pub points: Vec<CalibrationPoint>,
    /// Doubts about it.
    #[schema(value_type = Vec<RemarkShape>)]
    pub remarks: Vec<metrology::Remark>,
    /// The correction over its range, to be drawn.
    pub plot: CorrectionPlot,
    /// What it would change.
    pub changes: CalibrationChanges,
}

/// A calibration that was recorded or withdrawn.
#[derive(Debug, Serialize, ToSchema)]
pub struct CalibrationDone {
    /// The calibration.
    pub calibration: CalibrationView,
    /// What it changed.
    pub changes: CalibrationChanges,
}

/// Why a calibration is withdrawn.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WithdrawRequest {
    /// The record that this takes the place of: the latest one known to the page.
    #[schema(value_type = String, format = Uuid)]
    pub supersedes: RecordId,
    /// Why.
    #[schema(min_length = 1, max_length = 3000)]
    pub reason: String,
}

/// What becomes of results.
#[derive(Debug, Default, Serialize, ToSchema)]
pub struct CalibrationChanges {
    /// Results from runs whose correction changes: each is worked out anew.
    pub results: u64,
    /// Results that are written otherwise after it.
    pub changed: u64,
    /// The first 200 of them, by label of their sample.
    pub rows: Vec<ChangedResult>,
    /// Results that cannot be worked out anew with the other correction and stay as they are.
    pub left: Vec<LeftResult>,
}

/// One result that stays as it is.
#[derive(Debug, Serialize, ToSchema)]
pub struct LeftResult {
    /// Which result.
    #[schema(value_type = String, format = Uuid)]
    pub determination: DeterminationId,
    /// Of which sample.
    #[schema(value_type = String, format = Uuid)]
    pub sample: SampleId,
    /// What stands on its vial.
    pub label: String,
    /// Why, in words.
    pub why: String,
}

/// One result before and after.
#[derive(Debug, Serialize, ToSchema)]
pub struct ChangedResult {
    /// Which result.
    #[schema(value_type = String, format = Uuid)]
    pub determination: DeterminationId,
    /// Of which sample.
    #[schema(value_type = String, format = Uuid)]
    pub sample: SampleId,
    /// What stands on its vial.
    pub label: String,
    /// As it was written.
    pub before: String,
    /// As it is written.
    pub after: String,
    /// How far the first liquid moves [°C].
    #[schema(required)]
    pub first_liquid_by_c: Option<f64>,
    /// How far the last crystal moves [°C].
    #[schema(required)]
    pub last_crystal_by_c: Option<f64>,
}
