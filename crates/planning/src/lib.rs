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
mod learning;
mod order;
mod procedures;
mod programme;
mod refuse;
mod session;

pub use cautions::{calibrated_caution, cautions, learned_cautions};
pub use curve::{HeatingAbility, PlannedPoint, planned_curve};
pub use estimate::{
    BenchHeat, Estimate, FitError, Fitted, Fixed, LegEstimate, estimate, fit_within,
};
pub use learning::{
    ApproachStyle, Arrival, ControllerModel, Doubt, LearnError, LearnedBench, LearnedConstant,
    OutOfReach, RunLog, RunLogError, RunSample, ScanEnd, Unidentified, doubts, learn,
};
pub use order::{MeasuringOrder, ScoutingOrder};
pub use procedures::{CHECK_EDITION, Procedure, procedure, procedures};
pub use programme::{Leg, LegKind, Programme, ProgrammeError, Purpose};
pub use refuse::{Screening, screen, screen_hazards, screen_label};
pub use session::{
    ActualLoad, BenchShares, DraftBench, DraftFault, DraftLoad, PlannedBench, PlannedLoad,
    PlannedTube, Relaxation, RetimedPlan, Saving, SessionBench, SessionDraft, SessionEffort,
    SessionError, SessionOrder, SessionPlan, SessionPolicy, SessionSample, SessionSoFar,
    SessionWords, better_of, explain, finished_in_time, plan_session, relaxations, replan, retime,
    session_lower_bound_min, what_more_saves,
};
