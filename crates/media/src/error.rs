//! Why pictures could not be had.

use std::path::PathBuf;

use crate::table::TableError;

/// Why pictures could not be had. Each message names the file, what was found and what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum MediaError {
    /// The decoder is not installed.
    #[error(
        "{program} was not found; install the Debian package ffmpeg (or put {program} on the PATH)"
    )]
    DecoderMissing {
        /// `ffmpeg` or `ffprobe`.
        program: &'static str,
    },
    /// The decoder is there but could not be started.
    #[error("{program} could not be started")]
    DecoderStart {
        /// `ffmpeg` or `ffprobe`.
        program: &'static str,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// The decoder answered in a form that is not understood.
    #[error(
        "{path}: ffprobe answered \"{found}\"; expected its JSON description of the video (is ffmpeg 5.1 or later installed?)"
    )]
    ProbeAnswer {
        /// The file asked about.
        path: PathBuf,
        /// The beginning of the answer.
        found: String,
    },
    /// The file or folder cannot be read.
    #[error("{path} could not be read")]
    Unreadable {
        /// File or folder.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// Not a video.
    #[error(
        "{path} is not a video ({said}); expected a video file such as mp4, mov, mkv, avi or webm, or a folder of pictures with frames.csv"
    )]
    NotAVideo {
        /// The file.
        path: PathBuf,
        /// The decoder's words.
        said: String,
    },
    /// An mp4 or mov file that was never completed.
    #[error(
        "{path} is an mp4/mov file without its index: it was cut off while being recorded or copied, and nothing in it can be decoded; copy it again, or record as mkv, which survives being cut off"
    )]
    IndexMissing {
        /// The file.
        path: PathBuf,
    },
    /// The file has no picture track.
    #[error("{path} holds no video track (found: {found}); expected a recording of the tubes")]
    NoVideoTrack {
        /// The file.
        path: PathBuf,
        /// What it holds.
        found: String,
    },
    /// There is a picture track, and it is empty.
    #[error("{path} holds a video track without a single picture; check the recording")]
    NoPictures {
        /// The file or folder.
        path: PathBuf,
    },
    /// Decoding failed before the first picture.
    #[error("{path}: no picture could be decoded ({said}); check that the file plays elsewhere")]
    Decode {
        /// The file.
        path: PathBuf,
        /// The decoder's words.
        said: String,
    },
    /// The decoder delivered a picture without saying when it was taken.
    #[error(
        "{path}: picture {frame} came without a time; expected one time stamp for each picture (is ffmpeg 5.1 or later installed?)"
    )]
    TimeMissing {
        /// The file.
        path: PathBuf,
        /// 1.. in the order of this pass.
        frame: u64,
    },
    /// Reading from the decoder failed.
    #[error("{path}: reading picture {frame} from ffmpeg failed")]
    Pipe {
        /// The file.
        path: PathBuf,
        /// 1.. in the order of this pass.
        frame: u64,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// A folder in which there is nothing to read.
    #[error(
        "{path} holds neither frames.csv nor a file named video.* (found: {found}); expected a recording folder, or pictures with a frames.csv (columns file,time_s) in or beside their folder"
    )]
    NothingToRead {
        /// The folder.
        path: PathBuf,
        /// Some of what it holds.
        found: String,
    },
    /// A folder with more than one video.
    #[error("{path} holds several videos ({found}); name the one to read")]
    SeveralVideos {
        /// The folder.
        path: PathBuf,
        /// Their names.
        found: String,
    },
    /// The list of pictures is not usable.
    #[error(transparent)]
    FrameList(#[from] TableError),
    /// Two recordings in one list of pictures.
    #[error(
        "{list}, line {line}: the clock falls back from {before_s} s to {found_s} s and runs over the same time again; expected the pictures of one recording: split the list there"
    )]
    ClockRestarts {
        /// The list.
        list: PathBuf,
        /// Line in the list.
        line: u64,
        /// Time before [s].
        before_s: f64,
        /// Time found [s].
        found_s: f64,
    },
    /// All pictures of a list have the same time.
    #[error(
        "{list}: all {count} pictures have the time {time_s} s; expected when each of them was taken"
    )]
    AllAtOneTime {
        /// The list.
        list: PathBuf,
        /// How many.
        count: usize,
        /// Their time as listed [s].
        time_s: f64,
    },
    /// A picture that the list names is not there.
    #[error(
        "{list}, line {line}: the picture {file} is not there (looked in {looked_in}); check that list and pictures belong together"
    )]
    PictureMissing {
        /// The list.
        list: PathBuf,
        /// Line in the list.
        line: u64,
        /// As the list names it.
        file: String,
        /// Folders searched.
        looked_in: String,
    },
    /// None of the listed pictures can be decoded.
    #[error(
        "{list}, line {line}: {file} {problem}, and no other picture of the list can be used either; expected JPEG or PNG pictures"
    )]
    PictureUnusable {
        /// The list.
        list: PathBuf,
        /// Line in the list.
        line: u64,
        /// As the list names it.
        file: String,
        /// What is wrong with it.
        problem: String,
    },
    /// A time that is not a number was asked for.
    #[error(
        "the video's start on the log's clock is {found} s; expected a finite number of seconds"
    )]
    StartNotFinite {
        /// As given.
        found: f64,
    },
}
