//! Review of a result by a second person.

use crate::digest::Digest;
use crate::ids::{DeterminationId, RecordId, SampleId};
use serde::{Deserialize, Serialize};

/// A second person stands behind what is said of a sample.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SignOff {
    /// Of which sample.
    pub sample: SampleId,
    /// The record of the sample that was looked at.
    pub sample_record: RecordId,
    /// Which result.
    pub determination: DeterminationId,
    /// The record of that result that was looked at.
    pub result_record: RecordId,
    /// The record of the verdict that was looked at; none where nothing was said of the sample.
    pub verdict_record: Option<RecordId>,
    /// The result as it was written, e.g. "121.6–122.4 °C (corrected)".
    pub range_text: String,
    /// What the signature means.
    pub meaning: SignOffMeaning,
    /// Anything else, in the person's words.
    pub statement: Option<String>,
    /// Digest of the pictures at first liquid and last crystal that were shown; none where there were none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pictures_sha256: Option<Digest>,
    /// Whether it no longer holds; the record's reason says why.
    #[serde(default)]
    pub withdrawn: bool,
}

/// What a signature means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SignOffMeaning {
    /// Pictures, readings and computation were looked through.
    Reviewed,
    /// So they were, and the result may be used.
    ReviewedAndApproved,
}

impl SignOffMeaning {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Reviewed, Self::ReviewedAndApproved];
}
