//! A programme: the legs of one run.

use crate::order::{MeasuringOrder, ScoutingOrder};
use serde::{Deserialize, Serialize};

/// Lowest temperature a programme may name [°C]: benches stand in rooms.
const LOWEST_C: f64 = -50.0;
/// Fastest scan [°C/min]; nothing can be read from a faster one.
const FASTEST_C_PER_MIN: f64 = 50.0;
/// Longest soak [min].
const LONGEST_SOAK_MIN: f64 = 240.0;
/// Most legs: one measurement has five, a few scans of one load some more.
const MOST_LEGS: usize = 40;

/// One part of a programme.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Leg {
    /// To a temperature as fast as the bench can, tapering off towards it.
    Approach {
        /// Where to [°C].
        to_c: f64,
    },
    /// Stay there until the time is over and the block is steady.
    Soak {
        /// At least so long [min].
        minutes: f64,
    },
    /// Wait for the person.
    Attend,
    /// The slow measuring ramp.
    Scan {
        /// Up to [°C].
        to_c: f64,
        /// How fast [°C/min].
        rate_c_per_min: f64,
    },
    /// Heater off, fan on where there is one, until the block is this cool.
    Cool {
        /// Down to [°C].
        to_c: f64,
    },
}

/// Which leg it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "as the variants of Leg")]
pub enum LegKind {
    Approach,
    Soak,
    Attend,
    Scan,
    Cool,
}

impl Leg {
    /// Which it is.
    pub fn kind(&self) -> LegKind {
        match self {
            Self::Approach { .. } => LegKind::Approach,
            Self::Soak { .. } => LegKind::Soak,
            Self::Attend => LegKind::Attend,
            Self::Scan { .. } => LegKind::Scan,
            Self::Cool { .. } => LegKind::Cool,
        }
    }

    /// The temperature it goes to [°C]; none for those that stay.
    pub fn to_c(&self) -> Option<f64> {
        match *self {
            Self::Approach { to_c } | Self::Scan { to_c, .. } | Self::Cool { to_c } => Some(to_c),
            Self::Soak { .. } | Self::Attend => None,
        }
    }
}

/// What a run is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// Find out roughly where it melts; the tube is discarded.
    Scouting,
    /// Take the melting range.
    Measuring,
}

/// The legs of one run, in order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Programme {
    purpose: Purpose,
    legs: Vec<Leg>,
}

/// Why legs are no programme.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ProgrammeError {
    /// A number is out of range.
    #[error("{field} is {found}; expected {expected}")]
    Field {
        /// Which, with its leg.
        field: String,
        /// What it is.
        found: f64,
        /// What would do.
        expected: String,
    },
    /// The legs do not follow.
    #[error("leg {leg} is {found}; expected {expected}")]
    Order {
        /// Which, from 1.
        leg: usize,
        /// What it is.
        found: String,
        /// What would do.
        expected: &'static str,
    },
}

impl Programme {
    /// Check legs against each other and against the bench's limit.
    ///
    /// # Errors
    /// [`ProgrammeError`]: no legs or too many, a number out of range, a temperature above `max_c`,
    /// or a scan that does not rise.
    pub fn new(purpose: Purpose, legs: Vec<Leg>, max_c: f64) -> Result<Self, ProgrammeError> {
        if legs.is_empty() || legs.len() > MOST_LEGS {
            return Err(ProgrammeError::Order {
                leg: legs.len(),
                found: format!("the last of {}", legs.len()),
                expected: "1 to 40 legs",
            });
        }
        let mut from_c = f64::NEG_INFINITY;
        for (at, leg) in legs.iter().enumerate() {
            check_leg(at + 1, leg, max_c)?;
            if let Leg::Scan { to_c, .. } = *leg
                && to_c <= from_c
            {
                return Err(ProgrammeError::Order {
                    leg: at + 1,
                    found: format!("a scan to {to_c} °C from {from_c} °C"),
                    expected: "a scan that rises",
                });
            }
            from_c = leg.to_c().unwrap_or(from_c);
        }
        Ok(Self { purpose, legs })
    }

    /// Around an expected range.
    ///
    /// # Errors
    /// [`ProgrammeError`], naming what of the order cannot be.
    pub fn measuring(order: &MeasuringOrder, max_c: f64) -> Result<Self, ProgrammeError> {
        Self::new(Purpose::Measuring, order.legs()?, max_c)
    }

