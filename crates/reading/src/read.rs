//! Reading a recording as a whole.

use std::ops::ControlFlow;

use meltrange_physics::TemperatureLog;

use crate::frame::{Density, Frame, FrameRequest, FrameSource};
use crate::remarks;
use crate::result::{Outcome, Reading, TubeFrame, TubeReading};
use crate::scout;
use crate::tube_reading::{TubeStory, read_tube};
use crate::watch::{Fitness, KeptFrame, REFERENCE_FRAMES, Seen, Watch};

/// What the caller knows beforehand.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ReadOptions {
    /// How many tubes there are, 1..3; `None`: find out.
    pub tubes: Option<usize>,
}

/// Why a recording could not be read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReadError<E: std::error::Error + 'static> {
    /// The source failed.
    #[error("the pictures could not be read")]
    Source(#[source] E),
    /// No column of powder stands out.
    #[error("no tubes were found: {seen}")]
    NoTubes {
        /// What was seen instead.
        seen: String,
        /// The picture looked at, `height × width`, row-major, 0..=255.
        luma: Vec<u8>,
        /// Its columns.
        width: usize,
        /// Its rows.
        height: usize,
        /// Its time [s], log clock.
        time_s: f64,
    },
    /// Pictures and log have no time in common.
    #[error(
        "pictures and temperature log do not overlap in time: pictures {pictures_from_s:.1} s to {pictures_to_s:.1} s, log {log_from_s:.1} s to {log_to_s:.1} s"
    )]
    NoOverlap {
        /// First picture [s], log clock.
        pictures_from_s: f64,
        /// Last picture [s], log clock.
        pictures_to_s: f64,
        /// First log sample [s].
        log_from_s: f64,
        /// Last log sample [s].
        log_to_s: f64,
    },
    /// The temperature only falls.
    #[error(
        "the temperature falls throughout, from {from_c:.1} °C to {to_c:.1} °C; a melting range is read while heating"
    )]
    Falling {
        /// At the start [°C].
        from_c: f64,
        /// At the end [°C].
        to_c: f64,
    },
    /// Too few pictures to tell anything.
    #[error("only {found} picture(s) lie within the temperature log; at least {needed} are needed")]
    TooFewFrames {
        /// How many.
        found: usize,
        /// How many are needed.
        needed: usize,
    },
}

/// Temperature step between pictures that is close enough [°C].
const STEP_C: f64 = 0.012;
/// Most pictures kept at once: bounds the memory.
const MOST_FRAMES: usize = 3600;
/// Most key frames looked at while scouting.
const MOST_SCOUTS: usize = 240;
/// Recordings shorter than this are looked at in full [s].
const SHORTEST_TO_SCOUT_S: f64 = 60.0;
/// A span is worth confining to below this part of the whole.
const WORTH_CONFINING: f64 = 0.85;
/// Pictures tried for the reference before scouting is given up.
const FIRST_LOOK_FRAMES: usize = 40;
/// Scouting's part of the progress shown.
const SCOUTING_SHARE: f64 = 0.1;
/// Fewest pictures that can be read.
const FEWEST_FRAMES: usize = 8;

