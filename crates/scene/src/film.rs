//! A scene made ready to be drawn picture by picture.

use meltrange_physics::{BlockTemperature, Celsius, MeltingError};
use rayon::prelude::*;

use crate::canvas::Canvas;
use crate::course::Horizon;
use crate::heating::{LogLine, block, picture_times_s, temperature_log};
use crate::meter::{METER_STEP_S, Meter};
use crate::spec::Scene;
use crate::view::{Picture, View, Workspace};

/// How many pictures are drawn at once; they are all that is in memory.
const CHUNK: usize = 16;

/// A scene made ready: draw any picture of it, its log and its truth.
#[derive(Debug)]
pub struct Film {
    pub(crate) view: View,
    pub(crate) block: BlockTemperature,
    times_s: Vec<f64>,
    end_s: f64,
    meter: Meter,
}

impl Film {
    /// Make a (checked) scene ready.
    ///
    /// # Errors
    /// [`MeltingError`] when a melting law, a thermal contact or the programme is out of range.
    pub fn new(scene: Scene) -> Result<Self, MeltingError> {
        let block = block(&scene)?;
        let end_s = block.programme_end_s() + scene.programme.tail_s;
        let times_s = picture_times_s(&scene, (end_s - scene.log.video_start_s).max(0.0));
        let view = View::new(scene, &block, Horizon::End(end_s))?;
        Ok(Self {
            meter: meter(&view, end_s),
            view,
            block,
            times_s,
            end_s,
        })
    }

    /// The scene it was made from.
    pub fn scene(&self) -> &Scene {
        &self.view.scene
    }

    /// Video times of the pictures \[s\], rising, whole milliseconds, the first at 0.
    pub fn times_s(&self) -> &[f64] {
        &self.times_s
    }

    /// Log time at which the scene ends \[s\].
    pub fn end_s(&self) -> f64 {
        self.end_s
    }

    /// Block temperature without the thermometer's noise at a log time.
    pub fn block_temperature(&self, log_time_s: f64) -> Celsius {
        self.block.at(log_time_s)
    }

    /// The temperature log.
    pub fn log(&self) -> Vec<LogLine> {
        let last = self.times_s.last().copied().unwrap_or(0.0) + self.view.scene.log.video_start_s;
        temperature_log(&self.view.scene, &self.block, last.max(self.end_s))
    }

    /// Draw one picture by its index in [`Film::times_s`]; the same index gives the same picture.
    ///
    /// # Panics
    /// When the index is not below the number of pictures.
    pub fn picture(&self, index: usize) -> Picture {
        self.draw(index, &mut Workspace::default())
    }

    /// Draw all pictures in order, on all cores, never more than a few in memory.
    ///
    /// # Errors
    /// The first error of `sink`, which ends the drawing.
    pub fn play<E>(&self, sink: &mut dyn FnMut(usize, Picture) -> Result<(), E>) -> Result<(), E> {
        for begin in (0..self.times_s.len()).step_by(CHUNK) {
            let end = (begin + CHUNK).min(self.times_s.len());
            let pictures: Vec<Picture> = (begin..end)
                .into_par_iter()
                .map_init(Workspace::default, |work, index| self.draw(index, work))
                .collect();
            for (offset, picture) in pictures.into_iter().enumerate() {
                sink(begin + offset, picture)?;
            }
        }
        Ok(())
    }

    fn draw(&self, index: usize, work: &mut Workspace) -> Picture {
        let time_s = self.times_s[index] + self.view.scene.log.video_start_s;
        self.view
            .draw((index, time_s), self.meter.gain(time_s), work)
    }
}

/// What the automatic exposure does over the scene.
fn meter(view: &View, end_s: f64) -> Meter {
    let spec = &view.scene.camera;
    let mut meter = Meter::default();
    if spec.auto_exposure <= 0.0 {
        return meter;
    }
    let steps = (end_s / METER_STEP_S).ceil() as usize + 1;
    let means: Vec<f64> = (0..steps)
        .into_par_iter()
        .map_init(Canvas::default, |canvas, step| {
            view.mean_level(canvas, step as f64 * METER_STEP_S)
        })
        .collect();
    means.iter().for_each(|&mean| meter.look(spec, mean));
    meter
}
