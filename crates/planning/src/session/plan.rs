//! A session's plan as it is given out.

use super::bound::lower_bound_min;
use super::draft::SessionDraft;
use super::model::Model;
use super::order::{SessionError, SessionOrder};
use super::replan::replan;
use serde::{Deserialize, Serialize};

/// Rounding of a session's length [min].
pub(super) const FITS_WITHIN_MIN: f64 = 0.01;

/// How long to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SessionEffort {
    /// Moves that each of the searches tries; two go on at the same time.
    pub rounds: u64,
    /// Fixes the search: the same order, rounds and seed give the same plan.
    pub seed: u64,
}

/// What a move takes an ordinary machine [µs]: a part that is always there, and for each tube what working
/// the times of two benches out takes and what waiting for operators does, for each bench. Measured.
const MOVE_US: f64 = 0.08;
const MOVE_US_PER_TUBE: f64 = 0.0022;
const MOVE_US_PER_TUBE_AND_BENCH: f64 = 0.000_18;

/// Part of the time that each of the searches may take, so that they are done in time on one processor.
const SHARE_OF_TIME: f64 = 0.45;

impl SessionEffort {
    /// What an ordinary machine does in so many seconds.
    pub fn for_seconds(seconds: f64, order: &SessionOrder, seed: u64) -> Self {
        let tubes: f64 = order
            .samples
            .iter()
            .map(|sample| f64::from(order.replicates_of(sample)))
            .sum();
        let per_tube_us =
            MOVE_US_PER_TUBE + MOVE_US_PER_TUBE_AND_BENCH * order.benches.len() as f64;
        let per_s = SHARE_OF_TIME * 1e6 / (MOVE_US + tubes * per_tube_us);
        Self {
            rounds: (seconds.max(0.0) * per_s) as u64 + 1,
            seed,
        }
    }
}

/// One tube of a load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlannedTube {
    /// Which sample.
    pub sample: String,
    /// Which of its tubes, 1...
    pub replicate: u32,
}

/// One load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlannedLoad {
    /// What is set in together.
    pub tubes: Vec<PlannedTube>,
    /// Block temperature when the load before ended, or at the start [°C].
    pub cool_from_c: f64,
    /// When it is set in [min].
    pub load_start_min: f64,
    /// Scans, rising [°C].
    pub scan_windows_c: Vec<[f64; 2]>,
    /// When its last scan ends [min].
    pub end_min: f64,
}

/// The loads of one bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlannedBench {
    /// Its name.
    pub bench: String,
    /// In order.
    pub loads: Vec<PlannedLoad>,
}

/// A plan of a session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SessionPlan {
    /// When the last load ends [min].
    pub makespan_min: f64,
    /// No plan ends before this [min].
    pub lower_bound_min: f64,
    /// Whether all fits into the session.
    pub fits: bool,
    /// Each bench with its loads.
    pub benches: Vec<PlannedBench>,
    /// Samples all of whose tubes are done within the session.
    pub finished_in_time: Vec<String>,
    /// The others.
    pub not_finished: Vec<String>,
    /// Where not all fits: a plan that finishes as many samples as possible.
    pub in_time_benches: Option<Vec<PlannedBench>>,
}

/// Plan a session: makespan near the shortest, of plans as short the one with fewer loads.
///
/// `going_on` is asked now and then; once it says no, the best plan so far is given.
///
/// # Errors
/// [`SessionError`] for an order that makes no sense or holds a sample that no bench can take.
pub fn plan_session(
    order: &SessionOrder,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<SessionPlan, SessionError> {
    replan(order, &SessionDraft::default(), 0.0, effort, going_on)
}

/// The time [min] that no plan of a session can beat, whatever was found; derivation in
/// docs/models/session.md.
///
/// # Errors
/// As [`plan_session`].
pub fn session_lower_bound_min(order: &SessionOrder) -> Result<f64, SessionError> {
    order.check()?;
    Ok(lower_bound_min(&Model::new(order)))
}
