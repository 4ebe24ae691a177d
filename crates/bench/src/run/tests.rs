//! Runs with a block that is a few lines of arithmetic; the simulated bench has the real one.

use super::*;
use crate::bench_file::Limits;
use crate::device::{HeaterCommand, Sample};
use meltrange_planning::{HeatingAbility, MeasuringOrder, Programme};

/// A block that follows its setpoint within a lag, and a thermometer with faults on demand.
struct Trial {
    run: Run,
    now_s: f64,
    block_c: f64,
    command: HeaterCommand,
    thermometer: Thermometer,
    heater: Heater,
}

#[derive(Clone, Copy, PartialEq)]
enum Thermometer {
    Well,
    Silent,
    Frozen(f64),
    Jumping,
}

#[derive(Clone, Copy, PartialEq)]
enum Heater {
    Well,
    Cold,
    Stuck,
    Unreachable,
}

const STEP_S: f64 = 0.5;

impl Trial {
    fn new(change: impl FnOnce(&mut RunSettings)) -> Self {
        let programme =
            Programme::measuring(&MeasuringOrder::around(70.0, 71.0), 100.0).expect("in range");
        let mut settings = RunSettings {
            programme,
            limits: Limits::default(),
            ability: HeatingAbility::default(),
            max_c: 100.0,
            by_hand: false,
            least_silence_s: 0.0,
            end_when_clear: true,
            watched: false,
            speed: 1.0,
        };
        change(&mut settings);
        let run = Run::begin(settings, 0.0, 22.0);
        let command = run.command();
        Self {
            run,
            now_s: 0.0,
            block_c: 22.0,
            command,
            thermometer: Thermometer::Well,
            heater: Heater::Well,
        }
    }

    fn step(&mut self) {
        self.now_s += STEP_S;
        let lag_s = 4.0;
        match (self.heater, self.command) {
            (Heater::Stuck, _) => self.block_c += 15.0 * STEP_S / 60.0,
            (Heater::Well | Heater::Unreachable, HeaterCommand::Setpoint { setpoint_c, .. }) => {
                self.block_c += (setpoint_c - self.block_c) * STEP_S / lag_s;
            }
            _ => self.block_c += (22.0 - self.block_c) * STEP_S / 720.0,
        }
        let indicated = match self.thermometer {
            Thermometer::Well => Some(self.block_c),
            Thermometer::Silent => None,
            Thermometer::Frozen(at_c) => Some(at_c),
            Thermometer::Jumping => Some(if (self.now_s as u64).is_multiple_of(2) {
                self.block_c
            } else {
                self.block_c + 60.0
            }),
        };
        if let Some(temperature_c) = indicated {
            self.run.temperature(Sample {
                time_s: self.now_s,
                temperature_c,
            });
        }
        self.command = self.run.advance(self.now_s);
        let trouble = (self.heater == Heater::Unreachable).then(|| "no answer".to_owned());
        self.run.heater(self.command, trouble);
    }

    fn for_s(&mut self, duration_s: f64) {
        let end_s = self.now_s + duration_s;
        while self.now_s < end_s {
            self.step();
        }
    }

    fn until(&mut self, what: &str, within_s: f64, done: impl Fn(&Run) -> bool) {
        let end_s = self.now_s + within_s;
        while !done(&self.run) {
            assert!(
                self.now_s < end_s,
                "{what} did not come within {within_s} s: {:#?}",
                self.run.view()
            );
            self.step();
        }
    }

    fn leg(&self) -> usize {
        self.run.view().leg
    }

    fn in_scan(change: impl FnOnce(&mut RunSettings)) -> Self {
        let mut trial = Self::new(change);
        trial.until("attend", 900.0, |run| run.view().attend_left_s.is_some());
        trial.run.press(Press::Attend).expect("it waits");
        trial.for_s(30.0);
        assert_eq!(trial.leg(), 3);
        trial
    }

    fn events(&self, what: Happening) -> Vec<String> {
        self.run
            .view()
            .events
            .iter()
            .filter(|event| event.what == what)
            .map(|event| event.text.clone())
            .collect()
    }

    fn is_off(&self) -> bool {
        matches!(self.command, HeaterCommand::Off { .. })
    }

    fn faults(&self) -> Vec<Fault> {
        self.run
            .view()
            .faults
            .iter()
            .map(|active| active.fault)
            .collect()
    }
}

