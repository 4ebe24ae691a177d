//! What kind of pair it is, and how far the ideal law is off for such.

use crate::library::Substance;
use serde::Serialize;

/// What the structures of two substances tell of their liquid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub enum PairClass {
    /// Neither gives hydrogen bonds, or both are carboxylic acids.
    Similar,
    /// Hydrogen bonds in one or both, or different kinds of substance.
    HydrogenBonding,
    /// A structure is not known.
    Unknown,
}

/// How far the eutectic of the ideal law is from the measured one.
///
/// # Source
/// Published eutectics against the ideal law for eleven pairs (docs/models/identity.md): 2 °C and 0.02 without hydrogen bonds or
/// for similar substances; 4 to 10 °C otherwise, either way.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PairError {
    /// [°C], either way.
    pub temperature_c: f64,
    /// Of the composition, either way.
    pub mole_fraction: f64,
}

impl PairClass {
    pub(super) fn of(a: Option<&Substance>, b: Option<&Substance>) -> Self {
        let (Some(a), Some(b)) = (a, b) else {
            return Self::Unknown;
        };
        if a.smiles.is_empty() || b.smiles.is_empty() {
            return Self::Unknown;
        }
        let acid = |one: &Substance| one.classes.iter().any(|class| class == "carboxylic_acid");
        if (a.donors == 0 && b.donors == 0) || (acid(a) && acid(b)) {
            Self::Similar
        } else {
            Self::HydrogenBonding
        }
    }

    pub(super) fn error(self) -> PairError {
        match self {
            Self::Similar => PairError {
                temperature_c: 2.0,
                mole_fraction: 0.02,
            },
            Self::HydrogenBonding | Self::Unknown => PairError {
                temperature_c: 10.0,
                mole_fraction: 0.1,
            },
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Similar => "without hydrogen bonds, or both carboxylic acids",
            Self::HydrogenBonding => "hydrogen bonds or different kinds of substance",
            Self::Unknown => "a structure is not known",
        }
    }
}
