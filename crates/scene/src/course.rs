//! The block's temperature as the scene needs it: known beforehand, or as it comes.

use meltrange_physics::{BlockTemperature, Celsius};

/// Half the stretch over which a rate is taken \[s\].
const HALF_S: f64 = 0.5;
/// What a scene without a known end lasts as far as slow changes of the camera and of bubbling go \[s\]:
/// a usual run with approach, soak and scan.
const NOMINAL_S: f64 = 1200.0;

/// The block's temperature over log time.
pub(crate) trait BlockCourse: Sync {
    /// Temperature at a time.
    fn at(&self, time_s: f64) -> Celsius;
    /// Heating rate at a time \[°C/min\].
    fn rate_c_per_min(&self, time_s: f64) -> f64;
}

impl BlockCourse for BlockTemperature {
    fn at(&self, time_s: f64) -> Celsius {
        BlockTemperature::at(self, time_s)
    }

    fn rate_c_per_min(&self, time_s: f64) -> f64 {
        BlockTemperature::rate_c_per_min(self, time_s)
    }
}

/// How far ahead a scene is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Horizon {
    /// It ends at this log time \[s\].
    End(f64),
    /// It comes as it comes.
    Open,
}

impl Horizon {
    /// Log time at which slow changes are complete \[s\].
    pub(crate) fn end_s(self) -> f64 {
        match self {
            Self::End(end_s) => end_s,
            Self::Open => NOMINAL_S,
        }
    }

    /// How long something goes on that began at `start_s` \[s\].
    pub(crate) fn lasting_s(self, start_s: f64) -> f64 {
        match self {
            Self::End(end_s) => end_s.max(start_s) - start_s,
            Self::Open => NOMINAL_S,
        }
    }
}

/// A block's temperature as recorded, straight between the points.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Trace {
    /// Time \[s\], rising strictly, and temperature \[°C\]; never empty.
    points: Vec<(f64, f64)>,
}

impl Trace {
    /// A block that is at `start` at time 0 and has been before.
    pub(crate) fn new(start: Celsius) -> Self {
        Self {
            points: vec![(0.0, start.0)],
        }
    }

    /// The newest point: time \[s\] and temperature.
    pub(crate) fn newest(&self) -> (f64, Celsius) {
        let (time_s, block_c) = self.points[self.points.len() - 1];
        (time_s, Celsius(block_c))
    }

    /// Go on to a point; `false`, and nothing changes, unless its time is later and all is finite.
    pub(crate) fn push(&mut self, time_s: f64, block: Celsius) -> bool {
        let later = time_s > self.newest().0 && time_s.is_finite() && block.0.is_finite();
        if later {
            self.points.push((time_s, block.0));
        }
        later
    }
}

impl BlockCourse for Trace {
    fn at(&self, time_s: f64) -> Celsius {
        let next = self.points.partition_point(|point| point.0 <= time_s);
        let before = self.points[next.saturating_sub(1)];
        let after = self.points.get(next).copied().unwrap_or(before);
        let span_s = after.0 - before.0;
        if span_s <= 0.0 || time_s <= before.0 {
            return Celsius(before.1);
        }
        Celsius(before.1 + (after.1 - before.1) * (time_s - before.0) / span_s)
    }

    /// At the ends over what there is.
    fn rate_c_per_min(&self, time_s: f64) -> f64 {
        let (from_s, to_s) = (
            (time_s - HALF_S).max(0.0),
            (time_s + HALF_S).min(self.newest().0),
        );
        if to_s <= from_s {
            return 0.0;
        }
        (self.at(to_s).0 - self.at(from_s).0) / (to_s - from_s) * 60.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trace_is_straight_between_its_points_and_level_outside() {
        let mut trace = Trace::new(Celsius(20.0));
        assert_eq!(trace.at(5.0), Celsius(20.0));
        assert_eq!(trace.rate_c_per_min(0.0), 0.0);
        assert!(trace.push(10.0, Celsius(30.0)));
        assert!(trace.push(20.0, Celsius(25.0)));
        for (time_s, expected_c) in [
            (-1.0, 20.0),
            (0.0, 20.0),
            (2.5, 22.5),
            (10.0, 30.0),
            (16.0, 27.0),
            (20.0, 25.0),
            (99.0, 25.0),
        ] {
            assert!(
                (trace.at(time_s).0 - expected_c).abs() < 1e-12,
                "{time_s} s"
            );
        }
        assert!((trace.rate_c_per_min(5.0) - 60.0).abs() < 1e-9);
        assert!((trace.rate_c_per_min(0.0) - 60.0).abs() < 1e-9);
        assert!((trace.rate_c_per_min(20.0) + 30.0).abs() < 1e-9);
    }

    #[test]
    fn a_point_that_does_not_come_later_changes_nothing() {
        let mut trace = Trace::new(Celsius(20.0));
        assert!(trace.push(10.0, Celsius(30.0)));
        let before = trace.clone();
        for (time_s, block_c) in [
            (10.0, 31.0),
            (9.0, 31.0),
            (f64::NAN, 31.0),
            (f64::INFINITY, 31.0),
            (11.0, f64::NAN),
        ] {
            assert!(!trace.push(time_s, Celsius(block_c)));
        }
        assert_eq!(trace, before);
    }
}
