//! An apparatus that shares no code with the model that is learned: Euler steps of 0.05 s, a controller that sees
//! noisy, rounded readings, and a log of it.

use meltrange_planning::{RunLog, RunSample};
use rand::RngExt as _;
use rand_xoshiro::Xoshiro256PlusPlus;
use std::collections::VecDeque;

const STEP_S: f64 = 0.05;

/// What nobody tells the fit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Apparatus {
    pub room_c: f64,
    /// At full power, block as cold as the room [°C/min].
    pub heater_c_per_min: f64,
    pub loss_min: f64,
    pub fan_min: f64,
    pub dead_s: f64,
    pub sensor_s: f64,
    pub controller: Controller,
    /// An approach has arrived so close to its target [°C].
    pub arrived_c: f64,
    /// The setpoint is led to the start of the scan at this rate, renewed every 2 s [°C/min]; none: it jumps.
    pub led: Option<f64>,
    /// Whether a scan ends when the setpoint is there.
    pub ends_by_setpoint: bool,
    /// The controller is asked, and the log written, this often [s].
    pub every_s: f64,
    pub noise_c: f64,
    pub rounding_c: f64,
}

/// Ways of control.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Controller {
    /// Proportional and integral, clamped integral.
    Pi { gain: f64, reset_s: f64 },
    /// The same with the derivative of the reading.
    Pid {
        gain: f64,
        reset_s: f64,
        derivative_s: f64,
    },
    /// Proportional on top of the power that holds the setpoint.
    Foresight { gain: f64 },
}

/// From where, to where, how long.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Orders {
    pub from_c: f64,
    pub start_c: f64,
    pub soak_min: f64,
    pub to_c: f64,
    pub rate_c_per_min: f64,
    pub cool_c: f64,
}

pub(crate) struct Outcome {
    pub log: Vec<RunSample>,
    /// From the beginning to the end of the scan [min].
    pub minutes: f64,
}

impl Apparatus {
    pub(crate) fn random(chance: &mut Xoshiro256PlusPlus) -> Self {
        let heater_c_per_min = chance.random_range(12.0..35.0);
        let delay: f64 = chance.random_range(2.0..8.0);
        let sensor_s: f64 = chance.random_range(1.0..6.0);
        // Tuned as for a first order with delay, more or less well.
        let gain =
            chance.random_range(0.5..1.5) / (2.0 * (delay + sensor_s) * heater_c_per_min / 60.0);
        let reset_s = chance.random_range(5.0..12.0) * (delay + sensor_s);
        Self {
            room_c: chance.random_range(18.0..27.0),
            heater_c_per_min,
            loss_min: chance.random_range(15.0..40.0),
            fan_min: chance.random_range(4.0..13.0),
            dead_s: delay,
            sensor_s,
            controller: match chance.random_range(0..3) {
                0 => Controller::Pi { gain, reset_s },
                1 => Controller::Pid {
                    gain,
                    reset_s,
                    derivative_s: 0.3 * (delay + sensor_s),
                },
                _ => Controller::Foresight { gain },
            },
            arrived_c: 0.5,
            led: None,
            ends_by_setpoint: false,
            every_s: 1.0,
            noise_c: 0.05,
            rounding_c: 0.1,
        }
    }

    /// Highest temperature that a scan may go to with power in hand [°C].
    pub(crate) fn comfortable_c(&self) -> f64 {
        (self.room_c + 0.8 * (self.heater_c_per_min - 3.0) * self.loss_min).min(280.0)
    }

    pub(crate) fn orders(&self, chance: &mut Xoshiro256PlusPlus) -> Orders {
        let first_c = chance.random_range(60.0..self.comfortable_c());
        let last_c = first_c + chance.random_range(0.3..3.0);
        Orders {
            from_c: self.room_c
                + chance.random_range(0.0..(first_c - 25.0 - self.room_c).clamp(0.1, 30.0)),
            start_c: first_c - 3.0,
            soak_min: [2.0, 3.0, 3.0, 5.0][chance.random_range(0..4)],
            to_c: last_c + 2.0,
            rate_c_per_min: [0.5, 1.0, 1.0, 2.0][chance.random_range(0..4)],
            cool_c: first_c - 20.0,
        }
    }

