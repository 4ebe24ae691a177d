//! A recording from elsewhere: a video or a folder of pictures, and a temperature log, kept as they are.

use super::frame_file::FrameFile;
use super::manifest::sync_folder;
use super::writer::check_picture;
use super::{LOG, Manifest, summary};
use crate::digest::{Digest, Running};
use crate::error::BookError;
use crate::ids::{BenchId, RecordingId, RunId, SampleId};
use crate::records::{RecordingEnd, RecordingSource};
use meltrange_media::Opened;
use meltrange_reading::FrameSource as _;
use std::fs::{self, File};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

/// Bytes copied at a time: a video is never held whole.
const PIECE: usize = 1 << 20;

/// Endings of file names longer than this are no endings.
const LONGEST_ENDING: usize = 5;

/// Before the name of a recording that is being imported.
pub(crate) const STAGED: &str = ".import-";

/// What is to be imported.
#[derive(Debug, Clone, Default)]
pub struct ImportOrder {
    /// Video file, or folder of pictures with `frames.csv`.
    pub media: PathBuf,
    /// What the media file or folder was called; if none, the last part of `media`.
    pub name: Option<String>,
    /// Temperature log with the columns `time_s` and `temperature_c`.
    pub temperature: PathBuf,
    /// Log time of video time 0 [s].
    pub video_start_s: f64,
    /// What stands in which place, from left to right; none for a tube of an unknown sample.
    pub samples: Vec<Option<SampleId>>,
    /// At which bench.
    pub bench: Option<BenchId>,
    /// Anything else.
    pub remarks: Option<String>,
}

/// What was imported.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Imported {
    /// The run made for it.
    pub run: RunId,
    /// The recording.
    pub recording: RecordingId,
}

/// A recording's folder, complete and flushed, not in its place yet. Dropped, it vanishes.
#[derive(Debug)]
pub(crate) struct Staged {
    pub source: RecordingSource,
    pub end: RecordingEnd,
    beside: PathBuf,
    place: PathBuf,
    placed: bool,
}

impl Staged {
    /// Put it in its place. Once its record is written it is put there at the latest when the
    /// book is opened again.
    pub fn put(mut self) -> Result<(), BookError> {
        // From here on it is the book's.
        self.placed = true;
        put(&self.beside, &self.place)
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        if !self.placed {
            // What cannot be removed goes when the book is opened again.
            let _ = fs::remove_dir_all(&self.beside);
        }
    }
}

fn put(beside: &Path, place: &Path) -> Result<(), BookError> {
    let parent = place.parent().unwrap_or(Path::new("."));
    fs::rename(beside, place)
        .and_then(|()| sync_folder(parent))
        .map_err(|error| BookError::file(place, "written", error))
}

/// What a crash left of imports: those that were recorded are put in their place, others go.
pub(crate) fn unstage(
    recordings: &Path,
    is_recorded: impl Fn(RecordingId) -> bool,
) -> Result<(), BookError> {
    let entries = match fs::read_dir(recordings) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        other => other.map_err(|error| BookError::file(recordings, "read", error))?,
    };
    for entry in entries {
        let beside = entry
            .map_err(|error| BookError::file(recordings, "read", error))?
            .path();
        let name = beside.file_name().unwrap_or_default().to_string_lossy();
        let Some(id) = name
            .strip_prefix(STAGED)
            .and_then(|id| id.parse::<RecordingId>().ok())
        else {
            continue;
        };
        if is_recorded(id) {
            put(&beside, &recordings.join(id.to_string()))?;
        } else {
            fs::remove_dir_all(&beside)
                .map_err(|error| BookError::file(&beside, "removed", error))?;
        }
    }
    Ok(())
}

