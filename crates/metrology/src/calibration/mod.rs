//! Calibration: from reference substances to a correction with its uncertainty.

mod choice;
mod curve;
mod fit;
mod remarks;
mod screen;
mod standards;

pub use choice::{DegreeChoice, TermTest};
pub use curve::{Calibration, CorrectionAt, CorrectionCurve, CurveError, UncertaintyFrom};
pub use fit::{CalibrationFit, CalibrationOptions, PointVerdict, calibrate};
pub use remarks::CalibrationRemark;
pub use standards::{CalibrationError, Certificate, StandardPoint};
