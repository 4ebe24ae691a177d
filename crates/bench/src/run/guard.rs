//! The safety rules: what is wrong, judged from the temperatures, the setpoint and the silence.

use super::event::Fault;
use crate::bench_file::Limits;
use crate::device::Sample;
use meltrange_planning::LegKind;
use std::collections::BTreeMap;

/// Temperatures that must agree with each other before a new level is believed.
const BELIEVED_AFTER: u32 = 10;
/// Jumps within this time that make a fault of a single odd value [s].
const JUMPS_WITHIN_S: f64 = 5.0;
/// Shortest time over which a change is judged [s]: two values of a coarse display may come at once.
const LEAST_S: f64 = 0.5;
/// In an approach the block must gain this much [°C] ...
const APPROACH_GAIN_C: f64 = 1.0;
/// ... within this time while the setpoint is ahead [s].
const APPROACH_GAIN_S: f64 = 90.0;
/// The setpoint is ahead when it leads by this [°C].
const AHEAD_C: f64 = 5.0;
/// Heat in the block makes the indication rise for so long after the heater is off [s].
const AFTERGLOW_S: f64 = 60.0;
/// And it must have stood still for so long [s]: a cold block takes its time to answer.
const STILL_S: f64 = 30.0;

/// What the rules need to know of the run.
#[derive(Debug, Clone, Copy)]
pub(super) struct Situation {
    /// Whether the heater may be on.
    pub heating: bool,
    /// Whether the temperature is to be held.
    pub holding: bool,
    pub leg: LegKind,
    pub setpoint_c: f64,
}

/// What is fixed for the run.
#[derive(Debug, Clone, Copy)]
pub(super) struct GuardSettings {
    pub limits: Limits,
    pub max_c: f64,
    pub by_hand: bool,
    pub least_silence_s: f64,
    /// How many times as fast as the wall's clock: a simulated bench may hiccup for a second of ours.
    pub speed: f64,
}

/// Whether a temperature may be used.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Judged {
    Good,
    /// Not used: it cannot be, after the one before.
    Odd(String),
}

/// A value that does not change, since when, and the setpoint's range since.
#[derive(Debug, Clone, Copy)]
struct Still {
    value_c: f64,
    since_s: f64,
    low_c: f64,
    high_c: f64,
}

/// Watches over one run.
#[derive(Debug)]
pub(super) struct Guard {
    settings: GuardSettings,
    latest: Option<Sample>,
    heard_s: f64,
    odd: Vec<Sample>,
    still: Option<Still>,
    astray_since_s: Option<f64>,
    approach_from: Option<(f64, f64)>,
    hold_c: Option<f64>,
    off_since_s: Option<f64>,
    indicated_off_since_s: Option<f64>,
    highest_after_off_c: f64,
    heater_lost: Option<(f64, String)>,
    recording_lost: Option<String>,
    seen_s: Option<f64>,
    /// What is wrong now.
    active: BTreeMap<Fault, String>,
}

/// A change in what is wrong.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Finding {
    Wrong(Fault, String),
    Mended(Fault),
}

impl Guard {
    pub fn new(settings: GuardSettings, now_s: f64, watched: bool) -> Self {
        Self {
            settings,
            latest: None,
            heard_s: now_s,
            odd: Vec::new(),
            still: None,
            astray_since_s: None,
            approach_from: None,
            hold_c: None,
            off_since_s: None,
            indicated_off_since_s: None,
            highest_after_off_c: f64::NEG_INFINITY,
            heater_lost: None,
            recording_lost: None,
            seen_s: watched.then_some(now_s),
            active: BTreeMap::new(),
        }
    }

    /// A page looked.
    pub fn seen(&mut self, now_s: f64) {
        if let Some(seen_s) = &mut self.seen_s {
            *seen_s = now_s;
        }
    }

    /// The heater did not take a command, or took it again.
    pub fn heater(&mut self, now_s: f64, trouble: Option<String>) {
        self.heater_lost = trouble.map(|why| {
            let since_s = self.heater_lost.take().map_or(now_s, |lost| lost.0);
            (since_s, why)
        });
    }

    /// The recording cannot be kept, or is kept again.
    pub fn recording(&mut self, trouble: Option<String>) {
        self.recording_lost = trouble;
    }

    /// The latest temperature that may be used.
    pub fn latest(&self) -> Option<Sample> {
        self.latest
    }

    /// What is wrong now.
    pub fn active(&self) -> impl Iterator<Item = (Fault, &str)> {
        self.active
            .iter()
            .map(|(fault, text)| (*fault, text.as_str()))
    }

    /// What keeps the person from going on, in words. That the block did not follow does not: it is
    /// theirs to say that it will.
    pub fn hinders(&self) -> Option<&str> {
        let mut hindering = self
            .active()
            .filter(|(fault, _)| *fault != Fault::NotFollowing);
        hindering.next().map(|(_, text)| text)
    }

