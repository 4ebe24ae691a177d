//! Melting of solids with a little impurity: van 't Hoff fraction, cryoscopic constant, ideal liquidus.

use crate::{GAS_CONSTANT_J_PER_MOL_K, Kelvin};

/// Why a melting model could not be set up or evaluated.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MeltingError {
    /// An argument is outside what the equation means.
    #[error("{name} is {found}; expected {expected}")]
    Argument {
        /// Which argument.
        name: &'static str,
        /// Its value.
        found: f64,
        /// What it may be.
        expected: &'static str,
    },
}

pub(crate) fn require(
    name: &'static str,
    found: f64,
    holds: bool,
    expected: &'static str,
) -> Result<(), MeltingError> {
    if found.is_finite() && holds {
        Ok(())
    } else {
        Err(MeltingError::Argument {
            name,
            found,
            expected,
        })
    }
}

fn require_pure(pure: Kelvin, hfus_j_per_mol: f64) -> Result<(), MeltingError> {
    require(
        "pure melting temperature",
        pure.0,
        pure.0 > 0.0,
        "kelvin above 0",
    )?;
    require(
        "enthalpy of fusion",
        hfus_j_per_mol,
        hfus_j_per_mol > 0.0,
        "J/mol above 0",
    )
}

/// Temperature at which the last crystal of a component melts in an ideal liquid mixture.
///
/// Schröder–van Laar, immiscible solids, equal heat capacities: 1/T = 1/T_pure − (R/ΔH) ln x.
///
/// # Arguments
/// * `pure`: melting temperature of the pure component, thermodynamic convention \[K\], > 0.
/// * `hfus_j_per_mol`: molar enthalpy of fusion at `pure` \[J/mol\], > 0.
/// * `mole_fraction`: of the component in the liquid, 0 < x ≤ 1.
///
/// # Returns
/// The liquidus temperature \[K\]; never above `pure`.
///
/// # Errors
/// [`MeltingError`] names the argument, what was found and what was expected. Never panics.
///
/// # Range of use
/// A heat-capacity difference of 50 J mol⁻¹ K⁻¹, left out here, moves the result by 0.05 K at x = 0.9.
///
/// # Example
/// Naphthalene with 5 mol % of a soluble impurity finishes melting 2.8 K low:
/// ```
/// # use meltrange_physics::{ideal_liquidus, Kelvin};
/// let last_crystal = ideal_liquidus(Kelvin(353.37), 19_010.0, 0.95)?;
/// assert!((last_crystal.0 - 350.59).abs() < 0.01);
/// # Ok::<(), meltrange_physics::MeltingError>(())
/// ```
///
/// # Source
/// I. Schröder, Z. Phys. Chem. 11 (1893) 449. Check values: `tests/published/freezing_point.rs`.
pub fn ideal_liquidus(
    pure: Kelvin,
    hfus_j_per_mol: f64,
    mole_fraction: f64,
) -> Result<Kelvin, MeltingError> {
    require_pure(pure, hfus_j_per_mol)?;
    require(
        "mole fraction",
        mole_fraction,
        mole_fraction > 0.0 && mole_fraction <= 1.0,
        "above 0 and at most 1",
    )?;
    let inverse = 1.0 / pure.0 - GAS_CONSTANT_J_PER_MOL_K / hfus_j_per_mol * mole_fraction.ln();
    Ok(Kelvin(1.0 / inverse))
}

/// Depression of the clear point per mole fraction of a soluble impurity, R T₀²/ΔH \[K\].
///
/// # Arguments
/// * `pure`: melting temperature without impurity \[K\], > 0.
/// * `hfus_j_per_mol`: molar enthalpy of fusion \[J/mol\], > 0.
///
/// # Errors
/// [`MeltingError`] for an argument out of range.
///
/// # Range of use
/// Linear limit for small impurity; at 5 mol % it is within 2 % of [`ideal_liquidus`].
///
/// # Source
/// J. H. van 't Hoff, Z. Phys. Chem. 1 (1887) 481; the form used in purity work, ASTM E928.
pub fn depression_per_mole_fraction_k(
    pure: Kelvin,
    hfus_j_per_mol: f64,
) -> Result<f64, MeltingError> {
    require_pure(pure, hfus_j_per_mol)?;
    Ok(GAS_CONSTANT_J_PER_MOL_K * pure.0 * pure.0 / hfus_j_per_mol)
}

