//! A sample in a heated block: heat reaches it through a resistance, and melting takes its time.
//!
//! Lumped model. The sample (with the glass around it) holds the enthalpy H(T) = C·(T − T₀) + Q·F(T)
//! and takes up heat from the block at the rate (T_block − T)/R, so that far from melting it lags
//! behind a steady ramp β by τβ with τ = R·C, and melting needs the latent heat Q to pass through R.
//!
//! Laws that follow for a pure solid and small C by integrating the heat flow (β t)/R up to Q
//! (derived in docs/models/physics.md, checked in tests/published/heating_rate.rs):
//! * onset lag ΔT = τ β, linear in rate;
//! * clear point ΔT = √(2 R Q β), melting time √(2 R Q/β): four times the rate doubles the shift.

use crate::melting::require;
use crate::{ImpureSolid, Kelvin, MeltingError};

/// How a sample is coupled to the block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThermalContact {
    resistance_k_per_w: f64,
    time_constant_s: f64,
    latent_heat_j: f64,
}

impl ThermalContact {
    /// Take the three constants.
    ///
    /// # Arguments
    /// * `resistance_k_per_w`: thermal resistance R between block and sample \[K/W\], > 0.
    /// * `time_constant_s`: τ = R·C \[s\], > 0.
    /// * `latent_heat_j`: Q of the whole sample, mass × specific enthalpy of fusion \[J\], > 0.
    ///
    /// # Errors
    /// [`MeltingError`] for an argument out of range.
    pub fn new(
        resistance_k_per_w: f64,
        time_constant_s: f64,
        latent_heat_j: f64,
    ) -> Result<Self, MeltingError> {
        require(
            "thermal resistance",
            resistance_k_per_w,
            resistance_k_per_w > 0.0,
            "K/W above 0",
        )?;
        require(
            "time constant",
            time_constant_s,
            time_constant_s > 0.0,
            "s above 0",
        )?;
        require(
            "latent heat",
            latent_heat_j,
            latent_heat_j > 0.0,
            "J above 0",
        )?;
        Ok(Self {
            resistance_k_per_w,
            time_constant_s,
            latent_heat_j,
        })
    }

    /// How far the sample is behind the block in a steady ramp before it melts, τ β \[K\].
    pub fn onset_lag_k(&self, rate_c_per_min: f64) -> f64 {
        self.time_constant_s * rate_c_per_min / 60.0
    }

    /// How far the block is above T₀ when a pure sample is all liquid, √((τβ)² + 2 R Q β) \[K\].
    ///
    /// The block stands τβ above T₀ when melting begins; for small τ this is the square-root law √(2 R Q β).
    pub fn clear_point_shift_k(&self, rate_c_per_min: f64) -> f64 {
        let rate_k_per_s = rate_c_per_min / 60.0;
        let lag_k = self.onset_lag_k(rate_c_per_min);
        (lag_k * lag_k + 2.0 * self.resistance_k_per_w * self.latent_heat_j * rate_k_per_s).sqrt()
    }

    /// How long a pure sample melts in a steady ramp \[s\].
    pub fn melting_time_s(&self, rate_c_per_min: f64) -> f64 {
        (self.clear_point_shift_k(rate_c_per_min) - self.onset_lag_k(rate_c_per_min))
            / (rate_c_per_min / 60.0)
    }

    fn heat_capacity_j_per_k(&self) -> f64 {
        self.time_constant_s / self.resistance_k_per_w
    }
}

/// A sample under way: its enthalpy, from which temperature and melted fraction follow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatedSample {
    contact: ThermalContact,
    solid: ImpureSolid,
    /// Relative to the unmelted solid at T₀ \[J\].
    enthalpy_j: f64,
}

impl HeatedSample {
    /// A sample in equilibrium at `start`.
    pub fn new(contact: ThermalContact, solid: ImpureSolid, start: Kelvin) -> Self {
        let enthalpy_j = contact.heat_capacity_j_per_k() * (start.0 - solid.pure().0)
            + contact.latent_heat_j * solid.melted_fraction(start);
        Self {
            contact,
            solid,
            enthalpy_j,
        }
    }

    /// Sample temperature.
    pub fn temperature(&self) -> Kelvin {
        Kelvin(self.solid.pure().0 - self.below_pure_k())
    }

    /// Fraction melted, 0..=1.
    pub fn melted_fraction(&self) -> f64 {
        let sensible_j = self.contact.heat_capacity_j_per_k() * self.below_pure_k();
        ((self.enthalpy_j + sensible_j) / self.contact.latent_heat_j).clamp(0.0, 1.0)
    }

    /// Let the block go from one temperature to another, linearly, within `duration_s`.
    ///
    /// Midpoint rule in steps of at most a fifth of the time constant; the error of the
    /// temperature is below 0.5 % of the lag.
    pub fn advance(&mut self, block_before: Kelvin, block_after: Kelvin, duration_s: f64) {
        let steps = (duration_s / (0.2 * self.contact.time_constant_s))
            .ceil()
            .max(1.0);
        let step_s = duration_s / steps;
        let block_at = |part: f64| block_before.0 + (block_after.0 - block_before.0) * part;
        for step in 0..steps as usize {
            let start = self.enthalpy_j;
            let slope = |state: &Self, block_k: f64| {
                (block_k - state.temperature().0) / state.contact.resistance_k_per_w
            };
            let first = slope(self, block_at(step as f64 / steps));
            self.enthalpy_j = start + 0.5 * step_s * first;
            let middle = slope(self, block_at((step as f64 + 0.5) / steps));
            self.enthalpy_j = start + step_s * middle;
        }
    }

