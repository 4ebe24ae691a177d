//! A session: many samples, few places, limited time.

mod beginning;
mod bound;
mod draft;
mod faults;
mod in_time;
mod model;
mod moves;
mod order;
mod plan;
mod replan;
mod search;
mod state;
mod timetable;
mod undo;

pub use draft::{ActualLoad, DraftBench, DraftFault, DraftLoad, RetimedPlan, SessionDraft, retime};
pub use order::{SessionBench, SessionError, SessionOrder, SessionPolicy, SessionSample};
pub use plan::{
    PlannedBench, PlannedLoad, PlannedTube, SessionEffort, SessionPlan, plan_session,
    session_lower_bound_min,
};
pub use replan::replan;
