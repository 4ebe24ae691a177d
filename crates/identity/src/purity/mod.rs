//! How much is not the main substance: from the melting curve, the depression of the last crystal, or the width of the range.

mod clear_point;
mod curve;
mod width;

pub use clear_point::from_clear_point;
pub use curve::{MeltPoint, from_curve};
pub use width::{SeenAt, from_width};

use crate::library::Enthalpy;
use meltrange_physics::{Celsius, GAS_CONSTANT_J_PER_MOL_K, Kelvin};
use serde::Serialize;

/// The main substance is to be more than this, by mole: beyond, the law is not meant.
///
/// # Source
/// ASTM E928, scope: main component above 98.5 mol %.
pub const MEANT_BELOW: f64 = 0.015;
/// Twice the limit of the law: no number is given any more.
pub const REFUSED_ABOVE: f64 = 0.03;

/// A pure solid melts over so much, by rate and height of the column [°C]. Common practice, no source.
pub const PURE_WIDTH_C: f64 = 0.5;
/// Standard uncertainty of that [°C]. Common practice, no source.
const PURE_WIDTH_U_C: f64 = 0.2;

/// What was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub enum PurityMethod {
    /// The fraction melted at each temperature.
    MeltingCurve,
    /// How low the last crystal went.
    ClearPoint,
    /// How broad the range is.
    Width,
}

/// The main substance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MainSubstance {
    /// Enthalpy of fusion [J/mol], and its standard uncertainty.
    pub hfus_j_per_mol: [f64; 2],
    /// Molar mass [g/mol], where known.
    pub molar_mass_g_per_mol: Option<f64>,
}

/// How much is not the main substance.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Purity {
    /// From what.
    pub method: PurityMethod,
    /// 0..1.
    pub impurity_mole_fraction: f64,
    /// Of it.
    pub standard_uncertainty: f64,
    /// It lies in here with 95 %.
    pub interval_95: [f64; 2],
    /// What the substance melts at without it [°C].
    pub pure_melting_c: f64,
    /// What was added to the melted fraction and to the whole to straighten the plot; 0 where there is none.
    pub linearising_correction: f64,
    /// Fractions melted between which the curve was used; null where there is none.
    pub usable_from_fraction: Option<f64>,
    /// See there.
    pub usable_to_fraction: Option<f64>,
    /// Impurity in mole for a kilogram of the main substance; null without its molar mass.
    pub impurity_mol_per_kg: Option<f64>,
    /// What to mind.
    pub cautions: Vec<String>,
}

/// Why nothing is said.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PurityError {
    /// A number out of range.
    #[error("{name} is {found}; expected {expected}")]
    Argument {
        /// Which.
        name: &'static str,
        /// Its value.
        found: f64,
        /// What it may be.
        expected: &'static str,
    },
    /// Too impure for the law.
    #[error(
        "about {percent:.1} mol % is not the main substance, beyond what this method is meant for (1.5 mol %, no number above 3 mol %): purify it, or use another method"
    )]
    TooImpure {
        /// Impurity found [mol %].
        percent: f64,
    },
    /// It melts above the pure substance.
    #[error(
        "the last crystal goes {above_c:.1} °C above the pure substance, more than the uncertainty of {uncertainty_c:.1} °C allows: another substance, another crystal form, another convention, or a thermometer that is off"
    )]
    AbovePure {
        /// By so much [°C].
        above_c: f64,
        /// Standard uncertainty [°C].
        uncertainty_c: f64,
    },
    /// The curve says nothing.
    #[error("{found}; expected {expected}")]
    Curve {
        /// What is there.
        found: String,
        /// What is needed.
        expected: &'static str,
    },
}

pub(super) fn require(
    name: &'static str,
    found: f64,
    holds: bool,
    expected: &'static str,
) -> Result<(), PurityError> {
    if found.is_finite() && holds {
        Ok(())
    } else {
        Err(PurityError::Argument {
            name,
            found,
            expected,
        })
    }
}

impl MainSubstance {
    /// With this enthalpy of fusion.
    pub fn with(enthalpy: &Enthalpy, molar_mass_g_per_mol: Option<f64>) -> Self {
        Self {
            hfus_j_per_mol: [enthalpy.value, enthalpy.standard_uncertainty],
            molar_mass_g_per_mol,
        }
    }

    fn check(&self) -> Result<(), PurityError> {
        let [value, uncertainty] = self.hfus_j_per_mol;
        require(
            "hfus_j_per_mol",
            value,
            (500.0..=500_000.0).contains(&value),
            "J/mol, 500 to 500 000",
        )?;
        require(
            "the uncertainty of hfus_j_per_mol",
            uncertainty,
            (0.0..value).contains(&uncertainty),
            "0 or more and below the enthalpy",
        )?;
        match self.molar_mass_g_per_mol {
            Some(mass) => require("molar_mass_g_per_mol", mass, mass > 0.0, "g/mol above 0"),
            None => Ok(()),
        }
    }

    /// R T₀²/ΔH: depression of the last crystal for a mole fraction of impurity [K].
    fn depression_k(&self, pure: Kelvin) -> f64 {
        GAS_CONSTANT_J_PER_MOL_K * pure.0 * pure.0 / self.hfus_j_per_mol[0]
    }

    fn relative_uncertainty(&self) -> f64 {
        self.hfus_j_per_mol[1] / self.hfus_j_per_mol[0]
    }

    fn mol_per_kg(&self, impurity: f64) -> Option<f64> {
        let mass = self.molar_mass_g_per_mol?;
        Some(impurity / (1.0 - impurity) / mass * 1000.0)
    }
}

/// Refuse what is too impure; caution where the law is stretched. A lower bound decides: an uncertain width is not refused for its
/// uncertainty.
pub(super) fn limits(
    impurity: f64,
    surely_above: f64,
    cautions: &mut Vec<String>,
) -> Result<(), PurityError> {
    if impurity > REFUSED_ABOVE && surely_above > MEANT_BELOW {
        return Err(PurityError::TooImpure {
            percent: 100.0 * impurity,
        });
    }
    if impurity > MEANT_BELOW {
        cautions.push(format!(
            "{:.1} mol % is beyond the 1.5 mol % that the method is meant for: take it as an order of magnitude",
            100.0 * impurity
        ));
    }
    Ok(())
}

/// What holds for every way.
pub(super) fn assumptions(cautions: &mut Vec<String>) {
    cautions.push(
        "holds only if the impurity dissolves in the melt and not in the crystal, and nothing decomposes".into(),
    );
    cautions.push(
        "sharp is not always pure: a eutectic, a solvate or wet crystals melt sharply too, far below the pure substance".into(),
    );
}

pub(super) fn kelvin(at_c: f64) -> Kelvin {
    Celsius(at_c).into()
}
