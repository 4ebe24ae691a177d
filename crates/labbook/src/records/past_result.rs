//! Results from before this book, kept by hand.

use crate::ids::SampleId;
use serde::{Deserialize, Serialize};

/// What somebody wrote down elsewhere. It is shown as such: there are no pictures behind it, and nothing is worked out
/// from it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PastResult {
    /// Of which sample.
    pub sample: SampleId,
    /// What it was thought to be, as it was written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub substance: Option<String>,
    /// Where the range begins [°C]; none where only "above" or a remark was written.
    pub from_c: Option<f64>,
    /// Where it ends [°C].
    pub to_c: Option<f64>,
    /// Whether the solid was not all molten at the end that is named.
    pub above: bool,
    /// Whether it decomposed.
    pub decomposed: bool,
    /// Whether temperatures were corrected.
    pub mark: CorrectionMark,
    /// Heating rate [°C/min].
    pub heating_rate_c_per_min: Option<f64>,
    /// On which day.
    pub measured_on: Option<jiff::civil::Date>,
    /// By whom, as it was written.
    pub by: Option<String>,
    /// Where it was written down, e.g. "notebook 12, page 34".
    pub source: Option<String>,
    /// Anything else.
    pub remarks: Option<String>,
    /// The result as it was written.
    pub as_written: String,
    /// The file it was taken in from.
    pub file_name: String,
    /// The line of that file, 1 for the first.
    pub line: u64,
    /// Whether it does not count; the record's reason says why.
    #[serde(default)]
    pub void: bool,
}

/// Whether a temperature was corrected.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CorrectionMark {
    /// It was.
    Corrected,
    /// It was not.
    Uncorrected,
    /// Nobody wrote whether.
    #[default]
    NotStated,
}
