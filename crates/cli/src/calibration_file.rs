//! A calibration as `calibrate --json` prints it.

use crate::failure::Failure;
use meltrange_metrology::{Calibration, CorrectionCurve, Remark};
use serde_json::Value;
use std::path::Path;

/// A calibration as read, with the doubts that came with it.
#[derive(Debug)]
pub(crate) struct CalibrationFile {
    pub calibration: Calibration,
    /// Doubts about the calibration that are doubts about every result made with it.
    pub remarks: Vec<Remark>,
}

impl CalibrationFile {
    /// Read and check one.
    pub fn read(path: &Path) -> Result<Self, Failure> {
        let name = path.display();
        let unusable = |what: &dyn std::fmt::Display| {
            Failure::new(format!("{name} is not a calibration: {what}"))
                .hint("expected what meltrange calibrate STANDARDS.csv --json prints")
        };
        let bytes = std::fs::read(path)
            .map_err(|error| Failure::new(format!("{name} could not be read: {error}")))?;
        let value: Value = serde_json::from_slice(&bytes).map_err(|error| unusable(&error))?;
        let remarks = remarks(&value);
        let curve: CorrectionCurve =
            serde_json::from_value(value).map_err(|error| unusable(&error))?;
        let calibration =
            Calibration::new(curve).map_err(|error| Failure::new(format!("{name}: {error}")))?;
        Ok(Self {
            calibration,
            remarks,
        })
    }
}

fn remarks(calibration: &Value) -> Vec<Remark> {
    let listed = calibration.get("remarks").and_then(Value::as_array);
    listed
        .into_iter()
        .flatten()
        .filter_map(|remark| {
            let kind = remark.get("kind")?.as_str()?;
            let text = remark.get("text")?.as_str()?;
            let matters = [
                "suspect_standard",
                "certificate_expired",
                "scatter_beyond_stated",
            ];
            matters.contains(&kind).then(|| Remark {
                kind: kind.to_owned(),
                text: format!("calibration: {text}"),
            })
        })
        .collect()
}
