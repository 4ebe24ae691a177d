//! A recording under way: on the disk within a second, in memory while the disk fails.

use super::disk::Disk;
use super::waiting::{Bounds, Waiting};
use crate::error::BookError;
use crate::ids::RecordingId;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// Largest picture [bytes].
pub(super) const LARGEST_PICTURE: usize = 64 << 20;

/// Takes pictures and temperatures; a thread of its own brings them to the disk.
///
/// [`RecordingWriter::frame`] and [`RecordingWriter::temperature`] never wait for the disk. What it
/// does not take, because it is slow, full or failing, is kept in memory in order, up to 256 MiB of
/// pictures, and written as soon as it can be; [`RecordingWriter::trouble`] says so meanwhile.
#[derive(Debug)]
pub struct RecordingWriter {
    recording: RecordingId,
    folder: PathBuf,
    waiting: Arc<Waiting>,
    patience: Duration,
    ended: bool,
    last_frame_s: Option<f64>,
    last_temperature_s: Option<f64>,
    frames: u64,
    temperatures: u64,
}

impl RecordingWriter {
    /// Begin in `folder`, which is made.
    pub(crate) fn begin(folder: &Path, recording: RecordingId) -> Result<Self, BookError> {
        Self::begin_within(folder, recording, Bounds::USUAL)
    }

