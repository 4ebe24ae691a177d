//! Readings and what people say to them.

use super::{Outcome, QualityKind, RemarkKind};
use meltrange_labbook as kept;
use meltrange_labbook::{PersonId, ReadingId, RecordId, RecordingId, SampleId, When};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A moment with its temperature as logged, uncorrected.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct Moment {
    /// Log clock [s].
    pub time_s: f64,
    /// Logged, smoothed, uncorrected [°C].
    pub temperature_c: f64,
    /// Standard uncertainty [°C].
    pub standard_uncertainty_c: f64,
}

impl From<kept::Moment> for Moment {
    fn from(found: kept::Moment) -> Self {
        Self {
            time_s: found.time_s,
            temperature_c: found.temperature_c,
            standard_uncertainty_c: found.standard_uncertainty_c,
        }
    }
}

/// Outcome and moments of a tube.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Moments {
    /// What became of it.
    pub outcome: Outcome,
    /// First liquid; null when not seen.
    #[schema(required)]
    pub first_liquid: Option<Moment>,
    /// Last crystal; null when not seen.
    #[schema(required)]
    pub last_crystal: Option<Moment>,
}

impl From<&kept::Moments> for Moments {
    fn from(found: &kept::Moments) -> Self {
        Self {
            outcome: found.outcome.into(),
            first_liquid: found.first_liquid.map(Moment::from),
            last_crystal: found.last_crystal.map(Moment::from),
        }
    }
}

/// By whom or what a recording was read.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
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
        #[schema(value_type = String, format = Uuid)]
        person: PersonId,
        /// Whether they had not seen the opinion of the engine or of others.
        blind: bool,
    },
}

impl From<&kept::Reader> for Reader {
    fn from(found: &kept::Reader) -> Self {
        match found {
            kept::Reader::Engine { program } => Self::Engine {
                program: program.clone(),
            },
            kept::Reader::Person { person, blind } => Self::Person {
                person: *person,
                blind: *blind,
            },
        }
    }
}

/// What a person said to a tube of a reading.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Decision {
    /// Who.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub when: When,
    /// The record of it.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Why, for other moments.
    #[schema(required)]
    pub reason: Option<String>,
    /// What holds instead; null when the reading was confirmed.
    #[schema(required)]
    pub instead: Option<Moments>,
}

impl From<&kept::Decision> for Decision {
    fn from(found: &kept::Decision) -> Self {
        Self {
            who: found.who,
            when: found.when,
            record: found.record,
            reason: found.reason.clone(),
            instead: match &found.says {
                kept::DecisionKind::Confirmed => None,
                kept::DecisionKind::Overridden { instead } => Some(instead.into()),
            },
        }
    }
}

/// A doubt or an observation on one tube: a mark on the time axis.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Remark {
    /// What it is about.
    pub kind: RemarkKind,
    /// Log clock [s].
    pub time_s: f64,
    /// In words.
    pub text: String,
}

/// A flag on the run as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Quality {
    /// What it is about.
    pub kind: QualityKind,
    /// In words.
    pub text: String,
}

/// One tube of one reading.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Tube {
    /// Place, 1.. from left to right.
    pub place: u8,
    /// What was in it.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub sample: Option<SampleId>,
    /// Where it stands in the picture [source pixels]: left, top of column, right, bottom.
    #[schema(required)]
    pub frame_px: Option<[f64; 4]>,
    /// What the reading says; null while it is hidden.
    #[schema(required)]
    pub read: Option<Moments>,
    /// What a person said to it, the latest.
    #[schema(required)]
    pub decision: Option<Decision>,
    /// What holds: the decision's moments where there are any, else the reading's; null while hidden.
    #[schema(required)]
    pub holds: Option<Moments>,
    /// Through this tube's melting [°C/min].
    #[schema(required)]
    pub heating_rate_c_per_min: Option<f64>,
    /// In order of time.
    pub remarks: Vec<Remark>,
}

/// How much of one tube's column was liquid, point by point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TubeCurve {
    /// Place.
    pub place: u8,
    /// Log clock [s].
    pub time_s: Vec<f64>,
    /// Smoothed log temperature [°C].
    pub temperature_c: Vec<f64>,
    /// Liquid part of the column, 0..=1.
    pub liquid_fraction: Vec<f64>,
    /// Solid part of the original column, 0..=1.
    pub solid_fraction: Vec<f64>,
}

/// One reading with the decisions on it.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Reading {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: ReadingId,
    /// The latest record of it.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Of which recording.
    #[schema(value_type = String, format = Uuid)]
    pub recording: RecordingId,
    /// Whose record.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub when: When,
    /// By whom or what.
    pub reader: Reader,
    /// Whether its opinion is kept back until the person has decided.
    pub hidden: bool,
    /// Its tubes from left to right.
    pub tubes: Vec<Tube>,
    /// Flags on the run as a whole.
    pub quality: Vec<Quality>,
    /// Doubts about the files, in words.
    pub notes: Vec<String>,
    /// Melting curves, where there are any; only when one reading is asked for.
    pub curves: Vec<TubeCurve>,
}

/// One tube of one reading, by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TubeRef {
    /// Which reading.
    #[schema(value_type = String, format = Uuid)]
    pub reading: ReadingId,
    /// Which tube.
    #[schema(minimum = 1, maximum = 3)]
    pub place: u8,
}

/// When a person saw something.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, ToSchema)]
#[serde(tag = "at", rename_all = "snake_case", deny_unknown_fields)]
pub enum Seen {
    /// In this picture first.
    Frame {
        /// From 0.
        frame: u64,
    },
    /// At this time.
    Time {
        /// Log clock [s].
        time_s: f64,
    },
    /// Not in this recording.
    #[serde(rename = "not_seen")]
    Never,
}

/// What a person saw of one tube.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SeenTube {
    /// Its place.
    #[schema(minimum = 1, maximum = 3)]
    pub place: u8,
    /// First liquid.
    pub first_liquid: Seen,
    /// Last crystal.
    pub last_crystal: Seen,
    /// What became of it; if not said it follows from what was seen.
    #[serde(default)]
    pub outcome: Option<Outcome>,
}

/// A person's own reading of a recording.
#[derive(Debug, Clone, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewReading {
    /// From left to right, each place once.
    #[schema(min_items = 1, max_items = 3)]
    pub tubes: Vec<SeenTube>,
}

/// What a person says to one tube of a reading.
#[derive(Debug, Clone, PartialEq, Deserialize, ToSchema)]
#[serde(tag = "says", rename_all = "snake_case", deny_unknown_fields)]
pub enum DecisionRequest {
    /// The reading holds.
    Confirm {
        /// Which tube.
        #[schema(minimum = 1, maximum = 3)]
        place: u8,
    },
    /// These moments hold. Where they differ from the reading, `reason` is needed.
    Set {
        /// Which tube.
        #[schema(minimum = 1, maximum = 3)]
        place: u8,
        /// First liquid.
        first_liquid: Seen,
        /// Last crystal.
        last_crystal: Seen,
        /// What became of it; if not said it follows from what was seen.
        #[serde(default)]
        outcome: Option<Outcome>,
        /// Why.
        #[serde(default)]
        #[schema(max_length = 4000)]
        reason: Option<String>,
    },
}

impl DecisionRequest {
    /// Which tube.
    pub fn place(&self) -> u8 {
        match self {
            Self::Confirm { place } | Self::Set { place, .. } => *place,
        }
    }
}
