//! Recordings.

use crate::digest::Digest;
use crate::ids::RunId;
use serde::{Deserialize, Serialize};

/// Pictures with times, temperature log and manifest of one run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Recording {
    /// Of which run.
    pub run: RunId,
    /// Where its pictures come from.
    pub source: RecordingSource,
    /// How it ended; none while it is under way.
    #[serde(default)]
    pub end: Option<RecordingEnd>,
}

/// Where the pictures come from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
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

/// What a recording was when it ended.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecordingEnd {
    /// SHA-256 of its `manifest.json`, which holds the digests of all its files.
    pub manifest: Digest,
    /// Whether it was cut off by a crash or a power cut; what was there is kept.
    pub cut: bool,
    /// How many pictures can be shown.
    pub frames: u64,
    /// First picture's time [s], log clock.
    pub start_s: Option<f64>,
    /// Last picture's time [s], log clock.
    pub end_s: Option<f64>,
    /// Lowest logged temperature, uncorrected [°C].
    pub lowest_c: Option<f64>,
    /// Highest logged temperature, uncorrected [°C].
    pub highest_c: Option<f64>,
}
