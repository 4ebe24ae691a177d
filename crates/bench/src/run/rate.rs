//! The heating rate, from the last temperatures.

use std::collections::VecDeque;

/// Temperatures older than this do not count [s].
const WINDOW_S: f64 = 40.0;
/// Fewest temperatures, and shortest time they must span [s].
const FEWEST: usize = 5;
const SHORTEST_S: f64 = 8.0;
/// Most temperatures used; a faster thermometer is thinned.
const MOST: usize = 80;

/// The last temperatures; their slope is the median of the slopes of all pairs (Theil 1950,
/// Sen 1968), so that up to 29 % of them may be wrong.
#[derive(Debug, Clone, Default)]
pub struct RateEstimate {
    last: VecDeque<(f64, f64)>,
}

/// A slope and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate {
    /// [°C/min].
    pub c_per_min: f64,
    /// Half the middle two thirds of the pairs' slopes over the root of the number of temperatures [°C/min].
    pub spread_c_per_min: f64,
}

impl RateEstimate {
    /// Take a temperature; times rise.
    pub fn push(&mut self, time_s: f64, temperature_c: f64) {
        let spacing_s = WINDOW_S / MOST as f64;
        if self
            .last
            .back()
            .is_some_and(|last| time_s - last.0 < spacing_s)
        {
            return;
        }
        self.last.push_back((time_s, temperature_c));
        while self
            .last
            .front()
            .is_some_and(|first| time_s - first.0 > WINDOW_S)
        {
            self.last.pop_front();
        }
    }

    /// Forget everything: what comes belongs to another leg.
    pub fn clear(&mut self) {
        self.last.clear();
    }

    /// The rate over the window; none while there is too little to tell.
    pub fn rate(&self) -> Option<Rate> {
        let span_s = self.last.back()?.0 - self.last.front()?.0;
        if self.last.len() < FEWEST || span_s < SHORTEST_S {
            return None;
        }
        let points: Vec<_> = self.last.iter().copied().collect();
        let mut slopes: Vec<f64> = Vec::with_capacity(points.len() * points.len() / 2);
        for (at, first) in points.iter().enumerate() {
            // Pairs close in time say little, and with a coarse display nothing but steps.
            slopes.extend(
                points[at + 1..]
                    .iter()
                    .filter(|second| second.0 - first.0 >= 0.25 * span_s)
                    .map(|second| (second.1 - first.1) / (second.0 - first.0) * 60.0),
            );
        }
        slopes.sort_by(f64::total_cmp);
        let at = |part: f64| slopes.get(((slopes.len() - 1) as f64 * part).round() as usize);
        Some(Rate {
            c_per_min: *at(0.5)?,
            spread_c_per_min: 0.5 * (at(0.84)? - at(0.16)?) / (points.len() as f64).sqrt(),
        })
    }

    /// The latest temperature with its time.
    pub fn latest(&self) -> Option<(f64, f64)> {
        self.last.back().copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_ramp_with_wild_values_and_a_coarse_display_keeps_its_rate(
            rate in -20.0..20.0f64, wild in proptest::collection::vec(0usize..80, 0..12), start in 20.0..250.0f64
        ) {
            let mut estimate = RateEstimate::default();
            for step in 0..80 {
                let time_s = 0.5 * f64::from(step);
                let true_c = start + rate * time_s / 60.0;
                let shown_c = if wild.contains(&(step as usize)) { true_c + 37.0 } else { (true_c * 10.0).round() / 10.0 };
                estimate.push(time_s, shown_c);
            }
            let found = estimate.rate().expect("enough");
            // A display step of 0.1 °C over 10 s or more.
            prop_assert!((found.c_per_min - rate).abs() < 0.35, "{} for {rate}", found.c_per_min);
        }
    }

    #[test]
    fn too_little_is_no_rate() {
        let mut estimate = RateEstimate::default();
        assert_eq!(estimate.rate(), None);
        for step in 0..4 {
            estimate.push(f64::from(step), 20.0);
        }
        assert_eq!(estimate.rate(), None);
    }
}
