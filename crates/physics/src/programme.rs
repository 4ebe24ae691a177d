//! Temperature of a block that follows a heating programme.

use crate::melting::require;
use crate::{Celsius, MeltingError};

/// One leg of what the controller is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SetpointLeg {
    /// Stay where it is.
    Soak {
        /// For so long \[s\].
        duration_s: f64,
    },
    /// Go to a temperature at a steady rate.
    Ramp {
        /// Where to.
        to: Celsius,
        /// How fast, without sign \[°C/min\].
        rate_c_per_min: f64,
    },
}

/// How the block follows the setpoint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlockResponse {
    /// First-order lag behind the setpoint \[s\]; 0 follows at once.
    pub lag_s: f64,
    /// Amplitude of the controller's cycling \[°C\].
    pub ripple_c: f64,
    /// Period of the cycling \[s\], > 0.
    pub ripple_period_s: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Segment {
    start_s: f64,
    setpoint_c: f64,
    slope_c_per_s: f64,
    block_c: f64,
}

/// Block temperature against time, in closed form.
///
/// Within a leg of slope β from setpoint s₀ and block temperature b₀ the first-order response is
/// b(t) = s₀ + β t − β·lag + (b₀ − s₀ + β·lag)·exp(−t/lag); the controller's cycling is added as a sine.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockTemperature {
    segments: Vec<Segment>,
    response: BlockResponse,
    programme_end_s: f64,
}

impl BlockTemperature {
    /// A block in equilibrium at `start` that runs through `legs` and then holds.
    ///
    /// # Errors
    /// [`MeltingError`] for a negative duration or lag, or a rate or period that is not above 0.
    pub fn new(
        start: Celsius,
        legs: &[SetpointLeg],
        response: BlockResponse,
    ) -> Result<Self, MeltingError> {
        require(
            "start temperature",
            start.0,
            start.0 > -273.15,
            "°C above absolute zero",
        )?;
        require("lag", response.lag_s, response.lag_s >= 0.0, "s, 0 or more")?;
        require(
            "ripple",
            response.ripple_c,
            response.ripple_c >= 0.0,
            "°C, 0 or more",
        )?;
        require(
            "ripple period",
            response.ripple_period_s,
            response.ripple_period_s > 0.0,
            "s above 0",
        )?;
        let mut block = Self {
            segments: Vec::with_capacity(legs.len() + 1),
            response,
            programme_end_s: 0.0,
        };
        let mut setpoint_c = start.0;
        let mut block_c = start.0;
        for leg in legs {
            let (duration_s, slope_c_per_s) = match *leg {
                SetpointLeg::Soak { duration_s } => {
                    require("soak", duration_s, duration_s >= 0.0, "s, 0 or more")?;
                    (duration_s, 0.0)
                }
                SetpointLeg::Ramp { to, rate_c_per_min } => {
                    require(
                        "heating rate",
                        rate_c_per_min,
                        rate_c_per_min > 0.0,
                        "°C/min above 0",
                    )?;
                    require("ramp end", to.0, to.0 > -273.15, "°C above absolute zero")?;
                    let slope = rate_c_per_min / 60.0 * (to.0 - setpoint_c).signum();
                    ((to.0 - setpoint_c) / slope, slope)
                }
            };
            let segment = Segment {
                start_s: block.programme_end_s,
                setpoint_c,
                slope_c_per_s,
                block_c,
            };
            block_c = segment.block_at(duration_s, response.lag_s);
            setpoint_c += slope_c_per_s * duration_s;
            block.programme_end_s += duration_s;
            block.segments.push(segment);
        }
        let hold = Segment {
            start_s: block.programme_end_s,
            setpoint_c,
            slope_c_per_s: 0.0,
            block_c,
        };
        block.segments.push(hold);
        Ok(block)
    }

    /// When the last leg ends \[s\].
    pub fn programme_end_s(&self) -> f64 {
        self.programme_end_s
    }

    /// Block temperature at a time; before 0 the start temperature (with ripple).
    pub fn at(&self, time_s: f64) -> Celsius {
        let cycle = std::f64::consts::TAU * time_s / self.response.ripple_period_s;
        Celsius(self.smooth_c(time_s) + self.response.ripple_c * cycle.sin())
    }

    /// Heating rate at a time, ripple included \[°C/min\].
    pub fn rate_c_per_min(&self, time_s: f64) -> f64 {
        let half_s = 0.5;
        (self.at(time_s + half_s).0 - self.at(time_s - half_s).0) / (2.0 * half_s) * 60.0
    }

    /// The setpoint at a time.
    pub fn setpoint(&self, time_s: f64) -> Celsius {
        let segment = self.segment(time_s);
        Celsius(segment.setpoint_c + segment.slope_c_per_s * (time_s - segment.start_s).max(0.0))
    }

    fn segment(&self, time_s: f64) -> &Segment {
        let after = self
            .segments
            .partition_point(|segment| segment.start_s <= time_s);
        &self.segments[after.max(1) - 1]
    }

    fn smooth_c(&self, time_s: f64) -> f64 {
        let segment = self.segment(time_s);
        segment.block_at((time_s - segment.start_s).max(0.0), self.response.lag_s)
    }
}

impl Segment {
    fn block_at(&self, elapsed_s: f64, lag_s: f64) -> f64 {
        let steady = self.setpoint_c + self.slope_c_per_s * (elapsed_s - lag_s);
        if lag_s <= 0.0 {
            return steady;
        }
        let offset = self.block_c - self.setpoint_c + self.slope_c_per_s * lag_s;
        steady + offset * (-elapsed_s / lag_s).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEADY: BlockResponse = BlockResponse {
        lag_s: 10.0,
        ripple_c: 0.0,
        ripple_period_s: 30.0,
    };

    fn soak_and_scan() -> BlockTemperature {
        let legs = [
            SetpointLeg::Soak { duration_s: 40.0 },
            SetpointLeg::Ramp {
                to: Celsius(120.0),
                rate_c_per_min: 2.0,
            },
        ];
        BlockTemperature::new(Celsius(110.0), &legs, STEADY).expect("in range")
    }

    #[test]
    fn a_ramp_trails_the_setpoint_by_rate_times_lag() {
        let block = soak_and_scan();
        assert!((block.at(20.0).0 - 110.0).abs() < 1e-9);
        assert!((block.programme_end_s() - 340.0).abs() < 1e-9);
        let behind_c = block.setpoint(300.0).0 - block.at(300.0).0;
        assert!(
            (behind_c - 2.0 / 60.0 * 10.0).abs() < 1e-6,
            "behind by {behind_c} °C"
        );
        assert!((block.rate_c_per_min(300.0) - 2.0).abs() < 1e-6);
        assert!((block.at(1000.0).0 - 120.0).abs() < 1e-6);
    }

    #[test]
    fn legs_join_without_a_jump() {
        let block = soak_and_scan();
        for at_s in [40.0, 340.0] {
            assert!((block.at(at_s + 1e-6).0 - block.at(at_s - 1e-6).0).abs() < 1e-5);
        }
    }

    #[test]
    fn a_ramp_may_cool() {
        let legs = [SetpointLeg::Ramp {
            to: Celsius(50.0),
            rate_c_per_min: 5.0,
        }];
        let block = BlockTemperature::new(Celsius(60.0), &legs, STEADY).expect("in range");
        assert!(block.at(60.0).0 < 58.0);
        assert!(
            BlockTemperature::new(
                Celsius(60.0),
                &[SetpointLeg::Ramp {
                    to: Celsius(50.0),
                    rate_c_per_min: 0.0
                }],
                STEADY
            )
            .is_err()
        );
    }
}
