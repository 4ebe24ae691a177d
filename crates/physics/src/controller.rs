//! A controller that makes a heated block follow a setpoint.

use std::collections::VecDeque;

use crate::block::{BlockConstants, Fan};
use crate::{Celsius, MeltingError};

/// Least delay that the tuning reckons with \[s\]; a block without any would ask for endless gain.
const LEAST_DELAY_S: f64 = 1.0;
/// The fan comes on so far above the setpoint and goes off again so far above it \[°C\]. A heating that
/// went a little too far does not reach the first; a programme that cools does.
const FAN_ON_ABOVE_C: f64 = 2.0;
const FAN_OFF_ABOVE_C: f64 = 0.3;

/// What the block is asked for at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// Where the block should be.
    pub setpoint: Celsius,
    /// How fast the setpoint moves \[°C/min\]; negative when cooling.
    pub slope_c_per_min: f64,
}

/// What the controller does about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// Part of the full power, 0..=1.
    pub power_fraction: f64,
    /// Whether the fan blows.
    pub fan: Fan,
}

/// Proportional-integral control with feed-forward, clamping against wind-up.
///
/// u = u_ff + K·(r − y) + I,  u_ff = (β + (s − T_room)/τ)/q,  dI/dt = (K/T_i)·(r − y)
///
/// with s the setpoint, β its slope, q and τ of [`BlockConstants`], y the indicated temperature and r what the
/// thermometer would indicate on a block that followed as well as its dead time θ allows: s, θ later, through the
/// thermometer's lag τ_s. Feedback thus acts only on what the constants do not foresee. A ramp is followed θ·β
/// behind, at the exact rate.
///
/// Tuning by simple internal model control for a first order plus dead time with the closed loop as fast
/// as the delay d = θ + τ_s: K = 1/(2 d q), T_i = min(τ, 8 d). The integral rests while the power is at a limit and the
/// deviation pushes it further.
///
/// The fan is a two-position controller with hysteresis: on from 2 °C above what is asked for, off below 0.3 °C; no
/// power meanwhile.
///
/// # Source
/// K. J. Åström, T. Hägglund, PID Controllers: Theory, Design, and Tuning, ISA 1995 (feed-forward from a model,
/// anti-wind-up by conditional integration); S. Skogestad, J. Process Control 13 (2003) 291 (tuning). Both cited from
/// memory.
#[derive(Debug, Clone, PartialEq)]
pub struct SetpointController {
    constants: BlockConstants,
    integral: f64,
    fan: Fan,
    clock_s: f64,
    /// Setpoints of the last dead time, each with its time \[s, °C\].
    setpoints: VecDeque<(f64, f64)>,
    /// The setpoint after the dead time, and what the thermometer would show of it \[°C\].
    expected_c: Option<(f64, f64)>,
}

impl SetpointController {
    /// A controller for a block with these constants.
    ///
    /// # Errors
    /// [`MeltingError`] names a constant that is out of range.
    pub fn new(constants: BlockConstants) -> Result<Self, MeltingError> {
        Ok(Self {
            constants: constants.checked()?,
            integral: 0.0,
            fan: Fan::Off,
            clock_s: 0.0,
            setpoints: VecDeque::new(),
            expected_c: None,
        })
    }

    /// Decide on power and fan until the next call.
    ///
    /// # Arguments
    /// * `demand`: setpoint and slope now.
    /// * `indicated`: what the thermometer shows now.
    /// * `step_s`: time since the last call \[s\]; a regular 0.1 to 2 s suits a block with some seconds of dead time.
    ///
    /// # Returns
    /// No power and no fan while `indicated`, the setpoint or the slope is not a finite number.
    pub fn update(&mut self, demand: Demand, indicated: Celsius, step_s: f64) -> Drive {
        let (setpoint_c, slope) = (demand.setpoint.0, demand.slope_c_per_min);
        if !(setpoint_c.is_finite() && slope.is_finite() && indicated.0.is_finite()) {
            return Drive {
                power_fraction: 0.0,
                fan: Fan::Off,
            };
        }
        let step_s = if step_s.is_finite() {
            step_s.max(0.0)
        } else {
            0.0
        };
        let constants = self.constants;
        let full = constants.full_power_rate_c_per_min / 60.0;
        let loss_s = constants.loss_time_constant_s(Fan::Off);
        let delay_s = (constants.dead_time_s + constants.sensor_time_constant_s).max(LEAST_DELAY_S);
        let gain = 1.0 / (2.0 * delay_s * full);
        let reset_s = loss_s.min(8.0 * delay_s);

        let deviation_c = self.expect(setpoint_c, step_s) - indicated.0;
        let foreseen = (slope / 60.0 + (setpoint_c - constants.room_c) / loss_s) / full;
        let asked = foreseen + gain * deviation_c + self.integral;
        let pushes_further =
            (asked >= 1.0 && deviation_c > 0.0) || (asked <= 0.0 && deviation_c < 0.0);
        if !pushes_further {
            self.integral += gain / reset_s * deviation_c * step_s;
        }

        self.fan = match self.fan {
            Fan::Off if deviation_c < -FAN_ON_ABOVE_C => Fan::On,
            Fan::On if deviation_c > -FAN_OFF_ABOVE_C => Fan::Off,
            unchanged => unchanged,
        };
        Drive {
            power_fraction: match self.fan {
                Fan::On => 0.0,
                Fan::Off => asked.clamp(0.0, 1.0),
            },
            fan: self.fan,
        }
    }

