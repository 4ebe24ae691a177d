//! Blind readings for practice.

use crate::ids::{PersonId, RecordingId};
use serde::{Deserialize, Serialize};

/// Somebody read a recording blind, whose moments are known, and was told afterwards. Never a result of a sample.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PracticeAttempt {
    /// Who read.
    pub person: PersonId,
    /// What was read.
    pub exercise: PracticeExercise,
    /// First liquid.
    pub first_liquid: PracticeEnd,
    /// Last crystal.
    pub last_crystal: PracticeEnd,
    /// How long it took, where that is known [s].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seconds_spent: Option<f64>,
}

/// What was read for practice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "of", rename_all = "snake_case")]
pub enum PracticeExercise {
    /// Drawn by the program that is named, whose name for the kind this is; another version may draw another.
    Simulated {
        /// Plain, settling and so on.
        exercise: String,
        /// Fixes everything random in it.
        seed: u64,
        /// What drew it.
        program: String,
    },
    /// A tube of the book's own that several readers agreed on.
    Recording {
        /// In which recording.
        recording: RecordingId,
        /// 1.. from left to right.
        place: u8,
    },
}

/// One end as it was marked and as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PracticeEnd {
    /// As marked, the log's clock [s].
    pub marked_s: f64,
    /// Temperature then, as logged [°C].
    pub marked_c: f64,
    /// As known [s].
    pub known_s: f64,
    /// Temperature then, as logged [°C].
    pub known_c: f64,
    /// Standard uncertainty of what is known [°C].
    pub known_uncertainty_c: f64,
}

impl PracticeEnd {
    /// Marked less known [°C].
    pub fn error_c(&self) -> f64 {
        self.marked_c - self.known_c
    }
}
