//! How long a programme takes, and programmes that take no longer than there is time.

use crate::curve::{HeatingAbility, PlannedPoint, planned_curve};
use crate::learning::{LearnedBench, OutOfReach};
use crate::order::MeasuringOrder;
use crate::programme::{Leg, LegKind, Programme, ProgrammeError};
use serde::Serialize;

/// What is not known of the time of an approach while nothing was learned from the bench, as a part of
/// it: blocks heat at 10 to 20 °C/min where 15 is assumed. Common practice, no source.
const UNLEARNED: f64 = 0.3;

/// Shortest soak that is worth its name [min]. Common practice, no source.
const SHORTEST_SOAK_MIN: f64 = 1.0;
/// Least distance of the scan's start below the range and of its end above it [°C].
const LEAST_BELOW_C: f64 = 2.0;
const LEAST_ABOVE_C: f64 = 1.0;
/// Fastest scan for a value that is reported [°C/min]. Common practice, no source.
const FASTEST_C_PER_MIN: f64 = 2.0;

/// Rounding of minutes.
const ROUNDING_MIN: f64 = 1e-9;

/// One leg with its time; waiting for the person has none.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LegEstimate {
    /// Which it is.
    pub kind: LegKind,
    /// Where it goes [°C].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to_c: Option<f64>,
    /// Of a scan [°C/min].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate_c_per_min: Option<f64>,
    /// How long it takes [min].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
}

/// A programme with its time.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// In order.
    pub legs: Vec<LegEstimate>,
    /// From the start of the approach to the end of the last scan, waiting for the person taken as
    /// no time [min].
    pub minutes: f64,
    /// Its standard uncertainty [min].
    pub standard_uncertainty_min: f64,
    /// The whole curve, cooling included.
    pub curve: Vec<PlannedPoint>,
}

/// How a bench heats and cools: as learned from its runs, or as its file or an ordinary block has it.
#[derive(Debug, Clone, PartialEq)]
pub enum BenchHeat {
    /// Nothing was learned.
    Ordinary(HeatingAbility),
    /// From the logs of its runs.
    Learned(Box<LearnedBench>),
}

impl BenchHeat {
    /// One heating rate and one cooling time, for what reckons with these.
    pub fn ability(&self) -> HeatingAbility {
        match self {
            Self::Ordinary(ability) => *ability,
            Self::Learned(learned) => learned.ability(),
        }
    }

    /// Time and curve of a programme that starts at `from_c`.
    ///
    /// # Errors
    /// [`OutOfReach`] for a temperature that a learned bench does not reach.
    pub fn estimate(&self, programme: &Programme, from_c: f64) -> Result<Estimate, OutOfReach> {
        match self {
            Self::Ordinary(ability) => Ok(estimate(programme, from_c, ability)),
            Self::Learned(learned) => learned.estimate(programme, from_c),
        }
    }

    /// The time alone [min].
    fn minutes(&self, programme: &Programme, from_c: f64) -> Result<f64, OutOfReach> {
        Ok(match self {
            Self::Ordinary(ability) => estimate(programme, from_c, ability).minutes,
            Self::Learned(learned) => learned.course(programme, from_c)?.minutes,
        })
    }
}

/// Estimate a programme that starts at `from_c` on a bench whose ability was not learned.
pub fn estimate(programme: &Programme, from_c: f64, ability: &HeatingAbility) -> Estimate {
    let curve = planned_curve(programme, from_c, ability);
    let span_min = |leg: usize| {
        let times = || {
            curve
                .iter()
                .filter(|point| point.leg == leg)
                .map(|point| point.time_min)
        };
        times().fold(0.0, f64::max) - times().fold(f64::INFINITY, f64::min)
    };
    let (mut minutes, mut to_last_scan_min, mut unsure_min, mut unsure) = (0.0, 0.0, 0.0, 0.0);
    let legs = programme
        .legs()
        .iter()
        .enumerate()
        .map(|(number, leg)| {
            let takes_min = span_min(number);
            minutes += takes_min;
            if leg.kind() == LegKind::Approach {
                unsure_min += takes_min;
            }
            if leg.kind() == LegKind::Scan {
                to_last_scan_min = minutes;
                unsure = UNLEARNED * unsure_min;
            }
            LegEstimate {
                kind: leg.kind(),
                to_c: match *leg {
                    // Nothing cools below its room, nor quite down to it.
                    Leg::Cool { to_c } => Some(to_c.max(ability.room_c + 1.0)),
                    _ => leg.to_c(),
                },
                rate_c_per_min: match *leg {
                    Leg::Scan { rate_c_per_min, .. } => Some(rate_c_per_min),
                    _ => None,
                },
                minutes: (leg.kind() != LegKind::Attend).then_some(takes_min),
            }
        })
        .collect();
    Estimate {
        legs,
        minutes: to_last_scan_min,
        standard_uncertainty_min: unsure,
        curve,
    }
}

