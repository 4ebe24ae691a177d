//! Pictures of recordings, their indexes kept open so that any of them comes at once.

use crate::limits::OPEN_RECORDINGS;
use crate::problem::Problem;
use crate::state::{AppState, locked};
use crate::wire::FrameTimes;
use meltrange_labbook::{BookError, Frames, RecordId, RecordingId};
use meltrange_reading::FrameSource as _;
use std::sync::{Arc, Mutex};
use tokio::sync::OnceCell;

/// One recording's pictures.
#[derive(Debug)]
pub(crate) struct Pictures {
    recording: RecordingId,
    /// As of which record: when it is aligned anew, times move.
    record: RecordId,
    pub frames: Frames,
    times: OnceCell<FrameTimes>,
}

/// The pictures of the recordings that were looked at last, the latest at the end.
#[derive(Debug, Default)]
pub(crate) struct OpenPictures(Mutex<Vec<Arc<Pictures>>>);

impl OpenPictures {
    /// Those of `recording`.
    pub async fn of(
        &self,
        state: &AppState,
        recording: RecordingId,
    ) -> Result<Arc<Pictures>, Problem> {
        let latest = state.book().store().latest(recording.into()).await?;
        if let Some(found) = self.open_already(recording, latest.id) {
            return Ok(found);
        }
        let frames = state.book().frames(recording).await.map_err(missing)?;
        let opened = Arc::new(Pictures {
            recording,
            record: latest.id,
            frames,
            times: OnceCell::new(),
        });
        let mut open = locked(&self.0);
        open.retain(|other| other.recording != recording);
        open.push(opened.clone());
        let beyond = open.len().saturating_sub(OPEN_RECORDINGS);
        open.drain(..beyond);
        Ok(opened)
    }

    fn open_already(&self, recording: RecordingId, record: RecordId) -> Option<Arc<Pictures>> {
        let mut open = locked(&self.0);
        let at = open
            .iter()
            .position(|one| one.recording == recording && one.record == record)?;
        let found = open.remove(at);
        open.push(found.clone());
        Some(found)
    }

    /// Forget all of them: files were removed.
    pub fn forget_all(&self) {
        locked(&self.0).clear();
    }

    /// Forget those of `recording`: they were made anew.
    pub fn forget(&self, recording: RecordingId) {
        locked(&self.0).retain(|one| one.recording != recording);
    }
}

/// Pictures that are not there are a state to be waited for, not a fault.
fn missing(error: BookError) -> Problem {
    match error {
        BookError::File { source, .. } if source.kind() == std::io::ErrorKind::NotFound => {
            Problem::unknown(
                "the pictures of this recording are not made yet; wait, or have it imported again",
            )
        }
        other => other.into(),
    }
}

impl Pictures {
    /// Times and temperatures of all of them.
    pub async fn times(&self, state: &AppState) -> Result<&FrameTimes, Problem> {
        self.times
            .get_or_try_init(|| async {
                let log = state.book().log(self.recording).await?;
                // Where the source cannot be opened any more its size is not known; pictures are.
                let size = state
                    .book()
                    .source(self.recording)
                    .await
                    .ok()
                    .map(|source| {
                        let info = source.info();
                        let px = |side: usize| side as f64 * info.source_px_per_px;
                        (px(info.width), px(info.height))
                    });
                let time_s = self.frames.times_s();
                Ok(FrameTimes {
                    count: time_s.len() as u64,
                    temperature_c: time_s
                        .iter()
                        .map(|&time_s| Some(rounded(log.log.at(time_s)?.temperature_c, 1e3)))
                        .collect(),
                    time_s: time_s.iter().map(|&time_s| rounded(time_s, 1e4)).collect(),
                    source_width_px: size.map(|(width, _)| width),
                    source_height_px: size.map(|(_, height)| height),
                })
            })
            .await
    }
}

/// To so many steps a unit: digits beyond say nothing and cost bytes.
fn rounded(value: f64, steps: f64) -> f64 {
    (value * steps).round() / steps
}
