//! Times on the bench's clock from the times a camera's driver gives.

use std::collections::VecDeque;

/// Span over which the least delay is looked for [s]: long enough to meet an undelayed picture, short
/// enough that two crystal clocks, 100 ppm apart, part by no more than 6 ms within it.
const WINDOW_S: f64 = 60.0;

/// A device's clock that goes faster or slower than the bench's by more than this is not believed.
const RATE_TOLERANCE: f64 = 0.02;

/// The rate is not judged on less than this [s].
const RATE_SPAN_S: f64 = 10.0;

/// Lag of arrival that a rate is not concluded from [s]: pictures may come late in bunches.
const LAG_ALLOWED_S: f64 = 0.5;

/// Brings device times onto the bench's clock.
///
/// A picture arrives after it was captured. The least difference between arrival and device time within
/// the last minute is taken as the difference of the clocks, so that a picture that was held up keeps
/// the time of its capture. What remains is the least delay itself, a part of a picture's interval,
/// which cannot be told from here. Device times that stand still, go back or go at another rate are
/// not used any more; then the time of arrival is.
#[derive(Debug, Clone, Default)]
pub(crate) struct DeviceTimes {
    /// Candidates for the least difference: (arrival, difference), differences rising.
    least: VecDeque<(f64, f64)>,
    first: Option<(f64, f64)>,
    last_device_s: Option<f64>,
    is_given_up: bool,
}

impl DeviceTimes {
    /// The time of a picture with device time `device_s` that arrived at `arrived_s` on the bench's
    /// clock [s]; and, once, why device times are not used.
    pub fn time_s(&mut self, device_s: Option<f64>, arrived_s: f64) -> (f64, Option<String>) {
        if self.is_given_up {
            return (arrived_s, None);
        }
        let why = match device_s {
            None => Some("the camera gives pictures no times".to_owned()),
            Some(device_s) => self.fault(device_s, arrived_s),
        };
        if let Some(why) = why {
            self.is_given_up = true;
            return (
                arrived_s,
                Some(format!("{why}; times are those of arrival and can be late")),
            );
        }
        // Without a fault there is one.
        let device_s = device_s.unwrap_or(arrived_s);
        let difference_s = arrived_s - device_s;
        while self
            .least
            .back()
            .is_some_and(|&(_, least)| least >= difference_s)
        {
            self.least.pop_back();
        }
        self.least.push_back((arrived_s, difference_s));
        while self.least.len() > 1
            && self
                .least
                .front()
                .is_some_and(|&(at, _)| at < arrived_s - WINDOW_S)
        {
            self.least.pop_front();
        }
        let least_s = self.least.front().map_or(difference_s, |&(_, least)| least);
        (device_s + least_s, None)
    }

    fn fault(&mut self, device_s: f64, arrived_s: f64) -> Option<String> {
        let before_s = self.last_device_s.replace(device_s);
        if let Some(before_s) = before_s
            && device_s <= before_s
        {
            return Some(format!(
                "the camera's times do not rise ({device_s:.6} s after {before_s:.6} s)"
            ));
        }
        let (first_device_s, first_arrived_s) = *self.first.get_or_insert((device_s, arrived_s));
        let (went_s, passed_s) = (device_s - first_device_s, arrived_s - first_arrived_s);
        let apart_s = (went_s - passed_s).abs() - LAG_ALLOWED_S;
        if passed_s > RATE_SPAN_S && apart_s > RATE_TOLERANCE * passed_s {
            return Some(format!(
                "the camera's clock went {went_s:.1} s while {passed_s:.1} s passed"
            ));
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_held_up_keeps_its_time() {
        let mut times = DeviceTimes::default();
        let mut worst = 0.0_f64;
        for i in 0..3000 {
            let captured_s = 5.0 + f64::from(i) * 0.04;
            // Every 50th is held up for 0.3 s; a clock of its own, 100 ppm fast.
            let delay_s = if i % 50 == 49 { 0.3 } else { 0.02 };
            let device_s = 8000.0 + captured_s * 1.0001;
            let (time_s, doubt) = times.time_s(Some(device_s), captured_s + delay_s);
            assert_eq!(doubt, None);
            worst = worst.max((time_s - captured_s - 0.02).abs());
        }
        // The window's 60 s times 100 ppm.
        assert!(worst <= 0.0061, "{worst}");
    }

    #[test]
    fn times_that_stand_still_are_given_up_once() {
        let mut times = DeviceTimes::default();
        assert_eq!(times.time_s(Some(1.0), 10.0), (10.0, None));
        let (time_s, doubt) = times.time_s(Some(1.0), 10.1);
        assert!((time_s - 10.1).abs() < 1e-12);
        assert!(doubt.expect("told").contains("do not rise"));
        assert_eq!(times.time_s(Some(2.0), 10.2), (10.2, None));
    }

    #[test]
    fn a_clock_at_another_rate_is_given_up() {
        let mut times = DeviceTimes::default();
        let doubts: Vec<String> = (0..400)
            .filter_map(|i| {
                let arrived_s = f64::from(i) * 0.1;
                times.time_s(Some(arrived_s * 0.9), arrived_s).1
            })
            .collect();
        assert_eq!(doubts.len(), 1);
        assert!(doubts[0].contains("went"), "{}", doubts[0]);
        // None at all.
        let doubt = DeviceTimes::default().time_s(None, 3.0).1;
        assert!(doubt.expect("told").contains("no times"));
    }
}
