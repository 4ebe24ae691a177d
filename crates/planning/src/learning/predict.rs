//! A whole programme on a learned bench: its curve and its time.

use super::arrival::UNTOLD_C;
use super::learned::{ApproachStyle, LearnedBench, ScanEnd};
use super::model::{Controlled, Crossing};
use crate::curve::{HeatingAbility, PlannedPoint};
use crate::estimate::{Estimate, LegEstimate};
use crate::programme::{Leg, LegKind, Programme};

/// Steps of a prediction [s].
const STEP_S: f64 = 0.5;
/// A point of the curve is kept this often [s], and at the ends of legs.
const KEPT_S: f64 = 15.0;
/// Above its target by this, a block cools before it is led [°C].
const TOO_WARM_C: f64 = 0.5;
/// A setpoint that is led runs ahead by no more than this [°C].
const MOST_LEAD_C: f64 = 15.0;
/// The setpoint of a scan goes past its end by no more than this, so that a block that lags gets there [°C].
const PAST_END_C: f64 = 1.0;
/// A block this close to its target [°C] that moves more slowly than this [°C/min] is taken for arrived: a controller may
/// stop a little short, and the model more than it does.
const NEARLY_C: f64 = 2.0;
const CREEPS_C_PER_MIN: f64 = 0.03;
/// Longest leg [s]; what takes longer never ends.
const LONGEST_S: f64 = 6.0 * 3600.0;
/// Spread of the first reading that reaches a threshold, as a part of the noise of one.
const FIRST_READING: f64 = 0.7;
/// Standard uncertainty of every time [min]: half a second of steps, a second of a log.
const STEPS_MIN: f64 = 0.01;

/// A programme that a bench cannot do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum OutOfReach {
    /// Too hot.
    #[error(
        "leg {leg} goes to {to_c:.1} °C, which this bench does not reach: at full power it ends at about {reachable_c:.0} °C; choose a hotter bench, or look at the heater"
    )]
    Hot {
        /// Which leg, from 1.
        leg: usize,
        /// Where it goes [°C].
        to_c: f64,
        /// What full power holds [°C].
        reachable_c: f64,
    },
    /// Too cold.
    #[error(
        "leg {leg} goes to {to_c:.1} °C, but the room is at {room_c:.0} °C and the block cools no further; use a bench with cooling, or a cooler room"
    )]
    Cold {
        /// Which leg, from 1.
        leg: usize,
        /// Where it goes [°C].
        to_c: f64,
        /// Where its block stands at last [°C].
        room_c: f64,
    },
}

