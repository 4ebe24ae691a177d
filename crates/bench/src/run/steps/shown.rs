//! What the engine sees of the tubes, and what a run shows of itself.

use super::Run;
use crate::run::coach::coach;
use crate::run::event::Happening;
use crate::run::observed::tube_view;
use crate::run::phase::Phase;
use crate::run::view::{ActiveFault, Mark, RunView};
use meltrange_planning::{Leg, Purpose};
use meltrange_reading::LiveTube;

/// Events that a view carries.
const RECENT: usize = 30;

impl Run {
    /// What the engine sees; times by the bench clock.
    pub fn tubes(&mut self, tubes: &[LiveTube]) {
        let now_s = self.now_s - self.start_s;
        self.tubes = tubes
            .iter()
            .map(|tube| tube_view(tube, now_s, self.start_s, &self.seen))
            .collect();
        self.called.resize(self.tubes.len(), (false, false));
        for at in 0..self.tubes.len() {
            let tube = self.tubes[at];
            let (first, last) = self.called[at];
            let called = |what: &str, at_s: Option<f64>, at_c: Option<f64>| {
                let at_s = at_s?;
                let at_c = at_c.map_or(String::new(), |at_c| format!(" at {at_c:.1} °C"));
                Some(format!(
                    "tube {}: {what} called at {at_s:.0} s{at_c}",
                    tube.place
                ))
            };
            let is_first = tube.first_liquid_s.is_some();
            if is_first && !first {
                let text = called("first liquid", tube.first_liquid_s, tube.first_liquid_c);
                self.note(Happening::Called, text.unwrap_or_default());
            } else if first && !is_first {
                let text = format!("tube {}: first liquid taken back", tube.place);
                self.note(Happening::Called, text);
            }
            let is_last = tube.last_crystal_s.is_some();
            if is_last && !last {
                let text = called("last crystal", tube.last_crystal_s, tube.last_crystal_c);
                self.note(Happening::Called, text.unwrap_or_default());
            }
            self.called[at] = (is_first, is_last);
        }
    }

    /// What the person marked.
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// Why it is over.
    pub fn end(&self) -> Option<&str> {
        self.end.as_deref()
    }

    /// First liquid of the first tube and last crystal of the last, as called [°C].
    pub fn estimate_c(&self) -> Option<[f64; 2]> {
        let firsts = self.tubes.iter().filter_map(|tube| tube.first_liquid_c);
        let lasts = self.tubes.iter().filter_map(|tube| tube.last_crystal_c);
        Some([firsts.reduce(f64::min)?, lasts.reduce(f64::max)?])
    }

    /// Where the block should be [°C].
    pub fn wanted_c(&self) -> f64 {
        self.heating.setpoint_c
    }

    /// As it is now.
    pub fn view(&self) -> RunView {
        let leg = self.current();
        let programme = &self.settings.programme;
        let scan_rate = programme.legs()[self.leg..]
            .iter()
            .find_map(|leg| match leg {
                Leg::Scan { rate_c_per_min, .. } => Some(*rate_c_per_min),
                _ => None,
            });
        let scan = programme
            .window_c()
            .filter(|_| programme.purpose() == Purpose::Measuring)
            .map(|window| window.0)
            .zip(scan_rate);
        let wanted = if self.phase == Phase::Running {
            self.heating.rate_c_per_min
        } else {
            0.0
        };
        RunView {
            time_s: self.now_s - self.start_s,
            phase: self.phase,
            programme: programme.clone(),
            leg: self.leg,
            leg_elapsed_s: self.heating.leg_elapsed_s,
            temperature_c: self.guard.latest().map(|sample| sample.temperature_c),
            wanted_c: self.heating.setpoint_c,
            coaching: coach(&leg, self.now_c(), self.rate.rate(), wanted, scan),
            faults: self
                .guard
                .active()
                .map(|(fault, text)| ActiveFault {
                    fault,
                    text: text.to_owned(),
                })
                .collect(),
            tubes: self.tubes.clone(),
            marks: self.marks.clone(),
            attend_left_s: (self.phase == Phase::Running && leg == Leg::Attend)
                .then(|| self.attend_left_s().max(0.0)),
            estimate_c: self.estimate_c(),
            events: self.events[self.events.len().saturating_sub(RECENT)..].to_vec(),
            recording: self.is_recorded(),
            end: self.phase.is_over().then(|| self.end.clone()).flatten(),
        }
    }
}