    /// What the thermometer would show now on a block that follows as well as it can \[°C\].
    fn expect(&mut self, setpoint_c: f64, step_s: f64) -> f64 {
        self.clock_s += step_s;
        self.setpoints.push_back((self.clock_s, setpoint_c));
        let delayed_s = self.clock_s - self.constants.dead_time_s;
        // One setpoint at or before the moment looked for stays.
        while self
            .setpoints
            .get(1)
            .is_some_and(|&(time_s, _)| time_s <= delayed_s)
        {
            self.setpoints.pop_front();
        }
        let delayed_c = match (self.setpoints.front(), self.setpoints.get(1)) {
            (Some(&(from_s, from_c)), Some(&(to_s, to_c))) if to_s > from_s => {
                let part = ((delayed_s - from_s) / (to_s - from_s)).clamp(0.0, 1.0);
                from_c + (to_c - from_c) * part
            }
            (Some(&(_, only_c)), _) => only_c,
            (None, _) => setpoint_c,
        };
        let lag_s = self.constants.sensor_time_constant_s;
        let (before_c, shown_c) = self.expected_c.unwrap_or((delayed_c, delayed_c));
        let shown_c = if lag_s <= 0.0 || step_s <= 0.0 {
            if lag_s <= 0.0 { delayed_c } else { shown_c }
        } else {
            // First-order lag behind a straight line from `before_c` to `delayed_c`.
            let trail_c = (delayed_c - before_c) / step_s * lag_s;
            delayed_c - trail_c + (shown_c - before_c + trail_c) * (-step_s / lag_s).exp()
        };
        self.expected_c = Some((delayed_c, shown_c));
        shown_c
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::HeatedBlock;

    const STEP_S: f64 = 0.5;
    const BENCH: BlockConstants = BlockConstants {
        room_c: 21.0,
        full_power_rate_c_per_min: 24.0,
        loss_time_constant_min: 14.0,
        fan_time_constant_min: 4.5,
        dead_time_s: 5.0,
        sensor_time_constant_s: 4.0,
    };
    const SOAK_C: f64 = 110.0;
    const SOAK_S: f64 = 150.0;

    /// What happened in approach, soak and a ramp of ten minutes.
    #[derive(Debug)]
    struct Course {
        /// Highest block above the soak temperature before the ramp [°C].
        overshoot_c: f64,
        /// Setpoint minus block in the last eight minutes of the ramp, smallest and largest [°C].
        behind_c: (f64, f64),
    }

    /// Approach at 15 °C/min that slows down over the last degrees (slope at most remaining/20 s), soak, 1 °C/min.
    fn run(believed: BlockConstants, real: BlockConstants, resolution_c: f64) -> Course {
        let mut block = HeatedBlock::new(real, Celsius(real.room_c)).expect("in range");
        let mut controller = SetpointController::new(believed).expect("in range");
        let mut setpoint_c = real.room_c;
        let (mut soaked_s, mut ramped_s) = (0.0, 0.0);
        let mut course = Course {
            overshoot_c: f64::NEG_INFINITY,
            behind_c: (f64::INFINITY, f64::NEG_INFINITY),
        };
        while ramped_s < 600.0 {
            let slope = if soaked_s >= SOAK_S {
                ramped_s += STEP_S;
                1.0
            } else if SOAK_C - setpoint_c > 0.02 {
                (60.0 * (SOAK_C - setpoint_c) / 20.0).min(15.0)
            } else {
                soaked_s += STEP_S;
                0.0
            };
            let demand = Demand {
                setpoint: Celsius(setpoint_c),
                slope_c_per_min: slope,
            };
            let shown_c = (block.indicated().0 / resolution_c).round() * resolution_c;
            let drive = controller.update(demand, Celsius(shown_c), STEP_S);
            assert!((0.0..=1.0).contains(&drive.power_fraction));
            assert_eq!(drive.fan, Fan::Off, "heating needs no fan");
            block.advance(STEP_S, drive.power_fraction, drive.fan);
            setpoint_c += slope / 60.0 * STEP_S;
            if ramped_s <= 0.0 {
                course.overshoot_c = course.overshoot_c.max(block.block().0 - SOAK_C);
            } else if ramped_s > 120.0 {
                let behind_c = setpoint_c - block.block().0;
                course.behind_c.0 = course.behind_c.0.min(behind_c);
                course.behind_c.1 = course.behind_c.1.max(behind_c);
            }
        }
        course
    }

    #[test]
    fn known_constants_give_a_steady_ramp_without_overshoot() {
        let fine = run(BENCH, BENCH, 1e-3);
        assert!(fine.overshoot_c < 0.01, "{fine:?}");
        // Dead time × slope, 5 s at 1 °C/min, is what no controller can take away without looking ahead.
        let (least_c, most_c) = fine.behind_c;
        assert!(least_c > 0.08 && most_c < 0.087, "{fine:?}");
        let coarse = run(BENCH, BENCH, 0.1);
        assert!(coarse.overshoot_c < 0.05, "{coarse:?}");
        let (least_c, most_c) = coarse.behind_c;
        assert!(
            most_c < 0.1 && most_c - least_c < 0.02,
            "a thermometer in steps of 0.1 °C: {coarse:?}"
        );
    }

    #[test]
    fn constants_a_fifth_wrong_still_give_the_rate() {
        for (power, loss, delay) in [
            (1.2, 1.0, 1.0),
            (0.9, 1.0, 1.0),
            (1.0, 1.2, 1.0),
            (1.0, 0.8, 1.0),
            (1.2, 1.2, 1.5),
            (1.0, 1.0, 0.5),
        ] {
            let real = BlockConstants {
                full_power_rate_c_per_min: power * BENCH.full_power_rate_c_per_min,
                loss_time_constant_min: loss * BENCH.loss_time_constant_min,
                dead_time_s: delay * BENCH.dead_time_s,
                sensor_time_constant_s: delay * BENCH.sensor_time_constant_s,
                ..BENCH
            };
            let course = run(BENCH, real, 0.1);
            assert!(
                course.overshoot_c < 0.3,
                "{power} {loss} {delay}: {course:?}"
            );
            let (least_c, most_c) = course.behind_c;
            assert!(
                least_c > 0.0 && most_c < 0.15 && most_c - least_c < 0.03,
                "{power} {loss} {delay}: {course:?}"
            );
        }
    }

    #[test]
    fn a_heater_at_its_limit_does_not_wind_up() {
        let weak = BlockConstants {
            full_power_rate_c_per_min: 14.0,
            ..BENCH
        };
        let course = run(weak, weak, 0.1);
        assert!(course.overshoot_c < 0.6, "{course:?}");
        assert!(course.behind_c.1 < 0.1, "{course:?}");
        // A jump of the setpoint by 89 °C: full power most of the way.
        let mut block = HeatedBlock::new(BENCH, Celsius(21.0)).expect("in range");
        let mut controller = SetpointController::new(BENCH).expect("in range");
        let demand = Demand {
            setpoint: Celsius(SOAK_C),
            slope_c_per_min: 0.0,
        };
        let mut highest_c = f64::NEG_INFINITY;
        for _ in 0..(1800.0 / STEP_S) as usize {
            let drive = controller.update(demand, block.indicated(), STEP_S);
            block.advance(STEP_S, drive.power_fraction, drive.fan);
            highest_c = highest_c.max(block.block().0);
        }
        // Without clamping the integral more than 2 °C, and the fan comes on.
        assert!(highest_c < SOAK_C + 1.0, "{highest_c} °C");
        assert!((block.block().0 - SOAK_C).abs() < 0.05);
    }

    #[test]
    fn the_fan_cools_to_the_setpoint_and_stops() {
        let mut block = HeatedBlock::new(BENCH, Celsius(150.0)).expect("in range");
        let mut controller = SetpointController::new(BENCH).expect("in range");
        let demand = Demand {
            setpoint: Celsius(60.0),
            slope_c_per_min: 0.0,
        };
        let (mut blown_s, mut switched, mut last) = (0.0, 0, Fan::Off);
        for _ in 0..(1800.0 / STEP_S) as usize {
            let drive = controller.update(demand, block.indicated(), STEP_S);
            if drive.fan == Fan::On {
                assert_eq!(drive.power_fraction, 0.0);
                blown_s += STEP_S;
            }
            switched += usize::from(drive.fan != last);
            last = drive.fan;
            block.advance(STEP_S, drive.power_fraction, drive.fan);
            assert!(block.block().0 > 59.0, "{:?}", block.block());
        }
        // Newton's law with the fan: τ ln((150 − 21)/(60 − 21)) = 323 s; the thermometer trails.
        let newton_s = 4.5 * 60.0 * (129.0f64 / 39.0).ln();
        assert!((blown_s - newton_s).abs() < 8.0, "{blown_s} s");
        assert_eq!(switched, 2, "on once, off once");
        assert!((block.block().0 - 60.0).abs() < 0.05);
    }

    #[test]
    fn a_lost_thermometer_means_no_power() {
        let mut controller = SetpointController::new(BENCH).expect("in range");
        let demand = Demand {
            setpoint: Celsius(100.0),
            slope_c_per_min: 0.0,
        };
        let drive = controller.update(demand, Celsius(f64::NAN), STEP_S);
        assert_eq!((drive.power_fraction, drive.fan), (0.0, Fan::Off));
        let drive = controller.update(demand, Celsius(21.0), f64::NAN);
        assert_eq!(drive.power_fraction, 1.0);
    }
}
