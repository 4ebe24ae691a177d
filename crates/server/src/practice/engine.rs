//! The engine as one of those who read exercises: what it marks beside what people mark. It takes seconds for each, so
//! exercises are read one after the other while nobody waits, and kept as long as the program runs.

use super::drawn::Drawn;
use crate::state::{AppState, locked};
use meltrange_physics::{LogSample, TemperatureLog};
use meltrange_reading::{
    Density, Frame, FrameRequest, FrameSource, ReadOptions, SourceInfo, read_recording,
};
use meltrange_scene::{Film, Picture};
use meltrange_teaching::ExerciseKind;
use std::collections::HashMap;
use std::convert::Infallible;
use std::ops::ControlFlow;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

/// Exercises the engine is remembered to have read.
const KEPT: usize = 20_000;

/// Exercises that are read before somebody asks again.
const AT_ONCE: usize = 200;

/// Which exercise.
pub(crate) type Which = (ExerciseKind, u32);

/// First liquid and last crystal where the engine marked them [°C]; none of an exercise that it could not tell.
#[derive(Debug, Default)]
pub(crate) struct EngineMarks {
    known: Mutex<HashMap<Which, Option<[f64; 2]>>>,
    reads: AtomicBool,
}

impl EngineMarks {
    /// What it marked there [°C], where it has read it and could tell.
    pub fn of(&self, which: Which) -> Option<[f64; 2]> {
        locked(&self.known).get(&which).copied().flatten()
    }

    /// Those it has not read.
    fn unread(&self, wanted: &[Which]) -> Vec<Which> {
        let known = locked(&self.known);
        let unread = wanted.iter().filter(|which| !known.contains_key(which));
        unread.take(AT_ONCE).copied().collect()
    }

    fn keep(&self, which: Which, marks_c: Option<[f64; 2]>) {
        let mut known = locked(&self.known);
        if known.len() >= KEPT {
            known.clear();
        }
        known.insert(which, marks_c);
    }
}

/// Have the engine read these in the background, unless it reads already.
pub(crate) fn have_read(state: &AppState, wanted: &[Which]) {
    let unread = state.engine_marks().unread(wanted);
    if unread.is_empty() || state.engine_marks().reads.swap(true, Ordering::AcqRel) {
        return;
    }
    let state = state.clone();
    tokio::spawn(async move {
        let closing = state.closing();
        for which in unread {
            if *closing.borrow() {
                break;
            }
            let Ok(drawn) = state.exercises().get(which.0, which.1).await else {
                continue;
            };
            let marks_c = tokio::task::spawn_blocking(move || drawn.read_by_engine()).await;
            state.engine_marks().keep(which, marks_c.ok().flatten());
        }
        state.engine_marks().reads.store(false, Ordering::Release);
    });
}

impl Drawn {
    /// Block temperatures where the engine sets its marks [°C]; none where it cannot tell. Only where it sets them counts,
    /// not what its log says then: people are marked in the same way.
    fn read_by_engine(&self) -> Option<[f64; 2]> {
        let film = self.film();
        let samples = film.log().into_iter().map(|line| LogSample {
            time_s: line.time_s,
            temperature_c: line.temperature_c,
        });
        let log = TemperatureLog::new(samples.collect()).ok()?;
        let options = ReadOptions { tubes: Some(1) };
        let reading = read_recording(&mut Shown::of(film), &log, &options, &mut |_| ()).ok()?;
        let tube = reading.tubes.first()?;
        let ends_s = [
            tube.first_liquid.as_ref()?.time_s,
            tube.last_crystal.as_ref()?.time_s,
        ];
        Some(ends_s.map(|time_s| film.block_temperature(time_s).0))
    }
}

/// A film's pictures as the engine asks for them, drawn as it does.
struct Shown<'a> {
    film: &'a Film,
    start_s: f64,
    first: Picture,
}

impl<'a> Shown<'a> {
    fn of(film: &'a Film) -> Self {
        Self {
            film,
            start_s: film.scene().log.video_start_s,
            first: film.picture(0),
        }
    }
}

impl FrameSource for Shown<'_> {
    type Error = Infallible;

    fn info(&self) -> SourceInfo {
        let times_s = self.film.times_s();
        let end_s = times_s.last().copied().unwrap_or_default();
        SourceInfo {
            width: self.first.width,
            height: self.first.height,
            source_px_per_px: 1.0,
            start_s: self.start_s,
            end_s: self.start_s + end_s,
            frame_interval_s: end_s / times_s.len().saturating_sub(1).max(1) as f64,
            cheap_key_frames: false,
        }
    }

    fn deliver(
        &mut self,
        request: FrameRequest,
        sink: &mut dyn FnMut(Frame<'_>) -> ControlFlow<()>,
    ) -> Result<(), Infallible> {
        let (Density::KeyFrames { spacing_s } | Density::Spaced { spacing_s }) = request.density;
        let mut before_s = f64::NEG_INFINITY;
        for (index, video_s) in self.film.times_s().iter().enumerate() {
            let time_s = video_s + self.start_s;
            let wanted = (request.from_s..=request.to_s).contains(&time_s);
            if !wanted || time_s - before_s < spacing_s {
                continue;
            }
            before_s = time_s;
            let picture = self.film.picture(index);
            let frame = Frame {
                time_s,
                width: picture.width,
                height: picture.height,
                luma: &picture.luma,
            };
            if sink(frame).is_break() {
                break;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use meltrange_teaching::scene;

    #[test]
    fn the_engine_reads_a_plain_exercise_near_its_truth() {
        let scene = scene(ExerciseKind::Plain, 3).expect("it is drawn");
        let drawn = Drawn::of(scene).expect("a scene");
        let marks_c = drawn.read_by_engine().expect("it can tell");
        let key = drawn.key().expect("it melts");
        let known_c = [key.first_liquid, key.last_crystal].map(|end| end.temperature_c);
        for (found_c, known_c) in marks_c.iter().zip(known_c) {
            assert!((found_c - known_c).abs() < 0.5, "{marks_c:?}");
        }
    }
}
