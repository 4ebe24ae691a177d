//! A session: many samples, few places, limited time.

mod bound;
mod draft;
mod faults;
mod in_time;
mod model;
mod order;
mod plan;
mod search;
mod timetable;

pub use draft::{ActualLoad, DraftBench, DraftFault, DraftLoad, RetimedPlan, SessionDraft, retime};
pub use order::{SessionBench, SessionError, SessionOrder, SessionPolicy, SessionSample};
pub use plan::{
    PlannedBench, PlannedLoad, PlannedTube, SessionEffort, SessionPlan, plan_session,
    session_lower_bound_min,
};
