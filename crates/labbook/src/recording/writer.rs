//! A recording under way: on the disk within a second.

use super::index::{FrameLine, HEADER};
use super::{FRAMES, INDEX, LOG};
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::RecordingId;
use std::fmt::Write as _;
use std::fs::{File, OpenOptions};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// The first line of a temperature log.
const LOG_HEADER: &str = "time_s,temperature_c\n";

/// What was not flushed yet is flushed after this long: half of the second that may be lost.
const FLUSH_AFTER: Duration = Duration::from_millis(500);

/// Messages on their way to the disk; beyond these the camera has to wait.
const QUEUE: usize = 64;

/// Largest picture [bytes].
pub(super) const LARGEST_PICTURE: usize = 64 << 20;

enum Message {
    Frame { time_s: f64, picture: Vec<u8> },
    Temperature { time_s: f64, temperature_c: f64 },
    Flush(SyncSender<()>),
}

/// Takes pictures and temperatures; a thread of its own brings them to the disk.
///
/// Calls wait only when the disk is more than 64 pictures behind. An error on the disk is returned
/// by the next call and by [`RecordingWriter::flush`].
#[derive(Debug)]
pub struct RecordingWriter {
    recording: RecordingId,
    folder: PathBuf,
    sender: Option<SyncSender<Message>>,
    thread: Option<JoinHandle<Result<(), BookError>>>,
    last_frame_s: Option<f64>,
    last_temperature_s: Option<f64>,
    frames: u64,
    temperatures: u64,
}

impl RecordingWriter {
    /// Begin in `folder`, which is made.
    pub(crate) fn begin(folder: &Path, recording: RecordingId) -> Result<Self, BookError> {
        std::fs::create_dir_all(folder)
            .map_err(|error| BookError::file(folder, "written", error))?;
        let files = Files::create(folder)?;
        let (sender, receiver) = sync_channel(QUEUE);
        let thread = std::thread::Builder::new()
            .name("recording".into())
            .spawn(move || files.take(&receiver))
            .map_err(|error| BookError::file(folder, "written", error))?;
        Ok(Self {
            recording,
            folder: folder.into(),
            sender: Some(sender),
            thread: Some(thread),
            last_frame_s: None,
            last_temperature_s: None,
            frames: 0,
            temperatures: 0,
        })
    }

    /// Which recording this is.
    pub fn recording(&self) -> RecordingId {
        self.recording
    }

    /// Pictures so far.
    pub fn frames(&self) -> u64 {
        self.frames
    }

    /// Keep a picture (JPEG or PNG, as captured) taken at `time_s` on the log's clock [s].
    ///
    /// # Errors
    /// [`BookError`] when it is no such picture, its time does not rise, or the disk failed before.
    pub fn frame(&mut self, time_s: f64, picture: Vec<u8>) -> Result<(), BookError> {
        let number = self.frames + 1;
        check_picture(number, &picture)?;
        rising("picture", number, time_s, self.last_frame_s)?;
        self.send(Message::Frame { time_s, picture })?;
        self.frames = number;
        self.last_frame_s = Some(time_s);
        Ok(())
    }

    /// Keep a temperature [°C], as the thermometer indicated it at `time_s` [s].
    ///
    /// # Errors
    /// As [`RecordingWriter::frame`].
    pub fn temperature(&mut self, time_s: f64, temperature_c: f64) -> Result<(), BookError> {
        let number = self.temperatures + 1;
        rising("temperature", number, time_s, self.last_temperature_s)?;
        if !temperature_c.is_finite() {
            return Err(BookError::Field {
                field: "temperature_c",
                found: temperature_c.to_string(),
                expected: "a finite number",
            });
        }
        self.send(Message::Temperature {
            time_s,
            temperature_c,
        })?;
        self.temperatures = number;
        self.last_temperature_s = Some(time_s);
        Ok(())
    }

    /// Wait until everything given so far is on the disk.
    ///
    /// # Errors
    /// What the disk said.
    pub fn flush(&mut self) -> Result<(), BookError> {
        let (done, wait) = sync_channel(1);
        self.send(Message::Flush(done))?;
        // The sender goes when the thread ends; then its error is the answer.
        wait.recv().map_err(|_| self.ended())
    }

    /// End the thread; the folder.
    pub(crate) fn end(mut self) -> Result<PathBuf, BookError> {
        self.sender = None;
        match self.thread.take().map(JoinHandle::join) {
            Some(Ok(done)) => done?,
            Some(Err(_)) | None => return Err(lost()),
        }
        Ok(std::mem::take(&mut self.folder))
    }

    fn send(&mut self, message: Message) -> Result<(), BookError> {
        let sent = self
            .sender
            .as_ref()
            .is_some_and(|sender| sender.send(message).is_ok());
        if sent { Ok(()) } else { Err(self.ended()) }
    }

    /// Why the thread ended.
    fn ended(&mut self) -> BookError {
        match self.thread.take().map(JoinHandle::join) {
            Some(Ok(Err(error))) => error,
            _ => lost(),
        }
    }
}

fn lost() -> BookError {
    BookError::Task {
        found: "the recording had failed before".into(),
    }
}

