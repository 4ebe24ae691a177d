//! The heated block of an apparatus: power in, losses to the room, dead time, a lagging thermometer.

use std::collections::VecDeque;

use serde::{Deserialize, Serialize};

use crate::melting::require;
use crate::{Celsius, MeltingError};

const S_PER_MIN: f64 = 60.0;

/// Whether the fan blows at the block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fan {
    /// Losses by still air.
    #[default]
    Off,
    /// Losses by moving air.
    On,
}

/// What a block is like.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BlockConstants {
    /// Temperature of the surroundings \[°C\].
    pub room_c: f64,
    /// Heating rate with full power while the block is as cold as the room \[°C/min\], > 0.
    pub full_power_rate_c_per_min: f64,
    /// Time constant of the losses with the fan off \[min\], > 0.
    pub loss_time_constant_min: f64,
    /// The same with the fan on \[min\], > 0.
    pub fan_time_constant_min: f64,
    /// A change of the power shows after this time \[s\], 0 or more.
    #[serde(default)]
    pub dead_time_s: f64,
    /// Lag of the thermometer behind the block \[s\]; 0 for none.
    #[serde(default)]
    pub sensor_time_constant_s: f64,
}

impl BlockConstants {
    /// The same constants when a block can have them.
    ///
    /// # Errors
    /// [`MeltingError`] names the constant that is out of range.
    pub fn checked(self) -> Result<Self, MeltingError> {
        require(
            "room temperature",
            self.room_c,
            self.room_c > -273.15,
            "°C above absolute zero",
        )?;
        for (name, found) in [
            ("full-power heating rate", self.full_power_rate_c_per_min),
            ("loss time constant", self.loss_time_constant_min),
            ("loss time constant with fan", self.fan_time_constant_min),
        ] {
            require(name, found, found > 0.0, "above 0")?;
        }
        for (name, found) in [
            ("dead time", self.dead_time_s),
            ("thermometer's time constant", self.sensor_time_constant_s),
        ] {
            require(name, found, found >= 0.0, "s, 0 or more")?;
        }
        Ok(self)
    }

    /// Temperature at which losses balance a power, T_room + u·q·τ.
    ///
    /// # Arguments
    /// * `power_fraction`: u, part of the full power, 0..=1.
    /// * `fan`: which τ counts.
    pub fn equilibrium(&self, power_fraction: f64, fan: Fan) -> Celsius {
        let rise_c =
            self.full_power_rate_c_per_min * power_fraction * self.loss_time_constant_s(fan)
                / S_PER_MIN;
        Celsius(self.room_c + rise_c)
    }

    pub(crate) fn loss_time_constant_s(&self, fan: Fan) -> f64 {
        S_PER_MIN
            * match fan {
                Fan::Off => self.loss_time_constant_min,
                Fan::On => self.fan_time_constant_min,
            }
    }
}

/// A block under way: its temperature and what its thermometer shows.
///
/// One lump with losses proportional to its excess over the room, and power that acts after a dead time θ:
///
/// dT/dt = q·u(t − θ) − (T − T_room)/τ,  dS/dt = (T − S)/τ_s
///
/// with q the heating rate at room temperature and full power, u the power fraction, τ the time constant of the
/// losses (another with the fan), S the indicated temperature. Between changes of u and fan both have closed
/// solutions, so that any step width gives the same course.
///
/// # Range of use
/// One lump has no gradients, and losses by radiation, which grow faster than the excess, are left out: over 200 °C
/// a real block needs more power than this one.
///
/// # Example
/// Half power balances the losses half-way to the highest temperature:
/// ```
/// use meltrange_physics::{BlockConstants, Celsius, Fan, HeatedBlock};
/// let constants = BlockConstants {
///     room_c: 22.0,
///     full_power_rate_c_per_min: 25.0,
///     loss_time_constant_min: 16.0,
///     fan_time_constant_min: 5.0,
///     dead_time_s: 4.0,
///     sensor_time_constant_s: 3.0,
/// };
/// let mut block = HeatedBlock::new(constants, Celsius(22.0))?;
/// block.advance(4.0 * 3600.0, 0.5, Fan::Off);
/// assert!((block.block().0 - 222.0).abs() < 1e-3);
/// assert!((block.indicated().0 - 222.0).abs() < 1e-3);
/// # Ok::<(), meltrange_physics::MeltingError>(())
/// ```
///
/// # Source
/// Newton's law of cooling; first order plus dead time as the usual model of a heated process: K. J. Åström,
/// T. Hägglund, PID Controllers: Theory, Design, and Tuning, ISA 1995 (cited from memory).
#[derive(Debug, Clone, PartialEq)]
pub struct HeatedBlock {
    constants: BlockConstants,
    block_c: f64,
    sensor_c: f64,
    /// Power that acts now.
    acting: f64,
    /// Power asked for last.
    asked: f64,
    /// Powers still to act, each with the time until then \[s\], rising.
    pending: VecDeque<(f64, f64)>,
}

