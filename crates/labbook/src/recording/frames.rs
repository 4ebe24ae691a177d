//! Any picture of a recording at any moment.

use super::{FRAMES, FrameLine, INDEX, PICTURES, parse_index, read_index, video_in};
use crate::digest::Digest;
use crate::error::BookError;
use std::fs::File;
use std::io::{Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// Whether more pictures are coming.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SoFar {
    /// All are there.
    Ended,
    /// It is still written to.
    UnderWay,
}

/// The pictures of one recording that can be shown: those captured, or those made from its video.
#[derive(Debug)]
pub struct Frames {
    path: PathBuf,
    lines: Vec<FrameLine>,
    times_s: Vec<f64>,
    file: Mutex<File>,
}

impl Frames {
    /// Open those of the recording in `folder`. `shift_s` is the log time of the pictures' time 0.
    ///
    /// A video without pictures yet has none; see [`crate::Book::make_pictures`]. While a recording
    /// is under way, those that are on the disk.
    pub(crate) fn open(folder: &Path, shift_s: f64, so_far: SoFar) -> Result<Self, BookError> {
        let place = if video_in(folder).is_some() {
            folder.join(PICTURES)
        } else {
            folder.to_path_buf()
        };
        let path = place.join(FRAMES);
        let index = place.join(INDEX);
        let lines = match so_far {
            SoFar::Ended => read_index(&index)?,
            SoFar::UnderWay => {
                let text = std::fs::read(&index)
                    .map_err(|error| BookError::file(&index, "read", error))?;
                // Its last line may be half-written.
                parse_index(&text).lines
            }
        };
        let file = File::open(&path).map_err(|error| BookError::file(&path, "read", error))?;
        Ok(Self {
            path,
            times_s: lines.iter().map(|line| line.time_s + shift_s).collect(),
            lines,
            file: Mutex::new(file),
        })
    }

    /// When each was taken [s], log clock, rising.
    pub fn times_s(&self) -> &[f64] {
        &self.times_s
    }

    /// The last picture at or before `time_s` [s, log clock], else the first; its place from 0.
    pub fn shown_at(&self, time_s: f64) -> usize {
        self.times_s
            .partition_point(|&taken_s| taken_s <= time_s)
            .saturating_sub(1)
    }

    /// The bytes of the picture at place `at`, from 0: JPEG or PNG, as they were captured.
    ///
    /// # Errors
    /// [`BookError::NoPicture`] beyond the last; [`BookError::Damaged`] when it was altered.
    pub fn picture(&self, at: usize) -> Result<Vec<u8>, BookError> {
        let line = self.lines.get(at).ok_or_else(|| BookError::NoPicture {
            recording: self.path.display().to_string(),
            frame: at as u64 + 1,
            frames: self.lines.len() as u64,
        })?;
        let picture = {
            // A panic elsewhere cannot leave the file in a state that matters: each use seeks first.
            let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
            read_span(&mut file, line)
        }
        .map_err(|error| BookError::file(&self.path, "read", error))?;
        let found = Digest::of(&picture);
        if found != line.sha256 {
            return Err(BookError::Damaged {
                path: self.path.clone(),
                found: format!(
                    "picture {} at {} s has the digest {found}; expected {}",
                    at + 1,
                    self.times_s.get(at).copied().unwrap_or(line.time_s),
                    line.sha256
                ),
            });
        }
        Ok(picture)
    }
}

fn read_span(file: &mut File, line: &FrameLine) -> std::io::Result<Vec<u8>> {
    let bytes = usize::try_from(line.bytes).map_err(std::io::Error::other)?;
    let mut picture = vec![0; bytes.min(super::writer::LARGEST_PICTURE)];
    file.seek(SeekFrom::Start(line.offset))?;
    file.read_exact(&mut picture)?;
    Ok(picture)
}
