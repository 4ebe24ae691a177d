//! How two solids melt together: liquidus lines, eutectic, first liquid and last crystal of a mixture.

use crate::melting::{MeltingError, require};
use crate::{GAS_CONSTANT_J_PER_MOL_K, Kelvin};

/// One component of a mixture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    /// Melting temperature without the other \[K\], > 0.
    pub pure: Kelvin,
    /// Molar enthalpy of fusion \[J/mol\], > 0.
    pub hfus_j_per_mol: f64,
}

/// Where both liquidus lines meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eutectic {
    /// Temperature \[K\].
    pub temperature: Kelvin,
    /// Mole fraction of the second component.
    pub mole_fraction_b: f64,
}

/// What a mixture does when it is heated slowly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixtureMelting {
    /// When the visible fraction is liquid \[K\].
    pub first_liquid: Kelvin,
    /// When the last crystal goes \[K\].
    pub last_crystal: Kelvin,
    /// What is liquid just above the eutectic temperature, of the whole, by mole.
    pub liquid_at_eutectic: f64,
}

/// Two solids that do not mix as crystals, and whose liquid is ideal or deviates by one parameter.
///
/// ln(x γ) = −(ΔH/R)(1/T − 1/T₀) for each, with R T ln γ_A = w x_B². The parameter w \[J/mol\] does not depend on the
/// temperature; 0 is the ideal liquid. Heat capacities are taken as equal.
///
/// # Source
/// I. Schröder, Z. Phys. Chem. 11 (1893) 449; M. Margules, Sitzungsber. Akad. Wiss. Wien 104 (1895) 1243. Check values:
/// `tests/published/eutectic.rs`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BinaryMixture {
    a: Component,
    b: Component,
    interaction_j_per_mol: f64,
}

/// Mole fractions nearer to 0 and 1 than this are pure.
const PURE_WITHIN: f64 = 1e-9;
/// Halvings of a bracket: to about 1e-15 of it.
const HALVINGS: usize = 50;

impl BinaryMixture {
    /// Set up the diagram.
    ///
    /// # Errors
    /// [`MeltingError`] names the argument: temperatures and enthalpies above 0, the interaction within ±20 kJ/mol.
    pub fn new(
        a: Component,
        b: Component,
        interaction_j_per_mol: f64,
    ) -> Result<Self, MeltingError> {
        for one in [a, b] {
            require(
                "pure melting temperature",
                one.pure.0,
                one.pure.0 > 0.0,
                "kelvin above 0",
            )?;
            require(
                "enthalpy of fusion",
                one.hfus_j_per_mol,
                one.hfus_j_per_mol > 0.0,
                "J/mol above 0",
            )?;
        }
        require(
            "interaction",
            interaction_j_per_mol,
            interaction_j_per_mol.abs() <= 20_000.0,
            "within 20 000 J/mol of 0",
        )?;
        Ok(Self {
            a,
            b,
            interaction_j_per_mol,
        })
    }

    /// w \[J/mol\]; 0 for an ideal liquid.
    pub fn interaction_j_per_mol(&self) -> f64 {
        self.interaction_j_per_mol
    }

    /// First and second component.
    pub fn components(&self) -> [Component; 2] {
        [self.a, self.b]
    }

    /// Temperature at which the last crystal of one component goes, `own` its mole fraction in the liquid; 0 K where
    /// there is none of it.
    fn line_k(&self, component: Component, own: f64) -> f64 {
        if own <= 0.0 {
            return 0.0;
        }
        let other = 1.0 - own;
        // (ΔH + w x²)/T = ΔH/T₀ − R ln x, as w does not depend on T.
        let enthalpy = component.hfus_j_per_mol + self.interaction_j_per_mol * other * other;
        let entropy =
            component.hfus_j_per_mol / component.pure.0 - GAS_CONSTANT_J_PER_MOL_K * own.ln();
        (enthalpy / entropy).max(0.0)
    }