#[test]
fn a_run_goes_through_its_legs_and_ends_with_the_heater_off() {
    let mut trial = Trial::new(|_| ());
    trial.until("attend", 900.0, |run| run.view().attend_left_s.is_some());
    // 48 °C at 15 °C/min with a taper, then 3 min of soak.
    assert!((300.0..600.0).contains(&trial.now_s), "{}", trial.now_s);
    assert!((trial.block_c - 67.0).abs() < 0.2, "{}", trial.block_c);
    trial.run.press(Press::Attend).expect("it waits");
    trial.for_s(120.0);
    let rate = trial.run.view().coaching.actual_c_per_min.expect("enough");
    assert!((rate - 1.0).abs() < 0.05, "{rate}");
    trial.until("cooling", 400.0, |run| run.view().leg == 4);
    assert!(trial.is_off());
    assert!(trial.run.is_recorded(), "a few seconds more");
    trial.for_s(15.0);
    assert!(!trial.run.is_recorded());
    trial.until("end", 2000.0, |run| run.phase() == Phase::Ended);
    assert!(trial.is_off());
    assert_eq!(trial.run.end(), Some("the programme is over"));
    assert!(trial.events(Happening::Fault).is_empty());
    assert!(trial.run.press(Press::Resume).is_err());
}

#[test]
fn hold_keeps_and_resume_goes_on() {
    let mut trial = Trial::in_scan(|_| ());
    trial.run.press(Press::Hold).expect("it runs");
    let held_c = trial.block_c;
    trial.for_s(120.0);
    assert!((trial.block_c - held_c).abs() < 0.1);
    trial.run.press(Press::Resume).expect("it holds");
    trial.for_s(60.0);
    assert!(
        (trial.block_c - held_c - 1.0).abs() < 0.15,
        "{}",
        trial.block_c - held_c
    );
}

#[test]
fn pause_takes_the_heat_away_and_resume_comes_back_from_below() {
    let mut trial = Trial::in_scan(|_| ());
    trial.for_s(120.0);
    let left_c = trial.block_c;
    trial.run.press(Press::Pause).expect("it runs");
    trial.for_s(120.0);
    assert!(trial.is_off());
    assert!(trial.block_c < left_c - 4.0);
    trial.run.press(Press::Resume).expect("it is paused");
    trial.for_s(3.0);
    assert!(
        trial.run.view().coaching.wanted_c_per_min > 1.0,
        "fast up to there"
    );
    trial.until("the scan again", 120.0, |run| {
        run.view().coaching.wanted_c_per_min == 1.0
    });
    assert!(
        (trial.block_c - (left_c - 2.0)).abs() < 1.2,
        "{} {left_c}",
        trial.block_c
    );
}

#[test]
fn above_the_limit_the_run_breaks_with_the_heater_off() {
    let mut trial = Trial::in_scan(|_| ());
    trial.heater = Heater::Stuck;
    trial.until("the end", 400.0, |run| run.phase().is_over());
    assert_eq!(trial.run.phase(), Phase::Broken);
    assert!(trial.is_off());
    assert!(!trial.events(Happening::Fault).is_empty());
    let mut hot = Trial::in_scan(|settings| settings.max_c = 75.0);
    hot.heater = Heater::Stuck;
    hot.until("the limit", 400.0, |run| run.phase().is_over());
    let said = hot.events(Happening::Fault);
    assert!(
        said.iter().any(|text| text.contains("limit of 75.0 °C")),
        "{said:?}"
    );
    assert!(hot.block_c < 76.0);
}

#[test]
fn a_silent_thermometer_takes_the_heat_away_within_its_time() {
    let mut trial = Trial::in_scan(|_| ());
    trial.thermometer = Thermometer::Silent;
    trial.for_s(4.0);
    assert!(!trial.is_off());
    trial.for_s(1.5);
    assert!(trial.is_off());
    assert_eq!(trial.run.phase(), Phase::Suspended);
    let error = trial.run.press(Press::Resume).expect_err("still silent");
    assert!(error.contains("thermometer"), "{error}");
    trial.thermometer = Thermometer::Well;
    trial.for_s(2.0);
    assert!(trial.is_off(), "only the person brings the heat back");
    trial.run.press(Press::Resume).expect("mended");
    trial.for_s(2.0);
    assert!(!trial.is_off());
    assert_eq!(trial.events(Happening::Mended).len(), 1);
}

