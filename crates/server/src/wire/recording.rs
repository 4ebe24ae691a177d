//! Recordings and their runs.

use super::{Reading, RecordingState, RunState, Work};
use meltrange_labbook as kept;
use meltrange_labbook::{BenchId, RecordId, RecordingId, RunId, SampleId, When};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// One place of a load.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LoadedTube {
    /// Its place, 1.. from left to right.
    pub place: u8,
    /// What is in it.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub sample: Option<SampleId>,
    /// What stands on its vial.
    #[schema(required)]
    pub label: Option<String>,
}

/// One place of a load that is to be recorded.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LoadedTubeRequest {
    /// Its place, from left to right.
    #[schema(minimum = 1, maximum = 3)]
    pub place: u8,
    /// What is in it; null when empty or not known.
    #[serde(default)]
    #[schema(value_type = Option<String>, format = Uuid)]
    pub sample: Option<SampleId>,
}

/// What stands in which place.
pub type Load = Vec<LoadedTube>;

/// Places with labels.
pub fn load(tubes: &[kept::LoadedTube], labels: &[Option<String>]) -> Load {
    tubes
        .iter()
        .enumerate()
        .map(|(at, tube)| LoadedTube {
            place: tube.place,
            sample: tube.sample,
            label: labels.get(at).cloned().flatten(),
        })
        .collect()
}

/// One heating of one load.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Run {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: RunId,
    /// When it was begun.
    #[schema(value_type = String, format = DateTime)]
    pub begun: When,
    /// At which bench.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub bench: Option<BenchId>,
    /// How far it is.
    pub state: RunState,
    /// What stands in which place.
    pub load: Load,
    /// Anything else.
    #[schema(required)]
    pub remarks: Option<String>,
}

impl From<kept::RunRow> for Run {
    fn from(found: kept::RunRow) -> Self {
        Self {
            id: found.id,
            begun: found.begun,
            bench: found.run.bench,
            state: found.run.state.into(),
            load: load(&found.run.load, &found.labels),
            remarks: found.run.remarks,
        }
    }
}

/// Where the pictures come from.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[serde(tag = "from", rename_all = "snake_case")]
pub enum RecordingSource {
    /// A camera at the bench.
    Camera,
    /// A video file, kept as it was.
    Video {
        /// What the file was called.
        file_name: String,
        /// Log time of video time 0 [s].
        video_start_s: f64,
    },
    /// Picture files, kept as they were.
    Pictures {
        /// What the folder was called.
        folder_name: String,
        /// Log time of the list's time 0 [s].
        video_start_s: f64,
    },
}

impl From<kept::RecordingSource> for RecordingSource {
    fn from(found: kept::RecordingSource) -> Self {
        match found {
            kept::RecordingSource::Camera => Self::Camera,
            kept::RecordingSource::Video {
                file_name,
                video_start_s,
            } => Self::Video {
                file_name,
                video_start_s,
            },
            kept::RecordingSource::Pictures {
                folder_name,
                video_start_s,
            } => Self::Pictures {
                folder_name,
                video_start_s,
            },
        }
    }
}

/// A recording in a list.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct RecordingRow {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: RecordingId,
    /// The latest record of it.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Of which run.
    #[schema(value_type = String, format = Uuid)]
    pub run: RunId,
    /// When it was begun.
    #[schema(value_type = String, format = DateTime)]
    pub begun: When,
    /// How far it is.
    pub state: RecordingState,
    /// Where its pictures come from.
    pub source: RecordingSource,
    /// Whether it was cut off by a crash or a power cut.
    pub cut: bool,
    /// First picture's time [s], log clock.
    #[schema(required)]
    pub start_s: Option<f64>,
    /// Last picture's time [s], log clock.
    #[schema(required)]
    pub end_s: Option<f64>,
    /// Lowest logged temperature, uncorrected [°C].
    #[schema(required)]
    pub lowest_c: Option<f64>,
    /// Highest logged temperature, uncorrected [°C].
    #[schema(required)]
    pub highest_c: Option<f64>,
    /// What stands in which place.
    pub load: Load,
    /// How many readings it has.
    pub readings: u64,
}

impl From<kept::RecordingRow> for RecordingRow {
    fn from(found: kept::RecordingRow) -> Self {
        let end = found.recording.end.as_ref();
        Self {
            id: found.id,
            record: found.record,
            run: found.recording.run,
            begun: found.begun,
            state: found.state.into(),
            cut: end.is_some_and(|end| end.cut),
            start_s: end.and_then(|end| end.start_s),
            end_s: end.and_then(|end| end.end_s),
            lowest_c: end.and_then(|end| end.lowest_c),
            highest_c: end.and_then(|end| end.highest_c),
            load: load(&found.load, &found.labels),
            readings: found.readings,
            source: found.recording.source.into(),
        }
    }
}

/// A page of recordings.
#[derive(Debug, Serialize, ToSchema)]
pub struct Recordings {
    /// These.
    pub rows: Vec<RecordingRow>,
    /// How many there are on all pages.
    pub total: u64,
    /// Which page this is, 1...
    pub page: u64,
    /// Rows a page.
    pub per_page: u32,
}

/// Whether there are pictures to look at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PicturesState {
    /// They can be had.
    Ready,
    /// Not made yet, or not kept.
    Missing,
}

/// One recording with its readings.
#[derive(Debug, Serialize, ToSchema)]
pub struct RecordingDetail {
    /// As in the list.
    pub row: RecordingRow,
    /// Its run.
    pub run: Run,
    /// Its readings, newest first, without curves.
    pub readings: Vec<Reading>,
    /// Whether there are pictures to look at.
    pub pictures: PicturesState,
    /// Whether opinions are kept back until the person has decided.
    pub blind: bool,
    /// An import or reading of it that is under way here.
    #[schema(required)]
    pub work: Option<Work>,
}

/// How the engine is to read.
#[derive(Debug, Clone, Copy, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadRequest {
    /// How many tubes to expect; if not said, as many as the load has places, or it finds out.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 3)]
    pub tubes: Option<u8>,
}
