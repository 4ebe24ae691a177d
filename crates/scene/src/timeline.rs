//! How far each tube is at any time: melting, wetness and darkness.
//!
//! The first liquid is drawn into the pores and only makes the powder look wet. "Melted" here and
//! in the modules that draw means the part of the melting after that, 0 to 1.

use meltrange_physics::{Celsius, HeatedSample, Kelvin, MeltingError};

use crate::course::{BlockCourse, Horizon};
use crate::heating::{contact, solid};
use crate::random::smooth_step;
use crate::tube_spec::TubeSpec;

/// Spacing of the stored curves \[s\].
pub(crate) const STEP_S: f64 = 0.25;

/// Curves of one tube on a regular grid of log time from 0, as far as the block's course is known.
#[derive(Debug, Clone)]
pub(crate) struct Timeline {
    melted: Vec<f32>,
    charred: Vec<f32>,
    /// Largest melted fraction so far: liquid that has flowed stays where it is.
    peak_melted: Vec<f32>,
    /// Wetness by the liquid in the pores, 0 to 1.
    wetness: Vec<f32>,
    state: State,
    horizon: Horizon,
}

/// Where the next point of the curves goes on from.
#[derive(Debug, Clone)]
struct State {
    sample: HeatedSample,
    exposure: f64,
    peak: f32,
    most_liquid: f64,
}

/// How many points a curve has that reaches to `time_s`.
pub(crate) fn points_until(time_s: f64) -> usize {
    (time_s / STEP_S).floor() as usize + 1
}

/// How many points a curve has that reaches beyond `time_s`.
pub(crate) fn points_beyond(time_s: f64) -> usize {
    (time_s / STEP_S).ceil().max(1.0) as usize + 1
}

impl Timeline {
    /// A sample in equilibrium with the block at time 0; no point yet.
    pub(crate) fn new(
        tube: &TubeSpec,
        block: &dyn BlockCourse,
        horizon: Horizon,
    ) -> Result<Self, MeltingError> {
        let sample = HeatedSample::new(contact(tube)?, solid(tube)?, place(tube, block, 0.0));
        let state = State {
            sample,
            exposure: 0.0,
            peak: 0.0,
            most_liquid: 0.0,
        };
        Ok(Self {
            melted: Vec::new(),
            charred: Vec::new(),
            peak_melted: Vec::new(),
            wetness: Vec::new(),
            state,
            horizon,
        })
    }

    /// Number of points so far.
    pub(crate) fn points(&self) -> usize {
        self.melted.len()
    }

    /// Add the next point; gives its time \[s\].
    pub(crate) fn push(&mut self, tube: &TubeSpec, block: &dyn BlockCourse) -> f64 {
        let time_s = self.melted.len() as f64 * STEP_S;
        let state = &mut self.state;
        if time_s > 0.0 {
            let before = place(tube, block, time_s - STEP_S);
            state
                .sample
                .advance(before, place(tube, block, time_s), STEP_S);
        }
        let liquid = state.sample.melted_fraction();
        state.most_liquid = state.most_liquid.max(liquid);
        let held = tube.held_fraction;
        let melted = ((liquid - held).max(0.0) / (1.0 - held)) as f32;
        state.peak = state.peak.max(melted);
        let wetness = smooth_step(0.5 * held, held + 0.35, state.most_liquid);
        self.wetness.push(wetness as f32);
        self.melted.push(match self.horizon {
            Horizon::End(_) => melted,
            // A block that is steered may cool again. The melt then stays clear, as an undercooled melt in a
            // capillary commonly does; the grains do not grow back.
            Horizon::Open => state.peak,
        });
        self.peak_melted.push(state.peak);
        let charred = tube.charring.map_or(0.0, |char| {
            let above_c = Celsius::from(place(tube, block, time_s)).0 - char.at_c;
            state.exposure +=
                STEP_S / char.time_constant_s * (above_c / char.width_c).min(20.0).exp();
            char.strength * (1.0 - (-state.exposure).exp())
        });
        self.charred.push(charred as f32);
        time_s
    }

    /// Melted fraction.
    pub(crate) fn melted(&self, time_s: f64) -> f64 {
        sample_curve(&self.melted, time_s)
    }

    /// Largest melted fraction up to now.
    pub(crate) fn peak_melted(&self, time_s: f64) -> f64 {
        sample_curve(&self.peak_melted, time_s)
    }

    /// Wetness by the liquid in the pores, 0 to 1, never falling.
    pub(crate) fn wetness(&self, time_s: f64) -> f64 {
        sample_curve(&self.wetness, time_s)
    }

    /// Darkness by decomposition, 0 to 1.
    pub(crate) fn charred(&self, time_s: f64) -> f64 {
        sample_curve(&self.charred, time_s)
    }

    /// First time at which the melted fraction reaches `fraction` \[s\]; `None` when it has not so far.
    pub(crate) fn first_at_melted(&self, fraction: f64) -> Option<f64> {
        let index = self
            .peak_melted
            .partition_point(|&melted| f64::from(melted) < fraction);
        if index >= self.peak_melted.len() {
            return None;
        }
        if index == 0 {
            return Some(0.0);
        }
        let (before, after) = (
            f64::from(self.peak_melted[index - 1]),
            f64::from(self.peak_melted[index]),
        );
        let part = if after > before {
            (fraction - before) / (after - before)
        } else {
            1.0
        };
        Some((index as f64 - 1.0 + part) * STEP_S)
    }
}

/// Temperature of the block where the tube stands.
fn place(tube: &TubeSpec, block: &dyn BlockCourse, time_s: f64) -> Kelvin {
    Kelvin::from(Celsius(block.at(time_s).0 + tube.place_offset_c))
}

fn sample_curve(curve: &[f32], time_s: f64) -> f64 {
    let position = (time_s / STEP_S).clamp(0.0, curve.len() as f64 - 1.0);
    let index = (position as usize).min(curve.len().saturating_sub(2));
    let part = position - index as f64;
    let next = curve[(index + 1).min(curve.len() - 1)];
    f64::from(curve[index]) * (1.0 - part) + f64::from(next) * part
}
