//! Heating programmes: what is expected of a sample to legs, and legs to a planned curve.
//!
//! ```
//! use meltrange_planning::{LegKind, MeasuringOrder, Programme};
//! let order = MeasuringOrder::around(121.6, 122.4);
//! let programme = Programme::measuring(&order, 300.0)?;
//! assert_eq!(programme.legs()[0].kind(), LegKind::Approach);
//! # Ok::<(), meltrange_planning::ProgrammeError>(())
//! ```

mod cautions;
mod curve;
mod estimate;
mod order;
mod programme;
mod session;

pub use cautions::cautions;
pub use curve::{HeatingAbility, PlannedPoint, planned_curve};
pub use estimate::{Estimate, FitError, Fitted, Fixed, LegEstimate, estimate, fit_within};
pub use order::{MeasuringOrder, ScoutingOrder};
pub use programme::{Leg, LegKind, Programme, ProgrammeError, Purpose};
pub use session::{
    ActualLoad, BenchShares, DraftBench, DraftFault, DraftLoad, PlannedBench, PlannedLoad,
    PlannedTube, Relaxation, RetimedPlan, Saving, SessionBench, SessionDraft, SessionEffort,
    SessionError, SessionOrder, SessionPlan, SessionPolicy, SessionSample, SessionWords, explain,
    plan_session, relaxations, replan, retime, session_lower_bound_min, what_more_saves,
};
