//! Files on their way into the book.

use super::LoadedTubeRequest;
use meltrange_labbook::BenchId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// A file that was sent. It is kept until it is imported, deleted, or the program ends.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Upload {
    /// Its id.
    pub id: Uuid,
    /// What it was called, made harmless.
    pub name: String,
    /// How long it is.
    pub bytes: u64,
}

/// What a video that was sent holds.
#[derive(Debug, Serialize, ToSchema)]
pub struct UploadedVideo {
    /// The file.
    pub upload: Upload,
    /// Width [source pixels].
    pub width_px: f64,
    /// Height [source pixels].
    pub height_px: f64,
    /// First picture's time [s], video clock.
    pub start_s: f64,
    /// Last picture's time [s], video clock.
    pub end_s: f64,
    /// Typical spacing of the pictures [s].
    pub frame_interval_s: f64,
    /// Doubts about the file, in words.
    pub remarks: Vec<String>,
}

/// What is to become a recording.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ImportRequest {
    /// The video that was sent.
    pub video: Uuid,
    /// The temperature log that was sent.
    pub log: Uuid,
    /// Log time of video time 0 [s].
    #[serde(default)]
    pub video_start_s: f64,
    /// What stands in which place, each place once.
    #[schema(max_items = 3)]
    pub tubes: Vec<LoadedTubeRequest>,
    /// At which bench.
    #[serde(default)]
    #[schema(value_type = Option<String>, format = Uuid)]
    pub bench: Option<BenchId>,
    /// Anything else.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub remarks: Option<String>,
    /// Whether the engine reads it at once.
    #[serde(default = "yes")]
    pub read: bool,
}

fn yes() -> bool {
    true
}
