//! Where the block should be now: the setpoint through the legs.

use super::rate::Rate;
use crate::device::HeaterCommand;
use meltrange_planning::{HeatingAbility, Leg};

/// The setpoint runs ahead of a slow block by no more than this [°C].
const MOST_LEAD_C: f64 = 15.0;
/// An approach has arrived this close [°C].
const ARRIVED_C: f64 = 0.5;
/// A soaking block is steady below this rate [°C/min] and this close to the setpoint [°C].
const STEADY_C_PER_MIN: f64 = 0.15;
const STEADY_WITHIN_C: f64 = 1.0;
/// A person cannot hold it as well.
const STEADY_BY_HAND_C_PER_MIN: f64 = 0.5;
/// Steadiness is waited for this much longer than the soak at most [s].
const PATIENCE_S: f64 = 600.0;
/// The setpoint of a scan goes on past its end so that a block that lags gets there [°C].
const PAST_END_C: f64 = 1.0;
/// And stands there so long at most [s].
const AT_END_S: f64 = 60.0;
/// After an interruption the scan is taken up this far below where it was [°C].
const TAKEN_UP_BELOW_C: f64 = 2.0;
/// Above the setpoint by this, a block has to cool first [°C].
const TOO_WARM_C: f64 = 0.5;
/// Newton cooling never quite arrives at room temperature [°C].
const NEAR_ROOM_C: f64 = 1.5;

/// Whether a leg is over.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum LegStatus {
    Going,
    Done,
    /// Over, but not as it should be.
    DoneWithDoubt(String),
}

/// The setpoint and the clock of the leg under way.
#[derive(Debug, Clone)]
pub(super) struct Heating {
    pub setpoint_c: f64,
    pub rate_c_per_min: f64,
    pub leg_elapsed_s: f64,
    by_hand: bool,
    max_c: f64,
    ability: HeatingAbility,
    at_end_s: f64,
    /// Up to here fast, after an interruption.
    take_up_c: Option<f64>,
}

impl Heating {
    pub fn new(start_c: f64, ability: HeatingAbility, max_c: f64, by_hand: bool) -> Self {
        Self {
            setpoint_c: start_c,
            rate_c_per_min: 0.0,
            leg_elapsed_s: 0.0,
            by_hand,
            max_c,
            ability,
            at_end_s: 0.0,
            take_up_c: None,
        }
    }

    /// A new leg begins at the indication `now_c`.
    pub fn begin_leg(&mut self, leg: &Leg, now_c: f64) {
        self.leg_elapsed_s = 0.0;
        self.at_end_s = 0.0;
        self.take_up_c = None;
        let astray = (self.setpoint_c - now_c).abs() > MOST_LEAD_C;
        if matches!(leg, Leg::Approach { .. } | Leg::Cool { .. }) || astray {
            self.setpoint_c = now_c;
        }
    }

    /// The person goes on after the heat was away.
    pub fn take_up(&mut self, leg: &Leg, now_c: f64) {
        let left_c = self.setpoint_c;
        self.setpoint_c = now_c;
        self.take_up_c = match leg {
            Leg::Scan { .. } | Leg::Soak { .. } | Leg::Attend => {
                let below_c = if matches!(leg, Leg::Scan { .. }) {
                    TAKEN_UP_BELOW_C
                } else {
                    0.0
                };
                Some(left_c - below_c).filter(|to_c| *to_c > now_c)
            }
            Leg::Approach { .. } | Leg::Cool { .. } => None,
        };
    }

    /// Keep the temperature where it is.
    pub fn hold(&mut self, now_c: f64) {
        self.setpoint_c = now_c;
        self.rate_c_per_min = 0.0;
    }

    /// Let `duration_s` pass in `leg` with the block at `now_c`.
    pub fn advance(
        &mut self,
        leg: &Leg,
        duration_s: f64,
        now_c: f64,
        rate: Option<Rate>,
    ) -> LegStatus {
        if let Some(to_c) = self.take_up_c {
            self.move_towards(to_c, duration_s, now_c);
            if self.setpoint_c >= to_c && now_c >= to_c - ARRIVED_C {
                self.take_up_c = None;
            }
            return LegStatus::Going;
        }
        self.leg_elapsed_s += duration_s;
        match *leg {
            Leg::Approach { to_c } => self.approach(to_c, duration_s, now_c),
            Leg::Soak { minutes } => self.soak(minutes * 60.0, now_c, rate),
            Leg::Attend => {
                self.rate_c_per_min = 0.0;
                LegStatus::Going
            }
            Leg::Scan {
                to_c,
                rate_c_per_min,
            } => self.scan(to_c, rate_c_per_min, duration_s, now_c),
            Leg::Cool { to_c } => {
                self.setpoint_c = now_c;
                self.rate_c_per_min = 0.0;
                if now_c <= to_c.max(self.ability.room_c + NEAR_ROOM_C) {
                    LegStatus::Done
                } else {
                    LegStatus::Going
                }
            }
        }
    }

