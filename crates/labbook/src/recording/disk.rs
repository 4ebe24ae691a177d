//! The thread that brings a recording to the disk, and keeps what it does not take.

use super::LOG;
use super::frame_file::{FrameFile, fresh};
use super::waiting::{Picture, Row, Waiting};
use crate::error::BookError;
use std::collections::VecDeque;
use std::fmt::Write as _;
use std::fs::File;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// The first line of a temperature log.
const LOG_HEADER: &str = "time_s,temperature_c\n";

/// What was not flushed yet is flushed after this long: half of the second that may be lost.
const FLUSH_AFTER: Duration = Duration::from_millis(500);

/// A disk that failed is tried again after this long.
const RETRY_AFTER: Duration = Duration::from_millis(500);

/// Pictures between two flushes while the disk catches up [bytes]: what was flushed needs not be
/// written again when the next piece fails.
const PIECE: u64 = 8 << 20;

/// The files of one recording, and what is not known to be in them.
pub(super) struct Disk {
    frames: FrameFile,
    /// Pictures that are not flushed, oldest first.
    held: VecDeque<Picture>,
    /// How many of them stand in the file.
    written: usize,
    log: Log,
    /// Since when something waits for a flush.
    since: Option<Instant>,
    /// When the disk last failed; none when it is well.
    failed: Option<Instant>,
}

impl Disk {
    pub fn create(folder: &Path) -> Result<Self, BookError> {
        Ok(Self {
            frames: FrameFile::create(folder)?,
            held: VecDeque::new(),
            written: 0,
            log: Log::create(folder)?,
            // The headers are to be flushed too.
            since: Some(Instant::now()),
            failed: None,
        })
    }

    /// Until the recording ends.
    pub fn serve(mut self, waiting: &Waiting) {
        while let Some(mut turn) = waiting.next(self.due(), self.failed.is_some()) {
            self.take(
                std::mem::take(&mut turn.pictures),
                std::mem::take(&mut turn.rows),
            );
            // What comes in is handed to the system at once, so that a flush finds little to do.
            let is_well = self.failed.is_none() && self.write().is_ok();
            let is_due = self.due().is_some_and(|due| due <= Instant::now());
            if is_well && !turn.flush && !turn.ending && !is_due {
                continue;
            }
            let outcome = self.flush(waiting);
            if waiting.tell(&turn, outcome) {
                return;
            }
        }
    }

    /// When there is next something to do without being asked.
    fn due(&self) -> Option<Instant> {
        match self.failed {
            Some(failed) => Some(failed + RETRY_AFTER),
            None if self.frames.unflushed() >= PIECE => self.since,
            None => self.since.map(|since| since + FLUSH_AFTER),
        }
    }

    fn take(&mut self, pictures: Vec<Picture>, rows: Vec<Row>) {
        if !(pictures.is_empty() && rows.is_empty()) {
            self.since.get_or_insert_with(Instant::now);
        }
        self.held.extend(pictures);
        self.log.add(&rows);
    }

    /// Put pictures behind those in the file, up to a piece that is not flushed.
    fn write(&mut self) -> Result<(), BookError> {
        while let Some((time_s, picture)) = self.held.get(self.written)
            && self.frames.unflushed() < PIECE
        {
            self.frames.push(*time_s, picture)?;
            self.written += 1;
        }
        Ok(())
    }

    /// Bring everything to the disk; what it does not take is kept.
    fn flush(&mut self, waiting: &Waiting) -> Result<(), BookError> {
        let pictures = self.flush_pictures(waiting);
        // A log is small: often there is room for it where there is none for a picture.
        let log = self.log.flush().map(|rows| {
            waiting.good(0, 0, rows);
        });
        let outcome = pictures.and(log);
        match outcome {
            Ok(()) => (self.since, self.failed) = (None, None),
            Err(_) => self.failed = Some(Instant::now()),
        }
        outcome
    }

    fn flush_pictures(&mut self, waiting: &Waiting) -> Result<(), BookError> {
        loop {
            // Whole pictures that found room are kept there, even if the next one does not.
            let written = self.write();
            if let Err(error) = self.frames.flush() {
                // The file was put back to the last good flush.
                self.written = 0;
                return Err(error);
            }
            let flushed = self.held.drain(..self.written);
            let (pictures, bytes) = flushed.fold((0, 0), |(pictures, bytes), (_, picture)| {
                (pictures + 1, bytes + picture.len() as u64)
            });
            self.written = 0;
            let go_on = waiting.good(pictures, bytes, 0);
            written?;
            if self.held.is_empty() || !go_on {
                return Ok(());
            }
        }
    }
}

/// `temperature.csv`, appended to.
struct Log {
    path: PathBuf,
    file: File,
    /// Not known to be on the disk.
    lines: String,
    rows: u64,
    /// Bytes that are.
    good: u64,
    /// Whether there may be more in the file.
    astray: bool,
}

impl Log {
    fn create(folder: &Path) -> Result<Self, BookError> {
        let path = folder.join(LOG);
        Ok(Self {
            file: fresh(&path)?,
            path,
            lines: LOG_HEADER.into(),
            rows: 0,
            good: 0,
            astray: false,
        })
    }

    fn add(&mut self, rows: &[Row]) {
        for (time_s, temperature_c) in rows {
            let _ = writeln!(self.lines, "{time_s},{temperature_c}");
        }
        self.rows += rows.len() as u64;
    }

    /// How many rows more are on the disk.
    fn flush(&mut self) -> Result<u64, BookError> {
        let flushed = self.put_back().and_then(|()| {
            if self.lines.is_empty() {
                return Ok(());
            }
            self.astray = true;
            self.file.write_all(self.lines.as_bytes())?;
            self.file.sync_data()
        });
        if let Err(error) = flushed {
            // Where this fails too, the next flush tries again.
            let _ = self.put_back();
            return Err(BookError::file(&self.path, "written", error));
        }
        self.astray = false;
        self.good += self.lines.len() as u64;
        self.lines.clear();
        Ok(std::mem::take(&mut self.rows))
    }

    fn put_back(&mut self) -> std::io::Result<()> {
        if self.astray {
            self.file.set_len(self.good)?;
            self.astray = false;
        }
        Ok(())
    }
}