    /// One fast ramp to find out where to look.
    ///
    /// # Errors
    /// [`ProgrammeError`], naming what of the order cannot be.
    pub fn scouting(order: &ScoutingOrder, max_c: f64) -> Result<Self, ProgrammeError> {
        if order.up_to_c <= order.from_c {
            return Err(ProgrammeError::Field {
                field: "up_to_c".into(),
                found: order.up_to_c,
                expected: format!("above {} °C, where the block stands", order.from_c),
            });
        }
        Self::new(Purpose::Scouting, order.legs(), max_c)
    }

    /// What it is for.
    pub fn purpose(&self) -> Purpose {
        self.purpose
    }

    /// In order.
    pub fn legs(&self) -> &[Leg] {
        &self.legs
    }

    /// The highest temperature it asks for [°C].
    pub fn highest_c(&self) -> Option<f64> {
        self.legs.iter().filter_map(Leg::to_c).reduce(f64::max)
    }

    /// Where the first scan begins and the last one ends [°C]: the window in which melting is expected.
    pub fn window_c(&self) -> Option<(f64, f64)> {
        let mut from_c = None;
        let mut window: Option<(f64, f64)> = None;
        for leg in &self.legs {
            if let Leg::Scan { to_c, .. } = *leg {
                let begin_c = window.map_or(from_c.unwrap_or(f64::NEG_INFINITY), |seen| seen.0);
                window = Some((begin_c, to_c));
            }
            from_c = leg.to_c().or(from_c);
        }
        window
    }
}

fn check_leg(number: usize, leg: &Leg, max_c: f64) -> Result<(), ProgrammeError> {
    let field = |name: &str| format!("{name} of leg {number}");
    let within = |name: &str, found: f64, least: f64, most: f64, unit: &str| {
        if found >= least && found <= most {
            return Ok(());
        }
        Err(ProgrammeError::Field {
            field: field(name),
            found,
            expected: format!("{least} to {most} {unit}"),
        })
    };
    if let Some(to_c) = leg.to_c() {
        within("to_c", to_c, LOWEST_C, max_c, "°C, the bench's limit")?;
    }
    match *leg {
        Leg::Soak { minutes } => within("minutes", minutes, 0.0, LONGEST_SOAK_MIN, "min"),
        Leg::Scan { rate_c_per_min, .. } => within(
            "rate_c_per_min",
            rate_c_per_min,
            0.05,
            FASTEST_C_PER_MIN,
            "°C/min",
        ),
        Leg::Approach { .. } | Leg::Attend | Leg::Cool { .. } => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scan(to_c: f64) -> Leg {
        Leg::Scan {
            to_c,
            rate_c_per_min: 1.0,
        }
    }

    #[test]
    fn what_cannot_be_heated_is_refused_with_its_leg() {
        let legs = vec![Leg::Approach { to_c: 100.0 }, scan(310.0)];
        let error = Programme::new(Purpose::Measuring, legs, 300.0).expect_err("above the limit");
        let text = error.to_string();
        assert!(
            text.contains("leg 2") && text.contains("310") && text.contains("300"),
            "{text}"
        );
        let legs = vec![Leg::Approach { to_c: 100.0 }, scan(95.0)];
        assert!(Programme::new(Purpose::Measuring, legs, 300.0).is_err());
        let legs = vec![Leg::Approach { to_c: f64::NAN }];
        assert!(Programme::new(Purpose::Measuring, legs, 300.0).is_err());
        assert!(Programme::new(Purpose::Measuring, Vec::new(), 300.0).is_err());
    }

    #[test]
    fn the_window_is_where_scans_are() {
        let legs = vec![
            Leg::Approach { to_c: 67.0 },
            Leg::Soak { minutes: 3.0 },
            scan(73.0),
            Leg::Approach { to_c: 118.0 },
            scan(124.0),
            Leg::Cool { to_c: 49.0 },
        ];
        let programme = Programme::new(Purpose::Measuring, legs, 300.0).expect("in order");
        assert_eq!(programme.window_c(), Some((67.0, 124.0)));
        assert_eq!(programme.highest_c(), Some(124.0));
    }
}