    fn approach(&mut self, to_c: f64, duration_s: f64, now_c: f64) -> LegStatus {
        self.move_towards(to_c, duration_s, now_c);
        // A person lets it drift in; a controller is expected to arrive.
        let near_c = if self.by_hand {
            2.0 * ARRIVED_C
        } else {
            ARRIVED_C
        };
        let there = (now_c - to_c).abs() <= near_c;
        if there && (self.by_hand || self.setpoint_c == to_c) {
            self.setpoint_c = to_c;
            return LegStatus::Done;
        }
        LegStatus::Going
    }

    fn soak(&mut self, least_s: f64, now_c: f64, rate: Option<Rate>) -> LegStatus {
        self.rate_c_per_min = 0.0;
        if self.leg_elapsed_s < least_s {
            return LegStatus::Going;
        }
        let limit = if self.by_hand {
            STEADY_BY_HAND_C_PER_MIN
        } else {
            STEADY_C_PER_MIN
        };
        let steady = rate.is_some_and(|rate| rate.c_per_min.abs() <= limit)
            && (now_c - self.setpoint_c).abs() <= STEADY_WITHIN_C;
        if steady || least_s == 0.0 {
            return LegStatus::Done;
        }
        if self.leg_elapsed_s < least_s + PATIENCE_S {
            return LegStatus::Going;
        }
        LegStatus::DoneWithDoubt(match rate {
            Some(rate) => format!(
                "the block was not steady after the soak: {now_c:.1} °C at {:.2} °C/min, wanted {:.1} °C",
                rate.c_per_min, self.setpoint_c
            ),
            None => "too few temperatures in the soak to tell whether the block was steady".into(),
        })
    }

    fn scan(&mut self, to_c: f64, rate_c_per_min: f64, duration_s: f64, now_c: f64) -> LegStatus {
        let end_c = (to_c + PAST_END_C).min(self.max_c);
        self.rate_c_per_min = rate_c_per_min;
        let ahead_c = self.setpoint_c + rate_c_per_min * duration_s / 60.0;
        self.setpoint_c = ahead_c.min(end_c).min(now_c + MOST_LEAD_C);
        if self.setpoint_c >= end_c {
            self.at_end_s += duration_s;
        }
        if now_c >= to_c || self.at_end_s >= AT_END_S {
            return LegStatus::Done;
        }
        LegStatus::Going
    }

    /// Move the setpoint towards a temperature as fast as the bench can, tapering off.
    fn move_towards(&mut self, to_c: f64, duration_s: f64, now_c: f64) {
        let left_c = to_c - self.setpoint_c;
        if now_c > to_c + TOO_WARM_C {
            self.setpoint_c = to_c;
            self.rate_c_per_min = 0.0;
            return;
        }
        let rate = self.ability.approach_rate_c_per_min(left_c) * left_c.signum();
        let step_c = rate * duration_s / 60.0;
        if step_c.abs() >= left_c.abs() {
            self.setpoint_c = to_c;
            self.rate_c_per_min = 0.0;
        } else {
            self.setpoint_c = (self.setpoint_c + step_c).min(now_c + MOST_LEAD_C);
            self.rate_c_per_min = rate;
        }
    }

    /// What the heater is to be asked for while the leg goes on.
    pub fn command(&self, leg: &Leg, now_c: f64) -> HeaterCommand {
        match leg {
            Leg::Cool { .. } => HeaterCommand::Off { fan: true },
            Leg::Approach { to_c } if now_c > to_c + TOO_WARM_C => HeaterCommand::Off { fan: true },
            _ => HeaterCommand::Setpoint {
                setpoint_c: self.setpoint_c.min(self.max_c),
                rate_c_per_min: self.rate_c_per_min,
            },
        }
    }
}