    /// Temperature at which the last crystal goes \[K\], and which it is: true where it is the first component's.
    ///
    /// # Errors
    /// [`MeltingError`] for a mole fraction outside 0 to 1.
    pub fn liquidus(&self, mole_fraction_b: f64) -> Result<(Kelvin, bool), MeltingError> {
        require_fraction(mole_fraction_b)?;
        let lines = [
            self.line_k(self.a, 1.0 - mole_fraction_b),
            self.line_k(self.b, mole_fraction_b),
        ];
        Ok((Kelvin(lines[0].max(lines[1])), lines[0] >= lines[1]))
    }

    /// Where the lines meet.
    pub fn eutectic(&self) -> Eutectic {
        let (mut low, mut high) = (PURE_WITHIN, 1.0 - PURE_WITHIN);
        // The line of `a` falls with the fraction of b, that of `b` rises; where a liquid splits, their first meeting counts.
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if self.line_k(self.a, 1.0 - middle) > self.line_k(self.b, middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        Eutectic {
            temperature: Kelvin(self.line_k(self.a, 1.0 - low)),
            mole_fraction_b: low,
        }
    }

    /// Whether the liquid splits in two layers at its liquidus: then the diagram is none of a simple eutectic.
    ///
    /// A liquid of this model splits below T = w / 2R.
    pub fn splits(&self) -> bool {
        let highest_k = self.interaction_j_per_mol / (2.0 * GAS_CONSTANT_J_PER_MOL_K);
        highest_k > self.eutectic().temperature.0
    }

    /// First liquid and last crystal of a mixture of this composition.
    ///
    /// # Arguments
    /// * `mole_fraction_b`: 0..=1.
    /// * `visible_fraction`: so much of the whole (by mole) must be liquid to be seen, above 0 and below 1.
    ///
    /// # Errors
    /// [`MeltingError`] for a fraction out of range.
    pub fn melting(
        &self,
        mole_fraction_b: f64,
        visible_fraction: f64,
    ) -> Result<MixtureMelting, MeltingError> {
        require(
            "visible fraction",
            visible_fraction,
            visible_fraction > 0.0 && visible_fraction < 1.0,
            "above 0 and below 1",
        )?;
        let (last_crystal, of_a) = self.liquidus(mole_fraction_b)?;
        let eutectic = self.eutectic();
        // The component that is in excess, and what is in the liquid beside it.
        let (component, minor, minor_at_eutectic) = if of_a {
            (self.a, mole_fraction_b, eutectic.mole_fraction_b)
        } else {
            let minor = 1.0 - mole_fraction_b;
            (self.b, minor, 1.0 - eutectic.mole_fraction_b)
        };
        if minor <= PURE_WITHIN {
            return Ok(MixtureMelting {
                first_liquid: last_crystal,
                last_crystal,
                liquid_at_eutectic: 0.0,
            });
        }
        // Lever rule: all of the minor component is in the liquid.
        let liquid_at_eutectic = (minor / minor_at_eutectic).min(1.0);
        let first_k = if liquid_at_eutectic >= visible_fraction {
            eutectic.temperature.0
        } else {
            self.line_k(component, 1.0 - minor / visible_fraction)
        };
        Ok(MixtureMelting {
            first_liquid: Kelvin(first_k.min(last_crystal.0)),
            last_crystal,
            liquid_at_eutectic,
        })
    }
}

fn require_fraction(mole_fraction_b: f64) -> Result<(), MeltingError> {
    require(
        "mole fraction of b",
        mole_fraction_b,
        (0.0..=1.0).contains(&mole_fraction_b),
        "0 to 1",
    )
}

/// Mole fraction of the second component from its mass fraction.
///
/// # Errors
/// [`MeltingError`] for a fraction outside 0 to 1 or a molar mass that is not above 0.
pub fn mole_fraction_b(
    mass_fraction_b: f64,
    molar_mass_a_g_per_mol: f64,
    molar_mass_b_g_per_mol: f64,
) -> Result<f64, MeltingError> {
    require(
        "mass fraction of b",
        mass_fraction_b,
        (0.0..=1.0).contains(&mass_fraction_b),
        "0 to 1",
    )?;
    for mass in [molar_mass_a_g_per_mol, molar_mass_b_g_per_mol] {
        require("molar mass", mass, mass > 0.0, "g/mol above 0")?;
    }
    let a = (1.0 - mass_fraction_b) / molar_mass_a_g_per_mol;
    let b = mass_fraction_b / molar_mass_b_g_per_mol;
    Ok(b / (a + b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ideal_liquidus;
    use proptest::prelude::*;

    fn component(pure_k: f64, hfus_j_per_mol: f64) -> Component {
        Component {
            pure: Kelvin(pure_k),
            hfus_j_per_mol,
        }
    }

    #[test]
    fn pure_ends_melt_as_they_are() {
        let mixture = BinaryMixture::new(
            component(353.4, 19_010.0),
            component(342.1, 18_570.0),
            -800.0,
        )
        .expect("sound");
        for (fraction, pure_k) in [(0.0, 353.4), (1.0, 342.1)] {
            let melting = mixture.melting(fraction, 0.05).expect("in range");
            assert!((melting.first_liquid.0 - pure_k).abs() < 1e-9);
            assert!((melting.last_crystal.0 - pure_k).abs() < 1e-9);
        }
    }

    #[test]
    fn a_liquid_that_splits_is_told() {
        let pair = |w| {
            BinaryMixture::new(component(342.0, 18_570.0), component(331.0, 3_700.0), w)
                .expect("sound")
        };
        assert!(!pair(0.0).splits());
        assert!(pair(8_000.0).splits());
        assert!(BinaryMixture::new(component(0.0, 1.0), component(300.0, 1.0), 0.0).is_err());
    }

    #[test]
    fn equal_masses_are_rarely_equal_moles() {
        // Urea 60.06, trans-cinnamic acid 148.16 g/mol.
        let half = mole_fraction_b(0.5, 60.06, 148.16).expect("in range");
        assert!((half - 60.06 / (60.06 + 148.16)).abs() < 1e-12);
        assert!(mole_fraction_b(1.5, 60.0, 60.0).is_err());
    }

    proptest! {
        #[test]
        fn without_interaction_it_is_the_ideal_line(
            pure in 300.0..600.0f64, hfus in 8_000.0..50_000.0f64, x in 0.0..0.4f64
        ) {
            let mixture = BinaryMixture::new(component(pure, hfus), component(300.0, 90_000.0), 0.0).expect("sound");
            let own = ideal_liquidus(Kelvin(pure), hfus, 1.0 - x).expect("in range");
            prop_assert!((mixture.line_k(mixture.a, 1.0 - x) - own.0).abs() < 1e-9);
        }

        #[test]
        fn the_order_of_the_two_does_not_matter(
            a in 300.0..550.0f64, b in 300.0..550.0f64, ha in 9_000.0..50_000.0f64, hb in 9_000.0..50_000.0f64,
            w in -3_000.0..2_000.0f64, x in 0.001..0.999f64, visible in 0.01..0.3f64
        ) {
            let one = BinaryMixture::new(component(a, ha), component(b, hb), w).expect("sound");
            let other = BinaryMixture::new(component(b, hb), component(a, ha), w).expect("sound");
            let (left, right) = (one.eutectic(), other.eutectic());
            prop_assert!((left.temperature.0 - right.temperature.0).abs() < 1e-6);
            prop_assert!((left.mole_fraction_b - (1.0 - right.mole_fraction_b)).abs() < 1e-6);
            let melts = one.melting(x, visible).expect("in range");
            let turned = other.melting(1.0 - x, visible).expect("in range");
            prop_assert!((melts.last_crystal.0 - turned.last_crystal.0).abs() < 1e-6);
            prop_assert!((melts.first_liquid.0 - turned.first_liquid.0).abs() < 1e-6);
            prop_assert!(melts.first_liquid.0 >= left.temperature.0 - 1e-6);
            prop_assert!(melts.first_liquid.0 <= melts.last_crystal.0);
        }
    }
}
