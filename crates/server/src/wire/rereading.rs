//! Recordings that are read again, over the wire.

use meltrange_labbook::{
    self as kept, EndMoved, Moved, PersonId, RecordingId, RereadChange, RereadCounts, RereadState,
    RereadWorker, When,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// All re-readings of a book.
#[derive(Debug, Serialize, ToSchema)]
pub struct Rereadings {
    /// Whether the book is shared; in a folder there is no queue for workers.
    pub shared: bool,
    /// The engine of this server, which would read.
    pub engine: String,
    /// Newest first.
    pub rows: Vec<Rereading>,
}

/// One re-reading.
#[derive(Debug, Serialize, ToSchema)]
pub struct Rereading {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: Uuid,
    /// The engine that reads.
    pub engine: String,
    /// Who began it.
    #[schema(value_type = String, format = Uuid)]
    pub begun_by: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub begun_at: When,
    /// How far it is.
    pub state: RereadState,
    /// Who accepted or dropped it; null while it reads.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub decided_by: Option<PersonId>,
    /// When.
    #[schema(required, value_type = Option<String>, format = DateTime)]
    pub decided_at: Option<When>,
}

impl From<kept::Rereading> for Rereading {
    fn from(found: kept::Rereading) -> Self {
        Self {
            id: found.id,
            engine: found.engine,
            begun_by: found.begun_by,
            begun_at: found.begun_at,
            state: found.state,
            decided_by: found.decided.map(|(who, _)| who),
            decided_at: found.decided.map(|(_, when)| when),
        }
    }
}

/// Which recordings to read again.
#[derive(Debug, Deserialize, ToSchema)]
pub struct RereadRequest {
    /// All that are ended; if not, those that this version of the engine has not read.
    #[serde(default)]
    pub all: bool,
}

/// How far a re-reading is, and what it changes.
#[derive(Debug, Serialize, ToSchema)]
pub struct RereadingDetail {
    /// Which.
    pub rereading: Rereading,
    /// Recordings by state.
    pub counts: RereadCounts,
    /// Tubes by what became of them.
    pub changes: Vec<ChangeCount>,
    /// First liquid: now less before.
    pub first_liquid: EndMoved,
    /// Last crystal: now less before.
    pub last_crystal: EndMoved,
    /// Who reads.
    pub workers: Vec<RereadWorker>,
    /// Recordings read in the last ten minutes [1/min].
    pub per_min: f64,
    /// Recordings that cannot be read; the first fifty.
    pub failures: Vec<RereadFailure>,
}

/// How many tubes changed in one way.
#[derive(Debug, Serialize, ToSchema)]
pub struct ChangeCount {
    /// In which.
    pub change: RereadChange,
    /// Tubes.
    pub tubes: u64,
}

/// A recording that cannot be read.
#[derive(Debug, Serialize, ToSchema)]
pub struct RereadFailure {
    /// Which.
    #[schema(value_type = String, format = Uuid)]
    pub recording: RecordingId,
    /// Why.
    pub why: String,
}

/// Tubes of a re-reading.
#[derive(Debug, Serialize, ToSchema)]
pub struct RereadTubes {
    /// Those that moved furthest first.
    pub rows: Vec<RereadTube>,
}

/// One tube, before and now.
#[derive(Debug, Serialize, ToSchema)]
pub struct RereadTube {
    /// In which recording.
    #[schema(value_type = String, format = Uuid)]
    pub recording: RecordingId,
    /// Its place, from 1.
    pub place: u8,
    /// What became of it.
    pub change: RereadChange,
    /// Outcome before; null where there was no such tube.
    #[schema(required)]
    pub outcome_before: Option<String>,
    /// Outcome now.
    #[schema(required)]
    pub outcome_now: Option<String>,
    /// First liquid, where both have one.
    #[schema(required)]
    pub first_liquid: Option<Moved>,
    /// Last crystal, where both have one.
    #[schema(required)]
    pub last_crystal: Option<Moved>,
    /// Why a person left this recording out; null where nobody did.
    #[schema(required)]
    pub left_out: Option<String>,
}

impl From<kept::RereadTube> for RereadTube {
    fn from(found: kept::RereadTube) -> Self {
        Self {
            recording: found.recording,
            place: found.place,
            change: found.change,
            outcome_before: found.outcome_before,
            outcome_now: found.outcome_now,
            first_liquid: found.first_liquid,
            last_crystal: found.last_crystal,
            left_out: found.left_out,
        }
    }
}

/// A recording whose new reading is not recorded.
#[derive(Debug, Deserialize, ToSchema)]
pub struct LeaveOutRequest {
    /// Which.
    #[schema(value_type = String, format = Uuid)]
    pub recording: RecordingId,
    /// Why.
    pub why: String,
}