    /// T₀ − T \[K\]: the enthalpy solved for temperature. With d = T₀ − T the melting range has
    /// H = −C d + Q k/d, a quadratic in d; below the onset and above the clear point H is linear.
    fn below_pure_k(&self) -> f64 {
        let capacity = self.contact.heat_capacity_j_per_k();
        let latent = self.contact.latent_heat_j;
        let k = self.solid.depression_k();
        let onset_d = self.solid.pure().0 - self.solid.onset().0;
        let enthalpy_solid_at_onset = -capacity * onset_d;
        let enthalpy_at_onset = enthalpy_solid_at_onset + latent * self.solid.fraction_at_onset();
        let enthalpy_clear = -capacity * k + latent;
        if self.enthalpy_j <= enthalpy_solid_at_onset {
            -self.enthalpy_j / capacity
        } else if self.enthalpy_j >= enthalpy_clear {
            (latent - self.enthalpy_j) / capacity
        } else if self.enthalpy_j <= enthalpy_at_onset {
            onset_d
        } else {
            let h = self.enthalpy_j;
            // The form without cancellation: for h > 0 the naive root subtracts near-equal numbers.
            let root = (h * h + 4.0 * capacity * latent * k).sqrt();
            if h > 0.0 {
                2.0 * latent * k / (h + root)
            } else {
                (root - h) / (2.0 * capacity)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::FirstMelt;
    use proptest::prelude::*;

    const PURE_K: f64 = 395.52;

    fn clear_time_s(contact: ThermalContact, impurity: f64, rate_c_per_min: f64) -> f64 {
        let solid = ImpureSolid::new(
            Kelvin(PURE_K),
            18_020.0,
            impurity,
            FirstMelt::BelowFraction(0.01),
        )
        .expect("in range");
        let start = PURE_K - 3.0;
        let rate = rate_c_per_min / 60.0;
        let mut sample = HeatedSample::new(contact, solid, Kelvin(start));
        let step_s = 0.05;
        for step in 0.. {
            let time_s = f64::from(step) * step_s;
            if sample.melted_fraction() >= 1.0 {
                return time_s;
            }
            assert!(time_s < 1e5, "the sample never melts");
            let block = |t: f64| Kelvin(start + rate * t);
            sample.advance(block(time_s), block(time_s + step_s), step_s);
        }
        unreachable!("the loop returns or fails")
    }

    #[test]
    fn before_melting_the_sample_lags_by_tau_beta() {
        let contact = ThermalContact::new(300.0, 6.0, 0.2).expect("in range");
        let solid = ImpureSolid::new(Kelvin(500.0), 20_000.0, 0.0, FirstMelt::BelowFraction(0.0))
            .expect("in range");
        let mut sample = HeatedSample::new(contact, solid, Kelvin(300.0));
        let (rate_k_per_s, duration_s) = (2.0 / 60.0, 90.0);
        sample.advance(
            Kelvin(300.0),
            Kelvin(300.0 + rate_k_per_s * duration_s),
            duration_s,
        );
        let lag_k = 300.0 + rate_k_per_s * duration_s - sample.temperature().0;
        assert!(
            (lag_k - contact.onset_lag_k(2.0)).abs() < 0.005 * lag_k,
            "lag {lag_k} K"
        );
    }

    #[test]
    fn enthalpy_and_temperature_agree_through_the_melting_range() {
        let contact = ThermalContact::new(300.0, 4.0, 0.2).expect("in range");
        let solid = ImpureSolid::new(
            Kelvin(400.0),
            20_000.0,
            0.02,
            FirstMelt::BelowFraction(0.05),
        )
        .expect("in range");
        for tenth_k in 0..400 {
            let at = Kelvin(365.0 + 0.1 * f64::from(tenth_k));
            let sample = HeatedSample::new(contact, solid, at);
            assert!((sample.temperature().0 - at.0).abs() < 1e-6, "{} K", at.0);
            assert!((sample.melted_fraction() - solid.melted_fraction(at)).abs() < 1e-6);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn four_times_the_rate_doubles_the_shift(
            resistance in 100.0..600.0f64, latent in 0.1..0.4f64, rate in 0.3..3.0f64
        ) {
            // Small heat capacity: the square-root law in its pure form.
            let contact = ThermalContact::new(resistance, 0.5, latent).expect("in range");
            let shift = |rate: f64| clear_time_s(contact, 0.0, rate) * rate / 60.0 - 3.0;
            let ratio = shift(4.0 * rate) / shift(rate);
            prop_assert!((ratio - 2.0).abs() < 0.05, "ratio {ratio}");
        }

        #[test]
        fn the_integrated_clear_point_is_the_closed_form(
            resistance in 100.0..600.0f64, tau in 1.0..10.0f64, rate in 0.3..10.0f64
        ) {
            let contact = ThermalContact::new(resistance, tau, 0.2).expect("in range");
            let found = clear_time_s(contact, 0.0, rate) * rate / 60.0 - 3.0;
            let expected = contact.clear_point_shift_k(rate);
            // 0.05 s steps and the start-up of the ramp are what is left.
            prop_assert!((found - expected).abs() < 0.02 * expected + 0.05 * rate / 60.0, "{found} {expected}");
        }
    }
}