/// Read a recording: tubes, moments, remarks.
///
/// # Errors
/// [`ReadError`]; whatever cannot be told of a tube is said in its reading instead.
pub fn read_recording<S: FrameSource>(
    source: &mut S,
    log: &TemperatureLog,
    options: &ReadOptions,
    progress: &mut dyn FnMut(f64),
) -> Result<Reading, ReadError<S::Error>>
where
    S::Error: std::error::Error + 'static,
{
    let info = source.info();
    let (log_from_s, log_to_s) = log.span_s();
    let no_overlap = |from: f64, to: f64| ReadError::NoOverlap {
        pictures_from_s: from,
        pictures_to_s: to,
        log_from_s,
        log_to_s,
    };
    let (from_s, to_s) = (info.start_s.max(log_from_s), info.end_s.min(log_to_s));
    if to_s <= from_s && info.end_s.is_finite() {
        return Err(no_overlap(info.start_s, info.end_s));
    }
    refuse_falling(log, from_s, to_s)?;
    let whole = Span {
        from_s,
        to_s: to_s.max(from_s),
    };
    let mut gathering = Gathering::new(options.tubes);
    let close = scout(source, log, whole, &mut gathering, progress)
        .map_err(ReadError::Source)?
        .unwrap_or(whole);
    let request = FrameRequest {
        from_s: close.from_s,
        to_s: close.to_s,
        density: Density::Spaced {
            spacing_s: spacing_for(log, close),
        },
    };
    source
        .deliver(request, &mut |frame| {
            progress(SCOUTING_SHARE + (1.0 - SCOUTING_SHARE) * close.part(frame.time_s));
            gathering.take(&frame);
            ControlFlow::Continue(())
        })
        .map_err(ReadError::Source)?;
    gathering.finish();
    if gathering.frames == 0 {
        return Err(no_overlap(info.start_s, info.end_s));
    }
    if gathering.frames < FEWEST_FRAMES {
        return Err(ReadError::TooFewFrames {
            found: gathering.frames,
            needed: FEWEST_FRAMES,
        });
    }
    progress(1.0);
    let Some(watch) = gathering.watch else {
        let frame = gathering.sample.unwrap_or_else(|| KeptFrame {
            time_s: from_s,
            width: 0,
            height: 0,
            luma: Vec::new(),
        });
        return Err(ReadError::NoTubes {
            seen: describe(&frame),
            luma: frame.luma,
            width: frame.width,
            height: frame.height,
            time_s: frame.time_s,
        });
    };
    Ok(assemble(
        &watch,
        &gathering.scouts,
        &gathering.seen,
        log,
        info.source_px_per_px,
        gathering.frames,
    ))
}

fn refuse_falling<E: std::error::Error + 'static>(
    log: &TemperatureLog,
    from_s: f64,
    to_s: f64,
) -> Result<(), ReadError<E>> {
    let within: Vec<f64> = log
        .samples()
        .iter()
        .filter(|s| s.time_s >= from_s && s.time_s <= to_s)
        .map(|s| s.temperature_c)
        .collect();
    let (Some(&first), Some(&last)) = (within.first(), within.last()) else {
        return Ok(());
    };
    let highest = within.iter().copied().fold(f64::MIN, f64::max);
    if last < first - 0.5 && highest < first + 0.3 {
        return Err(ReadError::Falling {
            from_c: first,
            to_c: last,
        });
    }
    Ok(())
}

/// A span of time [s], log clock.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Span {
    from_s: f64,
    to_s: f64,
}

impl Span {
    fn length_s(self) -> f64 {
        (self.to_s - self.from_s).max(1e-6)
    }

    fn part(self, time_s: f64) -> f64 {
        ((time_s - self.from_s) / self.length_s()).clamp(0.0, 1.0)
    }
}