impl HeatedBlock {
    /// A block and thermometer at `start`, without power.
    ///
    /// # Errors
    /// [`MeltingError`] for a constant or start out of range.
    pub fn new(constants: BlockConstants, start: Celsius) -> Result<Self, MeltingError> {
        require(
            "start temperature",
            start.0,
            start.0 > -273.15,
            "°C above absolute zero",
        )?;
        Ok(Self {
            constants: constants.checked()?,
            block_c: start.0,
            sensor_c: start.0,
            acting: 0.0,
            asked: 0.0,
            pending: VecDeque::new(),
        })
    }

    /// What it is like.
    pub fn constants(&self) -> &BlockConstants {
        &self.constants
    }

    /// Temperature of the block.
    pub fn block(&self) -> Celsius {
        Celsius(self.block_c)
    }

    /// What its thermometer shows, without noise and rounding.
    pub fn indicated(&self) -> Celsius {
        Celsius(self.sensor_c)
    }

    /// Let time pass with a power asked for and the fan on or off all the while.
    ///
    /// # Arguments
    /// * `duration_s`: how long \[s\]; without effect unless above 0.
    /// * `power_fraction`: part of the full power; bounded to 0..=1, not a number counts as 0.
    /// * `fan`: acts at once.
    pub fn advance(&mut self, duration_s: f64, power_fraction: f64, fan: Fan) {
        if duration_s.is_nan() || duration_s <= 0.0 {
            return;
        }
        let power = if power_fraction.is_nan() {
            0.0
        } else {
            power_fraction.clamp(0.0, 1.0)
        };
        if power != self.asked {
            self.asked = power;
            self.pending.push_back((self.constants.dead_time_s, power));
        }
        let mut left_s = duration_s;
        while let Some(&(until_s, next)) = self.pending.front()
            && until_s <= left_s
        {
            self.relax(until_s, fan);
            self.acting = next;
            left_s -= until_s;
            self.pending.pop_front();
            for (wait_s, _) in &mut self.pending {
                *wait_s -= until_s;
            }
        }
        self.relax(left_s, fan);
        for (wait_s, _) in &mut self.pending {
            *wait_s -= left_s;
        }
    }

