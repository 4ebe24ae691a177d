//! Benches at work.

use super::LoadedTubeRequest;
use meltrange_bench::{BenchView, SeriesPoint, SimulatedFault};
use meltrange_labbook::{RecordingId, RunId};
use meltrange_planning::{
    LearnedBench, Leg, MeasuringOrder, PlannedPoint, Programme, ProgrammeError, Purpose,
    ScoutingOrder,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// All benches that bench files describe.
#[derive(Debug, Serialize, ToSchema)]
pub struct LiveBenchList {
    /// By name.
    pub benches: Vec<LiveBench>,
}

/// A bench that can be run.
#[derive(Debug, Serialize, ToSchema)]
pub struct LiveBench {
    /// What it is called.
    pub name: String,
    /// How many tubes it takes; 0 when its file cannot be used.
    pub places: u8,
    /// Room temperature [°C].
    pub room_c: f64,
    /// It must not be heated above this [°C].
    pub max_c: f64,
    /// It is a simulated one, whose clock may run fast.
    pub simulated: bool,
    /// How many times as fast as the wall's its clock runs.
    pub speed: f64,
    /// A person turns the knob.
    pub by_hand: bool,
    /// A person keys the temperatures in.
    pub keyed: bool,
    /// A browser is its camera.
    pub browser_camera: bool,
    /// Its devices are at work.
    pub open: bool,
    /// What is wrong with its file.
    #[schema(required)]
    pub problem: Option<String>,
}

/// How to set a bench to work.
#[derive(Debug, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenRequest {
    /// How many times as fast as the wall's clock; simulated benches only.
    #[schema(minimum = 1, maximum = 60)]
    pub speed: Option<f64>,
}

/// What goes on at a bench.
#[derive(Debug, Serialize, ToSchema)]
pub struct LiveView {
    #[serde(flatten)]
    #[schema(inline)]
    pub bench: BenchView,
    /// Number of the first of the new points.
    pub first_point: usize,
    /// Points of the curves since the last event.
    pub new_points: Vec<SeriesPoint>,
    /// The run.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub run_id: Option<RunId>,
    /// Its recording.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub recording_id: Option<RecordingId>,
}

/// What is wanted of a programme.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum PlanRequest {
    /// Around an expected range.
    Measuring(MeasuringOrder),
    /// One fast ramp.
    Scouting(ScoutingRequest),
    /// Legs as they were planned elsewhere: a load of a session with more than one scan.
    Legs(LegsRequest),
}

/// Legs of a measuring run.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LegsRequest {
    /// In order.
    #[schema(min_items = 1, max_items = 40)]
    pub legs: Vec<Leg>,
}

impl PlanRequest {
    /// The programme, with the block at `now_c`, on a bench that goes up to `max_c`.
    ///
    /// # Errors
    /// [`ProgrammeError`], naming what cannot be.
    pub fn programme(&self, now_c: f64, max_c: f64) -> Result<Programme, ProgrammeError> {
        match self {
            Self::Measuring(order) => Programme::measuring(order, max_c),
            Self::Scouting(order) => Programme::scouting(&order.from(now_c), max_c),
            Self::Legs(given) => Programme::new(Purpose::Measuring, given.legs.clone(), max_c),
        }
    }
}

/// One fast ramp.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ScoutingRequest {
    /// As far as it may go [°C].
    pub up_to_c: f64,
    /// How fast [°C/min].
    pub rate_c_per_min: Option<f64>,
}

impl ScoutingRequest {
    /// From where the block stands now.
    pub fn from(&self, now_c: f64) -> ScoutingOrder {
        let usual = ScoutingOrder::up_to(now_c, self.up_to_c);
        ScoutingOrder {
            rate_c_per_min: self.rate_c_per_min.unwrap_or(usual.rate_c_per_min),
            ..usual
        }
    }
}

/// A programme with its curve.
#[derive(Debug, Serialize, ToSchema)]
pub struct Planned {
    /// The legs.
    pub programme: Programme,
    /// From where the block stands now.
    pub curve: Vec<PlannedPoint>,
    /// To the end of the last scan, waiting for the person taken as no time [min].
    pub minutes_to_scan_end: f64,
    /// What to think of.
    pub cautions: Vec<String>,
}

/// A run to begin.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RunRequest {
    /// What is wanted.
    pub plan: PlanRequest,
    /// What stands in which place.
    pub tubes: Vec<LoadedTubeRequest>,
    /// The scan ends by itself when every tube is clear.
    pub end_when_clear: bool,
}

/// A run that began.
#[derive(Debug, Serialize, ToSchema)]
pub struct RunBegun {
    /// It.
    #[schema(value_type = String, format = Uuid)]
    pub run: RunId,
    /// Its recording.
    #[schema(value_type = String, format = Uuid)]
    pub recording: RecordingId,
}

/// A key.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(tag = "key", rename_all = "snake_case", deny_unknown_fields)]
pub enum PressRequest {
    /// Keep the temperature where it is.
    Hold,
    /// Heater off for a while.
    Pause,
    /// Go on.
    Resume,
    /// On to the next leg.
    Skip,
    /// End the run.
    Stop,
    /// I am here: begin the scan.
    Attend,
    /// I saw it now.
    Mark {
        /// 1.. from left to right.
        #[schema(minimum = 1, maximum = 3)]
        place: u8,
        /// Which moment.
        moment: MomentRequest,
    },
}

/// Which moment.
#[derive(Debug, Clone, Copy, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum MomentRequest {
    /// 1 % of the column liquid.
    FirstLiquid,
    /// The last solid gone.
    LastCrystal,
}

/// A temperature that was read off.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KeyedTemperature {
    /// As indicated [°C].
    pub temperature_c: f64,
}

/// Something to go wrong with a simulated bench.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FaultRequest {
    /// What.
    pub fault: SimulatedFault,
    /// Whether it is to go wrong, or to be mended.
    pub on: bool,
}

impl LiveBench {
    /// Of a bench file, with the bench when it is open.
    pub fn of(
        name: String,
        file: Result<meltrange_bench::BenchFile, String>,
        open: Option<&meltrange_bench::OpenBench>,
    ) -> Self {
        use meltrange_bench::{CameraSpec, HeaterSpec, ThermometerSpec};
        let speed = open.map_or(1.0, |bench| bench.clock().speed());
        match file {
            Ok(file) => Self {
                name,
                places: file.places,
                room_c: file.room_c,
                max_c: file.max_c,
                simulated: file.is_simulated(),
                speed,
                by_hand: matches!(file.heater, HeaterSpec::ByHand),
                keyed: matches!(file.thermometer, ThermometerSpec::Keyed),
                browser_camera: matches!(file.camera, CameraSpec::Browser),
                open: open.is_some(),
                problem: None,
            },
            Err(why) => Self {
                name,
                places: 0,
                room_c: 0.0,
                max_c: 0.0,
                simulated: false,
                speed,
                by_hand: false,
                keyed: false,
                browser_camera: false,
                open: false,
                problem: Some(why),
            },
        }
    }
}

/// What was learned of a bench from its runs.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct BenchLearning {
    /// As its file has it; none while nothing was learned.
    pub learned: Option<LearnedBench>,
    /// Logs of runs there are to learn from.
    pub run_logs: usize,
    /// What the latest run did less well than learned, in words.
    pub doubts: Vec<String>,
}
