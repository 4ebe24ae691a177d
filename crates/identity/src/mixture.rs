//! How two solids melt together: the diagram, what is known against it, and what a mixed melting says.

mod class;
mod fit;
mod mixed_melting;

pub use class::{PairClass, PairError};
pub use fit::{FitError, FittedInteraction, PairPoint};
pub use mixed_melting::{MixedMelting, MixedMeltingError, MixedVerdict, ThreeTubes};

use crate::library::{Enthalpy, EnthalpySource, Library, PairRemark, Substance};
use meltrange_physics::{BinaryMixture, Celsius, Component, Kelvin, MeltingError, mole_fraction_b};
use serde::Serialize;

/// First liquid of a mixture is taken as seen when so much is molten, by mole. Common practice, no source.
pub const VISIBLE_FRACTION: f64 = 0.05;

/// A solid as one side of a diagram.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MeltingSolid {
    /// Its name; as it was given for one that is described by numbers.
    pub name: String,
    /// CAS number, where it is of the library.
    pub cas: String,
    /// What it melts at without the other [°C].
    pub melting_c: f64,
    /// Enthalpy of fusion [J/mol].
    pub hfus_j_per_mol: Enthalpy,
    /// [g/mol], where known.
    pub molar_mass_g_per_mol: Option<f64>,
}

impl MeltingSolid {
    /// A substance of the library at the temperature it is taken to melt at.
    pub fn of(substance: &Substance, melting_c: f64) -> Self {
        Self {
            name: substance.name.clone(),
            cas: substance.cas.clone(),
            melting_c,
            hfus_j_per_mol: substance.enthalpy(melting_c),
            molar_mass_g_per_mol: substance.molar_mass_g_per_mol,
        }
    }

    fn component(&self) -> Component {
        Component {
            pure: Celsius(self.melting_c).into(),
            hfus_j_per_mol: self.hfus_j_per_mol.value,
        }
    }
}

/// Why two solids are no pair.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PairRefused {
    /// One substance twice.
    #[error(
        "{name} stands for both; expected two different substances. A substance with itself is not depressed"
    )]
    Same {
        /// Its name.
        name: String,
    },
    /// Numbers that describe no solid.
    #[error(transparent)]
    Melting(#[from] MeltingError),
}

/// A point of the drawn diagram.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct DiagramPoint {
    /// 0..=1.
    pub mole_fraction_b: f64,
    /// Where the last crystal goes [°C].
    pub temperature_c: f64,
}

/// Two solids.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    a: MeltingSolid,
    b: MeltingSolid,
    mixture: BinaryMixture,
    class: PairClass,
    known: Vec<PairRemark>,
}

impl Pair {
    /// Two solids, each a substance of the library or described by numbers.
    ///
    /// # Errors
    /// [`PairRefused`]: one substance twice, or a temperature or an enthalpy that is none.
    pub fn new(a: MeltingSolid, b: MeltingSolid, library: &Library) -> Result<Self, PairRefused> {
        let same = if a.cas.is_empty() || b.cas.is_empty() {
            a.name == b.name
        } else {
            a.cas == b.cas
        };
        if same {
            return Err(PairRefused::Same { name: a.name });
        }
        let class = PairClass::of(library.of_cas(&a.cas), library.of_cas(&b.cas));
        let known = library.known_of_pair(&a.cas, &b.cas).to_vec();
        Ok(Self {
            mixture: BinaryMixture::new(a.component(), b.component(), 0.0)?,
            a,
            b,
            class,
            known,
        })
    }

    /// Two substances at the temperatures they are taken to melt at.
    ///
    /// # Errors
    /// As [`Pair::new`].
    pub fn of(
        library: &Library,
        a: &Substance,
        a_melting_c: f64,
        b: &Substance,
        b_melting_c: f64,
    ) -> Result<Self, PairRefused> {
        Self::new(
            MeltingSolid::of(a, a_melting_c),
            MeltingSolid::of(b, b_melting_c),
            library,
        )
    }

    /// The same pair with an interaction parameter [J/mol].
    ///
    /// # Errors
    /// [`MeltingError`] beyond ±20 kJ/mol.
    pub fn with_interaction(mut self, interaction_j_per_mol: f64) -> Result<Self, MeltingError> {
        let [a, b] = self.mixture.components();
        self.mixture = BinaryMixture::new(a, b, interaction_j_per_mol)?;
        Ok(self)
    }

    /// First and second.
    pub fn solids(&self) -> [&MeltingSolid; 2] {
        [&self.a, &self.b]
    }

    /// The diagram's equations.
    pub fn mixture(&self) -> &BinaryMixture {
        &self.mixture
    }

    /// What kind of pair it is, as far as its structures tell.
    pub fn class(&self) -> PairClass {
        self.class
    }