impl LearnedBench {
    /// Curve and times of a programme that starts at `from_c`, with the standard uncertainty of the time.
    ///
    /// # Errors
    /// [`OutOfReach`] for a leg that never ends.
    pub fn estimate(&self, programme: &Programme, from_c: f64) -> Result<Estimate, OutOfReach> {
        let mut found = self.course(programme, from_c)?;
        let mut variance = STEPS_MIN * STEPS_MIN;
        for other in self.one_away() {
            // A bench that could not do it at all says nothing on how long it takes.
            if let Ok(minutes) = other.course(programme, from_c).map(|other| other.minutes) {
                variance += (minutes - found.minutes).powi(2);
            }
        }
        // The slower a block arrives, the more the moment hangs on the last hundredths; one that turns
        // just below arrives much later.
        let mut arrival_min: f64 = 0.0;
        for late_c in [-self.off_c(), self.off_c()] {
            if let Ok(other) = self.course_arriving(programme, from_c, late_c) {
                arrival_min = arrival_min.max((other.minutes - found.minutes).abs());
            }
        }
        variance += arrival_min * arrival_min;
        let approached_min: f64 = found
            .legs
            .iter()
            .filter(|leg| leg.kind == LegKind::Approach)
            .filter_map(|leg| leg.minutes)
            .sum();
        variance += (self.approach_scatter * approached_min).powi(2);
        for leg in programme.legs() {
            if let Leg::Scan { rate_c_per_min, .. } = leg {
                // The first of many noisy readings at the end comes earlier or later by most of the noise.
                let off_c = match self.scan_ends_at {
                    ScanEnd::Thermometer | ScanEnd::Unknown => self.off_c(),
                    ScanEnd::Setpoint => 0.0,
                };
                variance += (off_c / rate_c_per_min).powi(2);
            }
        }
        if !self.arrival.told {
            // Anywhere between a strict and a generous programme.
            let [strict, generous] = UNTOLD_C.map(|within_c| {
                let mut bench = self.clone();
                bench.arrival.within_c = within_c;
                bench.course(programme, from_c).map(|found| found.minutes)
            });
            variance += (strict? - generous?).powi(2) / 12.0;
        }
        if self.scan_ends_at == ScanEnd::Unknown {
            let ending_at = |scan_ends_at| {
                let bench = Self {
                    scan_ends_at,
                    ..self.clone()
                };
                bench.course(programme, from_c).map(|found| found.minutes)
            };
            let apart_min = ending_at(ScanEnd::Thermometer)? - ending_at(ScanEnd::Setpoint)?;
            // Anywhere between the two.
            variance += apart_min * apart_min / 12.0;
        }
        found.standard_uncertainty_min = variance.sqrt();
        Ok(found)
    }

    /// Why a leg from `at_c` never gets to `to_c`.
    fn out_of_reach(&self, leg: usize, to_c: f64, at_c: f64) -> OutOfReach {
        if at_c > to_c {
            return OutOfReach::Cold {
                leg,
                to_c,
                room_c: self.room_c.value,
            };
        }
        OutOfReach::Hot {
            leg,
            to_c,
            reachable_c: self.reachable_c(),
        }
    }

    /// By how much a temperature is off when a reading first says that it is reached [°C].
    fn off_c(&self) -> f64 {
        self.scan_scatter_c.hypot(FIRST_READING * self.noise_c)
    }

    /// The same without the uncertainty.
    pub(crate) fn course(
        &self,
        programme: &Programme,
        from_c: f64,
    ) -> Result<Estimate, OutOfReach> {
        self.course_arriving(programme, from_c, 0.0)
    }

    /// With approaches taken for arrived `late_c` above where they are.
    fn course_arriving(
        &self,
        programme: &Programme,
        from_c: f64,
        late_c: f64,
    ) -> Result<Estimate, OutOfReach> {
        let mut run =
            Run::begin(self, from_c, late_c).ok_or_else(|| self.out_of_reach(1, from_c, from_c))?;
        let mut legs = Vec::with_capacity(programme.legs().len());
        let mut to_last_scan_s = 0.0;
        for (number, leg) in programme.legs().iter().enumerate() {
            let begun_s = run.time_s;
            run.leg = number;
            run.keep();
            if !run.go_through(leg) {
                let to_c = leg.to_c().unwrap_or(run.shown_c);
                return Err(self.out_of_reach(number + 1, to_c, run.shown_c));
            }
            run.keep();
            if leg.kind() == LegKind::Scan {
                to_last_scan_s = run.time_s;
            }
            legs.push(LegEstimate {
                kind: leg.kind(),
                to_c: match *leg {
                    Leg::Cool { to_c } => Some(to_c.max(self.room_c.value + 1.0)),
                    _ => leg.to_c(),
                },
                rate_c_per_min: match *leg {
                    Leg::Scan { rate_c_per_min, .. } => Some(rate_c_per_min),
                    _ => None,
                },
                minutes: (leg.kind() != LegKind::Attend).then_some((run.time_s - begun_s) / 60.0),
            });
        }
        Ok(Estimate {
            legs,
            minutes: to_last_scan_s / 60.0,
            standard_uncertainty_min: 0.0,
            curve: run.curve,
        })
    }
}

