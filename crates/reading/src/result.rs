//! What a reading says, in the fields that the command line prints.

use serde::Serialize;

/// What became of the content of one tube.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// All of it became liquid.
    Melted,
    /// Liquid was seen, and solid was still there at the end.
    PartlyMelted,
    /// No liquid was seen.
    Unmelted,
    /// It darkened or charred.
    Decomposed,
    /// A tube without powder.
    Empty,
}

/// A moment of one tube with its temperature as logged (uncorrected).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Moment {
    /// Time on the log's clock [s].
    pub time_s: f64,
    /// Logged temperature, smoothed over the log's noise, uncorrected [°C].
    pub temperature_c: f64,
    /// Standard uncertainty [°C].
    pub standard_uncertainty_c: f64,
}

/// What a remark is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RemarkKind {
    /// The powder slid or fell together without melting.
    Settling,
    /// The powder drew back from the glass.
    Shrinkage,
    /// The powder became glistening or moist without opening a view through the column.
    Wetting,
    /// Gas bubbles.
    Bubbles,
    /// The content darkened.
    Darkening,
    /// Crystals or droplets on the cold glass above the column.
    Sublimate,
    /// Something stood before the tubes.
    Occlusion,
    /// The picture moved.
    CameraMoved,
    /// Lamp or exposure changed.
    ExposureChange,
    /// Sharpness changed.
    Refocus,
    /// The engine cannot tell; the text says why.
    CannotTell,
}

/// A doubt or an observation, with its time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remark {
    /// What it is about.
    pub kind: RemarkKind,
    /// When [s], log clock.
    pub time_s: f64,
    /// In words.
    pub text: String,
}

/// What a quality flag is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum QualityKind {
    /// Heating faster than 2 °C/min through melting.
    HeatingTooFast,
    /// Liquid was there when the recording began.
    StartedInsideMelting,
    /// The recording ended before the last crystal.
    EndedBeforeLastCrystal,
    /// Column taller than good practice.
    ColumnTooTall,
    /// No temperature was logged around a moment.
    LogGap,
    /// The video was cut short or damaged.
    VideoDamaged,
    /// The log needed repair: duplicates, order, unusable rows.
    LogRepaired,
    /// Pictures too far apart for the heating rate.
    FramesTooFarApart,
}

/// A flag on the run as a whole.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Quality {
    /// What it is about.
    pub kind: QualityKind,
    /// In words.
    pub text: String,
}

/// When a given part of the column was liquid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Level {
    /// Liquid fraction of the column, by visible area, 0..1.
    pub liquid_fraction: f64,
    /// The moment.
    #[serde(flatten)]
    pub moment: Moment,
}

/// One point of the melting curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Log clock [s].
    pub time_s: f64,
    /// Smoothed log temperature [°C].
    pub temperature_c: f64,
    /// Liquid fraction of the column, 0..1.
    pub liquid_fraction: f64,
    /// Solid fraction of the original column area, 0..1.
    pub solid_fraction: f64,
}

/// Where the tube stands in the source picture [source pixels].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TubeFrame {
    /// Left glass edge.
    pub left_px: f64,
    /// Right glass edge.
    pub right_px: f64,
    /// Top of the powder at the start.
    pub column_top_px: f64,
    /// Inside of the sealed bottom.
    pub bottom_px: f64,
}

/// The reading of one tube.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TubeReading {
    /// 1.. from left to right.
    pub tube: usize,
    /// Column axis [source pixels].
    pub x_px: f64,
    /// Place in the picture.
    pub frame: TubeFrame,
    /// What became of it.
    pub outcome: Outcome,
    /// 1 % of the column liquid.
    pub first_liquid: Option<Moment>,
    /// Less than 0.5 % of the column solid.
    pub last_crystal: Option<Moment>,
    /// When 0.5, 2, 5 and 20 % were liquid, as far as reached.
    pub levels: Vec<Level>,
    /// Heating rate through this tube's melting [°C/min]; null without melting.
    pub heating_rate_c_per_min: Option<f64>,
    /// Remarks in order of time.
    pub remarks: Vec<Remark>,
    /// Melting curve (thinned to at most about 2000 points).
    pub curve: Vec<CurvePoint>,
}

/// The reading of a recording.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reading {
    /// Tubes from left to right.
    pub tubes: Vec<TubeReading>,
    /// Flags on the run as a whole.
    pub quality: Vec<Quality>,
    /// How many pictures were looked at.
    pub frames_read: usize,
}