    /// Closed solution over a stretch of constant power and fan.
    fn relax(&mut self, duration_s: f64, fan: Fan) {
        if duration_s <= 0.0 {
            return;
        }
        let goal_c = self.constants.equilibrium(self.acting, fan).0;
        let block = duration_s / self.constants.loss_time_constant_s(fan);
        let above_c = self.block_c - goal_c;
        self.block_c = goal_c + above_c * (-block).exp();
        let sensor_s = self.constants.sensor_time_constant_s;
        if sensor_s <= 0.0 {
            self.sensor_c = self.block_c;
            return;
        }
        // With a = t/τ, b = t/τ_s the block's excess A reaches the thermometer as A·b·(e⁻ᵃ − e⁻ᵇ)/(b − a).
        let sensor = duration_s / sensor_s;
        let (slower, apart) = (block.min(sensor), (sensor - block).abs());
        let spread = if apart > 0.0 {
            -(-apart).exp_m1() / apart
        } else {
            1.0
        };
        self.sensor_c = goal_c
            + (self.sensor_c - goal_c) * (-sensor).exp()
            + above_c * sensor * (-slower).exp() * spread;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const BENCH: BlockConstants = BlockConstants {
        room_c: 21.0,
        full_power_rate_c_per_min: 24.0,
        loss_time_constant_min: 14.0,
        fan_time_constant_min: 4.5,
        dead_time_s: 6.0,
        sensor_time_constant_s: 4.0,
    };

    fn block(constants: BlockConstants, start_c: f64) -> HeatedBlock {
        HeatedBlock::new(constants, Celsius(start_c)).expect("in range")
    }

    #[test]
    fn cooling_takes_the_logarithm_of_the_ratio_of_excesses() {
        // Newton: t = τ ln((T₁ − T_room)/(T₂ − T_room)).
        for (fan, tau_min) in [(Fan::Off, 14.0), (Fan::On, 4.5)] {
            let mut hot = block(BENCH, 180.0);
            let time_s = 60.0 * tau_min * ((180.0f64 - 21.0) / (60.0 - 21.0)).ln();
            hot.advance(time_s, 0.0, fan);
            assert!((hot.block().0 - 60.0).abs() < 1e-9, "{:?}", hot.block());
        }
    }

    #[test]
    fn partial_power_ends_at_its_equilibrium() {
        let mut warm = block(BENCH, 21.0);
        warm.advance(40.0 * 14.0 * 60.0, 0.3, Fan::Off);
        let expected_c = 21.0 + 0.3 * 24.0 * 14.0;
        assert!((warm.block().0 - expected_c).abs() < 1e-9);
        assert!((warm.indicated().0 - expected_c).abs() < 1e-9);
        assert!((BENCH.equilibrium(0.3, Fan::Off).0 - expected_c).abs() < 1e-12);
        assert!((BENCH.equilibrium(0.3, Fan::On).0 - (21.0 + 0.3 * 24.0 * 4.5)).abs() < 1e-12);
    }

    #[test]
    fn full_power_begins_with_the_stated_rate() {
        let mut cold = block(
            BlockConstants {
                dead_time_s: 0.0,
                ..BENCH
            },
            21.0,
        );
        cold.advance(0.1, 1.0, Fan::Off);
        let rate = (cold.block().0 - 21.0) / 0.1 * 60.0;
        // The losses take t/(2τ) of it: 0.1 s of 1680 s.
        assert!((rate / 24.0 - 1.0).abs() < 1e-4, "{rate} °C/min");
    }

    #[test]
    fn power_acts_exactly_after_the_dead_time() {
        let mut cold = block(BENCH, 21.0);
        cold.advance(6.0, 1.0, Fan::Off);
        assert_eq!(cold.block().0, 21.0);
        cold.advance(2.0, 0.0, Fan::Off);
        let tau_s = 14.0 * 60.0;
        let full_c = 24.0 * 14.0;
        let warmed_c = 21.0 + full_c * (1.0 - (-2.0f64 / tau_s).exp());
        assert!((cold.block().0 - warmed_c).abs() < 1e-12);
        // Six seconds of power were asked for in all, so four more act.
        cold.advance(20.0, 0.0, Fan::Off);
        let top_c = full_c * (1.0 - (-6.0f64 / tau_s).exp());
        let now_c = 21.0 + top_c * (-16.0f64 / tau_s).exp();
        assert!((cold.block().0 - now_c).abs() < 1e-12, "{:?}", cold.block());
    }

    #[test]
    fn the_thermometer_trails_as_a_first_order_lag() {
        // Block held by its equilibrium: S − T falls as exp(−t/τ_s).
        let mut held = block(BENCH, 21.0);
        held.sensor_c = 31.0;
        held.advance(4.0, 0.0, Fan::Off);
        assert!((held.indicated().0 - 21.0 - 10.0 * (-1.0f64).exp()).abs() < 1e-12);
        // Equal time constants: T and S from 100 to 0 give S/100 = (1 + t/τ) exp(−t/τ).
        let equal = BlockConstants {
            room_c: 0.0,
            loss_time_constant_min: 1.0,
            sensor_time_constant_s: 60.0,
            ..BENCH
        };
        let mut cooling = block(equal, 100.0);
        cooling.advance(90.0, 0.0, Fan::Off);
        let expected_c = 100.0 * (1.0 + 1.5) * (-1.5f64).exp();
        assert!((cooling.indicated().0 - expected_c).abs() < 1e-9);
    }

    #[test]
    fn impossible_constants_are_named() {
        let nothing = BlockConstants {
            loss_time_constant_min: 0.0,
            ..BENCH
        };
        let error = HeatedBlock::new(nothing, Celsius(20.0)).expect_err("refused");
        assert!(
            error.to_string().contains("loss time constant is 0"),
            "{error}"
        );
        let unknown = BlockConstants {
            dead_time_s: f64::NAN,
            ..BENCH
        };
        assert!(unknown.checked().is_err());
    }

    #[test]
    fn odd_requests_do_no_harm() {
        let mut odd = block(BENCH, 50.0);
        odd.advance(f64::NAN, 1.0, Fan::Off);
        odd.advance(-5.0, 1.0, Fan::Off);
        assert_eq!(odd, block(BENCH, 50.0));
        odd.advance(1e9, f64::NAN, Fan::On);
        assert!((odd.block().0 - 21.0).abs() < 1e-9 && odd.indicated().0.is_finite());
    }

    fn constants() -> impl Strategy<Value = BlockConstants> {
        (
            -10.0..40.0f64,
            2.0..80.0f64,
            0.5..60.0f64,
            0.2..20.0f64,
            0.0..30.0f64,
            0.0..60.0f64,
        )
            .prop_map(|(room_c, rate, loss, fan, dead, sensor)| BlockConstants {
                room_c,
                full_power_rate_c_per_min: rate,
                loss_time_constant_min: loss,
                fan_time_constant_min: fan,
                dead_time_s: dead,
                sensor_time_constant_s: sensor,
            })
    }

    fn schedule() -> impl Strategy<Value = Vec<(f64, f64, bool)>> {
        proptest::collection::vec((0.01..200.0f64, 0.0..1.0f64, any::<bool>()), 1..12)
    }

    proptest! {
        #[test]
        fn between_room_and_the_highest_equilibrium(constants in constants(), schedule in schedule()) {
            let mut block = block(constants, constants.room_c);
            let highest_c = constants
                .equilibrium(1.0, Fan::Off)
                .0
                .max(constants.equilibrium(1.0, Fan::On).0);
            for (duration_s, power, blowing) in schedule {
                block.advance(duration_s, power, if blowing { Fan::On } else { Fan::Off });
                for at_c in [block.block().0, block.indicated().0] {
                    prop_assert!(at_c >= constants.room_c - 1e-9 && at_c <= highest_c + 1e-9);
                }
            }
        }

        #[test]
        fn the_step_width_does_not_matter(
            constants in constants(),
            schedule in schedule(),
            parts in 2usize..40,
        ) {
            let mut whole = block(constants, 30.0);
            let mut divided = block(constants, 30.0);
            for (duration_s, power, blowing) in schedule {
                let fan = if blowing { Fan::On } else { Fan::Off };
                whole.advance(duration_s, power, fan);
                for _ in 0..parts {
                    divided.advance(duration_s / parts as f64, power, fan);
                }
            }
            prop_assert!((whole.block().0 - divided.block().0).abs() < 1e-6);
            prop_assert!((whole.indicated().0 - divided.indicated().0).abs() < 1e-6);
        }
    }
}
