//! What is told as it happens.

use super::Kind;
use crate::problem::Problem;
use meltrange_labbook as kept;
use meltrange_labbook::{PersonId, ReadingId, RecordId, RecordingId, SubjectId};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// Event `change`: a record was added. The event's id is `seq`.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Change {
    /// The record's number, rising without gaps.
    pub seq: u64,
    /// The record.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Its kind.
    pub kind: Kind,
    /// What it is about.
    #[schema(value_type = String, format = Uuid)]
    pub subject: SubjectId,
}

impl From<kept::Change> for Change {
    fn from(found: kept::Change) -> Self {
        Self {
            seq: found.seq,
            record: found.id,
            kind: found.kind.into(),
            subject: found.subject,
        }
    }
}

/// Event `work`: how far an import or a reading is.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Work {
    /// Its id, as the answer to the request that began it.
    pub id: Uuid,
    /// What is done.
    pub kind: WorkKind,
    /// How far.
    pub state: WorkState,
    /// Part done, 0..=1.
    pub done_fraction: f64,
    /// Who asked for it.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// The recording, as soon as there is one.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub recording: Option<RecordingId>,
    /// The reading, as soon as there is one.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub reading: Option<ReadingId>,
    /// Why it failed.
    #[schema(required)]
    pub problem: Option<Problem>,
}

/// What is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum WorkKind {
    /// A video and its log become a recording, and are read if that was asked for.
    Import,
    /// The engine reads a recording.
    Reading,
}

/// How far it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum WorkState {
    /// Others come first.
    Queued,
    /// Files are copied and their digests taken.
    Copying,
    /// Pictures to look at are made from the video.
    MakingPictures,
    /// The engine reads.
    Reading,
    /// Done.
    Done,
    /// Failed; `problem` says why.
    Failed,
}

impl WorkState {
    /// Whether nothing more will happen.
    pub fn is_over(self) -> bool {
        matches!(self, Self::Done | Self::Failed)
    }
}
