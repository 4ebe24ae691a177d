//! Records taken in from another book.

use crate::digest::Digest;
use crate::ids::SampleId;
use serde::{Deserialize, Serialize};

/// So many records before this one were taken in from an archive. They keep their ids, their people and the times at
/// which they were written; the chain they stand in now is this book's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Received {
    /// What the other book is called.
    pub title: String,
    /// Where its chain stood.
    pub head_seq: u64,
    /// The hash it ended with.
    pub head_hash: Digest,
    /// Which sample they are about; none for a whole book.
    pub sample: Option<SampleId>,
    /// How many records they are.
    pub records: u64,
    /// SHA-256 of the archive's `records.jsonl`.
    pub records_sha256: Digest,
}
