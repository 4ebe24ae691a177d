//! Practice in reading, over the wire.

use meltrange_labbook::{AttemptId, PersonId, RecordingId};
use meltrange_teaching::{Basis, EndMarked, ExerciseKind, Happening, Progress, Why};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What is read for practice: one that is drawn, by its kind and seed, or a tube of the book's own.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Exercise {
    /// Kind; "recording" for one of the book's own.
    pub kind: ExerciseKind,
    /// Of a drawn one.
    #[serde(default)]
    #[schema(required)]
    pub seed: Option<u32>,
    /// Of the book's own.
    #[serde(default)]
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub recording: Option<RecordingId>,
    /// Which tube of it, 1.. from left to right.
    #[serde(default)]
    #[schema(required)]
    pub place: Option<u8>,
}

/// An exercise as it is shown: blind.
#[derive(Debug, Serialize, ToSchema)]
pub struct PracticeItem {
    /// Which.
    pub exercise: Exercise,
    /// When pictures were taken, log clock [s].
    pub times_s: Vec<f64>,
    /// The address of picture n, from 0, is this and n.
    pub pictures: String,
    /// Why this one.
    pub why: Why,
    /// This person's attempts at this very one so far.
    pub attempts: usize,
    /// Part of the picture that matters: left, top, width, height as fractions; null for all of it.
    #[schema(required, value_type = Option<(f64, f64, f64, f64)>)]
    pub column: Option<[f64; 4]>,
}

/// The book's own exercises.
#[derive(Debug, Serialize, ToSchema)]
pub struct PracticeItems {
    /// Newest recording first.
    pub items: Vec<PracticeItem>,
}

/// What somebody marked.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PracticeAttemptRequest {
    /// Its id, made by whoever asks, so that it is recorded once.
    #[schema(value_type = String, format = Uuid)]
    pub id: AttemptId,
    /// Of which exercise.
    pub exercise: Exercise,
    /// Log clock [s].
    pub first_liquid_s: f64,
    /// Log clock [s].
    pub last_crystal_s: f64,
    /// How long it took [s].
    #[serde(default)]
    pub seconds_spent: Option<f64>,
}

/// Marks beside what is known.
#[derive(Debug, Serialize, ToSchema)]
pub struct PracticeMarked {
    /// Of the attempt.
    #[schema(value_type = String, format = Uuid)]
    pub id: AttemptId,
    /// Of which exercise.
    pub exercise: Exercise,
    /// Whether the truth is known or what several readers agreed on.
    pub basis: Basis,
    /// First liquid.
    pub first_liquid: EndMarked,
    /// Last crystal.
    pub last_crystal: EndMarked,
    /// What happened besides melting.
    pub events: Vec<Happening>,
    /// When pictures were taken, log clock [s].
    pub times_s: Vec<f64>,
    /// Temperature then [°C].
    pub temperatures_c: Vec<f64>,
    /// Solid left then, as a part of the fresh column; null for a consensus.
    #[schema(required)]
    pub solid_left_fraction: Option<Vec<f64>>,
    /// How far this person is now.
    pub progress: PracticeProgress,
}

/// How far somebody is.
#[derive(Debug, Serialize, ToSchema)]
pub struct PracticeProgress {
    /// Who.
    #[schema(value_type = String, format = Uuid)]
    pub person: PersonId,
    /// As the book knows them.
    pub name: String,
    /// How far.
    #[serde(flatten)]
    pub progress: Progress,
}

/// Who has practised.
#[derive(Debug, Serialize, ToSchema)]
pub struct PracticeReaders {
    /// By name.
    pub readers: Vec<PracticeReader>,
}

/// One who has practised.
#[derive(Debug, Serialize, ToSchema)]
pub struct PracticeReader {
    /// Who.
    #[schema(value_type = String, format = Uuid)]
    pub person: PersonId,
    /// As the book knows them.
    pub name: String,
    /// How often.
    pub attempts: usize,
    /// Whether the rule to pass is fulfilled now.
    pub passed: bool,
}

/// Pictures of the handout.
#[derive(Debug, Serialize, ToSchema)]
pub struct Handout {
    /// In the order they are shown.
    pub pictures: Vec<HandoutPicture>,
}

/// A picture of the handout.
#[derive(Debug, Serialize, ToSchema)]
pub struct HandoutPicture {
    /// What it shows, as a code.
    pub name: String,
    /// Where it is.
    pub address: String,
    /// What it shows, in words.
    pub caption: String,
}