#[test]
fn what_was_not_indicated_is_no_heating_unasked() {
    let mut trial = Trial::new(|_| ());
    trial.for_s(100.0);
    trial.thermometer = Thermometer::Silent;
    trial.for_s(90.0);
    // It rose before the silence was noticed, and is much warmer when it is seen again.
    trial.block_c += 20.0;
    trial.thermometer = Thermometer::Well;
    trial.for_s(120.0);
    assert_eq!(
        trial.run.phase(),
        Phase::Suspended,
        "{:?}",
        trial.events(Happening::Fault)
    );
    trial.heater = Heater::Stuck;
    trial.until("the end", 120.0, |run| run.phase() == Phase::Broken);
}

#[test]
fn a_suspended_run_that_nobody_mends_breaks() {
    let mut trial = Trial::in_scan(|_| ());
    trial.thermometer = Thermometer::Silent;
    trial.until("the end", 700.0, |run| run.phase() == Phase::Broken);
    assert!(trial.is_off());
}

#[test]
fn a_frozen_thermometer_is_found_out() {
    // In the approach, within the time for 3 °C and the half minute of standing still.
    let mut trial = Trial::new(|_| ());
    trial.for_s(60.0);
    trial.thermometer = Thermometer::Frozen(trial.block_c);
    trial.for_s(31.0);
    assert!(
        trial.faults().contains(&Fault::ThermometerFrozen),
        "{:?}",
        trial.faults()
    );
    assert!(trial.is_off());
    // In the scan at 1 °C/min.
    let mut slow = Trial::in_scan(|_| ());
    slow.thermometer = Thermometer::Frozen(slow.block_c);
    slow.for_s(185.0);
    assert!(
        slow.faults().contains(&Fault::ThermometerFrozen),
        "{:?}",
        slow.faults()
    );
}

#[test]
fn a_jumping_thermometer_is_not_believed() {
    let mut trial = Trial::in_scan(|_| ());
    trial.thermometer = Thermometer::Jumping;
    trial.for_s(4.0);
    assert_eq!(trial.run.phase(), Phase::Suspended);
    assert!(trial.is_off());
    assert!(
        trial
            .events(Happening::Doubt)
            .iter()
            .any(|text| text.contains("not used"))
    );
    assert!(trial.run.view().temperature_c.expect("known") < 75.0);
}

#[test]
fn one_odd_value_is_passed_over() {
    let mut trial = Trial::in_scan(|_| ());
    let used = trial.run.temperature(Sample {
        time_s: trial.now_s + 0.1,
        temperature_c: trial.block_c + 60.0,
    });
    assert!(!used);
    trial.for_s(20.0);
    assert_eq!(trial.run.phase(), Phase::Running);
}

#[test]
fn heating_while_told_to_hold_breaks_the_run() {
    let mut trial = Trial::in_scan(|_| ());
    trial.run.press(Press::Hold).expect("it runs");
    trial.heater = Heater::Stuck;
    trial.until("the end", 60.0, |run| run.phase() == Phase::Broken);
    assert!(trial.is_off());
    let said = trial.events(Happening::Fault);
    assert!(
        said.iter().any(|text| text.contains("is to be held")),
        "{said:?}"
    );
}

#[test]
fn heating_in_a_pause_is_called_out() {
    let mut trial = Trial::in_scan(|_| ());
    trial.run.press(Press::Pause).expect("it runs");
    trial.for_s(70.0);
    trial.heater = Heater::Stuck;
    trial.until("the end", 120.0, |run| run.phase() == Phase::Broken);
    let said = trial.events(Happening::Fault);
    assert!(
        said.iter().any(|text| text.contains("pull its plug")),
        "{said:?}"
    );
}

#[test]
fn a_block_that_does_not_follow_is_suspended() {
    let mut trial = Trial::in_scan(|_| ());
    trial.heater = Heater::Cold;
    trial.until("the fault", 600.0, |run| run.phase() == Phase::Suspended);
    assert_eq!(trial.faults(), [Fault::NotFollowing]);
    let mut cold = Trial::new(|_| ());
    cold.heater = Heater::Cold;
    cold.thermometer = Thermometer::Well;
    cold.until("the fault", 200.0, |run| run.phase() == Phase::Suspended);
}

