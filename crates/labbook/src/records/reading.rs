//! Readings, in the words that `meltrange read --json` uses.

use crate::digest::Digest;
use crate::ids::{PersonId, RecordingId, SampleId};
use meltrange_reading as engine;
use serde::{Deserialize, Serialize};

/// First liquid and last crystal of the tubes of one recording. Temperatures are as logged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Of which recording.
    pub recording: RecordingId,
    /// By whom or what.
    pub reader: Reader,
    /// Tubes from left to right.
    pub tubes: Vec<TubeEntry>,
    /// Flags on the run as a whole.
    #[serde(default)]
    pub quality: Vec<Quality>,
    /// Doubts about the files, in words.
    #[serde(default)]
    pub notes: Vec<String>,
    /// Attachment with the melting curves ([`crate::Curves`] as JSON).
    #[serde(default)]
    pub curves: Option<Digest>,
}

/// By whom or what a recording was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "by", rename_all = "snake_case")]
pub enum Reader {
    /// The engine of this program.
    Engine {
        /// Program and version.
        program: String,
    },
    /// A person.
    Person {
        /// Who.
        person: PersonId,
        /// Whether the engine's opinion was hidden until they had decided.
        blind: bool,
    },
}

/// The reading of one tube.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TubeEntry {
    /// Place, 1.. from left to right.
    pub place: u8,
    /// What was in it.
    #[serde(default)]
    pub sample: Option<SampleId>,
    /// What became of it.
    pub outcome: Outcome,
    /// 1 % of the column liquid.
    pub first_liquid: Option<Moment>,
    /// Less than 0.5 % of the column solid.
    pub last_crystal: Option<Moment>,
    /// Through this tube's melting [°C/min].
    #[serde(default)]
    pub heating_rate_c_per_min: Option<f64>,
    /// Where the tube stands in the picture [source pixels]: left, top of column, right, bottom.
    #[serde(default)]
    pub frame_px: Option<[f64; 4]>,
    /// In order of time.
    #[serde(default)]
    pub remarks: Vec<Remark>,
}

/// A moment with its temperature as logged.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Moment {
    /// Log clock [s].
    pub time_s: f64,
    /// As logged, smoothed, uncorrected [°C].
    pub temperature_c: f64,
    /// Standard uncertainty [°C].
    pub standard_uncertainty_c: f64,
}

/// A doubt or an observation, with its time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Remark {
    /// What it is about.
    pub kind: RemarkKind,
    /// Log clock [s].
    pub time_s: f64,
    /// In words.
    pub text: String,
}

/// A flag on the run as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Quality {
    /// What it is about.
    pub kind: QualityKind,
    /// In words.
    pub text: String,
}

/// An enum of the engine's, to be kept and read back: same variants, same names in JSON.
macro_rules! mirrored {
    ($(#[$doc:meta])* $name:ident { $($variant:ident),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        #[expect(missing_docs, reason = "as the engine's")]
        pub enum $name {
            $($variant,)*
        }

        impl From<engine::$name> for $name {
            fn from(found: engine::$name) -> Self {
                match found {
                    $(engine::$name::$variant => Self::$variant,)*
                }
            }
        }
    };
}

mirrored! {
    /// What became of the content of a tube.
    Outcome { Melted, PartlyMelted, Unmelted, Decomposed, Empty }
}

mirrored! {
    /// What a remark is about.
    RemarkKind {
        Settling, Shrinkage, Wetting, Bubbles, Darkening, Sublimate, Occlusion, CameraMoved,
        ExposureChange, Refocus, CannotTell,
    }
}

mirrored! {
    /// What a quality flag is about.
    QualityKind {
        HeatingTooFast, StartedInsideMelting, EndedBeforeLastCrystal, ColumnTooTall, LogGap,
        VideoDamaged, LogRepaired, FramesTooFarApart,
    }
}

impl Outcome {
    /// As written in records and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Melted => "melted",
            Self::PartlyMelted => "partly_melted",
            Self::Unmelted => "unmelted",
            Self::Decomposed => "decomposed",
            Self::Empty => "empty",
        }
    }
}

impl From<engine::Moment> for Moment {
    fn from(found: engine::Moment) -> Self {
        Self {
            time_s: found.time_s,
            temperature_c: found.temperature_c,
            standard_uncertainty_c: found.standard_uncertainty_c,
        }
    }
}

impl TubeEntry {
    /// What the engine says of a tube that holds `sample`.
    pub fn by_engine(found: &engine::TubeReading, sample: Option<SampleId>) -> Self {
        Self {
            // Three tubes at most.
            place: found.tube.min(usize::from(u8::MAX)) as u8,
            sample,
            outcome: found.outcome.into(),
            first_liquid: found.first_liquid.map(Moment::from),
            last_crystal: found.last_crystal.map(Moment::from),
            heating_rate_c_per_min: found.heating_rate_c_per_min,
            frame_px: Some([
                found.frame.left_px,
                found.frame.column_top_px,
                found.frame.right_px,
                found.frame.bottom_px,
            ]),
            remarks: found
                .remarks
                .iter()
                .map(|remark| Remark {
                    kind: remark.kind.into(),
                    time_s: remark.time_s,
                    text: remark.text.clone(),
                })
                .collect(),
        }
    }
}

impl From<&engine::Quality> for Quality {
    fn from(found: &engine::Quality) -> Self {
        Self {
            kind: found.kind.into(),
            text: found.text.clone(),
        }
    }
}
