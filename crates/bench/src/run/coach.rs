//! The coach: what to do with the knob, and a warning before the window is entered too fast.

use super::rate::Rate;
use meltrange_planning::Leg;
use serde::Serialize;

/// Part of the wanted rate that the actual one may differ by before anything is said.
const TOLERANCE: f64 = 0.15;
/// And at least this much [°C/min]: a tenth of a degree display says no more within 40 s.
const LEAST_TOLERANCE_C_PER_MIN: f64 = 0.15;
/// So long before the window a warning is worth something [s].
const AHEAD_S: f64 = 90.0;
/// Entering the window faster than this many times the wanted rate is too fast.
const TOO_FAST: f64 = 1.5;

/// What to do with the knob.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Advice {
    /// Turn it up.
    More,
    /// Turn it down.
    Less,
    /// Leave it.
    Hold,
    /// Off.
    Off,
}

/// What the coach says.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Coaching {
    /// What to do.
    pub advice: Advice,
    /// The rate wanted now [°C/min].
    pub wanted_c_per_min: f64,
    /// The rate as it is [°C/min]; none while there is too little to tell.
    pub actual_c_per_min: Option<f64>,
    /// What is about to go wrong, in words.
    pub warning: Option<String>,
}

/// Coach a leg. `now_c` is the indication, `wanted_c_per_min` the rate wanted at it, `window_from_c`
/// where the scan begins, `scan_rate` its rate [°C/min].
pub fn coach(
    leg: &Leg,
    now_c: f64,
    rate: Option<Rate>,
    wanted_c_per_min: f64,
    scan: Option<(f64, f64)>,
) -> Coaching {
    if matches!(leg, Leg::Cool { .. }) {
        return Coaching {
            advice: Advice::Off,
            wanted_c_per_min: 0.0,
            actual_c_per_min: rate.map(|rate| rate.c_per_min),
            warning: None,
        };
    }
    let Some(rate) = rate else {
        return Coaching {
            advice: Advice::Hold,
            wanted_c_per_min,
            actual_c_per_min: None,
            warning: None,
        };
    };
    let tolerance = (TOLERANCE * wanted_c_per_min.abs())
        .max(LEAST_TOLERANCE_C_PER_MIN)
        .max(2.0 * rate.spread_c_per_min);
    let off_by = rate.c_per_min - wanted_c_per_min;
    let advice = if off_by > tolerance {
        Advice::Less
    } else if off_by < -tolerance {
        Advice::More
    } else {
        Advice::Hold
    };
    Coaching {
        advice,
        wanted_c_per_min,
        actual_c_per_min: Some(rate.c_per_min),
        warning: scan.and_then(|(from_c, scan_rate)| {
            too_fast(
                now_c,
                rate,
                from_c,
                scan_rate,
                matches!(leg, Leg::Scan { .. }),
            )
        }),
    }
}

fn too_fast(now_c: f64, rate: Rate, from_c: f64, scan_rate: f64, inside: bool) -> Option<String> {
    let allowed = TOO_FAST * scan_rate;
    let surely = rate.c_per_min - 2.0 * rate.spread_c_per_min;
    if surely <= allowed.max(scan_rate + LEAST_TOLERANCE_C_PER_MIN) {
        return None;
    }
    if inside || now_c >= from_c {
        return Some(format!(
            "heating at {:.1} °C/min within the scan; the range will read too high and too wide. Turn it down",
            rate.c_per_min
        ));
    }
    let until_s = (from_c - now_c) / rate.c_per_min * 60.0;
    (until_s < AHEAD_S).then(|| {
        format!(
            "{from_c:.0} °C, where the scan begins, is {until_s:.0} s away at {:.1} °C/min; slow down to {scan_rate:.1} °C/min before it",
            rate.c_per_min
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const SCAN: Leg = Leg::Scan {
        to_c: 125.0,
        rate_c_per_min: 1.0,
    };

    fn at(c_per_min: f64) -> Option<Rate> {
        Some(Rate {
            c_per_min,
            spread_c_per_min: 0.02,
        })
    }

    #[test]
    fn the_knob_goes_where_the_rate_is_missing() {
        let advice = |rate| coach(&SCAN, 119.5, at(rate), 1.0, Some((118.0, 1.0))).advice;
        assert_eq!(advice(0.6), Advice::More);
        assert_eq!(advice(1.05), Advice::Hold);
        assert_eq!(advice(1.6), Advice::Less);
        let unsure = Some(Rate {
            c_per_min: 1.6,
            spread_c_per_min: 0.4,
        });
        assert_eq!(coach(&SCAN, 119.5, unsure, 1.0, None).advice, Advice::Hold);
        assert_eq!(coach(&SCAN, 119.5, None, 1.0, None).advice, Advice::Hold);
        let cool = Leg::Cool { to_c: 90.0 };
        assert_eq!(coach(&cool, 119.5, at(0.0), 0.0, None).advice, Advice::Off);
    }

    #[test]
    fn the_window_is_warned_of_in_time_and_only_then() {
        let approach = Leg::Approach { to_c: 118.0 };
        let warned = |now_c: f64, rate: f64| {
            coach(&approach, now_c, at(rate), 5.0, Some((118.0, 1.0))).warning
        };
        assert!(warned(90.0, 10.0).is_none(), "three minutes away");
        let near = warned(110.0, 10.0).expect("48 s away");
        assert!(near.contains("48 s") && near.contains("118 °C"), "{near}");
        assert!(warned(117.0, 1.1).is_none(), "slow enough");
        assert!(
            coach(&SCAN, 120.0, at(3.0), 1.0, Some((118.0, 1.0)))
                .warning
                .is_some()
        );
    }
}