    /// Begin in `folder`, and keep no more than this in memory.
    pub(crate) fn begin_within(
        folder: &Path,
        recording: RecordingId,
        bounds: Bounds,
    ) -> Result<Self, BookError> {
        let written = |error| BookError::file(folder, "written", error);
        std::fs::create_dir_all(folder).map_err(written)?;
        let disk = Disk::create(folder)?;
        let waiting = Arc::new(Waiting::new(folder, bounds));
        let shared = Gone(Arc::clone(&waiting));
        std::thread::Builder::new()
            .name("recording".into())
            .spawn(move || disk.serve(&shared.0))
            .map_err(written)?;
        Ok(Self {
            recording,
            folder: folder.into(),
            waiting,
            patience: bounds.patience,
            ended: false,
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

    /// Pictures so far, those that were lost not counted.
    pub fn frames(&self) -> u64 {
        self.frames
    }

    /// Pictures that were lost because the disk took none and too many waited in memory.
    pub fn lost(&self) -> u64 {
        self.waiting.lost()
    }

    /// What keeps pictures from the disk right now, how much waits in memory and how long there is
    /// room for it; none while all is well.
    pub fn trouble(&self) -> Option<String> {
        self.waiting.trouble()
    }

    /// Keep a picture (JPEG or PNG, as captured) taken at `time_s` on the log's clock [s]. Does not
    /// wait for the disk.
    ///
    /// # Errors
    /// [`BookError`] when it is no such picture or its time does not rise;
    /// [`BookError::MemoryFull`] when this picture is lost, as the disk takes none and there is no
    /// room left in memory. Later pictures may be kept again.
    pub fn frame(&mut self, time_s: f64, picture: Vec<u8>) -> Result<(), BookError> {
        let number = self.frames + 1;
        check_picture(number, &picture)?;
        rising("picture", number, time_s, self.last_frame_s)?;
        self.waiting
            .give_picture(time_s, picture.into_boxed_slice())?;
        self.frames = number;
        self.last_frame_s = Some(time_s);
        Ok(())
    }

    /// Keep a temperature [°C], as the thermometer indicated it at `time_s` [s]. Does not wait for the
    /// disk.
    ///
    /// # Errors
    /// As [`RecordingWriter::frame`]; a million temperatures have room of their own.
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
        self.waiting.give_row((time_s, temperature_c))?;
        self.temperatures = number;
        self.last_temperature_s = Some(time_s);
        Ok(())
    }

    /// Have the disk take everything given so far, now, and wait for its answer.
    ///
    /// # Errors
    /// What the disk said. Then everything is still kept in memory and tried again.
    pub fn flush(&mut self) -> Result<(), BookError> {
        self.waiting.flush()
    }

    /// End the thread; the folder. A disk that takes nothing is tried again for ten seconds.
    ///
    /// # Errors
    /// [`BookError::EndLost`]; what the disk took can be recovered.
    pub(crate) fn end(mut self) -> Result<PathBuf, BookError> {
        self.ended = true;
        self.waiting.end(self.patience)?;
        Ok(std::mem::take(&mut self.folder))
    }
}

impl Drop for RecordingWriter {
    fn drop(&mut self) {
        if !self.ended {
            // Tried once more; what the disk took is found when the recording is recovered.
            let _ = self.waiting.end(Duration::ZERO);
        }
    }
}

/// Says that the thread is gone, also when it panics.
struct Gone(Arc<Waiting>);

impl Drop for Gone {
    fn drop(&mut self) {
        self.0.gone();
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

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use crate::recording::{Frames, SoFar, recover};
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};
    use std::process::Command;
    use std::time::Instant;

    const FOLDER: &str = "MELTRANGE_TEST_FOLDER";

    /// Ten pictures of 20 kB, five temperatures, and not much patience.
    const SMALL: Bounds = Bounds {
        picture_bytes: 10 * 20_000,
        temperatures: 5,
        patience: Duration::from_millis(700),
    };

    fn picture(number: u8) -> Vec<u8> {
        let mut bytes = vec![number; 20_000];
        bytes[..2].copy_from_slice(&[0xFF, 0xD8]);
        bytes
    }

    /// From here on files of this process must not become longer; none: as the system allows.
    fn limit(bytes: Option<u64>) {
        let Rlimit { maximum, .. } = getrlimit(Resource::Fsize);
        let current = bytes.or(maximum);
        setrlimit(Resource::Fsize, Rlimit { current, maximum }).expect("below the hard limit");
    }

    /// Run an ignored test in a process of its own, where the limit is an error and no signal.
    fn alone(test: &str) {
        let room = tempfile::tempdir().expect("a temporary folder");
        let out = Command::new("sh")
            .args(["-c", r#"trap '' XFSZ; exec "$0" "$@""#])
            .arg(std::env::current_exe().expect("this is a program"))
            .args(["--exact", test, "--ignored", "--nocapture"])
            .env(FOLDER, room.path())
            .output()
            .expect("this is a program");
        let said = String::from_utf8_lossy(&out.stdout);
        assert!(out.status.success() && said.contains("1 passed"), "{said}");
    }

    fn begun() -> (PathBuf, RecordingWriter) {
        let folder = PathBuf::from(std::env::var_os(FOLDER).expect("the parent says where"));
        let mut writer =
            RecordingWriter::begin_within(&folder, RecordingId::new(), SMALL).expect("room");
        writer.frame(0.0, picture(0)).expect("kept");
        writer.temperature(0.0, 20.0).expect("kept");
        writer.flush().expect("there is room");
        // Nothing can be written from here on.
        limit(Some(0));
        (folder, writer)
    }

    #[test]
    fn beyond_the_bound_each_lost_picture_is_named_and_the_rest_kept() {
        alone("recording::writer::tests::child_beyond_the_bound");
    }

    #[test]
    #[ignore = "run by the test above in a process of its own"]
    fn child_beyond_the_bound() {
        let (folder, mut writer) = begun();
        for number in 1..=10 {
            writer
                .frame(f64::from(number), picture(number))
                .expect("kept");
        }
        let _ = writer.flush().expect_err("nothing can be written");
        for time_s in [11.0, 12.5] {
            let lost = writer.frame(time_s, picture(11)).expect_err("too much");
            let said = lost.to_string();
            assert!(matches!(lost, BookError::MemoryFull { .. }), "{lost:?}");
            assert!(
                said.starts_with(&format!("the picture at {time_s} s is lost")),
                "{said}"
            );
            assert!(said.contains("could not be written"), "{said}");
        }
        // Temperatures have room of their own.
        for number in 1..=5 {
            writer.temperature(f64::from(number), 20.0).expect("kept");
        }
        let lost = writer.temperature(6.0, 20.0).expect_err("too many");
        assert!(
            lost.to_string()
                .starts_with("the temperature at 6 s is lost"),
            "{lost}"
        );
        assert_eq!((writer.lost(), writer.frames()), (2, 11));
        let said = writer.trouble().expect("it lasts");
        assert!(
            said.ends_with("2 pictures found none and are lost"),
            "{said}"
        );
        limit(None);
        writer.flush().expect("there is room again");
        assert_eq!(writer.trouble(), None);
        writer.frame(13.0, picture(13)).expect("kept again");
        writer.temperature(13.0, 20.0).expect("kept again");
        writer.end().expect("all is well");
        let frames = Frames::open(&folder, 0.0, SoFar::Ended).expect("there");
        let expected: Vec<u8> = (0..=10).chain([13]).collect();
        assert_eq!(frames.times_s().len(), expected.len());
        for (at, number) in expected.into_iter().enumerate() {
            assert_eq!(frames.times_s()[at], f64::from(number));
            assert!(
                frames.picture(at).expect("there") == picture(number),
                "{at}"
            );
        }
        let log = std::fs::read_to_string(folder.join("temperature.csv")).expect("there");
        assert_eq!(log.lines().count(), 1 + 7, "{log}");
    }

    #[test]
    fn an_end_in_trouble_waits_its_time_and_leaves_what_was_written() {
        alone("recording::writer::tests::child_ends_in_trouble");
    }

    #[test]
    #[ignore = "run by the test above in a process of its own"]
    fn child_ends_in_trouble() {
        let (folder, mut writer) = begun();
        let id = writer.recording();
        writer.frame(1.0, picture(1)).expect("kept");
        writer.frame(2.0, picture(2)).expect("kept");
        writer.temperature(1.0, 20.0).expect("kept");
        let begun = Instant::now();
        let lost = writer.end().expect_err("nothing can be written");
        let took = begun.elapsed();
        assert!(
            SMALL.patience <= took && took < SMALL.patience * 3,
            "{took:?}"
        );
        assert!(
            matches!(
                lost,
                BookError::EndLost {
                    pictures: 2,
                    temperatures: 1,
                    ..
                }
            ),
            "{lost:?}"
        );
        limit(None);
        let end = recover(&folder, id).expect("there is room again");
        assert_eq!((end.frames, end.cut, end.end_s), (1, true, Some(0.0)));
        let frames = Frames::open(&folder, 0.0, SoFar::Ended).expect("there");
        assert!(frames.picture(0).expect("there") == picture(0));
    }

    #[test]
    fn a_disk_that_comes_back_while_the_recording_ends_gets_everything() {
        alone("recording::writer::tests::child_ends_in_time");
    }

    #[test]
    #[ignore = "run by the test above in a process of its own"]
    fn child_ends_in_time() {
        let (folder, mut writer) = begun();
        writer.frame(1.0, picture(1)).expect("kept");
        let _ = writer.flush().expect_err("nothing can be written");
        let mended = std::thread::spawn(|| {
            std::thread::sleep(Duration::from_millis(300));
            limit(None);
        });
        writer.end().expect("it was mended in time");
        mended.join().expect("mended");
        let frames = Frames::open(&folder, 0.0, SoFar::Ended).expect("there");
        assert!(frames.picture(1).expect("there") == picture(1));
    }
}
