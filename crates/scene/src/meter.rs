//! The automatic exposure of the camera.

use crate::camera_spec::CameraSpec;

/// Spacing at which it looks at the scene \[s\].
pub(crate) const METER_STEP_S: f64 = 2.0;

/// Gain every [`METER_STEP_S`] from time 0, as far as it has been looked.
#[derive(Debug, Clone, Default)]
pub(crate) struct Meter {
    /// Mean level at the first look.
    first: f64,
    gain: Vec<f64>,
}

impl Meter {
    /// Take the mean level of the next look.
    pub(crate) fn look(&mut self, spec: &CameraSpec, mean: f64) {
        let follow = 1.0 - (-METER_STEP_S / spec.auto_exposure_s.max(0.1)).exp();
        if self.gain.is_empty() {
            self.first = mean.max(1.0);
        }
        let wanted = (self.first / mean.max(1.0))
            .powf(spec.auto_exposure)
            .clamp(0.4, 2.5);
        let before = self.gain.last().copied().unwrap_or(1.0);
        self.gain.push(before + (wanted - before) * follow);
    }

    /// Time of the next look \[s\].
    pub(crate) fn next_s(&self) -> f64 {
        self.gain.len() as f64 * METER_STEP_S
    }

    /// Gain at a time; 1 before there is anything to go by.
    pub(crate) fn gain(&self, time_s: f64) -> f64 {
        if self.gain.len() < 2 {
            return 1.0;
        }
        let position = (time_s / METER_STEP_S).clamp(0.0, self.gain.len() as f64 - 1.001);
        let (index, part) = (position as usize, position.fract());
        self.gain[index] * (1.0 - part) + self.gain[index + 1] * part
    }
}
