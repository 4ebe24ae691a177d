//! The tubes that were heated.

use super::{Stamp, bytes};
use serde::{Deserialize, Serialize};

/// One tube of one run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Run {
    /// What it is called in the lab book, e.g. a short form of its record.
    #[serde(default)]
    pub name: Option<String>,
    /// When it began.
    #[serde(default)]
    pub began: Option<Stamp>,
    /// The bench; none where the recording came from elsewhere.
    #[serde(default)]
    pub bench: Option<String>,
    /// Place of the tube, 1.. from left to right.
    pub place: u8,
    /// The programme as it was set; empty where nobody said.
    #[serde(default)]
    pub programme: Vec<Leg>,
    /// Heating rate through the melting as logged [°C/min].
    #[serde(default)]
    pub heating_rate_c_per_min: Option<f64>,
    /// What became of the content.
    pub outcome: Outcome,
    /// Why the outcome cannot be told or what was seen, in words.
    #[serde(default)]
    pub outcome_because: Option<String>,
    /// First liquid.
    #[serde(default)]
    pub first_liquid: Option<Moment>,
    /// Last crystal.
    #[serde(default)]
    pub last_crystal: Option<Moment>,
    /// By whom or what it was read, and who confirmed it, in words.
    #[serde(default)]
    pub read_by: Option<String>,
    /// How much was melted, in order of time; empty where there is no curve.
    #[serde(default)]
    pub curve: Vec<CurvePoint>,
    /// Whether the result rests on it.
    pub used: bool,
    /// Why not, in words; read only where it is not used.
    #[serde(default)]
    pub unused_because: Option<String>,
    /// Doubts and observations in order of time.
    #[serde(default)]
    pub remarks: Vec<RunRemark>,
    /// SHA-256 of the recording's manifest, which holds the digests of all its files; hexadecimal.
    #[serde(default)]
    pub recording_digest: Option<String>,
}

/// A moment of a tube.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moment {
    /// Clock of the temperature log [s].
    pub time_s: f64,
    /// As logged, smoothed, uncorrected [°C].
    pub logged_c: f64,
    /// Standard uncertainty of the reading [°C].
    pub standard_uncertainty_c: f64,
    /// Corrected [°C]; none where no correction was in force.
    #[serde(default)]
    pub corrected_c: Option<f64>,
    /// Standard uncertainty of the corrected temperature [°C].
    #[serde(default)]
    pub corrected_uncertainty_c: Option<f64>,
    /// The picture of that moment.
    #[serde(default)]
    pub picture: Frame,
}

/// The evidence of a moment.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "is", deny_unknown_fields)]
pub enum Frame {
    /// A frame, of the tube alone or of the whole view; JPEG or PNG. What cannot be decoded is reported as missing.
    Shown {
        /// The file's bytes.
        #[serde(with = "bytes")]
        file: Vec<u8>,
        /// When it was taken [s], clock of the log.
        time_s: f64,
        /// Logged temperature then [°C].
        logged_c: f64,
        /// The tube's part of it: left edge, upper edge, width and height, each as a fraction 0..=1 of the
        /// frame's. None: shown whole. A rectangle outside the frame is reported, and the frame shown whole.
        #[serde(default)]
        crop: Option<[f64; 4]>,
    },
    /// There is none.
    Missing {
        /// Why, in words.
        because: String,
    },
    /// Nobody looked for one.
    #[default]
    NotAsked,
}

/// A leg of a programme.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Leg {
    /// What it is for.
    pub kind: LegKind,
    /// Where it ends, or is held [°C].
    #[serde(default)]
    pub to_c: Option<f64>,
    /// How fast it was to go [°C/min].
    #[serde(default)]
    pub rate_c_per_min: Option<f64>,
    /// How long it was to last [s].
    #[serde(default)]
    pub hold_s: Option<f64>,
}

/// What a leg is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LegKind {
    /// Fast, to below the melting.
    Approach,
    /// Holding, so that the block is even.
    Soak,
    /// Waiting for the person.
    Attend,
    /// The slow measuring ramp.
    Scan,
    /// Back down.
    Cool,
}

/// What became of the content of a tube.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// From solid to clear liquid.
    Melted,
    /// Liquid, with solid left at the end.
    PartlyMelted,
    /// Nothing melted.
    Unmelted,
    /// It decomposed before or while it melted.
    Decomposed,
    /// It left the column as vapour.
    Sublimed,
    /// The tube was empty.
    Empty,
    /// Not to be told.
    CannotTell,
}

/// One point of a melting curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CurvePoint {
    /// Clock of the log [s].
    pub time_s: f64,
    /// Logged temperature, smoothed, uncorrected [°C].
    pub temperature_c: f64,
    /// Melted part of the column, 0..=1.
    pub melted_fraction: f64,
}

/// A doubt or an observation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunRemark {
    /// Clock of the log [s]; none for the run as a whole.
    #[serde(default)]
    pub time_s: Option<f64>,
    /// In words.
    pub text: String,
}
