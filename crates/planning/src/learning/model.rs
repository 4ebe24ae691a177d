//! A block under a controller: what is learned, and the course it gives.

use super::run_log::RunSample;
use meltrange_physics::{BlockConstants, Celsius, Fan, HeatedBlock};
use serde::{Deserialize, Serialize};

/// The controller is asked this often [s].
const STEP_S: f64 = 1.0;
/// Between two setpoints farther apart than this, the setpoint jumped [°C]; closer, it moved.
const JUMP_C: f64 = 3.0;

/// Whatever controls the power, as far as its doings show: proportional and integral action on the
/// deviation, the integral resting while the power is at a limit, derivative action on the reading, and parts of
/// the power that holds the setpoint and of that which moves it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ControllerModel {
    /// Part of the full power for each degree of deviation [1/°C].
    pub gain_per_c: f64,
    /// In this time the integral gains as much as the proportional part is [s].
    pub reset_s: f64,
    /// Rise of the reading in this time counts as deviation [s].
    pub derivative_s: f64,
    /// Part of the power that holds the setpoint against losses that it foresees, 0 to about 1.
    pub foresight: f64,
    /// Part of the power that moves the setpoint that it foresees, 0 to about 1.
    pub slope_foresight: f64,
}

/// A block and its controller under way.
#[derive(Debug, Clone)]
pub(super) struct Controlled {
    pub block: HeatedBlock,
    controller: ControllerModel,
    integral: f64,
    before_c: f64,
}

impl Controlled {
    /// `None` for constants that no block can have.
    pub fn new(
        constants: BlockConstants,
        controller: ControllerModel,
        start_c: f64,
    ) -> Option<Self> {
        Some(Self {
            block: HeatedBlock::new(constants, Celsius(start_c)).ok()?,
            controller,
            integral: 0.0,
            before_c: start_c,
        })
    }

    /// What its thermometer shows [°C].
    pub fn shown_c(&self) -> f64 {
        self.block.indicated().0
    }

    /// Let `duration_s` pass with the setpoint moving from one value to another, or with the heating off.
    pub fn advance(&mut self, duration_s: f64, setpoint_c: Option<(f64, f64)>, fan: bool) {
        let fan = if fan { Fan::On } else { Fan::Off };
        let Some((from_c, to_c)) = setpoint_c else {
            self.integral = 0.0;
            self.block.advance(duration_s, 0.0, fan);
            self.before_c = self.shown_c();
            return;
        };
        let steps = (duration_s / STEP_S).ceil().max(1.0);
        let step_s = duration_s / steps;
        let slope = (to_c - from_c) / duration_s;
        let mut now_c = from_c;
        for _ in 0..steps as usize {
            let power = self.power(now_c, slope, step_s);
            self.block.advance(step_s, power, fan);
            now_c += slope * step_s;
        }
    }

    fn power(&mut self, setpoint_c: f64, slope_c_per_s: f64, step_s: f64) -> f64 {
        let constants = self.block.constants();
        let full_c_per_s = constants.full_power_rate_c_per_min / 60.0;
        let loss_s = constants.loss_time_constant_min * 60.0;
        let ControllerModel {
            gain_per_c,
            reset_s,
            derivative_s,
            foresight,
            slope_foresight,
        } = self.controller;
        let holding = (setpoint_c - constants.room_c) / loss_s / full_c_per_s;
        let moving = slope_c_per_s / full_c_per_s;
        let shown_c = self.shown_c();
        let rising = (shown_c - self.before_c) / step_s;
        self.before_c = shown_c;
        let deviation_c = setpoint_c - shown_c;
        let asked = foresight * holding
            + slope_foresight * moving
            + gain_per_c * (deviation_c - derivative_s * rising)
            + self.integral;
        let pushes_further =
            (asked >= 1.0 && deviation_c > 0.0) || (asked <= 0.0 && deviation_c < 0.0);
        if !pushes_further {
            self.integral += gain_per_c * deviation_c * step_s / reset_s;
        }
        asked.clamp(0.0, 1.0)
    }
}

/// What the thermometer would have shown at each sample of a log [°C], from `start_c` on.
pub(super) fn course(
    constants: BlockConstants,
    controller: ControllerModel,
    start_c: f64,
    samples: &[RunSample],
) -> Option<Vec<f64>> {
    let mut controlled = Controlled::new(constants, controller, start_c)?;
    let mut shown = Vec::with_capacity(samples.len());
    shown.push(controlled.shown_c());
    for pair in samples.windows(2) {
        let setpoint_c = pair[0].setpoint_c.map(|now_c| {
            let moved = pair[1]
                .setpoint_c
                .filter(|next_c| (next_c - now_c).abs() <= JUMP_C);
            (now_c, moved.unwrap_or(now_c))
        });
        controlled.advance(pair[1].time_s - pair[0].time_s, setpoint_c, pair[0].fan);
        shown.push(controlled.shown_c());
    }
    Some(shown)
}

/// The readings of a lagging, noisy, rounding thermometer reach a threshold before the temperature does.
#[derive(Debug, Clone)]
pub(super) struct Crossing {
    /// Where half of the readings are at the threshold [°C].
    even_c: f64,
    noise_c: f64,
    expected: f64,
}

impl Crossing {
    /// Readings with this noise, in steps of `step_c`, that rise to `threshold_c`.
    pub fn rising(threshold_c: f64, noise_c: f64, step_c: f64) -> Self {
        let shown_c = if step_c > 0.0 {
            ((threshold_c - 1e-6) / step_c).ceil() * step_c - step_c / 2.0
        } else {
            threshold_c
        };
        Self {
            even_c: shown_c,
            noise_c: noise_c.max(1e-3),
            expected: 0.0,
        }
    }

    /// So many readings at a temperature; whether one has reached the threshold more likely than not.
    pub fn reached(&mut self, temperature_c: f64, readings: f64) -> bool {
        let away = (self.even_c - temperature_c) / self.noise_c;
        self.expected += readings * 0.5 * libm::erfc(away / std::f64::consts::SQRT_2);
        self.expected >= std::f64::consts::LN_2
    }
}
