//! A session: many samples, few places, limited time.

mod beginning;
mod bound;
mod draft;
mod explain;
mod faults;
mod in_time;
mod marks;
mod model;
mod more;
mod moves;
mod order;
mod plan;
mod relax;
mod replan;
mod search;
mod so_far;
mod state;
mod timetable;
mod undo;

pub use draft::{
    ActualLoad, DraftBench, DraftFault, DraftLoad, RetimedPlan, SessionDraft, finished_in_time,
    retime,
};
pub use explain::{BenchShares, SessionWords, explain};
pub use more::{Saving, what_more_saves};
pub use order::{SessionBench, SessionError, SessionOrder, SessionPolicy, SessionSample};
pub use plan::{
    PlannedBench, PlannedLoad, PlannedTube, SessionEffort, SessionPlan, plan_session,
    session_lower_bound_min,
};
pub use relax::{Relaxation, relaxations};
pub use replan::replan;
pub use so_far::{SessionSoFar, better_of};