/// Freezing-point depression (cryoscopic) constant K_f = R T₀² M/ΔH \[K kg mol⁻¹\].
///
/// # Arguments
/// * `pure`, `hfus_j_per_mol`: as in [`depression_per_mole_fraction_k`].
/// * `molar_mass_g_per_mol`: of the solvent \[g/mol\], > 0.
///
/// # Errors
/// [`MeltingError`] for an argument out of range.
///
/// # Example
/// ```
/// # use meltrange_physics::{cryoscopic_constant_k_kg_per_mol, Kelvin};
/// let water = cryoscopic_constant_k_kg_per_mol(Kelvin(273.15), 6_009.5, 18.015)?;
/// assert!((water - 1.86).abs() < 0.005);
/// # Ok::<(), meltrange_physics::MeltingError>(())
/// ```
///
/// # Source
/// Tables named "Cryoscopic constants" in handbooks; check values: `tests/published/freezing_point.rs`.
pub fn cryoscopic_constant_k_kg_per_mol(
    pure: Kelvin,
    hfus_j_per_mol: f64,
    molar_mass_g_per_mol: f64,
) -> Result<f64, MeltingError> {
    require(
        "molar mass",
        molar_mass_g_per_mol,
        molar_mass_g_per_mol > 0.0,
        "g/mol above 0",
    )?;
    Ok(depression_per_mole_fraction_k(pure, hfus_j_per_mol)? * molar_mass_g_per_mol / 1000.0)
}

/// Where the van 't Hoff curve, which never quite reaches zero, is cut off at its cold end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FirstMelt {
    /// No liquid while less than this fraction would be liquid (the impurity sits in defects
    /// and pores that hold so little liquid back), 0 ≤ F < 1.
    BelowFraction(f64),
    /// The impurity forms a eutectic: below this temperature all is solid, at it the fraction
    /// k/(T₀ − T_E) melts at once.
    Eutectic(Kelvin),
}

/// A solid with a soluble impurity that stays out of the crystal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ImpureSolid {
    pure_k: f64,
    depression_k: f64,
    /// Below this there is no liquid.
    onset_k: f64,
}

impl ImpureSolid {
    /// Set up the melting curve.
    ///
    /// # Arguments
    /// * `pure`: melting temperature T₀ without impurity \[K\], > 0.
    /// * `hfus_j_per_mol`: molar enthalpy of fusion \[J/mol\], > 0.
    /// * `impurity_mole_fraction`: χ, 0 ≤ χ < 1; the law is meant for χ below about 0.015.
    /// * `first_melt`: the cold end of the curve.
    ///
    /// # Errors
    /// [`MeltingError`] for an argument out of range, or a eutectic that is not below the clear point.
    ///
    /// # Source
    /// F(T) = k/(T₀ − T) with k = R T₀² χ/ΔH: the van 't Hoff law as used for purity
    /// (ASTM E928; E. Marti, Thermochim. Acta 5 (1972) 173).
    pub fn new(
        pure: Kelvin,
        hfus_j_per_mol: f64,
        impurity_mole_fraction: f64,
        first_melt: FirstMelt,
    ) -> Result<Self, MeltingError> {
        require(
            "impurity mole fraction",
            impurity_mole_fraction,
            (0.0..1.0).contains(&impurity_mole_fraction),
            "0 or more and below 1",
        )?;
        let depression_k =
            depression_per_mole_fraction_k(pure, hfus_j_per_mol)? * impurity_mole_fraction;
        let clear_k = pure.0 - depression_k;
        let onset_k = match first_melt {
            FirstMelt::BelowFraction(fraction) => {
                require(
                    "fraction below which nothing melts",
                    fraction,
                    (0.0..1.0).contains(&fraction),
                    "0 or more and below 1",
                )?;
                if depression_k <= 0.0 {
                    pure.0
                } else {
                    pure.0 - depression_k / fraction.max(f64::MIN_POSITIVE)
                }
            }
            FirstMelt::Eutectic(eutectic) => {
                require(
                    "eutectic temperature",
                    eutectic.0,
                    eutectic.0 < clear_k,
                    "kelvin below the clear point",
                )?;
                if depression_k > 0.0 {
                    eutectic.0
                } else {
                    pure.0
                }
            }
        };
        Ok(Self {
            pure_k: pure.0,
            depression_k,
            onset_k,
        })
    }

    /// T₀, the melting temperature without impurity.
    pub fn pure(&self) -> Kelvin {
        Kelvin(self.pure_k)
    }

    /// k = R T₀² χ/ΔH, the depression of the clear point \[K\].
    pub fn depression_k(&self) -> f64 {
        self.depression_k
    }

    /// The temperature above which all is liquid, T₀ − k.
    pub fn clear_point(&self) -> Kelvin {
        Kelvin(self.pure_k - self.depression_k)
    }

    /// The temperature below which all is solid; equals T₀ for a pure solid.
    pub fn onset(&self) -> Kelvin {
        Kelvin(self.onset_k)
    }

    /// Fraction melted at equilibrium, 0..=1, never falling with temperature.
    ///
    /// A pure solid steps from 0 to 1 at T₀ (0 below, 1 from T₀ on).
    pub fn melted_fraction(&self, temperature: Kelvin) -> f64 {
        if temperature.0 >= self.pure_k - self.depression_k {
            1.0
        } else if temperature.0 < self.onset_k {
            0.0
        } else {
            self.depression_k / (self.pure_k - temperature.0)
        }
    }

