//! What is expected of a sample, and what is asked of the programme for it.

use crate::programme::{Leg, ProgrammeError};
use serde::{Deserialize, Serialize};

/// A measuring programme around an expected range. Defaults: common practice, no source (start a few
/// degrees below, soak, 1 °C/min, stop a little above, cool 20 °C below before the next load).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct MeasuringOrder {
    /// Expected first liquid [°C].
    pub first_liquid_c: f64,
    /// Expected last crystal [°C].
    pub last_crystal_c: f64,
    /// Of the scan [°C/min].
    #[serde(default = "scan_rate")]
    pub rate_c_per_min: f64,
    /// Before the scan [min].
    #[serde(default = "soak")]
    pub soak_min: f64,
    /// The scan starts this far below the first liquid [°C].
    #[serde(default = "start_below")]
    pub start_below_c: f64,
    /// The scan stops this far above the last crystal [°C].
    #[serde(default = "stop_above")]
    pub stop_above_c: f64,
    /// Cool to this far below the first liquid at the end [°C].
    #[serde(default = "cool_below")]
    pub cool_below_c: f64,
    /// Whether to wait for the person before the scan.
    #[serde(default = "attended")]
    pub attend: bool,
}

fn scan_rate() -> f64 {
    1.0
}
fn soak() -> f64 {
    3.0
}
fn start_below() -> f64 {
    3.0
}
fn stop_above() -> f64 {
    2.0
}
fn cool_below() -> f64 {
    20.0
}
fn attended() -> bool {
    true
}

impl MeasuringOrder {
    /// Around this range, everything else as usual.
    pub fn around(first_liquid_c: f64, last_crystal_c: f64) -> Self {
        Self {
            first_liquid_c,
            last_crystal_c,
            rate_c_per_min: scan_rate(),
            soak_min: soak(),
            start_below_c: start_below(),
            stop_above_c: stop_above(),
            cool_below_c: cool_below(),
            attend: attended(),
        }
    }

    pub(crate) fn legs(&self) -> Result<Vec<Leg>, ProgrammeError> {
        let at_least = |field: &str, found: f64, least: f64, what: &str| {
            if found.is_finite() && found >= least {
                return Ok(());
            }
            Err(ProgrammeError::Field {
                field: field.into(),
                found,
                expected: format!("{least} or more{what}"),
            })
        };
        at_least(
            "last_crystal_c",
            self.last_crystal_c,
            self.first_liquid_c,
            ", the first liquid",
        )?;
        at_least("start_below_c", self.start_below_c, 0.0, " °C")?;
        at_least("stop_above_c", self.stop_above_c, 0.0, " °C")?;
        at_least(
            "cool_below_c",
            self.cool_below_c,
            self.start_below_c,
            " °C, where the scan starts",
        )?;
        let start_c = self.first_liquid_c - self.start_below_c;
        let mut legs = vec![
            Leg::Approach { to_c: start_c },
            Leg::Soak {
                minutes: self.soak_min,
            },
        ];
        if self.attend {
            legs.push(Leg::Attend);
        }
        legs.push(Leg::Scan {
            to_c: self.last_crystal_c + self.stop_above_c,
            rate_c_per_min: self.rate_c_per_min,
        });
        legs.push(Leg::Cool {
            to_c: self.first_liquid_c - self.cool_below_c,
        });
        Ok(legs)
    }
}

/// One fast ramp to find out roughly where a sample melts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct ScoutingOrder {
    /// Where the block stands now [°C].
    pub from_c: f64,
    /// As far as it may go [°C].
    pub up_to_c: f64,
    /// How fast [°C/min].
    #[serde(default = "scouting_rate")]
    pub rate_c_per_min: f64,
}

/// Common practice, no source: fast enough to be done in a quarter of an hour, slow enough to be
/// right within a few degrees.
fn scouting_rate() -> f64 {
    10.0
}

impl ScoutingOrder {
    /// From here up to there, at the usual rate.
    pub fn up_to(from_c: f64, up_to_c: f64) -> Self {
        Self {
            from_c,
            up_to_c,
            rate_c_per_min: scouting_rate(),
        }
    }

    pub(crate) fn legs(&self) -> Vec<Leg> {
        vec![
            Leg::Scan {
                to_c: self.up_to_c,
                rate_c_per_min: self.rate_c_per_min,
            },
            Leg::Cool { to_c: self.from_c },
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Programme, Purpose};

    // The example of `plan`: 70 to 71 °C expected, start 3 below, stop 2 above, cool 20 below... by hand.
    #[test]
    fn an_expected_range_becomes_five_legs() {
        let programme =
            Programme::measuring(&MeasuringOrder::around(70.0, 71.0), 300.0).expect("fits");
        assert_eq!(programme.purpose(), Purpose::Measuring);
        assert_eq!(
            programme.legs(),
            [
                Leg::Approach { to_c: 67.0 },
                Leg::Soak { minutes: 3.0 },
                Leg::Attend,
                Leg::Scan {
                    to_c: 73.0,
                    rate_c_per_min: 1.0
                },
                Leg::Cool { to_c: 50.0 },
            ]
        );
    }

    #[test]
    fn contradictory_orders_are_named() {
        let upside_down = MeasuringOrder::around(80.0, 79.0);
        let error = Programme::measuring(&upside_down, 300.0).expect_err("ends before it begins");
        assert!(error.to_string().contains("last_crystal_c"), "{error}");
        let warm = MeasuringOrder {
            cool_below_c: 1.0,
            ..MeasuringOrder::around(80.0, 81.0)
        };
        let error = Programme::measuring(&warm, 300.0).expect_err("not cool enough");
        assert!(error.to_string().contains("cool_below_c"), "{error}");
        assert!(Programme::scouting(&ScoutingOrder::up_to(25.0, 400.0), 300.0).is_err());
        let down = Programme::scouting(&ScoutingOrder::up_to(25.0, 10.0), 300.0);
        let error = down.expect_err("below the block").to_string();
        assert!(error.contains("up_to_c") && error.contains("25"), "{error}");
    }
}
