//! A scene on a block that is steered while it runs.

use meltrange_physics::{Celsius, MeltingError};

use crate::course::{BlockCourse, Horizon, Trace};
use crate::meter::{METER_STEP_S, Meter};
use crate::spec::Scene;
use crate::timeline::points_until;
use crate::truth::{TubeTruth, steady_looks_s, tube_truth};
use crate::tube_spec::Content;
use crate::view::{Picture, View, Workspace};

/// A scene whose block temperature comes step by step, for a bench that runs live.
///
/// It draws and measures like a [`Film`](crate::Film); fed with the block temperature of one, it shows the same. What
/// differs because the end is not known:
/// * `programme`, `timing`, `output` and `log` of the scene are not used; the log clock starts at 0 with the stage.
/// * Changes over the recording (`drift_px`, `exposure_drift`, `rotation_deg`, ...) grow to their size within 1200 s
///   and wander on at that size; bubbles rise for 1200 s from their beginning.
/// * A trouble with a temperature of its own comes when the block first reaches it.
/// * The automatic exposure is 2 s late, since it cannot look ahead.
/// * Curves have a point every 0.25 s; between points the view is that of the last one.
/// * Cooling changes nothing that has melted: an undercooled melt stays clear. (In a film whose block swings, powder
///   freezes back a little in every swing; that can move its moments by seconds.) Charring goes on as long as it is hot.
///
/// # Example
/// ```
/// use meltrange_physics::Celsius;
/// use meltrange_scene::{Scene, Stage};
/// let scene = Scene::from_toml("[picture]\nwidth = 160\nheight = 120\n[[tube]]\nmelts_at_c = 122.4\n")?;
/// let mut stage = Stage::new(scene, Celsius(120.0))?;
/// for second in 1..=360 {
///     stage.advance(f64::from(second), Celsius(120.0 + f64::from(second) / 60.0));
/// }
/// assert_eq!(stage.picture().luma.len(), 160 * 120);
/// let last_crystal = stage.truth()[0].last_crystal.ok_or("all has melted")?;
/// assert!((122.4..125.0).contains(&last_crystal.temperature_c));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct Stage {
    view: View,
    trace: Trace,
    meter: Meter,
    work: Workspace,
    /// Number of the next picture.
    index: usize,
}

/// How far the content of a tube is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TubeNow {
    /// Melted fraction, liquid held in pores left out, 0..=1; never falls.
    pub melted_fraction: f64,
    /// Darkness by decomposition, 0..=1.
    pub charred: f64,
}

impl Stage {
    /// Set a (checked) scene on a block at `start`, the tubes in equilibrium with it, at log time 0.
    ///
    /// # Errors
    /// [`MeltingError`] when `start` is no temperature, or a melting law or a thermal contact is out of range.
    pub fn new(scene: Scene, start: Celsius) -> Result<Self, MeltingError> {
        if !(start.0.is_finite() && start.0 > -273.15) {
            return Err(MeltingError::Argument {
                name: "start temperature",
                found: start.0,
                expected: "°C above absolute zero",
            });
        }
        let trace = Trace::new(start);
        let mut stage = Self {
            view: View::new(scene, &trace, Horizon::Open)?,
            trace,
            meter: Meter::default(),
            work: Workspace::default(),
            index: 0,
        };
        stage.look();
        Ok(stage)
    }

    /// Let the block go in a straight line from where it was to `block` at `time_s`.
    ///
    /// # Arguments
    /// * `time_s`: log time \[s\], above that of the last call; otherwise, or when a number is not finite, nothing changes.
    /// * `block`: temperature of the block then; it may rise and fall.
    pub fn advance(&mut self, time_s: f64, block: Celsius) {
        if !self.trace.push(time_s, block) {
            return;
        }
        for tube in self.view.tubes.iter_mut().flatten() {
            tube.go_on(&self.trace, points_until(time_s));
        }
        self.look();
    }

    /// Let the automatic exposure look as often as is due.
    fn look(&mut self) {
        if self.view.scene.camera.auto_exposure <= 0.0 {
            return;
        }
        while self.meter.next_s() <= self.time_s() {
            let mean = self
                .view
                .mean_level(&mut self.work.canvas, self.meter.next_s());
            self.meter.look(&self.view.scene.camera, mean);
        }
    }

    /// The scene it was made from.
    pub fn scene(&self) -> &Scene {
        &self.view.scene
    }

    /// Log time of the last advance \[s\].
    pub fn time_s(&self) -> f64 {
        self.trace.newest().0
    }

    /// Block temperature now.
    pub fn block(&self) -> Celsius {
        self.trace.newest().1
    }

    /// Block temperature at a log time that has passed; outside, that of the nearer end.
    pub fn block_temperature(&self, log_time_s: f64) -> Celsius {
        self.trace.at(log_time_s)
    }

    /// What the camera sees now; every call is another picture with its own noise.
    pub fn picture(&mut self) -> Picture {
        let time_s = self.time_s();
        let gain = self.meter.gain(time_s - METER_STEP_S);
        let picture = self.view.draw((self.index, time_s), gain, &mut self.work);
        self.index += 1;
        picture
    }

    /// How far the content of the tube at `index` is, from 0 at the left; `None` without powder.
    pub fn tube(&self, index: usize) -> Option<TubeNow> {
        let tube = self.view.tubes.get(index)?.as_ref()?;
        (tube.spec.content == Content::Powder).then(|| TubeNow {
            melted_fraction: tube.timeline.melted(self.time_s()),
            charred: tube.timeline.charred(self.time_s()),
        })
    }

    /// What really happened so far, place by place, measured as [`Film::truth`](crate::Film::truth) does, with looks at
    /// every second second of the log clock; video times are log times. A moment that is past by a few seconds stays.
    ///
    /// Draws every tube every 2 s of what has passed, on all cores: some seconds for an hour.
    pub fn truth(&self) -> Vec<TubeTruth> {
        let looks_s = steady_looks_s(self.time_s());
        (0..self.view.tubes.len())
            .map(|index| tube_truth(&self.view, index, &self.trace, &looks_s, 0.0))
            .collect()
    }
}