    /// Judge a temperature.
    pub fn judge(&mut self, sample: Sample) -> Judged {
        let Some(before) = self.latest else {
            self.accept(sample);
            return Judged::Good;
        };
        if self.plausible(before, sample) {
            self.odd.clear();
            self.accept(sample);
            return Judged::Good;
        }
        // Odd ones that follow from each other may be the truth, found again.
        if let Some(last) = self.odd.last()
            && !self.plausible(*last, sample)
        {
            let recent = |odd: &Sample| sample.time_s - odd.time_s <= JUMPS_WITHIN_S;
            self.odd.retain(recent);
        }
        self.odd.push(sample);
        let agreeing = self
            .odd
            .windows(2)
            .all(|pair| self.plausible(pair[0], pair[1]));
        if agreeing && self.odd.len() >= BELIEVED_AFTER as usize {
            self.odd.clear();
            self.accept(sample);
            return Judged::Good;
        }
        Judged::Odd(format!(
            "{:.1} °C after {:.1} °C within {:.1} s",
            sample.temperature_c,
            before.temperature_c,
            sample.time_s - before.time_s
        ))
    }

    fn plausible(&self, before: Sample, after: Sample) -> bool {
        let over_s = (after.time_s - before.time_s).max(LEAST_S);
        let most_c = self.settings.limits.jump_c_per_s * over_s;
        (after.temperature_c - before.temperature_c).abs() <= most_c
    }

    fn accept(&mut self, sample: Sample) {
        self.heard_s = sample.time_s;
        self.latest = Some(sample);
    }

    /// Judge the situation; what became wrong and what was mended since the last time.
    pub fn check(&mut self, now_s: f64, situation: Situation) -> Vec<Finding> {
        let wrong = self.wrong(now_s, situation);
        let mut findings = Vec::new();
        self.active.retain(|fault, _| {
            // With the heater off nothing shows whether the block follows: the person says so.
            let unknown = *fault == Fault::NotFollowing && !situation.heating;
            let still = unknown || wrong.iter().any(|(found, _)| found == fault);
            if !still {
                findings.push(Finding::Mended(*fault));
            }
            still
        });
        for (fault, text) in wrong {
            if self.active.insert(fault, text.clone()).is_none() {
                findings.push(Finding::Wrong(fault, text));
            }
        }
        findings
    }

