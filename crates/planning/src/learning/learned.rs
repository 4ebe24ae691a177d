//! What was learned of a bench, as its file keeps it.

use super::arrival::Arrival;
use super::model::ControllerModel;
use super::problem::{
    DEAD, DERIVATIVE, FAN, FORESIGHT, GAIN, LOSS, RATE, RESET, SENSOR, SHARED, SLOPE,
};
use crate::curve::HeatingAbility;
use meltrange_physics::BlockConstants;
use nalgebra::{Cholesky, DMatrix};
use serde::{Deserialize, Serialize};

/// A constant with its standard uncertainty, in the same unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
#[expect(missing_docs, reason = "as named")]
pub struct LearnedConstant {
    pub value: f64,
    pub standard_uncertainty: f64,
}

/// How the setpoint goes to the target of an approach.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(tag = "setpoint", rename_all = "snake_case", deny_unknown_fields)]
pub enum ApproachStyle {
    /// At once; the block follows at full power.
    Jump,
    /// It is led there.
    Led {
        /// So fast [°C/min].
        rate_c_per_min: f64,
        /// Slower over the last degrees.
        tapers: bool,
    },
}

/// When a scan is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum ScanEnd {
    /// When the setpoint is at its end.
    Setpoint,
    /// When the thermometer is.
    Thermometer,
    /// The logs do not tell: half-way between the two is taken, and their distance is uncertain.
    Unknown,
}

/// A bench as its runs show it. All of it is written into the bench file and read from there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct LearnedBench {
    /// From so many logs.
    pub logs: u32,
    /// Room, mean of the logs, and how much it differs from run to run [°C].
    pub room_c: LearnedConstant,
    /// Heater limit: heating rate at full power while the block is as cold as the room [°C/min].
    pub full_power_rate_c_per_min: LearnedConstant,
    /// Losses with the fan off [min].
    pub loss_time_constant_min: LearnedConstant,
    /// And with the fan on [min].
    pub fan_time_constant_min: LearnedConstant,
    /// A change of the power acts after this [s].
    pub dead_time_s: LearnedConstant,
    /// Lag of the thermometer [s].
    pub sensor_time_constant_s: LearnedConstant,
    /// Of the controller, as far as it shows [1/°C].
    pub gain_per_c: LearnedConstant,
    /// And how fast its integral acts [s].
    pub reset_s: LearnedConstant,
    /// Rise of the reading in this time counts as deviation [s].
    pub derivative_s: LearnedConstant,
    /// Part of the power against losses that it foresees.
    pub foresight: LearnedConstant,
    /// And of the power that moves the setpoint.
    pub slope_foresight: LearnedConstant,
    /// Noise of one reading [°C].
    pub noise_c: f64,
    /// Step in which temperatures are shown [°C]; 0 where none is seen.
    pub step_c: f64,
    /// A reading comes this often [s].
    pub spacing_s: f64,
    /// How its setpoint goes to the target.
    pub approach: ApproachStyle,
    /// When an approach has arrived.
    pub arrival: Arrival,
    /// When a scan is over.
    pub scan_ends_at: ScanEnd,
    /// Approaches take longer than modelled by this part of their time, mean ...
    pub approach_bias: f64,
    /// ... and standard deviation of one more.
    pub approach_scatter: f64,
    /// At the ends of scans readings differ from the model by this, root mean square [°C].
    pub scan_scatter_c: f64,
    /// Readings differ from the model by this, root mean square [°C].
    pub left_c: f64,
    /// Highest temperature in the logs [°C]; above, the model is a guess.
    pub highest_seen_c: f64,
    /// Covariance of the logarithms of the ten constants from `full_power_rate_c_per_min` to `slope_foresight`, row by row.
    pub covariance: Vec<f64>,
}

