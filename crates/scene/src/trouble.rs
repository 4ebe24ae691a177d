//! When a trouble begins, and how strong it is by now.

use meltrange_physics::Celsius;

use crate::random::smooth_step;
use crate::tube_spec::{Onset, TubeSpec};

/// A trouble without a time or a temperature of its own comes this far below melting \[°C\].
const DEFAULT_BELOW_MELTING_C: f64 = 2.0;

/// What a trouble waits for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Cue {
    at_c: f64,
    /// Infinite until the block has reached `at_c`.
    start_s: f64,
}

impl Cue {
    /// It comes at its time, or when the block first reaches its temperature; never if it does not.
    pub(crate) fn new(at_s: Option<f64>, at_c: Option<f64>, tube: &TubeSpec) -> Self {
        Self {
            at_c: at_c.unwrap_or(tube.melts_at_c - DEFAULT_BELOW_MELTING_C),
            start_s: at_s.unwrap_or(f64::INFINITY),
        }
    }

    /// Take notice of the block's temperature at a time; times rise from call to call.
    pub(crate) fn watch(&mut self, time_s: f64, block: Celsius) {
        if self.start_s == f64::INFINITY && block.0 >= self.at_c {
            self.start_s = time_s;
        }
    }

    /// Log time at which it begins \[s\]; infinite while that is not known.
    pub(crate) fn start_s(&self) -> f64 {
        self.start_s
    }

    /// Whether it is known when it begins.
    pub(crate) fn is_known(&self) -> bool {
        self.start_s < f64::INFINITY
    }

    /// Part of it done by now when it takes `duration_s`, smoothly from 0 to 1.
    pub(crate) fn done(&self, duration_s: f64, time_s: f64) -> f64 {
        if time_s <= self.start_s {
            return 0.0;
        }
        smooth_step(self.start_s, self.start_s + duration_s, time_s)
    }
}

/// A trouble that grows.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Swell {
    pub(crate) cue: Cue,
    pub(crate) duration_s: f64,
    pub(crate) strength: f64,
}

impl Swell {
    pub(crate) fn new(onset: Onset, tube: &TubeSpec) -> Self {
        Self {
            cue: Cue::new(onset.at_s, onset.at_c, tube),
            duration_s: onset.duration_s,
            strength: onset.strength,
        }
    }

    /// Strength by now, growing from 0.
    pub(crate) fn at(&self, time_s: f64) -> f64 {
        self.strength * self.cue.done(self.duration_s.max(1e-3), time_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trouble_comes_when_its_temperature_is_first_reached_and_stays() {
        let tube = TubeSpec::default();
        let mut cue = Cue::new(None, Some(90.0), &tube);
        for (time_s, block_c) in [(0.0, 20.0), (10.0, 89.9), (11.0, f64::NAN)] {
            cue.watch(time_s, Celsius(block_c));
            assert!(!cue.is_known() && cue.done(5.0, 1e9) == 0.0);
        }
        for (time_s, block_c) in [(12.0, 90.0), (20.0, 95.0), (30.0, 60.0), (40.0, 99.0)] {
            cue.watch(time_s, Celsius(block_c));
            assert_eq!(cue.start_s(), 12.0);
        }
        assert_eq!((cue.done(5.0, 12.0), cue.done(5.0, 17.0)), (0.0, 1.0));
        assert!((cue.done(5.0, 14.5) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_time_of_its_own_goes_before_any_temperature_and_two_degrees_below_melting_is_the_rest() {
        let tube = TubeSpec::default();
        let mut timed = Cue::new(Some(50.0), None, &tube);
        timed.watch(0.0, Celsius(300.0));
        assert_eq!(timed.start_s(), 50.0);
        let mut waiting = Cue::new(None, None, &tube);
        waiting.watch(1.0, Celsius(tube.melts_at_c - 2.01));
        assert!(!waiting.is_known());
        waiting.watch(2.0, Celsius(tube.melts_at_c - 1.99));
        assert_eq!(waiting.start_s(), 2.0);
    }
}
