//! Pictures as captured, or a video as it was imported, into Matroska with subtitles: nothing is encoded
//! anew.

use std::ffi::OsString;
use std::io::Write as _;
use std::path::Path;

use super::ffmpeg::Ffmpeg;
use super::{EncodeError, matroska};

/// What the pictures are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CapturedKind {
    /// JPEG files.
    Jpeg,
    /// PNG files.
    Png,
}

/// A film under way, made of whole picture files. Dropped before [`CapturedFilm::finish`], ffmpeg is stopped
/// and what it wrote is of no use.
#[derive(Debug)]
pub struct CapturedFilm {
    ffmpeg: Ffmpeg,
    pictures: usize,
    before_ms: Option<u64>,
}

impl CapturedFilm {
    /// Begin the film `path` (Matroska) of pictures of this kind and `size` (columns, rows) \[px\], with the
    /// SubRip file `subtitles`, shown unless the person says otherwise, and named `title`.
    ///
    /// # Errors
    /// [`EncodeError::FfmpegMissing`] without ffmpeg.
    pub fn create(
        path: &Path,
        kind: CapturedKind,
        size: (usize, usize),
        subtitles: &Path,
        title: &str,
    ) -> Result<Self, EncodeError> {
        let mut arguments = head();
        arguments.extend(["-f", "matroska", "-i", "pipe:0"].map(OsString::from));
        let mut film = Self {
            ffmpeg: with_subtitles(path, arguments, &["0:v:0"], subtitles, title)?,
            pictures: 0,
            before_ms: None,
        };
        let stored = match kind {
            CapturedKind::Jpeg => matroska::Stored::Jpeg,
            CapturedKind::Png => matroska::Stored::Png,
        };
        film.ffmpeg
            .pipe(|input| matroska::write_head(input, size, stored))?;
        Ok(film)
    }

    /// Add the next picture file at `time_s` ≥ 0 \[s\] of the film, kept to the millisecond.
    ///
    /// # Errors
    /// [`EncodeError`]: its time does not rise, or ffmpeg stopped.
    pub fn picture(&mut self, time_s: f64, bytes: &[u8]) -> Result<(), EncodeError> {
        let time_ms = (time_s * 1000.0).round().max(0.0) as u64;
        if let Some(before) = self.before_ms
            && time_ms <= before
        {
            return Err(EncodeError::NotRising {
                index: self.pictures,
                found_s: time_s,
                before_s: before as f64 / 1000.0,
            });
        }
        self.before_ms = Some(time_ms);
        self.pictures += 1;
        self.ffmpeg
            .pipe(|input| matroska::write_picture(input, time_ms, &[bytes]))
    }

    /// End it.
    ///
    /// # Errors
    /// [`EncodeError`] when ffmpeg failed or there was no picture.
    pub fn finish(mut self) -> Result<(), EncodeError> {
        self.ffmpeg.pipe(|input| input.flush())?;
        if self.pictures == 0 {
            return Err(EncodeError::NoPictures {
                path: self.ffmpeg.path().to_owned(),
            });
        }
        self.ffmpeg.end()
    }
}

/// Copy the pictures and sound of `video` into the Matroska film `path` and add the SubRip file `subtitles`,
/// whose times are those of the video, shown unless the person says otherwise, and named `title`.
///
/// # Errors
/// [`EncodeError`]: ffmpeg is missing or could not copy it.
pub fn add_subtitles(
    video: &Path,
    path: &Path,
    subtitles: &Path,
    title: &str,
) -> Result<(), EncodeError> {
    let mut arguments = head();
    arguments.push("-i".into());
    arguments.push(file(video));
    with_subtitles(path, arguments, &["0:v", "0:a?"], subtitles, title)?.end()
}

fn head() -> Vec<OsString> {
    // Times as they are: a film that begins late begins late.
    ["-nostdin", "-hide_banner", "-v", "error", "-y", "-copyts"]
        .map(OsString::from)
        .to_vec()
}

/// A leading "file:" keeps names with a colon from being taken for a protocol.
fn file(path: &Path) -> OsString {
    let mut name = OsString::from("file:");
    name.push(path);
    name
}

/// Start copying what `arguments` name into the Matroska film `path`: these streams of it, and the subtitles.
fn with_subtitles(
    path: &Path,
    mut arguments: Vec<OsString>,
    maps: &[&str],
    subtitles: &Path,
    title: &str,
) -> Result<Ffmpeg, EncodeError> {
    arguments.extend(["-f", "srt", "-i"].map(OsString::from));
    arguments.push(file(subtitles));
    for map in maps.iter().chain(&["1:s:0"]) {
        arguments.extend(["-map", map].map(OsString::from));
    }
    let title = format!("title={title}");
    arguments.extend(
        [
            "-c",
            "copy",
            "-disposition:s:0",
            "default",
            "-metadata:s:s:0",
            &title,
            "-avoid_negative_ts",
            "disabled",
            "-fflags",
            "+bitexact",
            "-f",
            "matroska",
        ]
        .map(OsString::from),
    );
    arguments.push(file(path));
    Ffmpeg::start(Path::new("ffmpeg"), path, arguments)
}
