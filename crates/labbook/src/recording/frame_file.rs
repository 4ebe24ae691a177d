//! `frames.bin` and its index, appended to, and put back to what is known good when the disk fails.

use super::index::{FrameLine, HEADER};
use super::{FRAMES, INDEX};
use crate::digest::Digest;
use crate::error::BookError;
use std::fs::{File, OpenOptions};
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// Pictures and their index, appended to.
///
/// After an error of [`FrameFile::push`] the pictures before it stand and that one may be pushed
/// again; after an error of [`FrameFile::flush`] everything since the last good flush must be.
#[derive(Debug)]
pub(super) struct FrameFile {
    folder: PathBuf,
    frames: File,
    index: File,
    /// Where the last whole picture ends.
    end: u64,
    /// Lines whose pictures may not be on the disk yet.
    lines: String,
    /// Bytes that the last flush left on the disk: of the pictures, of the index.
    good: (u64, u64),
    astray: Astray,
}

/// What stands in the files and must be cut off before anything else is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Astray {
    Nothing,
    /// The beginning of one picture.
    Piece,
    /// Everything since the last good flush: nobody knows what of it is on the disk.
    SinceFlush,
}

impl FrameFile {
    pub fn create(folder: &Path) -> Result<Self, BookError> {
        Ok(Self {
            index: fresh(&folder.join(INDEX))?,
            frames: fresh(&folder.join(FRAMES))?,
            folder: folder.into(),
            end: 0,
            lines: HEADER.into(),
            good: (0, 0),
            astray: Astray::Nothing,
        })
    }

    /// Bytes of pictures that are not flushed.
    pub fn unflushed(&self) -> u64 {
        self.end.saturating_sub(self.good.0)
    }

    pub fn push(&mut self, time_s: f64, picture: &[u8]) -> Result<(), BookError> {
        self.put_back()?;
        if let Err(error) = self.frames.write_all(picture) {
            self.astray = Astray::Piece;
            // Room is given back at once; where that fails the next push tries again.
            let _ = self.put_back();
            return Err(self.failed(FRAMES, error));
        }
        let line = FrameLine {
            time_s,
            offset: self.end,
            bytes: picture.len() as u64,
            sha256: Digest::of(picture),
        };
        self.end = line.end();
        line.write(&mut self.lines);
        Ok(())
    }

    /// Pictures first, then the lines that speak of them: a line never promises what is not there.
    pub fn flush(&mut self) -> Result<(), BookError> {
        let flushed = self.put_back().and_then(|()| self.flush_both());
        match flushed {
            Ok(()) => {
                self.good = (self.end, self.good.1 + self.lines.len() as u64);
                self.lines.clear();
            }
            Err(_) => {
                self.astray = Astray::SinceFlush;
                let _ = self.put_back();
            }
        }
        flushed
    }

    fn flush_both(&mut self) -> Result<(), BookError> {
        if self.lines.is_empty() {
            return Ok(());
        }
        self.frames
            .sync_data()
            .map_err(|error| self.failed(FRAMES, error))?;
        self.index
            .write_all(self.lines.as_bytes())
            .and_then(|()| self.index.sync_data())
            .map_err(|error| self.failed(INDEX, error))
    }

    /// Cut off what an error left. The lines go before the pictures they speak of.
    fn put_back(&mut self) -> Result<(), BookError> {
        match self.astray {
            Astray::Nothing => return Ok(()),
            Astray::Piece => {}
            Astray::SinceFlush => {
                self.index
                    .set_len(self.good.1)
                    .map_err(|error| self.failed(INDEX, error))?;
                self.end = self.good.0;
                self.lines.clear();
                if self.good.1 == 0 {
                    self.lines.push_str(HEADER);
                }
            }
        }
        self.frames
            .set_len(self.end)
            .map_err(|error| self.failed(FRAMES, error))?;
        self.astray = Astray::Nothing;
        Ok(())
    }

    fn failed(&self, file: &str, error: std::io::Error) -> BookError {
        BookError::file(&self.folder.join(file), "written", error)
    }
}

/// A new file to append to.
pub(super) fn fresh(path: &Path) -> Result<File, BookError> {
    OpenOptions::new()
        .append(true)
        .create_new(true)
        .open(path)
        .map_err(|error| BookError::file(path, "written", error))
}