    /// How far off the ideal law is for such pairs, and what an estimated enthalpy adds to that.
    pub fn expected_error(&self) -> PairError {
        let mut error = self.class.error();
        for (temperature_c, mole_fraction) in self.enthalpy_effects() {
            error.temperature_c = error.temperature_c.hypot(temperature_c);
            error.mole_fraction = error.mole_fraction.hypot(mole_fraction);
        }
        error
    }

    /// How far the eutectic moves with the uncertainty of each enthalpy that is estimated: [°C], and composition.
    fn enthalpy_effects(&self) -> Vec<(f64, f64)> {
        let [a, b] = self.mixture.components();
        let eutectic = self.mixture.eutectic();
        let moved = |a: Component, b: Component| {
            let other = BinaryMixture::new(a, b, self.mixture.interaction_j_per_mol()).ok()?;
            let other = other.eutectic();
            Some((
                other.temperature.0 - eutectic.temperature.0,
                other.mole_fraction_b - eutectic.mole_fraction_b,
            ))
        };
        let more = |component: Component, solid: &MeltingSolid| Component {
            hfus_j_per_mol: component.hfus_j_per_mol + solid.hfus_j_per_mol.standard_uncertainty,
            ..component
        };
        let estimated =
            |solid: &MeltingSolid| solid.hfus_j_per_mol.kind == EnthalpySource::Estimated;
        let of_a = estimated(&self.a).then(|| moved(more(a, &self.a), b));
        let of_b = estimated(&self.b).then(|| moved(a, more(b, &self.b)));
        [of_a, of_b].into_iter().flatten().flatten().collect()
    }

    /// What literature says of this very pair.
    pub fn known(&self) -> &[PairRemark] {
        &self.known
    }

    /// Mole fraction of b at a mass fraction of it; null where a molar mass is not known.
    ///
    /// # Errors
    /// [`MeltingError`] for a fraction outside 0 to 1.
    pub fn mole_fraction_b(&self, mass_fraction_b: f64) -> Result<Option<f64>, MeltingError> {
        match (self.a.molar_mass_g_per_mol, self.b.molar_mass_g_per_mol) {
            (Some(a), Some(b)) => mole_fraction_b(mass_fraction_b, a, b).map(Some),
            _ => Ok(None),
        }
    }

    /// Mole fraction of b where equal masses are ground together; equal moles where a molar mass is not known.
    pub fn equal_masses(&self) -> f64 {
        self.mole_fraction_b(0.5).ok().flatten().unwrap_or(0.5)
    }

    /// The liquidus from pure a to pure b, the eutectic among its points.
    pub fn diagram(&self, points: usize) -> Vec<DiagramPoint> {
        let steps = points.max(3) - 1;
        let eutectic = self.mixture.eutectic();
        let mut fractions: Vec<f64> = (0..steps)
            .map(|at| at as f64 / (steps - 1) as f64)
            .collect();
        fractions.push(eutectic.mole_fraction_b);
        fractions.sort_by(f64::total_cmp);
        fractions
            .into_iter()
            .filter_map(|mole_fraction_b| {
                let (at, _) = self.mixture.liquidus(mole_fraction_b).ok()?;
                Some(DiagramPoint {
                    mole_fraction_b,
                    temperature_c: Celsius::from(at).0,
                })
            })
            .collect()
    }

    /// What to mind with this diagram.
    pub fn cautions(&self) -> Vec<String> {
        let mut said: Vec<String> = self
            .known
            .iter()
            .map(|known| format!("{} ({})", known.text, known.source))
            .collect();
        let error = self.expected_error();
        said.push(format!(
            "{}: the ideal law is good to about {:.0} °C at the eutectic and {:.2} in its composition{}",
            self.class.words(),
            error.temperature_c,
            error.mole_fraction,
            if self.class == PairClass::Similar {
                ""
            } else {
                ", either way; thin evidence"
            },
        ));
        for solid in self.solids() {
            if solid.hfus_j_per_mol.kind == EnthalpySource::Estimated {
                said.push(format!(
                    "no measured enthalpy of fusion of {} is known here: {:.1} kJ/mol, {}; give one to do better",
                    solid.name,
                    solid.hfus_j_per_mol.value / 1000.0,
                    solid.hfus_j_per_mol.source,
                ));
            }
        }
        if self.mixture.splits() {
            said.push(
                "with this interaction the liquid splits into two layers: the diagram is not that of a simple eutectic"
                    .into(),
            );
        }
        let eutectic_c = Celsius::from(self.mixture.eutectic().temperature).0;
        if eutectic_c < 25.0 {
            said.push(format!(
                "the eutectic lies at {eutectic_c:.0} °C: the mixture may be moist or liquid in a warm room"
            ));
        }
        said.push(
            "a mixed melting point tells the same from the different; it does not measure purity"
                .into(),
        );
        said
    }
}

pub(crate) fn celsius(at: Kelvin) -> f64 {
    Celsius::from(at).0
}
