//! The run itself, step by step.

mod presses;
mod shown;

use super::event::{Fault, Happening, RunEvent, leg_words};
use super::guard::{Finding, Guard, GuardSettings, Judged, Situation};
use super::heating::{Heating, LegStatus};
use super::observed::Indications;
use super::phase::{Phase, Trigger};
use super::rate::RateEstimate;
use super::view::{Look, Mark, MarkedMoment, TubeView};
use crate::bench_file::Limits;
use crate::device::{HeaterCommand, Sample};
use meltrange_planning::{HeatingAbility, Leg, LegKind, Programme};

/// Every tube has been clear for this long before a scan ends by itself [s].
const CLEAR_S: f64 = 12.0;
/// Pictures go on for this long after the last scan [s].
const TAIL_S: f64 = 10.0;
/// The heater must have said that it is off within this time [s].
const OFF_WITHIN_S: f64 = 10.0;
/// Longest step of the programme's clock [s]: what was slept through was not heated through.
const LONGEST_STEP_S: f64 = 10.0;

/// What is fixed for a run.
#[derive(Debug, Clone)]
pub struct RunSettings {
    /// What to do.
    pub programme: Programme,
    /// When to step in.
    pub limits: Limits,
    /// How fast the bench heats and cools.
    pub ability: HeatingAbility,
    /// The block must not be heated above this [°C].
    pub max_c: f64,
    /// A person turns the knob.
    pub by_hand: bool,
    /// No silence shorter than this is blamed on the thermometer [s].
    pub least_silence_s: f64,
    /// The scan ends by itself when every tube is clear.
    pub end_when_clear: bool,
    /// A page must look now and then ([`Run::seen`]).
    pub watched: bool,
    /// How many times as fast as the wall's the clock runs.
    pub speed: f64,
}

/// What a person presses.
#[derive(Debug, Clone, PartialEq)]
pub enum Press {
    /// Keep the temperature where it is.
    Hold,
    /// Heater off for a while.
    Pause,
    /// Go on after hold, pause or a fault that was mended.
    Resume,
    /// On to the next leg.
    Skip,
    /// End the run.
    Stop,
    /// I am here: begin the scan.
    Attend,
    /// I saw it now.
    Mark {
        /// 1.. from left to right.
        place: u8,
        /// Which moment.
        moment: MarkedMoment,
        /// Who.
        by: String,
    },
}

/// One run under way.
#[derive(Debug)]
pub struct Run {
    settings: RunSettings,
    start_s: f64,
    now_s: f64,
    phase: Phase,
    leg: usize,
    heating: Heating,
    guard: Guard,
    rate: RateEstimate,
    seen: Indications,
    tubes: Vec<TubeView>,
    called: Vec<(bool, bool)>,
    clear_since_s: Option<f64>,
    scanned_at_s: Option<f64>,
    suspended_at_s: Option<f64>,
    stopping_at_s: Option<f64>,
    marks: Vec<Mark>,
    events: Vec<RunEvent>,
    told: usize,
    end: Option<String>,
}

impl Run {
    /// Begin at `now_s` with the block at `now_c`.
    pub fn begin(settings: RunSettings, now_s: f64, now_c: f64) -> Self {
        let guard = GuardSettings {
            limits: settings.limits,
            max_c: settings.max_c,
            by_hand: settings.by_hand,
            least_silence_s: settings.least_silence_s,
            speed: settings.speed,
        };
        let mut run = Self {
            start_s: now_s,
            now_s,
            phase: Phase::Running,
            leg: 0,
            heating: Heating::new(now_c, settings.ability, settings.max_c, settings.by_hand),
            guard: Guard::new(guard, now_s, settings.watched),
            rate: RateEstimate::default(),
            seen: Indications::default(),
            tubes: Vec::new(),
            called: Vec::new(),
            clear_since_s: None,
            scanned_at_s: None,
            suspended_at_s: None,
            stopping_at_s: None,
            marks: Vec::new(),
            events: Vec::new(),
            told: 0,
            end: None,
            settings,
        };
        run.begin_leg(now_c);
        run
    }

    /// How far it is.
    pub fn phase(&self) -> Phase {
        self.phase
    }

    /// When it began, bench clock [s].
    pub fn start_s(&self) -> f64 {
        self.start_s
    }

    /// Whether pictures and temperatures still belong to the recording.
    pub fn is_recorded(&self) -> bool {
        !self.phase.is_over()
            && self
                .scanned_at_s
                .is_none_or(|at_s| self.now_s - at_s < TAIL_S)
    }

