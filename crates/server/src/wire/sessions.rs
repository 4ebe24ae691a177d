//! Sessions: many samples, few places, limited time.

use meltrange_planning::{
    DraftFault, Leg, MeasuringOrder, Relaxation, Saving, SessionDraft, SessionOrder, SessionPlan,
    SessionWords,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A session to plan.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SessionRequest {
    /// What is to be got done.
    pub order: SessionOrder,
    /// How long to look [s].
    #[schema(minimum = 0.1, maximum = 30)]
    pub seconds: f64,
}

/// A plan that people changed.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RetimeRequest {
    /// What is to be got done.
    pub order: SessionOrder,
    /// What is set in where and when.
    pub draft: SessionDraft,
    /// Minutes since the session began: nothing begins before that has not begun.
    pub now_min: f64,
}

/// A plan that people changed, to be worked on.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReworkRequest {
    /// What is to be got done.
    pub order: SessionOrder,
    /// What is set in where and when.
    pub draft: SessionDraft,
    /// Minutes since the session began.
    pub now_min: f64,
    /// The plan within the time that the page has beside it: what could give begins from it where it finishes more.
    #[serde(default)]
    pub in_time: Option<SessionDraft>,
    /// How long to look [s].
    #[schema(minimum = 0.1, maximum = 30)]
    pub seconds: f64,
}

/// A plan as a page shows it.
#[derive(Debug, Serialize, ToSchema)]
pub struct SessionShown {
    /// With its times.
    pub plan: SessionPlan,
    /// The same as people change it.
    pub draft: SessionDraft,
    /// What stands against it.
    pub faults: Vec<DraftFault>,
    /// Each bench minute by minute; benches and loads in the order of the plan's.
    pub benches: Vec<BenchPicture>,
    /// In words: why tubes share loads, what it hangs on, where the time goes.
    pub words: SessionWords,
    /// Where not all fits: what finishes as many samples as possible.
    #[schema(required)]
    pub in_time: Option<SessionDraft>,
    /// And how many that finishes.
    #[schema(required)]
    pub in_time_finished: Option<usize>,
}

/// What one more of something would save.
#[derive(Debug, Serialize, ToSchema)]
pub struct Savings {
    /// Each on its own.
    pub savings: Vec<Saving>,
}

/// What could give where a session does not fit.
#[derive(Debug, Serialize, ToSchema)]
pub struct Relaxations {
    /// Each on its own.
    pub relaxations: Vec<Relaxation>,
}

/// One bench minute by minute.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct BenchPicture {
    /// Its name.
    pub bench: String,
    /// In order.
    pub loads: Vec<LoadPicture>,
}

/// One load minute by minute.
#[derive(Debug, Clone, Default, PartialEq, Serialize, ToSchema)]
pub struct LoadPicture {
    /// What the bench does, from the end of the load before.
    pub stages: Vec<Stage>,
    /// The block is to be below this when the tubes are set in [°C].
    #[schema(required)]
    pub set_in_below_c: Option<f64>,
    /// Lowest first liquid and highest last crystal that are expected [°C].
    #[schema(required)]
    pub range_c: Option<[f64; 2]>,
    /// Its programme.
    pub legs: Vec<Leg>,
    /// The same as an order around the expected range, where one scan does for all.
    #[schema(required)]
    pub measuring: Option<MeasuringOrder>,
}

/// Something a bench does for a while.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct Stage {
    /// What.
    pub kind: StageKind,
    /// From when [min].
    pub from_min: f64,
    /// Until when [min].
    pub to_min: f64,
    /// From where to where a scan goes [°C].
    #[schema(required)]
    pub scan_c: Option<[f64; 2]>,
}

/// What a bench does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum StageKind {
    /// Until the block is cool enough.
    Cooling,
    /// For hands.
    Waiting,
    /// Tubes are set in.
    SettingIn,
    /// Fast to where a scan begins.
    Approach,
    /// Until the block is steady.
    Soak,
    /// The slow ramp.
    Scan,
}

/// The text of a session file.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SessionFile {
    /// TOML, as `meltrange session` reads it.
    pub toml: String,
}

/// What is kept of a session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SessionContent {
    /// What is to be got done.
    pub order: SessionOrder,
    /// Samples whose expected range nobody has typed yet.
    #[serde(default)]
    pub without_range: Vec<String>,
    /// Every sample as it was typed, line by line; those with a whole range stand in the order, too.
    #[serde(default)]
    pub typed: Vec<TypedSample>,
    /// The plan, once there is one.
    #[serde(default)]
    pub draft: Option<SessionDraft>,
    /// Minutes since it began, as last typed.
    #[serde(default)]
    pub now_min: f64,
    /// When minute 0 was, RFC 3339, once the clock runs.
    #[serde(default)]
    pub begun: Option<String>,
}

/// One sample as it was typed: a range may be missing or half there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TypedSample {
    /// Its name; may be empty.
    pub id: String,
    /// Expected first liquid [°C].
    #[serde(default)]
    pub first_liquid_c: Option<f64>,
    /// Expected last crystal [°C].
    #[serde(default)]
    pub last_crystal_c: Option<f64>,
    /// Tubes of it; the policy's if not said.
    #[serde(default)]
    pub replicates: Option<u32>,
    /// Its tubes must not be heated above this [°C].
    #[serde(default)]
    pub leave_below_c: Option<f64>,
    /// Where its range came from, in words; empty when it was typed.
    #[serde(default)]
    pub origin: String,
}

/// A session to keep.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KeepRequest {
    /// The revision that this takes the place of; 0 for a new session.
    pub revision: u64,
    /// All of it.
    pub session: SessionContent,
}

/// A session that is kept.
#[derive(Debug, Serialize, ToSchema)]
pub struct SessionDocument {
    /// What it is called.
    pub name: String,
    /// Counts every change.
    pub revision: u64,
    /// When it was changed last, RFC 3339.
    pub saved: String,
    /// Who did.
    pub by: String,
    /// All of it.
    pub session: SessionContent,
}

/// All sessions that are kept.
#[derive(Debug, Serialize, ToSchema)]
pub struct Sessions {
    /// The latest change first.
    pub sessions: Vec<SessionRow>,
}

/// A session in a list.
#[derive(Debug, Serialize, ToSchema)]
pub struct SessionRow {
    /// What it is called.
    pub name: String,
    /// Counts every change.
    pub revision: u64,
    /// When it was changed last, RFC 3339.
    pub saved: String,
    /// Who did.
    pub by: String,
    /// How long it lasts [min].
    pub length_min: f64,
    /// How many benches.
    pub benches: usize,
    /// How many samples.
    pub samples: usize,
}
