//! What a run looks like from outside.

use super::coach::Coaching;
use super::event::{Fault, RunEvent};
use super::phase::Phase;
use meltrange_planning::Programme;
use serde::Serialize;

/// A run as it is now.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RunView {
    /// From its start [s].
    pub time_s: f64,
    /// How far it is.
    pub phase: Phase,
    /// What is planned.
    pub programme: Programme,
    /// Which leg, from 0.
    pub leg: usize,
    /// How long that leg has lasted [s].
    pub leg_elapsed_s: f64,
    /// As indicated [°C].
    pub temperature_c: Option<f64>,
    /// Where it should be [°C].
    pub wanted_c: f64,
    /// What to do with the knob, where a person turns it; and how fast it heats.
    pub coaching: Coaching,
    /// What is wrong now.
    pub faults: Vec<ActiveFault>,
    /// The places from left to right; none until tubes are found.
    pub tubes: Vec<TubeView>,
    /// What the person marked.
    pub marks: Vec<Mark>,
    /// How long the person is still waited for [s].
    pub attend_left_s: Option<f64>,
    /// Roughly where it melts, from a scouting run [°C]: first liquid of the first tube, last crystal of the last.
    pub estimate_c: Option<[f64; 2]>,
    /// The latest events, oldest first.
    pub events: Vec<RunEvent>,
    /// Whether pictures still go into the recording.
    pub recording: bool,
    /// Why it is over.
    pub end: Option<String>,
}

/// Something that is wrong.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ActiveFault {
    /// What.
    pub fault: Fault,
    /// In words, with what to do.
    pub text: String,
}

/// What one tube looks like, told as the pictures come; may be taken back.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct TubeView {
    /// 1.. from left to right.
    pub place: usize,
    /// Now.
    pub look: Look,
    /// Called first liquid, from the start of the run [s].
    pub first_liquid_s: Option<f64>,
    /// Called last crystal [s].
    pub last_crystal_s: Option<f64>,
    /// Indication then [°C].
    pub first_liquid_c: Option<f64>,
    /// Indication then [°C].
    pub last_crystal_c: Option<f64>,
    /// Whether the newest picture shows it.
    pub in_sight: bool,
}

/// What a tube looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Look {
    /// No powder.
    Empty,
    /// Powder, not yet followed.
    Waiting,
    /// Solid.
    Solid,
    /// Solid, but the powder is on the move: not melting.
    Settling,
    /// Liquid, called only just now.
    FirstLiquid,
    /// Liquid and solid.
    Melting,
    /// All liquid.
    Clear,
    /// It has turned dark: it decomposes.
    Darkened,
}

/// A moment that the person marked.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Mark {
    /// 1.. from left to right.
    pub place: u8,
    /// Which moment.
    pub moment: MarkedMoment,
    /// From the start of the run [s].
    pub time_s: f64,
    /// Indication then [°C]; none while there was none.
    pub temperature_c: Option<f64>,
    /// Who, as the caller names people.
    pub by: String,
}

/// Which moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum MarkedMoment {
    /// 1 % of the column liquid.
    FirstLiquid,
    /// The last solid gone.
    LastCrystal,
}

impl MarkedMoment {
    pub(super) fn words(self) -> &'static str {
        match self {
            Self::FirstLiquid => "first liquid",
            Self::LastCrystal => "last crystal",
        }
    }
}