    /// Take a temperature; whether it may be used.
    pub fn temperature(&mut self, sample: Sample) -> bool {
        match self.guard.judge(sample) {
            Judged::Good => {
                self.rate.push(sample.time_s, sample.temperature_c);
                self.seen
                    .push(sample.time_s - self.start_s, sample.temperature_c);
                true
            }
            Judged::Odd(text) => {
                self.note(
                    Happening::Doubt,
                    format!("a temperature was not used: {text}"),
                );
                false
            }
        }
    }

    /// A page looked.
    pub fn seen(&mut self) {
        self.guard.seen(self.now_s);
    }

    /// The heater took a command, or did not.
    pub fn heater(&mut self, command: HeaterCommand, trouble: Option<String>) {
        let off = matches!(command, HeaterCommand::Off { .. });
        if trouble.is_none() && off && matches!(self.phase, Phase::Stopping | Phase::Failing) {
            self.go(Trigger::HeaterOff);
        }
        self.guard.heater(self.now_s, trouble);
    }

    /// The recording cannot be kept, or is kept again.
    pub fn recording(&mut self, trouble: Option<String>) {
        self.guard.recording(trouble);
    }

    /// Something to be remembered that the run itself does not know of.
    pub fn note(&mut self, what: Happening, text: impl Into<String>) {
        self.events.push(RunEvent {
            time_s: self.now_s - self.start_s,
            what,
            text: text.into(),
        });
    }

    /// Let time pass until `now_s`; what the heater is to be asked for.
    pub fn advance(&mut self, now_s: f64) -> HeaterCommand {
        let step_s = (now_s - self.now_s).clamp(0.0, LONGEST_STEP_S);
        self.now_s = self.now_s.max(now_s);
        let situation = self.situation();
        for finding in self.guard.check(self.now_s, situation) {
            match finding {
                Finding::Wrong(fault, text) => self.wrong(fault, text),
                Finding::Mended(fault) => {
                    self.note(
                        Happening::Mended,
                        format!("{}: well again", fault_words(fault)),
                    );
                }
            }
        }
        match self.phase {
            Phase::Running => self.go_on(step_s),
            Phase::Suspended => self.wait_suspended(),
            Phase::Stopping | Phase::Failing => {
                let since_s = *self.stopping_at_s.get_or_insert(self.now_s);
                if self.now_s - since_s > OFF_WITHIN_S * self.settings.speed {
                    self.note(
                        Happening::Fault,
                        "the heater does not say that it is off; switch it off by hand",
                    );
                    self.go(Trigger::HeaterLost);
                }
            }
            Phase::Holding | Phase::Paused | Phase::Ended | Phase::Broken => {}
        }
        self.command()
    }

    /// What the heater is to be asked for now.
    pub fn command(&self) -> HeaterCommand {
        match self.phase {
            Phase::Running => self.heating.command(&self.current(), self.now_c()),
            Phase::Holding => HeaterCommand::Setpoint {
                setpoint_c: self.heating.setpoint_c,
                rate_c_per_min: 0.0,
            },
            _ => HeaterCommand::Off { fan: false },
        }
    }

    fn wrong(&mut self, fault: Fault, text: String) {
        self.note(Happening::Fault, text.clone());
        // A hand on the knob cannot be switched off, only told; the coach and the page do.
        let advice_only = self.settings.by_hand && fault == Fault::HeatingUnasked;
        if advice_only || !self.phase.may_heat() && fault.can_be_mended() {
            return;
        }
        let trigger = if fault.can_be_mended() {
            Trigger::Suspend
        } else {
            Trigger::Fail
        };
        if self.go(trigger) {
            self.suspended_at_s = Some(self.now_s);
            if trigger == Trigger::Fail {
                self.end = Some(text);
            }
        }
    }

    fn wait_suspended(&mut self) {
        let since_s = *self.suspended_at_s.get_or_insert(self.now_s);
        if self.now_s - since_s > self.settings.limits.suspended_min * 60.0 {
            let text = "nobody mended what was wrong";
            self.note(Happening::Fault, text);
            self.end = Some(text.into());
            self.go(Trigger::Fail);
        }
    }

