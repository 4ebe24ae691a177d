//! A small simulated recording in memory.

use std::convert::Infallible;
use std::ops::ControlFlow;
use std::sync::OnceLock;

use meltrange_physics::{LogSample, TemperatureLog};
use meltrange_reading::{Density, Frame, FrameRequest, FrameSource, SourceInfo};
use meltrange_scene::{Film, Scene, Truth};

/// Pictures, log and truth of one scene.
#[derive(Clone)]
pub(crate) struct Recorded {
    pub width: usize,
    pub height: usize,
    pub pictures: Vec<(f64, Vec<u8>)>,
    pub log: TemperatureLog,
    pub truth: Truth,
    /// Every how many pictures one decodes on its own, as in a compressed video.
    pub key_every: Option<usize>,
}

/// One plain tube that melts near 122.4 °C, heated at 1 °C/min, one picture a second.
pub(crate) fn plain() -> &'static Recorded {
    static PLAIN: OnceLock<Recorded> = OnceLock::new();
    PLAIN.get_or_init(|| one_tube(120.5, 1.0))
}

/// The same from four degrees lower, filmed at three pictures a second.
pub(crate) fn densely_filmed() -> Recorded {
    one_tube(116.5, 3.0)
}

/// One tube whose powder slides down by a tenth at 40 s, well before it melts.
pub(crate) fn settling() -> Recorded {
    Recorded::of(
        r#"
            seed = 7
            [picture]
            width = 320
            height = 240
            [programme]
            start_c = 119.5
            end_c = 121.0
            rate_c_per_min = 1.0
            [[tube]]
            melts_at_c = 122.4
            settling = [{ at_s = 40.0, drop_fraction = 0.1, above_fraction = 0.3 }]
            "#,
    )
}

/// Slightly impure powder in a tube filled from the side: its heap stands half a bore higher on the right.
pub(crate) fn heaped() -> Recorded {
    Recorded::of(
        r#"
            seed = 77
            [timing]
            frames_per_s = 0.5
            [picture]
            width = 240
            height = 330
            bore_px = 60.0
            [programme]
            start_c = 119.5
            end_c = 123.6
            soak_s = 5.0
            rate_c_per_min = 1.0
            [[tube]]
            melts_at_c = 122.35
            impurity_mole_fraction = 0.003
            "#,
    )
}

/// Impure powder against the light, heated slowly: it melts along the wall first, for minutes.
pub(crate) fn slow_along_the_wall() -> Recorded {
    Recorded::of(
        r#"
            seed = 1
            [timing]
            frames_per_s = 0.3
            [picture]
            width = 320
            height = 240
            light = "back"
            [programme]
            start_c = 118.0
            end_c = 123.4
            soak_s = 5.0
            rate_c_per_min = 0.5
            [[tube]]
            melts_at_c = 122.4
            impurity_mole_fraction = 0.006
            wall_first = 0.9
            "#,
    )
}

fn one_tube(start_c: f64, frames_per_s: f64) -> Recorded {
    Recorded::of(&format!(
        r#"
            seed = 7
            [timing]
            frames_per_s = {frames_per_s:?}
            [picture]
            width = 320
            height = 240
            [programme]
            start_c = {start_c:?}
            end_c = 124.5
            rate_c_per_min = 1.0
            [[tube]]
            melts_at_c = 122.4
            "#
    ))
}

impl Recorded {
    fn of(toml: &str) -> Self {
        let film = Film::new(Scene::from_toml(toml).expect("a sound scene")).expect("it can melt");
        let mut pictures = Vec::new();
        let mut size = (0, 0);
        film.play::<Infallible>(&mut |index, picture| {
            size = (picture.width, picture.height);
            pictures.push((film.times_s()[index], picture.luma));
            Ok(())
        })
        .expect("nothing refuses pictures");
        let samples = film
            .log()
            .iter()
            .map(|line| LogSample {
                time_s: line.time_s,
                temperature_c: line.temperature_c,
            })
            .collect();
        Self {
            width: size.0,
            height: size.1,
            pictures,
            log: TemperatureLog::new(samples).expect("times rise"),
            truth: film.truth(),
            key_every: None,
        }
    }

    /// The same with every picture changed.
    pub(crate) fn changed(&self, change: impl Fn(usize, usize, u8) -> u8) -> Self {
        let mut other = self.clone();
        for (_, luma) in &mut other.pictures {
            for (i, value) in luma.iter_mut().enumerate() {
                *value = change(i % self.width, i / self.width, *value);
            }
        }
        other
    }

    pub(crate) fn frames(&self) -> impl Iterator<Item = Frame<'_>> {
        self.pictures.iter().map(|(time_s, luma)| Frame {
            time_s: *time_s,
            width: self.width,
            height: self.height,
            luma,
        })
    }
}

impl FrameSource for Recorded {
    type Error = Infallible;

    fn info(&self) -> SourceInfo {
        let (start_s, end_s) = (self.pictures[0].0, self.pictures[self.pictures.len() - 1].0);
        SourceInfo {
            width: self.width,
            height: self.height,
            source_px_per_px: 1.0,
            start_s,
            end_s,
            frame_interval_s: (end_s - start_s) / (self.pictures.len() - 1) as f64,
            cheap_key_frames: self.key_every.is_some(),
        }
    }

    fn deliver(
        &mut self,
        request: FrameRequest,
        sink: &mut dyn FnMut(Frame<'_>) -> ControlFlow<()>,
    ) -> Result<(), Infallible> {
        let (every, spacing_s) = match request.density {
            Density::KeyFrames { spacing_s } => (self.key_every.unwrap_or(1), spacing_s),
            Density::Spaced { spacing_s } => (1, spacing_s),
        };
        let mut before_s = f64::NEG_INFINITY;
        for frame in self.frames().step_by(every) {
            let wanted = (request.from_s..=request.to_s).contains(&frame.time_s);
            if wanted && frame.time_s - before_s >= spacing_s {
                before_s = frame.time_s;
                if sink(frame).is_break() {
                    break;
                }
            }
        }
        Ok(())
    }
}
