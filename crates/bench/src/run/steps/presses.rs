//! What a person presses, and what comes of it.

use super::{Press, Run};
use crate::run::event::Happening;
use crate::run::phase::{Phase, Trigger};
use crate::run::view::{Mark, MarkedMoment};
use meltrange_planning::LegKind;

impl Run {
    /// What the person presses.
    ///
    /// # Errors
    /// In words, when it means nothing now.
    pub fn press(&mut self, press: Press) -> Result<(), String> {
        if let Press::Mark { place, moment, by } = press {
            return self.mark(place, moment, by);
        }
        let refused = |what: &str, phase: Phase| {
            Err(format!(
                "{what} means nothing while the run is {}",
                words(phase)
            ))
        };
        match press {
            Press::Hold => {
                if self.go(Trigger::Hold) {
                    let now_c = self.now_c();
                    self.heating.hold(now_c);
                    self.note(Happening::Pressed, format!("hold at {now_c:.1} °C"));
                    return Ok(());
                }
                refused("hold", self.phase)
            }
            Press::Pause => {
                if self.go(Trigger::Pause) {
                    self.note(Happening::Pressed, "pause: heater off");
                    return Ok(());
                }
                refused("pause", self.phase)
            }
            Press::Resume => self.resume(),
            Press::Stop => {
                if self.go(Trigger::Stop) {
                    self.note(Happening::Pressed, "stop");
                    self.end = Some("the person stopped it".into());
                    return Ok(());
                }
                refused("stop", self.phase)
            }
            Press::Skip if self.phase == Phase::Running => {
                self.note(Happening::Pressed, "skip to the next leg");
                self.next_leg();
                Ok(())
            }
            Press::Skip => refused("skip", self.phase),
            Press::Attend => {
                let waits = self.phase == Phase::Running && self.leg_kind() == LegKind::Attend;
                if !waits {
                    return Err("nobody is being waited for".into());
                }
                self.note(Happening::Pressed, "the person is here");
                self.next_leg();
                Ok(())
            }
            Press::Mark { .. } => Ok(()),
        }
    }

    fn resume(&mut self) -> Result<(), String> {
        if let Some(text) = self.guard.hinders() {
            return Err(format!("this has to be mended first: {text}"));
        }
        let before = self.phase;
        if !self.go(Trigger::Resume) {
            return Err(format!(
                "there is nothing to go on with while the run is {}",
                words(self.phase)
            ));
        }
        if before != Phase::Holding {
            let now_c = self.now_c();
            let leg = self.current();
            self.heating.take_up(&leg, now_c);
        }
        self.note(Happening::Pressed, "resume");
        Ok(())
    }

    fn mark(&mut self, place: u8, moment: MarkedMoment, by: String) -> Result<(), String> {
        if !(1..=3).contains(&place) {
            return Err(format!("place {place}; expected 1, 2 or 3"));
        }
        if self.phase.is_over() {
            return Err("the run is over; give a reading of its recording instead".into());
        }
        let time_s = self.now_s - self.start_s;
        let temperature_c = self.seen.at(time_s);
        let at = temperature_c.map_or(String::new(), |at_c| format!(" at {at_c:.1} °C"));
        self.note(
            Happening::Marked,
            format!("tube {place}: {} marked{at} by {by}", moment.words()),
        );
        // The last word of one person counts.
        self.marks
            .retain(|mark| (mark.place, mark.moment, &mark.by) != (place, moment, &by));
        self.marks.push(Mark {
            place,
            moment,
            time_s,
            temperature_c,
            by,
        });
        Ok(())
    }
}

fn words(phase: Phase) -> &'static str {
    match phase {
        Phase::Running => "running",
        Phase::Holding => "holding",
        Phase::Paused => "paused",
        Phase::Suspended => "suspended",
        Phase::Stopping | Phase::Failing => "being stopped",
        Phase::Ended | Phase::Broken => "over",
    }
}