/// A programme under way on a learned bench.
struct Run<'a> {
    bench: &'a LearnedBench,
    /// How the setpoint is led, and whether it tapers.
    led: Option<(HeatingAbility, bool)>,
    controlled: Controlled,
    setpoint_c: f64,
    shown_c: f64,
    time_s: f64,
    leg: usize,
    curve: Vec<PlannedPoint>,
    /// An approach has arrived so much later than its thermometer says [°C].
    late_c: f64,
}

impl<'a> Run<'a> {
    fn begin(bench: &'a LearnedBench, from_c: f64, late_c: f64) -> Option<Self> {
        let led = match bench.approach {
            ApproachStyle::Jump => None,
            ApproachStyle::Led {
                rate_c_per_min,
                tapers,
            } => {
                let ability = HeatingAbility {
                    heat_rate_c_per_min: rate_c_per_min,
                    ..bench.ability()
                };
                Some((ability, tapers))
            }
        };
        Some(Self {
            bench,
            led,
            controlled: Controlled::new(
                bench.constants(bench.room_c.value),
                bench.controller(),
                from_c,
            )?,
            setpoint_c: from_c,
            shown_c: from_c,
            time_s: 0.0,
            leg: 0,
            curve: Vec::new(),
            late_c,
        })
    }

    fn arrival_crossing(&self, to_c: f64) -> Crossing {
        let bench = self.bench;
        bench.arrival.crossing(to_c, bench.noise_c, bench.step_c)
    }

    /// The end of a scan: of readings where it is known to end by them.
    fn scan_crossing(&self, to_c: f64) -> Crossing {
        match self.bench.scan_ends_at {
            ScanEnd::Thermometer => Crossing::rising(to_c, self.bench.noise_c, self.bench.step_c),
            ScanEnd::Setpoint | ScanEnd::Unknown => Crossing::rising(to_c, 0.0, 0.0),
        }
    }

    fn keep(&mut self) {
        self.curve.push(PlannedPoint {
            time_min: self.time_s / 60.0,
            temperature_c: self.shown_c,
            leg: self.leg,
        });
    }

    /// One step: towards a setpoint, or with the heating off and the fan on.
    fn step(&mut self, setpoint_c: Option<f64>) {
        let moved = setpoint_c.map(|to_c| (self.setpoint_c, to_c));
        self.controlled.advance(STEP_S, moved, setpoint_c.is_none());
        self.setpoint_c = setpoint_c.unwrap_or_else(|| self.controlled.shown_c());
        self.shown_c = self.controlled.shown_c();
        self.time_s += STEP_S;
        let last_s = self.curve.last().map_or(0.0, |point| 60.0 * point.time_min);
        if self.time_s - last_s >= KEPT_S {
            self.keep();
        }
    }

    /// A scan that ended for the setpoint or the thermometer goes on to half-way to the other.
    fn half_way(
        &mut self,
        there: &mut Crossing,
        to_c: f64,
        rate_c_per_min: f64,
        setpoint_left_s: f64,
    ) {
        let more_s = if setpoint_left_s > 0.0 {
            setpoint_left_s
        } else {
            // Look ahead on a copy of the block.
            let (mut ahead, mut setpoint_c, mut more_s) =
                (self.controlled.clone(), self.setpoint_c, 0.0);
            while more_s < 600.0 && !there.reached(ahead.shown_c(), STEP_S / self.bench.spacing_s) {
                let next_c = (setpoint_c + rate_c_per_min * STEP_S / 60.0).min(to_c + PAST_END_C);
                ahead.advance(STEP_S, Some((setpoint_c, next_c)), false);
                setpoint_c = next_c;
                more_s += STEP_S;
            }
            more_s
        };
        for _ in 0..(more_s / 2.0 / STEP_S).round() as usize {
            let ahead_c = self.setpoint_c + rate_c_per_min * STEP_S / 60.0;
            self.step(Some(ahead_c.min(to_c + PAST_END_C)));
        }
    }