/// Copy everything beside its place and flush it. `progress` hears the part done, 0..=1.
pub(crate) fn stage(
    recordings: &Path,
    id: RecordingId,
    order: &ImportOrder,
    progress: &mut dyn FnMut(f64),
) -> Result<Staged, BookError> {
    // Looked at before anything is copied.
    let log = meltrange_media::read_log(&order.temperature)?;
    let opened = meltrange_media::open(&order.media, 0.0)?;
    let info = opened.info();
    let name = order.name.clone().unwrap_or_else(|| name_of(&order.media));
    let mut staged = Staged {
        source: match &opened {
            Opened::Pictures(_) => RecordingSource::Pictures {
                folder_name: name.clone(),
                video_start_s: order.video_start_s,
            },
            _ => RecordingSource::Video {
                file_name: name.clone(),
                video_start_s: order.video_start_s,
            },
        },
        end: summary(Digest::of(b""), false, 0, None, Some(&log.log)),
        beside: recordings.join(format!("{STAGED}{id}")),
        place: recordings.join(id.to_string()),
        placed: false,
    };
    let beside = staged.beside.clone();
    fs::create_dir(&beside).map_err(|error| BookError::file(&beside, "written", error))?;
    copy(&order.temperature, &beside.join(LOG), &mut |_| ())?;
    let frames = match &opened {
        Opened::Pictures(pictures) => pack(&pictures.files()?, &beside, progress)?,
        Opened::Video(video) => {
            let bytes = video
                .path()
                .metadata()
                .map_or(1, |found| found.len().max(1));
            let to = beside.join(format!("video.{}", ending(&name, video.path())));
            copy(video.path(), &to, &mut |done| {
                progress(0.5 * done as f64 / bytes as f64);
            })?;
            0
        }
        _ => {
            return Err(BookError::Field {
                field: "recording.media",
                found: "media of an unknown kind".into(),
                expected: "a video file or a folder of pictures",
            });
        }
    };
    let all: u64 = 1 + fs::read_dir(&beside)
        .map_err(|error| BookError::file(&beside, "read", error))?
        .flatten()
        .filter_map(|entry| Some(entry.metadata().ok()?.len()))
        .max()
        .unwrap_or(0);
    // What is hashed is what was written, not what was meant to be.
    let manifest = Manifest::of(&beside, id, false, &mut |done| {
        progress(0.5 + 0.5 * (done as f64 / all as f64).min(1.0));
    })?
    .write(&beside)?;
    let shift_s = order.video_start_s;
    staged.end = summary(
        manifest,
        false,
        frames,
        Some((info.start_s + shift_s, info.end_s + shift_s)),
        Some(&log.log),
    );
    Ok(staged)
}

/// Copy a file piece by piece and flush it; refused when the source changed while it was copied.
fn copy(from: &Path, to: &Path, done: &mut dyn FnMut(u64)) -> Result<(), BookError> {
    let read = |error| BookError::file(from, "read", error);
    let written = |error| BookError::file(to, "written", error);
    let mut source = File::open(from).map_err(read)?;
    let mut target = File::create_new(to).map_err(written)?;
    let mut running = Running::default();
    let mut piece = vec![0; PIECE];
    let mut copied = 0;
    loop {
        let len = match source.read(&mut piece) {
            Ok(0) => break,
            Ok(len) => len,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(read(error)),
        };
        let piece = piece.get(..len).unwrap_or_default();
        running.add(piece);
        target.write_all(piece).map_err(written)?;
        copied += len as u64;
        done(copied);
    }
    target.sync_all().map_err(written)?;
    let (sha256, _) = running.end();
    let (found, _) = File::open(to)
        .and_then(|file| Digest::of_reader(file, &mut |_| ()))
        .map_err(|error| BookError::file(to, "read", error))?;
    if found == sha256 {
        return Ok(());
    }
    Err(BookError::Damaged {
        path: to.into(),
        found: format!(
            "the copy of {} has the digest {found}; expected {sha256}",
            from.display()
        ),
    })
}

/// Put picture files one after the other, their bytes as they are.
fn pack(
    files: &[(PathBuf, f64)],
    folder: &Path,
    progress: &mut dyn FnMut(f64),
) -> Result<u64, BookError> {
    let mut packed = FrameFile::create(folder)?;
    for (number, (path, time_s)) in (1_u64..).zip(files) {
        let picture = fs::read(path).map_err(|error| BookError::file(path, "read", error))?;
        check_picture(number, &picture)?;
        packed.push(*time_s, &picture)?;
        progress(0.5 * number as f64 / files.len() as f64);
    }
    packed.flush()?;
    Ok(files.len() as u64)
}

/// The last part of a path, as the person knows the file.
fn name_of(path: &Path) -> String {
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .chars()
        .map(|letter| {
            if letter.is_control() {
                '\u{fffd}'
            } else {
                letter
            }
        })
        .collect()
}

/// The ending of a file's name if it is a plain one; whatever the name, nothing else of it
/// becomes part of a path.
fn ending(name: &str, path: &Path) -> String {
    let plain = |ending: &str| {
        let ending = ending.to_ascii_lowercase();
        let ok = (1..=LONGEST_ENDING).contains(&ending.len())
            && ending.bytes().all(|byte| byte.is_ascii_alphanumeric());
        ok.then_some(ending)
    };
    let of_path = || {
        path.extension()
            .and_then(|ending| plain(&ending.to_string_lossy()))
    };
    name.rsplit_once('.')
        .and_then(|(_, ending)| plain(ending))
        .or_else(of_path)
        .unwrap_or_else(|| "media".into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_plain_ending_gets_into_a_path() {
        let path = Path::new("/tmp/upload");
        for (name, found) in [
            ("run.MP4", "mp4"),
            ("run.mp4/../../etc/passwd", "media"),
            ("run.m p4", "media"),
            ("..", "media"),
            ("", "media"),
            ("video.\u{fc}x", "media"),
        ] {
            assert_eq!(ending(name, path), found, "{name}");
        }
    }
}