    /// Temperature at which the fraction melted reaches `melted_fraction`, T₀ − k/F.
    ///
    /// # Errors
    /// [`MeltingError`] unless 0 < F ≤ 1. Fractions that melt at once at the cold end return its temperature.
    ///
    /// # Example
    /// Benzoic acid with 1 mol % impurity, half melted:
    /// ```
    /// # use meltrange_physics::{Celsius, FirstMelt, ImpureSolid};
    /// let solid = ImpureSolid::new(Celsius(122.37).into(), 18_020.0, 0.01, FirstMelt::BelowFraction(0.0))?;
    /// let half: Celsius = solid.temperature_at(0.5)?.into();
    /// assert!((half.0 - 120.926).abs() < 0.001);
    /// # Ok::<(), meltrange_physics::MeltingError>(())
    /// ```
    pub fn temperature_at(&self, melted_fraction: f64) -> Result<Kelvin, MeltingError> {
        require(
            "melted fraction",
            melted_fraction,
            melted_fraction > 0.0 && melted_fraction <= 1.0,
            "above 0 and at most 1",
        )?;
        Ok(Kelvin(
            (self.pure_k - self.depression_k / melted_fraction).max(self.onset_k),
        ))
    }

    /// Fraction that is liquid just above [`ImpureSolid::onset`]: what a eutectic melts at once.
    pub fn fraction_at_onset(&self) -> f64 {
        let below_pure_k = self.pure_k - self.onset_k;
        if below_pure_k > 0.0 {
            self.depression_k / below_pure_k
        } else {
            0.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_pure_solid_melts_in_one_step() {
        let solid = ImpureSolid::new(Kelvin(400.0), 20_000.0, 0.0, FirstMelt::BelowFraction(0.0))
            .expect("sound arguments");
        assert!(solid.melted_fraction(Kelvin(399.999)) < 1e-12);
        assert!((solid.melted_fraction(Kelvin(400.0)) - 1.0).abs() < 1e-12);
        assert!((solid.onset().0 - 400.0).abs() < 1e-12);
    }

    #[test]
    fn a_eutectic_melts_its_share_at_once() {
        let solid = ImpureSolid::new(
            Kelvin(400.0),
            20_000.0,
            0.05,
            FirstMelt::Eutectic(Kelvin(380.0)),
        )
        .expect("sound arguments");
        assert!(solid.melted_fraction(Kelvin(379.99)) < 1e-12);
        let share = solid.melted_fraction(Kelvin(380.0));
        assert!((share - solid.depression_k() / 20.0).abs() < 1e-12);
        assert!((share - solid.fraction_at_onset()).abs() < 1e-12);
    }

    #[test]
    fn arguments_out_of_range_are_named() {
        let error =
            ideal_liquidus(Kelvin(400.0), 20_000.0, 0.0).expect_err("x = 0 has no liquidus");
        assert_eq!(
            error.to_string(),
            "mole fraction is 0; expected above 0 and at most 1"
        );
        assert!(ideal_liquidus(Kelvin(f64::NAN), 20_000.0, 0.5).is_err());
        let above_clear = FirstMelt::Eutectic(Kelvin(399.9));
        assert!(ImpureSolid::new(Kelvin(400.0), 20_000.0, 0.05, above_clear).is_err());
    }

    proptest! {
        #[test]
        fn liquidus_is_never_above_the_pure_melting_point(
            pure in 150.0..700.0f64, hfus in 1_000.0..80_000.0f64, x in 1e-6..1.0f64
        ) {
            let liquidus = ideal_liquidus(Kelvin(pure), hfus, x).expect("in range");
            prop_assert!(liquidus.0 <= pure * (1.0 + 1e-12));
            prop_assert!(liquidus.0 > 0.0);
        }

        #[test]
        fn purer_never_melts_lower(
            pure in 250.0..600.0f64, hfus in 5_000.0..60_000.0f64,
            chi in 0.0..0.1f64, extra in 0.0..0.1f64, below in -1.0..30.0f64, fraction in 0.01..1.0f64
        ) {
            let make = |chi| ImpureSolid::new(Kelvin(pure), hfus, chi, FirstMelt::BelowFraction(0.001))
                .expect("in range");
            let (purer, dirtier) = (make(chi), make(chi + extra));
            let at = Kelvin(pure - below);
            prop_assert!(purer.melted_fraction(at) <= dirtier.melted_fraction(at) + 1e-12);
            prop_assert!(purer.temperature_at(fraction).expect("in range").0
                >= dirtier.temperature_at(fraction).expect("in range").0 - 1e-9);
            let x = |chi: f64| ideal_liquidus(Kelvin(pure), hfus, 1.0 - chi).expect("in range").0;
            prop_assert!(x(chi) >= x(chi + extra) - 1e-9);
        }

        #[test]
        fn fraction_and_temperature_are_inverse(
            chi in 1e-4..0.05f64, fraction in 0.01..1.0f64
        ) {
            let solid = ImpureSolid::new(Kelvin(395.5), 18_020.0, chi, FirstMelt::BelowFraction(0.001))
                .expect("in range");
            let temperature = solid.temperature_at(fraction).expect("in range");
            prop_assert!((solid.melted_fraction(temperature) - fraction).abs() < 1e-6);
        }
    }
}