    pub(crate) fn run(&self, orders: Orders, chance: &mut Xoshiro256PlusPlus) -> Outcome {
        let (mut block_c, mut sensor_c) = (orders.from_c, orders.from_c);
        let mut powers: VecDeque<f64> = vec![0.0; (self.dead_s / STEP_S).round() as usize].into();
        let (mut log, mut time_s, mut minutes) = (Vec::new(), 0.0_f64, 0.0);
        let (mut integral, mut before_c, mut phase, mut phase_s) = (0.0, None::<f64>, 0, 0.0);
        loop {
            let normal: f64 = (0..12).map(|_| chance.random::<f64>()).sum::<f64>() - 6.0;
            let reading_c =
                ((sensor_c + self.noise_c * normal) / self.rounding_c).round() * self.rounding_c;
            // What the programme wants.
            let since_s = time_s - phase_s;
            let scan_c = orders.start_c + orders.rate_c_per_min * since_s / 60.0;
            let led_c = self.led.map_or(orders.start_c, |rate| {
                let renewed_s = (since_s / 2.0).floor() * 2.0;
                (orders.from_c + rate * renewed_s / 60.0).min(orders.start_c)
            });
            let next = match phase {
                0 => reading_c >= orders.start_c - self.arrived_c && led_c >= orders.start_c,
                1 => since_s >= 60.0 * orders.soak_min,
                2 if self.ends_by_setpoint => scan_c >= orders.to_c,
                2 => reading_c >= orders.to_c,
                _ => reading_c <= orders.cool_c.max(self.room_c + 2.0),
            };
            if next {
                phase += 1;
                phase_s = time_s;
                if phase == 3 {
                    minutes = time_s / 60.0;
                }
            }
            let setpoint_c = match phase {
                0 => Some(led_c),
                1 => Some(orders.start_c),
                2 => Some(orders.start_c + orders.rate_c_per_min * (time_s - phase_s) / 60.0),
                _ => None,
            };
            let fan = phase >= 3;
            log.push(RunSample {
                time_s,
                temperature_c: reading_c,
                setpoint_c,
                fan,
            });
            if phase > 3 {
                return Outcome { log, minutes };
            }
            let power = setpoint_c.map_or(0.0, |setpoint_c| {
                let off_c = setpoint_c - reading_c;
                match self.controller {
                    Controller::Pi { gain, reset_s } => {
                        let asked = gain * off_c + integral;
                        if (0.0..1.0).contains(&asked) {
                            integral += gain * off_c * self.every_s / reset_s;
                        }
                        asked
                    }
                    Controller::Pid {
                        gain,
                        reset_s,
                        derivative_s,
                    } => {
                        let slope =
                            before_c.map_or(0.0, |before_c| (reading_c - before_c) / self.every_s);
                        let asked = gain * (off_c - derivative_s * slope) + integral;
                        if (0.0..1.0).contains(&asked) {
                            integral += gain * off_c * self.every_s / reset_s;
                        }
                        asked
                    }
                    Controller::Foresight { gain } => {
                        gain * off_c
                            + (setpoint_c - self.room_c) / self.loss_min / self.heater_c_per_min
                    }
                }
                .clamp(0.0, 1.0)
            });
            before_c = Some(reading_c);
            let loss_s = 60.0 * if fan { self.fan_min } else { self.loss_min };
            for _ in 0..(self.every_s / STEP_S).round() as usize {
                powers.push_back(power);
                let acting = powers.pop_front().unwrap_or(power);
                block_c += STEP_S
                    * (acting * self.heater_c_per_min / 60.0 - (block_c - self.room_c) / loss_s);
                sensor_c += STEP_S * (block_c - sensor_c) / self.sensor_s;
            }
            time_s += self.every_s;
            assert!(time_s < 8.0 * 3600.0, "{self:?} never does {orders:?}");
        }
    }

    pub(crate) fn log(
        &self,
        name: &str,
        orders: Orders,
        chance: &mut Xoshiro256PlusPlus,
    ) -> RunLog {
        RunLog::new(name, self.run(orders, chance).log).expect("a log of a whole run")
    }
}
