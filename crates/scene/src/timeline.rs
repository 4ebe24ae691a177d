//! How far each tube is at any time: melting, darkness, and the strength of each trouble.
//!
//! The first liquid is drawn into the pores and only makes the powder look wet. "Melted" here and
//! in the modules that draw means the part of the melting after that, 0 to 1.

use meltrange_physics::{BlockTemperature, Celsius, HeatedSample, Kelvin, MeltingError};

use crate::heating::{contact, solid};
use crate::random::smooth_step;
use crate::tube_spec::{Onset, TubeSpec};

/// Spacing of the stored curves \[s\].
const STEP_S: f64 = 0.25;
/// A trouble without a time or a temperature of its own comes this far below melting \[°C\].
const DEFAULT_BELOW_MELTING_C: f64 = 2.0;

/// Curves of one tube on a regular grid of log time from 0.
#[derive(Debug, Clone)]
pub(crate) struct Timeline {
    melted: Vec<f32>,
    charred: Vec<f32>,
    /// Largest melted fraction so far: liquid that has flowed stays where it is.
    peak_melted: Vec<f32>,
    /// Wetness by the liquid in the pores, 0 to 1.
    wetness: Vec<f32>,
}

impl Timeline {
    pub(crate) fn new(
        tube: &TubeSpec,
        block: &BlockTemperature,
        end_s: f64,
    ) -> Result<Self, MeltingError> {
        let at = |time_s: f64| Kelvin::from(Celsius(block.at(time_s).0 + tube.place_offset_c));
        let mut sample = HeatedSample::new(contact(tube)?, solid(tube)?, at(0.0));
        let steps = (end_s / STEP_S).ceil().max(1.0) as usize + 1;
        let mut timeline = Self {
            melted: Vec::with_capacity(steps),
            charred: Vec::with_capacity(steps),
            peak_melted: Vec::with_capacity(steps),
            wetness: Vec::with_capacity(steps),
        };
        let mut exposure = 0.0;
        let mut peak: f32 = 0.0;
        let mut most_liquid: f64 = 0.0;
        for step in 0..steps {
            let time_s = step as f64 * STEP_S;
            let liquid = sample.melted_fraction();
            most_liquid = most_liquid.max(liquid);
            let held = tube.held_fraction;
            let melted = ((liquid - held).max(0.0) / (1.0 - held)) as f32;
            peak = peak.max(melted);
            let wetness = smooth_step(0.5 * held, held + 0.35, most_liquid);
            timeline.wetness.push(wetness as f32);
            timeline.melted.push(melted);
            timeline.peak_melted.push(peak);
            let charred = tube.charring.map_or(0.0, |char| {
                let above_c = Celsius::from(at(time_s)).0 - char.at_c;
                exposure +=
                    STEP_S / char.time_constant_s * (above_c / char.width_c).min(20.0).exp();
                char.strength * (1.0 - (-exposure).exp())
            });
            timeline.charred.push(charred as f32);
            sample.advance(at(time_s), at(time_s + STEP_S), STEP_S);
        }
        Ok(timeline)
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

    /// First time at which the melted fraction reaches `fraction` \[s\].
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

fn sample_curve(curve: &[f32], time_s: f64) -> f64 {
    let position = (time_s / STEP_S).clamp(0.0, curve.len() as f64 - 1.0);
    let index = (position as usize).min(curve.len().saturating_sub(2));
    let part = position - index as f64;
    let next = curve[(index + 1).min(curve.len() - 1)];
    f64::from(curve[index]) * (1.0 - part) + f64::from(next) * part
}

/// When a trouble comes: its time, or when the block first reaches its temperature; never if it does not.
pub(crate) fn trouble_time_s(
    at_s: Option<f64>,
    at_c: Option<f64>,
    tube: &TubeSpec,
    block: &BlockTemperature,
    end_s: f64,
) -> Option<f64> {
    if let Some(at_s) = at_s {
        return Some(at_s);
    }
    let at_c = at_c.unwrap_or(tube.melts_at_c - DEFAULT_BELOW_MELTING_C);
    let steps = (end_s / STEP_S).ceil() as usize;
    (0..=steps)
        .map(|step| step as f64 * STEP_S)
        .find(|&time_s| block.at(time_s).0 >= at_c)
}

/// A trouble with its time worked out.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Swell {
    pub(crate) start_s: f64,
    pub(crate) duration_s: f64,
    pub(crate) strength: f64,
}

impl Swell {
    pub(crate) fn new(
        onset: Option<Onset>,
        tube: &TubeSpec,
        block: &BlockTemperature,
        end_s: f64,
    ) -> Option<Self> {
        let onset = onset?;
        let start_s = trouble_time_s(onset.at_s, onset.at_c, tube, block, end_s)?;
        Some(Self {
            start_s,
            duration_s: onset.duration_s,
            strength: onset.strength,
        })
    }

    /// Strength by now, growing from 0.
    pub(crate) fn at(&self, time_s: f64) -> f64 {
        let end_s = self.start_s + self.duration_s.max(1e-3);
        self.strength * smooth_step(self.start_s, end_s, time_s)
    }
}
