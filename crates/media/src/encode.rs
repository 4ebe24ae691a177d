//! Pictures out: raw frames piped to ffmpeg with exact times, and a recording folder that is
//! either complete or not there.

mod captured;
mod ffmpeg;
mod matroska;
mod recording;
#[cfg(test)]
mod tests;
mod video;

pub use captured::{CapturedFilm, CapturedKind, add_subtitles};
pub use recording::RecordingWriter;
pub use video::{FilmFormat, PlanarPicture, VideoFormat, VideoWriter};

use std::path::PathBuf;

/// Why pictures could not be kept.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum EncodeError {
    /// The encoder is not installed.
    #[error("ffmpeg was not found; install the Debian package \"ffmpeg\" (apt-get install ffmpeg)")]
    FfmpegMissing {
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// The encoder stopped.
    #[error("ffmpeg could not write {path}: {message}")]
    Ffmpeg {
        /// What was to be written.
        path: PathBuf,
        /// Its last words.
        message: String,
    },
    /// A file or folder could not be written.
    #[error("{path} could not be written")]
    Unwritable {
        /// Which.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// The target is taken.
    #[error(
        "{path} is already there and not an empty folder; name another folder or remove it first"
    )]
    AlreadyThere {
        /// Which.
        path: PathBuf,
    },
    /// A picture does not fit the format announced.
    #[error("picture {index} has {found} samples; expected {expected} for {width} × {height}")]
    PictureSize {
        /// From 0.
        index: usize,
        /// Samples given.
        found: usize,
        /// Samples needed.
        expected: usize,
        /// Columns.
        width: usize,
        /// Rows.
        height: usize,
    },
    /// Times must rise by at least a millisecond.
    #[error(
        "picture {index} is at {found_s} s, not after {before_s} s; times must rise by 0.001 s or more"
    )]
    NotRising {
        /// From 0.
        index: usize,
        /// Its time.
        found_s: f64,
        /// The time before it.
        before_s: f64,
    },
    /// No picture was written.
    #[error("{path}: no picture to write; expected at least one")]
    NoPictures {
        /// What was to be written.
        path: PathBuf,
    },
}