    fn go_on(&mut self, step_s: f64) {
        let now_c = self.now_c();
        let leg = self.current();
        let status = self.heating.advance(&leg, step_s, now_c, self.rate.rate());
        match status {
            LegStatus::Done => return self.next_leg(),
            LegStatus::DoneWithDoubt(text) => {
                self.note(Happening::Doubt, text);
                return self.next_leg();
            }
            LegStatus::Going => {}
        }
        match leg {
            Leg::Attend if self.attend_left_s() <= 0.0 => {
                let waited = self.settings.limits.attend_min;
                self.note(
                    Happening::Fault,
                    format!("nobody came to the scan within {waited:.0} min; it cools"),
                );
                self.end = Some("nobody came to the scan".into());
                self.cool_or_stop();
            }
            Leg::Scan { .. } if self.settings.end_when_clear && self.is_last_scan() => {
                if self.all_clear() {
                    let since_s = *self.clear_since_s.get_or_insert(self.now_s);
                    if self.now_s - since_s >= CLEAR_S {
                        self.note(Happening::Leg, "every tube is clear: the scan ends");
                        self.next_leg();
                    }
                } else {
                    self.clear_since_s = None;
                }
            }
            _ => {}
        }
    }

    fn all_clear(&self) -> bool {
        let mut filled = self
            .tubes
            .iter()
            .filter(|tube| tube.look != Look::Empty)
            .peekable();
        filled.peek().is_some()
            && filled.all(|tube| matches!(tube.look, Look::Clear | Look::Darkened))
    }

    fn is_last_scan(&self) -> bool {
        !self.settings.programme.legs()[self.leg + 1..]
            .iter()
            .any(|leg| leg.kind() == LegKind::Scan)
    }

    fn next_leg(&mut self) {
        if self.leg_kind() == LegKind::Scan && self.is_last_scan() {
            self.scanned_at_s.get_or_insert(self.now_s);
        }
        if self.leg + 1 >= self.settings.programme.legs().len() {
            self.end
                .get_or_insert_with(|| "the programme is over".into());
            self.go(Trigger::Done);
            return;
        }
        self.leg += 1;
        self.begin_leg(self.now_c());
    }

    fn cool_or_stop(&mut self) {
        let legs = self.settings.programme.legs();
        match legs.iter().rposition(|leg| leg.kind() == LegKind::Cool) {
            Some(cool) if cool > self.leg => {
                self.leg = cool;
                self.scanned_at_s.get_or_insert(self.now_s);
                self.begin_leg(self.now_c());
            }
            _ => {
                self.go(Trigger::Stop);
            }
        }
    }

    fn begin_leg(&mut self, now_c: f64) {
        let leg = self.current();
        self.heating.begin_leg(&leg, now_c);
        self.rate.clear();
        self.clear_since_s = None;
        let to = leg
            .to_c()
            .map_or(String::new(), |to_c| format!(" to {to_c:.1} °C"));
        self.note(
            Happening::Leg,
            format!("{}{to}, from {now_c:.1} °C", leg_words(leg.kind())),
        );
    }

    fn go(&mut self, trigger: Trigger) -> bool {
        let Some(next) = self.phase.after(trigger) else {
            return false;
        };
        self.phase = next;
        if matches!(next, Phase::Stopping | Phase::Failing) {
            self.stopping_at_s = Some(self.now_s);
        }
        if next.is_over() {
            let why = self.end.clone().unwrap_or_default();
            self.note(Happening::Over, why);
        }
        true
    }

    fn situation(&self) -> Situation {
        Situation {
            heating: self.phase.may_heat(),
            holding: self.phase == Phase::Holding,
            leg: self.leg_kind(),
            setpoint_c: self.heating.setpoint_c,
        }
    }

    fn current(&self) -> Leg {
        self.settings.programme.legs()[self.leg]
    }

    fn leg_kind(&self) -> LegKind {
        self.current().kind()
    }

    fn now_c(&self) -> f64 {
        self.guard
            .latest()
            .map_or(self.heating.setpoint_c, |sample| sample.temperature_c)
    }

    fn attend_left_s(&self) -> f64 {
        self.settings.limits.attend_min * 60.0 - self.heating.leg_elapsed_s
    }

    /// Events since the last time this was asked.
    pub fn new_events(&mut self) -> Vec<RunEvent> {
        let new = self.events[self.told..].to_vec();
        self.told = self.events.len();
        new
    }
}

fn fault_words(fault: Fault) -> &'static str {
    match fault {
        Fault::OverTemperature => "temperature limit",
        Fault::ThermometerSilent | Fault::ThermometerFrozen | Fault::ThermometerJumping => {
            "thermometer"
        }
        Fault::HeatingUnasked => "heating",
        Fault::NotFollowing => "block",
        Fault::HeaterLost => "heater",
        Fault::Unwatched => "page",
        Fault::RecordingLost => "recording",
    }
}