/// An order that fits a time, and what was given up for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// The order.
    pub order: MeasuringOrder,
    /// In words, in the order in which it was given up.
    pub given_up: Vec<String>,
}

/// What of an order must stay as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Fixed {
    /// The heating rate.
    pub rate: bool,
    /// The soak.
    pub soak: bool,
    /// How far below the range the scan starts.
    pub start_below: bool,
    /// How far above the range the scan stops.
    pub stop_above: bool,
}

/// Why no programme fits.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FitError {
    /// The shortest is too long.
    #[error(
        "no programme fits into {within_min} min: the shortest takes {shortest_min:.1} min; start with a warmer block, or take the time"
    )]
    TooLong {
        /// What there is [min].
        within_min: f64,
        /// What it takes [min].
        shortest_min: f64,
    },
    /// The order itself cannot be.
    #[error(transparent)]
    Programme(#[from] ProgrammeError),
    /// The bench cannot do it.
    #[error(transparent)]
    OutOfReach(#[from] OutOfReach),
}

/// Make an order fit `within_min`, giving up what costs the value least first: soak down to 1 min, then the
/// margins of the scan to 2 °C below and 1 °C above, then the rate up to 2 °C/min. Each only as far as needed.
///
/// # Errors
/// [`FitError`] when even that is too long, or the order cannot be.
pub fn fit_within(
    order: MeasuringOrder,
    fixed: Fixed,
    from_c: f64,
    heat: &BenchHeat,
    max_c: f64,
    within_min: f64,
) -> Result<Fitted, FitError> {
    let minutes = |order: &MeasuringOrder| -> Result<f64, FitError> {
        let programme = Programme::measuring(order, max_c)?;
        Ok(heat.minutes(&programme, from_c)?)
    };
    type Step = (
        &'static str,
        &'static str,
        fn(&mut MeasuringOrder) -> &mut f64,
        f64,
        bool,
    );
    let steps: [Step; 4] = [
        (
            "soak",
            "min",
            |order| &mut order.soak_min,
            SHORTEST_SOAK_MIN,
            fixed.soak,
        ),
        (
            "start below the range",
            "°C",
            |order| &mut order.start_below_c,
            LEAST_BELOW_C,
            fixed.start_below,
        ),
        (
            "stop above the range",
            "°C",
            |order| &mut order.stop_above_c,
            LEAST_ABOVE_C,
            fixed.stop_above,
        ),
        (
            "rate",
            "°C/min",
            |order| &mut order.rate_c_per_min,
            FASTEST_C_PER_MIN,
            fixed.rate,
        ),
    ];
    let mut order = order;
    let mut given_up = Vec::new();
    for (name, unit, of, least, is_fixed) in steps {
        if minutes(&order)? <= within_min + ROUNDING_MIN {
            break;
        }
        let before = *of(&mut order);
        let relaxes = if name == "rate" {
            before < least
        } else {
            before > least
        };
        if is_fixed || !relaxes {
            continue;
        }
        // How far, by halving: time falls all the way from `before` to `least`.
        *of(&mut order) = least;
        if minutes(&order)? < within_min {
            let (mut enough, mut too_little) = (1.0, 0.0);
            for _ in 0..40 {
                let part = (enough + too_little) / 2.0;
                *of(&mut order) = before + part * (least - before);
                if minutes(&order)? <= within_min {
                    enough = part;
                } else {
                    too_little = part;
                }
            }
            *of(&mut order) = before + enough * (least - before);
        }
        let now = *of(&mut order);
        given_up.push(format!(
            "{name}: {now:.2} {unit} instead of {before:.2} {unit}"
        ));
    }
    let shortest_min = minutes(&order)?;
    if shortest_min > within_min + 1e-6 {
        return Err(FitError::TooLong {
            within_min,
            shortest_min,
        });
    }
    Ok(Fitted { order, given_up })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn order() -> MeasuringOrder {
        MeasuringOrder::around(121.5, 122.5)
    }

    /// By hand: soak 3 min, scan from 118.5 to 124.5 at 1 °C/min; the approach is the curve's.
    #[test]
    fn a_programme_takes_its_legs_up_to_the_last_scan() {
        let ability = HeatingAbility::default();
        let programme = Programme::measuring(&order(), 300.0).expect("fits");
        let found = estimate(&programme, 22.0, &ability);
        let approach_min = found.legs[0].minutes.expect("it takes time");
        assert!(
            (96.5 / 15.0..96.5 / 15.0 + 3.0).contains(&approach_min),
            "{approach_min}"
        );
        assert!((found.minutes - approach_min - 3.0 - 6.0).abs() < 1e-9);
        assert!((found.standard_uncertainty_min - 0.3 * approach_min).abs() < 1e-9);
        assert_eq!(found.legs[2].minutes, None, "waiting has no time");
        assert!(
            found.curve.last().expect("points").time_min > found.minutes,
            "cooling follows"
        );
    }

    #[test]
    fn what_is_given_up_is_said_and_no_more_than_needed() {
        let ability = HeatingAbility::default();
        let whole = estimate(
            &Programme::measuring(&order(), 300.0).expect("fits"),
            22.0,
            &ability,
        );
        let fit = |within_min: f64, fixed: Fixed| {
            fit_within(
                order(),
                fixed,
                22.0,
                &BenchHeat::Ordinary(ability),
                300.0,
                within_min,
            )
        };
        let as_it_is = fit(whole.minutes + 0.1, Fixed::default()).expect("it fits");
        assert!(as_it_is.given_up.is_empty() && as_it_is.order == order());
        let shorter = fit(whole.minutes - 1.0, Fixed::default()).expect("a shorter soak fits");
        assert_eq!(shorter.given_up.len(), 1);
        assert!(
            (shorter.order.soak_min - 2.0).abs() < 1e-6,
            "{}",
            shorter.order.soak_min
        );
        let hasty = fit(whole.minutes - 5.0, Fixed::default()).expect("a faster scan fits");
        assert!(hasty.order.rate_c_per_min > 1.0 && hasty.order.rate_c_per_min <= 2.0);
        let programme = Programme::measuring(&hasty.order, 300.0).expect("fits");
        let minutes = estimate(&programme, 22.0, &ability).minutes;
        assert!((minutes - whole.minutes + 5.0).abs() < 1e-3, "{minutes}");
        let fixed = Fixed {
            rate: true,
            soak: true,
            ..Fixed::default()
        };
        let error = fit(whole.minutes - 5.0, fixed).expect_err("nothing left to give up");
        assert!(error.to_string().contains("the shortest takes"), "{error}");
        assert!(fit(1.0, Fixed::default()).is_err());
        // Margins set by hand stay, each on its own; what is left gives more.
        let below = Fixed {
            start_below: true,
            ..Fixed::default()
        };
        let found = fit(whole.minutes - 3.5, below).expect("the rate gives");
        assert_eq!(found.order.start_below_c, order().start_below_c);
        assert_eq!(found.order.stop_above_c, 1.0);
        let above = Fixed {
            stop_above: true,
            ..Fixed::default()
        };
        let found = fit(whole.minutes - 3.5, above).expect("the rate gives");
        assert_eq!(found.order.stop_above_c, order().stop_above_c);
        assert_eq!(found.order.start_below_c, 2.0);
        let all = Fixed {
            rate: true,
            soak: true,
            start_below: true,
            stop_above: true,
        };
        assert!(fit(whole.minutes - 0.1, all).is_err());
    }
}