    fn wrong(&mut self, now_s: f64, situation: Situation) -> Vec<(Fault, String)> {
        [
            self.over_temperature(),
            self.silent(now_s),
            self.jumping(now_s),
            self.frozen(now_s, situation),
            self.unasked(now_s, situation),
            self.not_following(now_s, situation),
            self.heater_gone(now_s),
            self.unwatched(now_s),
            self.recording_gone(),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    fn over_temperature(&self) -> Option<(Fault, String)> {
        let now_c = self.latest?.temperature_c;
        (now_c > self.settings.max_c).then(|| {
            let text = format!(
                "{now_c:.1} °C is above the bench's limit of {:.1} °C; heater off",
                self.settings.max_c
            );
            (Fault::OverTemperature, text)
        })
    }

    fn silent(&self, now_s: f64) -> Option<(Fault, String)> {
        let Limits { silent_s, .. } = self.settings.limits;
        // On a fast clock a second of the wall's is nothing a thermometer would be blamed for.
        let hiccup_s = if self.settings.speed > 1.0 {
            self.settings.speed
        } else {
            0.0
        };
        let patience_s = silent_s.max(self.settings.least_silence_s).max(hiccup_s);
        let since_s = now_s - self.heard_s;
        (since_s >= patience_s && self.odd.is_empty()).then(|| {
            let text =
                format!("no temperature for {since_s:.0} s; check the thermometer and its plug");
            (Fault::ThermometerSilent, text)
        })
    }

    fn jumping(&mut self, now_s: f64) -> Option<(Fault, String)> {
        self.odd.retain(|odd| {
            now_s - odd.time_s <= 2.0 * JUMPS_WITHIN_S * self.settings.speed.max(1.0)
        });
        let (first, last) = (self.odd.first()?, self.odd.last()?);
        (self.odd.len() >= 2).then(|| {
            let known = self.latest.map_or(f64::NAN, |sample| sample.temperature_c);
            let text = format!(
                "the thermometer jumps: {known:.1} °C, then {:.1} and {:.1} °C; check its probe and plug",
                first.temperature_c, last.temperature_c
            );
            (Fault::ThermometerJumping, text)
        })
    }

    fn frozen(&mut self, now_s: f64, situation: Situation) -> Option<(Fault, String)> {
        let now_c = self.latest?.temperature_c;
        let setpoint_c = situation.setpoint_c;
        let known = self.active.get(&Fault::ThermometerFrozen);
        if let (Some(text), Some(still)) = (known, self.still)
            && still.value_c == now_c
        {
            return Some((Fault::ThermometerFrozen, text.clone()));
        }
        if !situation.heating || self.settings.by_hand {
            self.still = None;
            return None;
        }
        let still = match self.still {
            Some(still) if still.value_c == now_c => Still {
                low_c: still.low_c.min(setpoint_c),
                high_c: still.high_c.max(setpoint_c),
                ..still
            },
            _ => Still {
                value_c: now_c,
                since_s: now_s,
                low_c: setpoint_c,
                high_c: setpoint_c,
            },
        };
        self.still = Some(still);
        let moved_c = still.high_c - still.low_c;
        (moved_c > self.settings.limits.frozen_c && now_s - still.since_s >= STILL_S).then(|| {
            let text = format!(
                "the indication stands at {now_c:.2} °C for {:.0} s while the setpoint went from {:.1} to {:.1} °C; check the thermometer",
                now_s - still.since_s,
                still.low_c,
                still.high_c
            );
            (Fault::ThermometerFrozen, text)
        })
    }

    fn unasked(&mut self, now_s: f64, situation: Situation) -> Option<(Fault, String)> {
        let now_c = self.latest?.temperature_c;
        let rise_c = self.settings.limits.hold_rise_c;
        if situation.holding {
            let hold_c = *self.hold_c.get_or_insert(situation.setpoint_c);
            if now_c > hold_c + rise_c {
                let text = format!("{now_c:.1} °C though {hold_c:.1} °C is to be held; heater off");
                return Some((Fault::HeatingUnasked, text));
            }
        } else {
            self.hold_c = None;
        }
        let off = !situation.heating || situation.leg == LegKind::Cool;
        if !off {
            self.off_since_s = None;
            self.indicated_off_since_s = None;
            self.highest_after_off_c = f64::NEG_INFINITY;
            return None;
        }
        let off_since_s = *self.off_since_s.get_or_insert(now_s);
        // What was not indicated since says nothing: the block may have gone on before it was off.
        let fresh =
            self.heard_s > off_since_s && now_s - self.heard_s < self.settings.limits.silent_s;
        if !fresh {
            return None;
        }
        let since_s = now_s - *self.indicated_off_since_s.get_or_insert(now_s);
        if since_s <= AFTERGLOW_S {
            self.highest_after_off_c = self.highest_after_off_c.max(now_c);
            return None;
        }
        (now_c > self.highest_after_off_c + rise_c).then(|| {
            let text = format!("{now_c:.1} °C and rising though the heater is off; pull its plug");
            (Fault::HeatingUnasked, text)
        })
    }

    fn not_following(&mut self, now_s: f64, situation: Situation) -> Option<(Fault, String)> {
        let now_c = self.latest?.temperature_c;
        let apart_c = situation.setpoint_c - now_c;
        let Limits {
            following_c,
            following_s,
            ..
        } = self.settings.limits;
        let followed = situation.heating && !self.settings.by_hand;
        let steered = followed
            && matches!(
                situation.leg,
                LegKind::Soak | LegKind::Attend | LegKind::Scan
            );
        if steered && apart_c.abs() > following_c {
            let since_s = *self.astray_since_s.get_or_insert(now_s);
            if now_s - since_s >= following_s.max(self.settings.speed) {
                let text = format!(
                    "the block is at {now_c:.1} °C, {:.1} °C from the setpoint of {:.1} °C for {:.0} s; check heater and thermometer",
                    apart_c.abs(),
                    situation.setpoint_c,
                    now_s - since_s
                );
                return Some((Fault::NotFollowing, text));
            }
        } else {
            self.astray_since_s = None;
        }
        if followed && situation.leg == LegKind::Approach && apart_c > AHEAD_C {
            let (from_s, from_c) = *self.approach_from.get_or_insert((now_s, now_c));
            if now_c >= from_c + APPROACH_GAIN_C {
                self.approach_from = Some((now_s, now_c));
            } else if now_s - from_s >= APPROACH_GAIN_S {
                let text = format!(
                    "the block stays at {now_c:.1} °C while it should heat up to {:.1} °C; check the heater, its plug and its fuse",
                    situation.setpoint_c
                );
                return Some((Fault::NotFollowing, text));
            }
        } else {
            self.approach_from = None;
        }
        None
    }

    fn heater_gone(&self, now_s: f64) -> Option<(Fault, String)> {
        let (since_s, why) = self.heater_lost.as_ref()?;
        let patience_s = self.settings.limits.silent_s.max(self.settings.speed);
        (now_s - since_s >= patience_s).then(|| {
            let text = format!("the heater takes no commands: {why}; switch it off by hand");
            (Fault::HeaterLost, text)
        })
    }

    fn unwatched(&self, now_s: f64) -> Option<(Fault, String)> {
        let since_s = now_s - self.seen_s?;
        let patience_s = self.settings.limits.unwatched_s * self.settings.speed;
        (since_s >= patience_s).then(|| {
            let text = format!("no page has looked for {since_s:.0} s; heater off");
            (Fault::Unwatched, text)
        })
    }

    fn recording_gone(&self) -> Option<(Fault, String)> {
        let why = self.recording_lost.as_ref()?;
        let text = format!("the recording is not kept any more: {why}; heater off");
        Some((Fault::RecordingLost, text))
    }
}