/// Go through the key frames of a dense recording and find the span worth a close look.
///
/// `None`: look at everything, because pictures are few anyway, key frames are dear or too few, or
/// they show nothing that could be confined. What was seen on the way stays in `gathering` only when
/// a span was found.
fn scout<S: FrameSource>(
    source: &mut S,
    log: &TemperatureLog,
    whole: Span,
    gathering: &mut Gathering,
    progress: &mut dyn FnMut(f64),
) -> Result<Option<Span>, S::Error> {
    let info = source.info();
    let dense = info.frame_interval_s < 0.6 * spacing_for(log, whole);
    if !info.cheap_key_frames || !dense || whole.length_s() < SHORTEST_TO_SCOUT_S {
        return Ok(None);
    }
    // The reference picture and the tubes come from the very first pictures, before anything melts.
    let start = FrameRequest {
        from_s: whole.from_s,
        to_s: whole.to_s,
        density: Density::Spaced { spacing_s: 0.0 },
    };
    let mut left = FIRST_LOOK_FRAMES;
    source.deliver(start, &mut |frame| {
        gathering.take(&frame);
        left -= 1;
        if left == 0 || gathering.watch.is_some() {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    })?;
    if gathering.watch.is_none() {
        gathering.forget();
        return Ok(None);
    }
    let first = std::mem::take(&mut gathering.seen);
    let spacing_s = whole.length_s() / MOST_SCOUTS as f64;
    let keys = FrameRequest {
        density: Density::KeyFrames { spacing_s },
        ..start
    };
    source.deliver(keys, &mut |frame| {
        progress(SCOUTING_SHARE * whole.part(frame.time_s));
        gathering.take(&frame);
        ControlFlow::Continue(())
    })?;
    let span = gathering
        .watch
        .as_ref()
        .filter(|_| gathering.seen.len() >= scout::FEWEST_SCOUTS)
        .and_then(|watch| scout::close_span(watch, &gathering.seen, log))
        .map(|(from_s, to_s)| Span {
            from_s: from_s.max(whole.from_s),
            to_s: to_s.min(whole.to_s),
        })
        .filter(|span| span.length_s() < WORTH_CONFINING * whole.length_s());
    if span.is_none() {
        gathering.forget();
    } else {
        gathering.scouts = first;
        gathering.scouts.append(&mut gathering.seen);
    }
    Ok(span)
}

/// Close enough that a step is small beside what the eye or the engine can tell, within the memory's bound.
fn spacing_for(log: &TemperatureLog, span: Span) -> f64 {
    let rise_c = match (log.at(span.from_s), log.at(span.to_s)) {
        (Some(a), Some(b)) => (b.temperature_c - a.temperature_c).abs(),
        _ => 0.0,
    };
    let rate_c_per_s = (rise_c / span.length_s()).max(1e-4);
    (STEP_C / rate_c_per_s)
        .clamp(0.1, 1.0)
        .max(span.length_s() / MOST_FRAMES as f64)
}

/// Collects what each frame says until the recording is over.
struct Gathering {
    wanted: Option<usize>,
    early: Vec<KeptFrame>,
    watch: Option<Watch>,
    seen: Vec<Seen>,
    /// Seen while scouting, outside the close look; for remarks only.
    scouts: Vec<Seen>,
    sample: Option<KeptFrame>,
    frames: usize,
    size: Option<(usize, usize)>,
}

impl Gathering {
    fn new(wanted: Option<usize>) -> Self {
        Self {
            wanted,
            early: Vec::new(),
            watch: None,
            seen: Vec::new(),
            scouts: Vec::new(),
            sample: None,
            frames: 0,
            size: None,
        }
    }

    fn take(&mut self, frame: &Frame<'_>) {
        if *self.size.get_or_insert((frame.width, frame.height)) != (frame.width, frame.height) {
            return;
        }
        self.frames += 1;
        match &mut self.watch {
            Some(watch) => {
                let seen = watch.look(frame);
                self.seen.push(seen);
            }
            None => {
                if self.sample.is_none() || self.frames.is_multiple_of(50) {
                    self.sample = Some(KeptFrame::of(frame));
                }
                self.early.push(KeptFrame::of(frame));
                if self.early.len() >= REFERENCE_FRAMES {
                    self.set_up();
                }
            }
        }
    }

    fn set_up(&mut self) {
        self.watch = Watch::start(&self.early, self.wanted);
        if let Some(watch) = &mut self.watch {
            self.seen
                .extend(self.early.drain(..).map(|f| watch.look(&f.borrow())));
        } else {
            // Nothing yet: perhaps a hand or the dark before the lamp; go on with later pictures.
            self.early.remove(0);
        }
    }

    /// Start over, as if nothing had been seen.
    fn forget(&mut self) {
        *self = Self::new(self.wanted);
    }

    fn finish(&mut self) {
        if self.watch.is_none() && !self.early.is_empty() {
            self.set_up();
        }
    }
}

fn describe(frame: &KeptFrame) -> String {
    if frame.luma.is_empty() {
        return "no picture".to_owned();
    }
    let (low, high) = (
        frame.luma.iter().min().copied().unwrap_or(0),
        frame.luma.iter().max().copied().unwrap_or(0),
    );
    let mean = frame.luma.iter().map(|&v| f64::from(v)).sum::<f64>() / frame.luma.len() as f64;
    let what = if high < 24 {
        "the picture is all but black"
    } else if low > 231 {
        "the picture is all but white"
    } else if high - low < 24 {
        "the picture is all of one tone"
    } else {
        "nothing in the picture looks like powder in an upright tube with clear glass above and beside it"
    };
    format!(
        "{what} (brightness {low} to {high} of 255, mean {mean:.0}, {} × {} px, at {:.1} s)",
        frame.width, frame.height, frame.time_s
    )
}

fn assemble(
    watch: &Watch,
    scouts: &[Seen],
    seen: &[Seen],
    log: &TemperatureLog,
    source_px_per_px: f64,
    frames_read: usize,
) -> Reading {
    let scene = &watch.scene;
    let looked_closely_from_s = seen.first().map_or(f64::MAX, |s| s.time_s);
    let all: Vec<&Seen> = scouts
        .iter()
        .filter(|s| s.time_s < looked_closely_from_s)
        .chain(seen)
        .collect();
    let stories: Vec<Option<TubeStory>> = (0..scene.tubes.len())
        .map(|k| {
            if !scene.tubes[k].filled {
                return None;
            }
            let patches: Vec<(f64, &[u8])> = seen
                .iter()
                .filter(|s| s.fitness[k] == Fitness::Good)
                .map(|s| (s.time_s, s.patches[k].as_slice()))
                .collect();
            let watched_from_s = all.first().map_or(f64::MAX, |s| s.time_s);
            read_tube(
                &watch.grids[k],
                scene.lighting,
                &patches,
                log,
                watched_from_s,
            )
        })
        .collect();
    let mut tubes = Vec::new();
    for (k, (tube, story)) in scene.tubes.iter().zip(&stories).enumerate() {
        let source = |v: f32| f64::from(v) * source_px_per_px;
        let middle_y = 0.5 * (tube.top_y_px + tube.bottom_y_px);
        let axis = tube.axis_at(middle_y);
        let frame = TubeFrame {
            left_px: source(axis - 0.6 * tube.bore_px),
            right_px: source(axis + 0.6 * tube.bore_px),
            column_top_px: source(tube.top_y_px),
            bottom_px: source(tube.bottom_y_px),
        };
        let mut reading = TubeReading {
            tube: k + 1,
            x_px: source(axis + 0.5) - 0.5,
            frame,
            outcome: Outcome::Empty,
            first_liquid: None,
            last_crystal: None,
            levels: Vec::new(),
            heating_rate_c_per_min: None,
            remarks: Vec::new(),
            curve: Vec::new(),
        };
        if let Some(story) = story {
            reading.outcome = story.outcome;
            reading.first_liquid = story.first_liquid;
            reading.last_crystal = story.last_crystal;
            reading.levels.clone_from(&story.levels);
            reading.heating_rate_c_per_min = story.heating_rate_c_per_min;
            reading.curve.clone_from(&story.curve);
        } else if tube.filled {
            // Nothing to tell it by: no liquid was seen, and a remark says why.
            reading.outcome = Outcome::Unmelted;
        }
        reading.remarks = remarks::of_tube(k, tube, story.as_ref(), &all);
        tubes.push(reading);
    }
    let quality = remarks::quality(&tubes, &stories, scene, log);
    Reading {
        tubes,
        quality,
        frames_read,
    }
}