#[test]
fn a_heater_that_takes_no_commands_is_called_out() {
    let mut trial = Trial::in_scan(|_| ());
    trial.heater = Heater::Unreachable;
    trial.for_s(7.0);
    assert!(trial.faults().contains(&Fault::HeaterLost));
    assert_eq!(trial.run.phase(), Phase::Suspended);
    trial.run.press(Press::Stop).expect("always");
    trial.for_s(12.0);
    assert_eq!(
        trial.run.phase(),
        Phase::Broken,
        "nobody said that it is off"
    );
}

#[test]
fn a_recording_that_is_not_kept_takes_the_heat_away() {
    let mut trial = Trial::in_scan(|_| ());
    trial
        .run
        .recording(Some("the disk is full and 256 MiB wait".into()));
    trial.for_s(1.0);
    assert_eq!(trial.run.phase(), Phase::Suspended);
    assert!(trial.is_off());
    let said = trial.events(Happening::Fault);
    assert!(said.iter().any(|text| text.contains("256 MiB")), "{said:?}");
    assert!(trial.run.press(Press::Resume).is_err(), "still not kept");
    trial.run.recording(None);
    trial.for_s(1.0);
    trial.run.press(Press::Resume).expect("kept again");
}

#[test]
fn nobody_at_the_scan_and_it_cools() {
    let mut trial = Trial::new(|settings| settings.limits.attend_min = 2.0);
    trial.until("cooling", 1200.0, |run| run.view().leg == 4);
    assert!(trial.is_off());
    let said = trial.events(Happening::Fault);
    assert!(
        said.iter().any(|text| text.contains("nobody came")),
        "{said:?}"
    );
    trial.until("the end", 2000.0, |run| run.phase() == Phase::Ended);
    assert_eq!(trial.run.end(), Some("nobody came to the scan"));
}

#[test]
fn with_no_page_looking_the_heat_goes() {
    let mut trial = Trial::in_scan(|settings| {
        settings.watched = true;
        settings.limits.unwatched_s = 3600.0;
    });
    trial.run.seen();
    let mut watched = Trial::new(|settings| settings.watched = true);
    for _ in 0..10 {
        watched.for_s(10.0);
        watched.run.seen();
    }
    assert_eq!(watched.run.phase(), Phase::Running);
    watched.for_s(61.0);
    assert_eq!(watched.run.phase(), Phase::Suspended);
    assert!(watched.is_off());
    watched.run.seen();
    watched.for_s(1.0);
    watched.run.press(Press::Resume).expect("somebody is back");
}

#[test]
fn marks_carry_time_and_temperature_and_never_block() {
    let mut trial = Trial::in_scan(|_| ());
    let mark = |moment| Press::Mark {
        place: 2,
        moment,
        by: "Ada".into(),
    };
    trial
        .run
        .press(mark(MarkedMoment::FirstLiquid))
        .expect("taken");
    trial.for_s(30.0);
    trial.run.press(Press::Hold).expect("it runs");
    trial
        .run
        .press(mark(MarkedMoment::LastCrystal))
        .expect("taken while holding");
    trial
        .run
        .press(mark(MarkedMoment::FirstLiquid))
        .expect("the last word counts");
    let marks = trial.run.marks();
    assert_eq!(marks.len(), 2);
    let last = marks.last().expect("two");
    assert_eq!(last.moment, MarkedMoment::FirstLiquid);
    assert!((last.temperature_c.expect("known") - trial.block_c).abs() < 0.1);
    assert!(
        trial
            .run
            .press(Press::Mark {
                place: 4,
                moment: MarkedMoment::FirstLiquid,
                by: "Ada".into()
            })
            .is_err()
    );
}

#[test]
fn the_scan_ends_when_every_tube_is_clear() {
    use meltrange_reading::{LiveStage, LiveTube};
    let tube = |stage| LiveTube {
        tube: 1,
        stage,
        first_liquid_s: Some(400.0),
        last_crystal_s: (stage == LiveStage::Liquid).then_some(430.0),
        in_sight: true,
        taken_back: 0,
        settling: false,
    };
    let mut trial = Trial::in_scan(|_| ());
    trial.run.tubes(&[tube(LiveStage::Melting)]);
    trial.for_s(20.0);
    assert_eq!(trial.leg(), 3);
    trial.run.tubes(&[tube(LiveStage::Liquid)]);
    trial.for_s(13.0);
    assert_eq!(trial.leg(), 4);
    assert!(trial.run.estimate_c().is_some());
}