    /// Through one leg; whether it ends.
    fn go_through(&mut self, leg: &Leg) -> bool {
        let begun_s = self.time_s;
        match *leg {
            Leg::Approach { to_c } => {
                self.setpoint_c = self.shown_c;
                if self.shown_c > to_c + TOO_WARM_C {
                    while self.shown_c > to_c + TOO_WARM_C {
                        if self.time_s - begun_s > LONGEST_S {
                            return false;
                        }
                        self.step(None);
                    }
                    self.setpoint_c = to_c;
                    return true;
                }
                if self.led.is_none() {
                    self.setpoint_c = to_c;
                }
                let mut there = self.arrival_crossing(to_c + self.late_c);
                let mut minute_ago_c = f64::NEG_INFINITY;
                loop {
                    let arrived = there.reached(self.shown_c, STEP_S / self.bench.spacing_s);
                    let since_s = self.time_s - begun_s;
                    let mut creeps = false;
                    if since_s % 60.0 == 0.0 {
                        creeps = self.shown_c - minute_ago_c < CREEPS_C_PER_MIN
                            && self.shown_c > to_c - NEARLY_C;
                        minute_ago_c = self.shown_c;
                    }
                    if (arrived || creeps) && self.setpoint_c >= to_c {
                        // What approaches took longer than their model passes at the target.
                        let more_s = (self.bench.approach_bias * since_s / STEP_S).round() * STEP_S;
                        self.time_s += more_s;
                        return true;
                    }
                    if since_s > LONGEST_S {
                        return false;
                    }
                    let next_c = self.led.map_or(to_c, |(ability, tapers)| {
                        let rate = if tapers {
                            ability.approach_rate_c_per_min(to_c - self.setpoint_c)
                        } else {
                            ability.heat_rate_c_per_min
                        };
                        (self.setpoint_c + rate * STEP_S / 60.0)
                            .min(to_c)
                            .min(self.shown_c + MOST_LEAD_C)
                    });
                    self.step(Some(next_c));
                }
            }
            Leg::Soak { minutes } => {
                while self.time_s - begun_s < 60.0 * minutes - 1e-9 {
                    self.step(Some(self.setpoint_c));
                }
                true
            }
            Leg::Attend => true,
            Leg::Scan {
                to_c,
                rate_c_per_min,
            } => {
                let from_c = self.setpoint_c;
                let mut there = self.scan_crossing(to_c);
                let whole_s = 60.0 * (to_c - from_c).max(0.0) / rate_c_per_min;
                loop {
                    let since_s = self.time_s - begun_s;
                    let by_setpoint = since_s >= whole_s - 1e-9;
                    let by_thermometer = there.reached(self.shown_c, STEP_S / self.bench.spacing_s);
                    let over = match self.bench.scan_ends_at {
                        ScanEnd::Setpoint => by_setpoint,
                        ScanEnd::Thermometer => by_thermometer,
                        ScanEnd::Unknown => by_setpoint || by_thermometer,
                    };
                    if over {
                        if self.bench.scan_ends_at == ScanEnd::Unknown {
                            self.half_way(&mut there, to_c, rate_c_per_min, whole_s - since_s);
                        }
                        return true;
                    }
                    if self.time_s - begun_s > whole_s + LONGEST_S {
                        return false;
                    }
                    let ahead_c = self.setpoint_c + rate_c_per_min * STEP_S / 60.0;
                    self.step(Some(ahead_c.min(to_c + PAST_END_C)));
                }
            }
            Leg::Cool { to_c } => {
                let end_c = to_c.max(self.bench.room_c.value + 1.0);
                while self.shown_c > end_c {
                    if self.time_s - begun_s > LONGEST_S {
                        return false;
                    }
                    self.step(None);
                }
                true
            }
        }
    }
}
