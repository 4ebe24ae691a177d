//! The folder of one recording.
//!
//! ```text
//! recordings/ID/manifest.json     digests of the files below; its own digest stands in the chain
//!               temperature.csv   the log, on its own clock
//!               frames.bin        pictures as captured, one after the other
//!               frame_index.csv   time, place and digest of each picture in frames.bin
//!               video.mp4         or: the video file as it was imported
//!               pictures/         of a video, to look at: made from it, made again at any time
//! ```

mod disk;
mod frame_file;
mod frames;
mod import;
mod index;
mod manifest;
mod pictures;
mod recover;
mod waiting;
mod writer;

pub use frames::Frames;
pub use import::{ImportOrder, Imported};
pub use manifest::{Manifest, ManifestFile};
pub use writer::RecordingWriter;

pub(crate) use frames::SoFar;
pub(crate) use import::{STAGED, stage, unstage};
pub(crate) use index::{FrameLine, parse_index, read_index};
pub(crate) use manifest::{MANIFEST, summary};
pub(crate) use pictures::make_pictures;
pub(crate) use recover::recover;

use std::path::{Path, PathBuf};

/// Pictures as captured.
pub(crate) const FRAMES: &str = "frames.bin";

/// Where each of them stands.
pub(crate) const INDEX: &str = "frame_index.csv";

/// The temperature log.
pub(crate) const LOG: &str = "temperature.csv";

/// Pictures made from a video.
pub(crate) const PICTURES: &str = "pictures";

/// The imported video in a recording's folder.
pub(crate) fn video_in(folder: &Path) -> Option<PathBuf> {
    std::fs::read_dir(folder)
        .ok()?
        .flatten()
        .map(|entry| entry.path())
        .find(|path| path.file_stem().is_some_and(|stem| stem == "video") && path.is_file())
}
