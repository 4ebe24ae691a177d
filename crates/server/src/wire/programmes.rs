//! Planning one run away from the bench.

use super::PlanRequest;
use meltrange_bench::BenchFile;
use meltrange_labbook::SampleId;
use meltrange_planning::{
    Estimate, HeatingAbility, Leg, MeasuringOrder, PlannedPoint, Procedure, Programme, Screening,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Highest temperature of a bench that nobody described [°C]; ordinary blocks go to 300 to 400 °C.
/// Common practice, no source.
const ORDINARY_MAX_C: f64 = 350.0;

/// Places of such a bench. Common practice, no source.
const ORDINARY_PLACES: u32 = 3;

/// What programmes and sessions can be planned for.
#[derive(Debug, Serialize, ToSchema)]
pub struct PlanningBenches {
    /// A bench that nobody described.
    pub ordinary: PlanningBench,
    /// Benches of the book, by name.
    pub benches: Vec<PlanningBench>,
}

/// A bench as planning sees it.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct PlanningBench {
    /// What it is called; empty for the ordinary one.
    pub name: String,
    /// How many tubes it takes.
    pub places: u32,
    /// Room temperature [°C].
    pub room_c: f64,
    /// It must not be heated above this [°C].
    pub max_c: f64,
    /// In an approach [°C/min].
    pub heat_rate_c_per_min: f64,
    /// Newton cooling towards the room, fan on [min].
    pub cool_time_constant_min: f64,
    /// Whether a bench file says how it heats and cools; else these are an ordinary block's.
    pub described: bool,
    /// Whether that was learned from its runs.
    pub learned: bool,
    /// What its thermometer indicates now, where its devices are at work [°C].
    #[schema(required)]
    pub now_c: Option<f64>,
}

impl PlanningBench {
    /// Nothing is known of it but, perhaps, its limits.
    pub fn ordinary(name: String, places: Option<u32>, max_c: Option<f64>) -> Self {
        let ability = HeatingAbility::default();
        Self {
            name,
            places: places.unwrap_or(ORDINARY_PLACES),
            room_c: ability.room_c,
            max_c: max_c.unwrap_or(ORDINARY_MAX_C),
            heat_rate_c_per_min: ability.heat_rate_c_per_min,
            cool_time_constant_min: ability.cool_time_constant_min,
            described: false,
            learned: false,
            now_c: None,
        }
    }

    /// As its file describes it.
    pub fn of_file(file: &BenchFile, now_c: Option<f64>) -> Self {
        let ability = file.ability();
        Self {
            name: file.name.clone(),
            places: u32::from(file.places),
            room_c: file.room_c,
            max_c: file.max_c,
            heat_rate_c_per_min: ability.heat_rate_c_per_min,
            cool_time_constant_min: ability.cool_time_constant_min,
            described: true,
            learned: file.learned.is_some(),
            now_c,
        }
    }
}

/// A programme to plan.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ProgrammeRequest {
    /// What is wanted.
    pub plan: PlanRequest,
    /// For which bench of the book; an ordinary one if none is named.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub bench: Option<String>,
    /// Where its block stands now [°C]; at room temperature if not said.
    #[serde(default)]
    pub from_c: Option<f64>,
    /// How much time there is [min]; a measuring programme gives up what it must.
    #[serde(default)]
    pub within_min: Option<f64>,
    /// By which published procedure, by its id: what departs from it is said.
    #[serde(default)]
    #[schema(max_length = 40)]
    pub procedure: Option<String>,
    /// Its heating rate is not given up.
    #[serde(default)]
    pub keep_rate: bool,
    /// Its soak is not given up.
    #[serde(default)]
    pub keep_soak: bool,
    /// How far below the range its scan starts is not given up.
    #[serde(default)]
    pub keep_start_below: bool,
    /// How far above the range its scan stops is not given up.
    #[serde(default)]
    pub keep_stop_above: bool,
}

/// A programme with its time, and what to think of.
#[derive(Debug, Serialize, ToSchema)]
pub struct PlannedProgramme {
    /// The legs as they would be run.
    pub programme: Programme,
    /// What is asked for, once it fits the time there is; null for other than measuring programmes.
    #[schema(required)]
    pub order: Option<MeasuringOrder>,
    /// In order, with their times; a cooling goes no lower than the room allows.
    pub legs: Vec<LegTime>,
    /// From the start to the end of the last scan, waiting for the person taken as no time [min].
    pub minutes: f64,
    /// Its standard uncertainty [min].
    pub standard_uncertainty_min: f64,
    /// The whole curve, cooling included.
    pub curve: Vec<PlannedPoint>,
    /// What to think of.
    pub cautions: Vec<String>,
    /// What was given up for the time there is, in words.
    pub given_up: Vec<String>,
    /// Where the block stands at the start [°C].
    pub from_c: f64,
    /// For which bench.
    pub bench: PlanningBench,
}

/// One leg with its time.
#[derive(Debug, Serialize, ToSchema)]
pub struct LegTime {
    /// It.
    pub leg: Leg,
    /// How long it takes [min]; null for waiting for the person.
    #[schema(required)]
    pub minutes: Option<f64>,
}

/// The legs of a programme with their times.
pub fn leg_times(programme: &Programme, found: &Estimate) -> Vec<LegTime> {
    programme
        .legs()
        .iter()
        .zip(&found.legs)
        .map(|(leg, time)| LegTime {
            leg: match (*leg, time.to_c) {
                // No lower than the room allows.
                (Leg::Cool { .. }, Some(to_c)) => Leg::Cool { to_c },
                (leg, _) => leg,
            },
            minutes: time.minutes,
        })
        .collect()
}

/// Where a sample of the book is expected to melt.
#[derive(Debug, Serialize, ToSchema)]
pub struct ExpectedRange {
    /// Which sample.
    #[schema(value_type = String, format = Uuid)]
    pub sample: SampleId,
    /// What stands on its vial.
    pub label: String,
    /// The range; null where nothing was read, or opinions are kept back from this person.
    #[schema(required)]
    pub range: Option<KnownRange>,
    /// What the refuse list says to what it is thought to be and to the hazards noted; empty where neither is noted.
    pub screening: Vec<Screening>,
}

/// Published procedures as starting points.
#[derive(Debug, Serialize, ToSchema)]
pub struct Procedures {
    /// These.
    pub procedures: Vec<ProcedureShown>,
    /// What is to be thought of with each of them.
    pub note: &'static str,
}

/// A published procedure.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProcedureShown {
    /// Its numbers.
    #[serde(flatten)]
    #[schema(inline)]
    pub procedure: Procedure,
    /// All of it in a sentence.
    pub sentence: String,
}

/// A range with its origin.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct KnownRange {
    /// First liquid [°C].
    pub first_liquid_c: f64,
    /// Last crystal [°C].
    pub last_crystal_c: f64,
    /// Where it comes from.
    pub origin: RangeOrigin,
}

/// Where an expected range comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum RangeOrigin {
    /// The latest result.
    Determination,
    /// The latest run, at a rate for measuring, no result yet.
    Run,
    /// A fast ramp, right within a few degrees.
    Scouting,
}