impl LearnedBench {
    /// Check what a file says.
    ///
    /// # Errors
    /// The field that cannot be, what it is and what would do.
    pub fn check(&self) -> Result<(), (&'static str, String, &'static str)> {
        for (field, found) in [
            ("full_power_rate_c_per_min", self.full_power_rate_c_per_min),
            ("loss_time_constant_min", self.loss_time_constant_min),
            ("fan_time_constant_min", self.fan_time_constant_min),
            ("gain_per_c", self.gain_per_c),
            ("reset_s", self.reset_s),
        ] {
            if !(found.value.is_finite() && found.value > 0.0) {
                return Err((field, found.value.to_string(), "a number above 0"));
            }
        }
        for (field, found) in [
            ("dead_time_s", self.dead_time_s.value),
            ("sensor_time_constant_s", self.sensor_time_constant_s.value),
            ("approach_scatter", self.approach_scatter),
            ("scan_scatter_c", self.scan_scatter_c),
            ("noise_c", self.noise_c),
            ("step_c", self.step_c),
        ] {
            if !(found.is_finite() && found >= 0.0) {
                return Err((field, found.to_string(), "a number, 0 or more"));
            }
        }
        if !(-0.5..=2.0).contains(&self.approach_bias) {
            return Err(("approach_bias", self.approach_bias.to_string(), "-0.5 to 2"));
        }
        if !(0.001..=600.0).contains(&self.spacing_s) {
            return Err(("spacing_s", self.spacing_s.to_string(), "0.001 to 600 s"));
        }
        if !(0.01..=10.0).contains(&self.arrival.within_c) {
            return Err((
                "arrival.within_c",
                self.arrival.within_c.to_string(),
                "0.01 to 10 °C",
            ));
        }
        let rate = match self.approach {
            ApproachStyle::Jump => 1.0,
            ApproachStyle::Led { rate_c_per_min, .. } => rate_c_per_min,
        };
        if !(0.1..=300.0).contains(&rate) {
            return Err(("approach", rate.to_string(), "0.1 to 300 °C/min"));
        }
        if !(-50.0..=80.0).contains(&self.room_c.value) {
            return Err(("room_c", self.room_c.value.to_string(), "-50 to 80 °C"));
        }
        if self.covariance.len() != SHARED * SHARED
            || self.covariance.iter().any(|value| !value.is_finite())
        {
            let found = format!("{} numbers", self.covariance.len());
            return Err(("covariance", found, "100 numbers"));
        }
        Ok(())
    }

    /// The block in a room.
    pub fn constants(&self, room_c: f64) -> BlockConstants {
        BlockConstants {
            room_c,
            full_power_rate_c_per_min: self.full_power_rate_c_per_min.value,
            loss_time_constant_min: self.loss_time_constant_min.value,
            fan_time_constant_min: self.fan_time_constant_min.value,
            dead_time_s: self.dead_time_s.value,
            sensor_time_constant_s: self.sensor_time_constant_s.value,
        }
    }

    pub(super) fn controller(&self) -> ControllerModel {
        ControllerModel {
            gain_per_c: self.gain_per_c.value,
            reset_s: self.reset_s.value,
            derivative_s: self.derivative_s.value,
            foresight: self.foresight.value,
            slope_foresight: self.slope_foresight.value,
        }
    }

    /// Highest temperature full power can hold [°C].
    pub fn reachable_c(&self) -> f64 {
        self.room_c.value + self.full_power_rate_c_per_min.value * self.loss_time_constant_min.value
    }

    /// Fastest rate at a temperature [°C/min].
    pub fn fastest_c_per_min(&self, at_c: f64) -> f64 {
        self.full_power_rate_c_per_min.value
            - (at_c - self.room_c.value) / self.loss_time_constant_min.value
    }

    /// The same as plain numbers, for what reckons with one heating rate: that of an approach to
    /// the middle of the temperatures seen.
    pub fn ability(&self) -> HeatingAbility {
        let middle_c = (self.room_c.value + self.highest_seen_c) / 2.0;
        let at_full_power = self.fastest_c_per_min(middle_c).max(0.5);
        HeatingAbility {
            room_c: self.room_c.value,
            heat_rate_c_per_min: match self.approach {
                ApproachStyle::Jump => at_full_power,
                ApproachStyle::Led { rate_c_per_min, .. } => rate_c_per_min.min(at_full_power),
            },
            cool_time_constant_min: self.fan_time_constant_min.value,
        }
    }

    /// The bench itself, and for each independent direction of its uncertainty the bench one standard
    /// deviation away.
    pub(super) fn one_away(&self) -> Vec<Self> {
        let mut away = Vec::with_capacity(SHARED + 1);
        let covariance = DMatrix::from_row_slice(SHARED, SHARED, &self.covariance);
        // A tiny ridge: rounding in the file may cost the last bit of definiteness.
        let ridge = DMatrix::identity(SHARED, SHARED) * 1e-12;
        if let Some(factor) = Cholesky::new(covariance + ridge) {
            for column in factor.l().column_iter() {
                let mut other = self.clone();
                for (place, constant) in [
                    (RATE, &mut other.full_power_rate_c_per_min),
                    (LOSS, &mut other.loss_time_constant_min),
                    (FAN, &mut other.fan_time_constant_min),
                    (DEAD, &mut other.dead_time_s),
                    (SENSOR, &mut other.sensor_time_constant_s),
                    (GAIN, &mut other.gain_per_c),
                    (RESET, &mut other.reset_s),
                    (DERIVATIVE, &mut other.derivative_s),
                    (FORESIGHT, &mut other.foresight),
                    (SLOPE, &mut other.slope_foresight),
                ] {
                    // Half-way to the end of belief at most: beyond, the model is not straight.
                    constant.value *= column[place].clamp(-1.0, 1.0).exp();
                }
                away.push(other);
            }
        }
        let mut warmer = self.clone();
        warmer.room_c.value += self.room_c.standard_uncertainty;
        away.push(warmer);
        away
    }
}