impl Drop for RecordingWriter {
    fn drop(&mut self) {
        self.sender = None;
        if let Some(thread) = self.thread.take() {
            // What could not be written is found when the recording is recovered.
            let _ = thread.join();
        }
    }
}

pub(super) fn check_picture(frame: u64, picture: &[u8]) -> Result<(), BookError> {
    let known = picture.starts_with(&[0xFF, 0xD8]) || picture.starts_with(b"\x89PNG\r\n\x1a\n");
    if known && picture.len() <= LARGEST_PICTURE {
        return Ok(());
    }
    Err(BookError::Picture {
        frame,
        found: match picture.get(..8.min(picture.len())) {
            _ if known => format!("{} bytes", picture.len()),
            Some(&[]) | None => "no bytes".into(),
            Some(begin) => format!("bytes that begin with {begin:02x?}"),
        },
        expected: "a JPEG or PNG picture of at most 64 MiB",
    })
}

pub(super) fn rising(
    what: &'static str,
    number: u64,
    found_s: f64,
    before_s: Option<f64>,
) -> Result<(), BookError> {
    let before_s = before_s.unwrap_or(f64::NEG_INFINITY);
    if found_s.is_finite() && found_s > before_s {
        return Ok(());
    }
    Err(BookError::NotRising {
        what,
        number,
        found_s,
        before_s,
    })
}

/// Pictures and their index, appended to.
#[derive(Debug)]
pub(super) struct FrameFile {
    folder: PathBuf,
    frames: File,
    index: File,
    end: u64,
    /// Lines whose pictures may not be on the disk yet.
    lines: String,
}

impl FrameFile {
    pub fn create(folder: &Path) -> Result<Self, BookError> {
        let mut index = fresh(&folder.join(INDEX))?;
        index
            .write_all(HEADER.as_bytes())
            .map_err(|error| BookError::file(&folder.join(INDEX), "written", error))?;
        Ok(Self {
            frames: fresh(&folder.join(FRAMES))?,
            folder: folder.into(),
            index,
            end: 0,
            lines: String::new(),
        })
    }

    pub fn push(&mut self, time_s: f64, picture: &[u8]) -> Result<(), BookError> {
        self.frames
            .write_all(picture)
            .map_err(|error| BookError::file(&self.folder.join(FRAMES), "written", error))?;
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
        self.frames
            .sync_data()
            .map_err(|error| BookError::file(&self.folder.join(FRAMES), "written", error))?;
        self.write_lines()?;
        self.index
            .sync_data()
            .map_err(|error| BookError::file(&self.folder.join(INDEX), "written", error))
    }

    /// Hand the lines over without waiting for the disk.
    pub fn write_lines(&mut self) -> Result<(), BookError> {
        self.index
            .write_all(self.lines.as_bytes())
            .map_err(|error| BookError::file(&self.folder.join(INDEX), "written", error))?;
        self.lines.clear();
        Ok(())
    }
}

fn fresh(path: &Path) -> Result<File, BookError> {
    OpenOptions::new()
        .append(true)
        .create_new(true)
        .open(path)
        .map_err(|error| BookError::file(path, "written", error))
}

struct Files {
    frames: FrameFile,
    log: File,
    log_path: PathBuf,
    log_lines: String,
    since: Option<Instant>,
}

impl Files {
    fn create(folder: &Path) -> Result<Self, BookError> {
        let log_path = folder.join(LOG);
        Ok(Self {
            frames: FrameFile::create(folder)?,
            log: fresh(&log_path)?,
            log_path,
            log_lines: LOG_HEADER.into(),
            // The headers are to be flushed too.
            since: Some(Instant::now()),
        })
    }

    /// Until the other side is gone or the disk fails.
    fn take(mut self, messages: &Receiver<Message>) -> Result<(), BookError> {
        loop {
            let patience = self.since.map_or(FLUSH_AFTER, |since| {
                FLUSH_AFTER.saturating_sub(since.elapsed())
            });
            match messages.recv_timeout(patience) {
                Ok(Message::Frame { time_s, picture }) => {
                    self.frames.push(time_s, &picture)?;
                    self.since.get_or_insert_with(Instant::now);
                }
                Ok(Message::Temperature {
                    time_s,
                    temperature_c,
                }) => {
                    let _ = writeln!(self.log_lines, "{time_s},{temperature_c}");
                    self.since.get_or_insert_with(Instant::now);
                }
                Ok(Message::Flush(done)) => {
                    self.flush()?;
                    // Whoever asked may have gone.
                    let _ = done.send(());
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return self.flush(),
            }
            if self
                .since
                .is_some_and(|since| since.elapsed() >= FLUSH_AFTER)
            {
                self.flush()?;
            }
        }
    }

    fn flush(&mut self) -> Result<(), BookError> {
        self.frames.flush()?;
        self.log
            .write_all(self.log_lines.as_bytes())
            .and_then(|()| self.log.sync_data())
            .map_err(|error| BookError::file(&self.log_path, "written", error))?;
        self.log_lines.clear();
        self.since = None;
        Ok(())
    }
}
