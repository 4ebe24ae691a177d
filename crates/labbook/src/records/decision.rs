//! What people say to a reading, tube by tube. The latest decision on a tube counts.

use super::{Moment, Outcome};
use crate::ids::ReadingId;
use serde::{Deserialize, Serialize};

/// A person agrees with a reading for one tube.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Confirmation {
    /// Which reading.
    pub reading: ReadingId,
    /// Which tube, 1...
    pub place: u8,
}

/// A person puts other moments in place of a reading's for one tube. The record needs a reason.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Override {
    /// Which reading.
    pub reading: ReadingId,
    /// Which tube, 1...
    pub place: u8,
    /// What became of it, as the person sees it.
    pub outcome: Outcome,
    /// As the person sees it.
    pub first_liquid: Option<Moment>,
    /// As the person sees it.
    pub last_crystal: Option<Moment>,
}
