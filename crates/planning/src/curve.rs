//! The temperature a programme should have, against time.

use crate::programme::{Leg, Programme};
use serde::{Deserialize, Serialize};

/// Common practice, no source: within the last degrees of an approach the rate falls in proportion
/// to what is left, so that the block does not overshoot.
const TAPER_MIN: f64 = 0.5;
/// Slowest rate within the taper [°C/min].
const TAPER_LEAST_C_PER_MIN: f64 = 1.0;
/// Points along an approach or a cooling, enough for a smooth line.
const STEPS: usize = 24;

/// How fast a bench heats and cools.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct HeatingAbility {
    /// Room temperature [°C].
    pub room_c: f64,
    /// In an approach [°C/min].
    pub heat_rate_c_per_min: f64,
    /// Newton cooling towards the room, fan on [min].
    pub cool_time_constant_min: f64,
}

impl Default for HeatingAbility {
    fn default() -> Self {
        Self {
            room_c: 22.0,
            heat_rate_c_per_min: 15.0,
            cool_time_constant_min: 12.0,
        }
    }
}

impl HeatingAbility {
    /// Rate of an approach with `left_c` still to go [°C/min], tapered.
    pub fn approach_rate_c_per_min(&self, left_c: f64) -> f64 {
        (left_c.abs() / TAPER_MIN)
            .max(TAPER_LEAST_C_PER_MIN)
            .min(self.heat_rate_c_per_min)
    }

    /// How long a tapered approach over `distance_c` takes [min].
    fn approach_min(&self, distance_c: f64) -> f64 {
        let taper_c = (self.heat_rate_c_per_min * TAPER_MIN).min(distance_c);
        let slow_c = (TAPER_LEAST_C_PER_MIN * TAPER_MIN).min(taper_c);
        (distance_c - taper_c) / self.heat_rate_c_per_min
            + if taper_c > slow_c {
                TAPER_MIN * (taper_c / slow_c).ln()
            } else {
                0.0
            }
            + slow_c / TAPER_LEAST_C_PER_MIN.min(self.heat_rate_c_per_min)
    }

    /// How far the block has come after `minutes` of a tapered approach over `distance_c` [°C].
    fn approached_c(&self, distance_c: f64, minutes: f64) -> f64 {
        let taper_c = (self.heat_rate_c_per_min * TAPER_MIN).min(distance_c);
        let full_min = (distance_c - taper_c) / self.heat_rate_c_per_min;
        if minutes <= full_min {
            return minutes * self.heat_rate_c_per_min;
        }
        let slow_c = (TAPER_LEAST_C_PER_MIN * TAPER_MIN).min(taper_c);
        let taper_min = if taper_c > slow_c {
            TAPER_MIN * (taper_c / slow_c).ln()
        } else {
            0.0
        };
        let into_min = minutes - full_min;
        let left_c = if into_min <= taper_min {
            taper_c * (-into_min / TAPER_MIN).exp()
        } else {
            let slowest = TAPER_LEAST_C_PER_MIN.min(self.heat_rate_c_per_min);
            (slow_c - (into_min - taper_min) * slowest).max(0.0)
        };
        distance_c - left_c
    }
}

/// A point of a planned curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlannedPoint {
    /// From the start of the programme [min].
    pub time_min: f64,
    /// [°C].
    pub temperature_c: f64,
    /// In which leg, from 0.
    pub leg: usize,
}

/// The curve of a programme that starts at `from_c`, waiting for the person taken as no time.
pub fn planned_curve(
    programme: &Programme,
    from_c: f64,
    ability: &HeatingAbility,
) -> Vec<PlannedPoint> {
    let mut curve = Vec::new();
    let (mut time_min, mut at_c) = (0.0, from_c);
    let mut push = |time_min: f64, temperature_c: f64, leg: usize| {
        curve.push(PlannedPoint {
            time_min,
            temperature_c,
            leg,
        });
    };
    for (index, leg) in programme.legs().iter().enumerate() {
        push(time_min, at_c, index);
        match *leg {
            Leg::Approach { to_c } => {
                let distance_c = (to_c - at_c).abs();
                let whole_min = ability.approach_min(distance_c);
                for step in 1..STEPS {
                    let into_min = whole_min * step as f64 / STEPS as f64;
                    let gone_c = ability.approached_c(distance_c, into_min);
                    push(
                        time_min + into_min,
                        at_c + gone_c * (to_c - at_c).signum(),
                        index,
                    );
                }
                time_min += whole_min;
                at_c = to_c;
            }
            Leg::Soak { minutes } => time_min += minutes,
            Leg::Attend => {}
            Leg::Scan {
                to_c,
                rate_c_per_min,
            } => {
                time_min += (to_c - at_c).max(0.0) / rate_c_per_min;
                at_c = at_c.max(to_c);
            }
            Leg::Cool { to_c } => {
                // Never quite at room temperature: the last degree takes for ever.
                let end_c = to_c.max(ability.room_c + 1.0);
                if at_c > end_c {
                    let excess_c = at_c - ability.room_c;
                    let whole_min =
                        ability.cool_time_constant_min * (excess_c / (end_c - ability.room_c)).ln();
                    for step in 1..STEPS {
                        let into_min = whole_min * step as f64 / STEPS as f64;
                        let left = (-into_min / ability.cool_time_constant_min).exp();
                        push(time_min + into_min, ability.room_c + excess_c * left, index);
                    }
                    time_min += whole_min;
                    at_c = end_c;
                }
            }
        }
        push(time_min, at_c, index);
    }
    curve
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{MeasuringOrder, Programme};
    use proptest::prelude::*;

    #[test]
    fn scan_and_cooling_take_the_time_of_the_formula() {
        let ability = HeatingAbility::default();
        let programme =
            Programme::measuring(&MeasuringOrder::around(70.0, 71.0), 300.0).expect("fits");
        let curve = planned_curve(&programme, 67.0, &ability);
        let ends = |leg: usize| {
            curve
                .iter()
                .rev()
                .find(|point| point.leg == leg)
                .expect("each leg has an end")
                .time_min
        };
        assert!((ends(1) - ends(0) - 3.0).abs() < 1e-9);
        assert!((ends(3) - ends(2) - 6.0).abs() < 1e-9);
        // Newton: 12 min · ln((73 − 22)/(50 − 22)).
        assert!((ends(4) - ends(3) - 12.0 * (51.0_f64 / 28.0).ln()).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn an_approach_rises_and_arrives(from in 20.0..150.0f64, distance in 0.0..200.0f64, rate in 0.5..40.0f64) {
            let ability = HeatingAbility { heat_rate_c_per_min: rate, ..HeatingAbility::default() };
            let legs = vec![Leg::Approach { to_c: from + distance }];
            let programme = Programme::new(crate::Purpose::Measuring, legs, 400.0).expect("in range");
            let curve = planned_curve(&programme, from, &ability);
            let last = curve.last().expect("points");
            prop_assert!((last.temperature_c - from - distance).abs() < 1e-9);
            prop_assert!(last.time_min + 1e-9 >= distance / rate);
            for pair in curve.windows(2) {
                prop_assert!(pair[1].time_min + 1e-9 >= pair[0].time_min);
                prop_assert!(pair[1].temperature_c + 1e-6 >= pair[0].temperature_c);
                // The rate of the bench is not exceeded.
                let minutes = pair[1].time_min - pair[0].time_min;
                prop_assert!(pair[1].temperature_c - pair[0].temperature_c <= rate * minutes + 1e-6);
            }
        }
    }
}
