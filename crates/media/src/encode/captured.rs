//! Pictures as captured, or a video as it was imported, into Matroska with subtitles: nothing is encoded
//! anew.

use std::ffi::OsString;
use std::io::{BufWriter, Read as _};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::thread::JoinHandle;

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
    ffmpeg: Running,
    input: Option<BufWriter<ChildStdin>>,
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
        let mut ffmpeg = Running::start(path, arguments, &["0:v:0"], subtitles, title)?;
        let mut film = Self {
            input: ffmpeg
                .child
                .stdin
                .take()
                .map(|pipe| BufWriter::with_capacity(1 << 20, pipe)),
            ffmpeg,
            pictures: 0,
            before_ms: None,
        };
        let stored = match kind {
            CapturedKind::Jpeg => matroska::Stored::Jpeg,
            CapturedKind::Png => matroska::Stored::Png,
        };
        film.pipe(|input| matroska::write_head(input, size, stored))?;
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
        self.pipe(|input| matroska::write_picture(input, time_ms, &[bytes]))
    }

    /// End it.
    ///
    /// # Errors
    /// [`EncodeError`] when ffmpeg failed or there was no picture.
    pub fn finish(mut self) -> Result<(), EncodeError> {
        self.pipe(std::io::Write::flush)?;
        drop(self.input.take());
        if self.pictures == 0 {
            return Err(EncodeError::NoPictures {
                path: self.ffmpeg.path.clone(),
            });
        }
        self.ffmpeg.end()
    }

    fn pipe(
        &mut self,
        write: impl FnOnce(&mut BufWriter<ChildStdin>) -> std::io::Result<()>,
    ) -> Result<(), EncodeError> {
        let Some(input) = self.input.as_mut() else {
            return Ok(());
        };
        let Err(source) = write(input) else {
            return Ok(());
        };
        // Buffered bytes would only meet the broken pipe again: take the pipe out without flushing.
        if let Some(input) = self.input.take() {
            drop(input.into_parts());
        }
        Err(self.ffmpeg.failed(&source.to_string()))
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
    let mut ffmpeg = Running::start(path, arguments, &["0:v", "0:a?"], subtitles, title)?;
    drop(ffmpeg.child.stdin.take());
    ffmpeg.end()
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

/// ffmpeg at work.
#[derive(Debug)]
struct Running {
    path: PathBuf,
    child: Child,
    last_words: Option<JoinHandle<String>>,
}

impl Running {
    fn start(
        path: &Path,
        mut arguments: Vec<OsString>,
        maps: &[&str],
        subtitles: &Path,
        title: &str,
    ) -> Result<Self, EncodeError> {
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
        let mut child = Command::new("ffmpeg")
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .map_err(|source| match source.kind() {
                std::io::ErrorKind::NotFound => EncodeError::FfmpegMissing { source },
                _ => EncodeError::Ffmpeg {
                    path: path.to_owned(),
                    message: format!("it could not be started: {source}"),
                },
            })?;
        let last_words = child.stderr.take().map(|mut stderr| {
            std::thread::spawn(move || {
                let mut bytes = Vec::new();
                // What could be read before an error is still worth showing.
                let _ = stderr.read_to_end(&mut bytes);
                String::from_utf8_lossy(&bytes).into_owned()
            })
        });
        Ok(Self {
            path: path.to_owned(),
            child,
            last_words,
        })
    }

    fn end(&mut self) -> Result<(), EncodeError> {
        let status = self
            .child
            .wait()
            .map_err(|source| EncodeError::Unwritable {
                path: self.path.clone(),
                source,
            })?;
        if status.success() {
            return Ok(());
        }
        Err(self.failed("it gave no reason"))
    }

    fn failed(&mut self, otherwise: &str) -> EncodeError {
        // Both fail only when it has already ended.
        let _ = self.child.kill();
        let _ = self.child.wait();
        let said = self
            .last_words
            .take()
            .and_then(|reader| reader.join().ok())
            .unwrap_or_default();
        let lines: Vec<&str> = said
            .lines()
            .filter(|line| !line.trim().is_empty())
            .collect();
        let tail = lines[lines.len().saturating_sub(3)..].join("; ");
        EncodeError::Ffmpeg {
            path: self.path.clone(),
            message: if tail.is_empty() {
                otherwise.to_owned()
            } else {
                tail
            },
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // Both fail only when it has already ended.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
