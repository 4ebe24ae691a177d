//! What a solid is and how pure.

use meltrange_identity::{Convention, Purity, ToldCandidates, ToldMixture, ToldSubstance};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Substances that were looked for.
#[derive(Debug, Serialize, ToSchema)]
pub struct Substances {
    /// Best match first.
    pub substances: Vec<ToldSubstance>,
    /// So many match; more than are told, perhaps.
    pub found: usize,
    /// So many substances there are to look among, own ones with them.
    pub library_size: usize,
}

/// About where a substance of the library melts, to plan with.
#[derive(Debug, Serialize, ToSchema)]
pub struct ExpectedOfSubstance {
    /// Its name.
    pub name: String,
    /// CAS number; empty where none is known.
    pub cas: String,
    /// Literature values with room for how far they are off [°C]; null where all of them are doubted, or it is not to be heated.
    #[schema(required)]
    pub range_c: Option<[f64; 2]>,
    /// Why it is not to be heated in a capillary; null where nothing says so, which does not mean safe.
    #[schema(required)]
    pub refused: Option<String>,
    /// Hazards and remarks.
    pub minds: Vec<String>,
}

/// A person's own list, which goes before the library.
#[derive(Debug, Serialize, ToSchema)]
pub struct OwnList {
    /// CSV: name or cas, and melting_c, hfus_j_per_mol, molar_mass_g_per_mol, formula. Empty without one.
    pub csv: String,
    /// So many substances are in it.
    pub substances: usize,
    /// Must be told to change it.
    pub revision: String,
    /// Why it cannot be used as it stands, when it was edited by hand and does not read; until it is mended nothing of the library is told.
    #[schema(required)]
    pub fault: Option<String>,
}

/// Another own list in its place.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnListRequest {
    /// The whole list; empty to have none.
    pub csv: String,
    /// Of the list that it takes the place of.
    pub revision: String,
}

/// A melting range to rank candidates for.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IdentifyRequest {
    /// First liquid, corrected [°C].
    pub first_liquid_c: f64,
    /// Last crystal, corrected [°C].
    pub last_crystal_c: f64,
    /// Standard uncertainty of either end [°C].
    pub standard_uncertainty_c: f64,
    /// What it was corrected to.
    #[serde(default)]
    pub convention: Convention,
    /// Only substances of the own list.
    #[serde(default)]
    pub only_own: bool,
    /// How probable it is beforehand that it is none of them; 0.05 if not given.
    pub unlisted_probability: Option<f64>,
    /// So many are told one by one; 50 if not given.
    #[schema(minimum = 1, maximum = 1000)]
    pub top: Option<usize>,
}

/// One side of a mixture: a substance of the library, or numbers.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SolidRequest {
    /// Name or CAS number.
    pub name: String,
    /// What it melts at, where it is not of the library or is known better [°C].
    pub melting_c: Option<f64>,
    /// Enthalpy of fusion, likewise [J/mol].
    pub hfus_j_per_mol: Option<f64>,
    /// Molar mass, likewise [g/mol].
    pub molar_mass_g_per_mol: Option<f64>,
}

/// A point of a diagram that was measured.
#[derive(Debug, Clone, Copy, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PairPointRequest {
    /// 0..=1.
    pub mole_fraction_b: f64,
    /// Where the last crystal went [°C].
    pub liquidus_c: Option<f64>,
    /// Where the first liquid came [°C].
    pub solidus_c: Option<f64>,
}

/// A mixture to draw.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MixtureRequest {
    /// First substance.
    pub a: SolidRequest,
    /// Second.
    pub b: SolidRequest,
    /// How a mixture with this mass fraction of b melts.
    pub mass_fraction_b: Option<f64>,
    /// First liquid is seen when so much is molten, by mole; 0.05 if not given.
    pub visible_fraction: Option<f64>,
    /// Own points, which fit an interaction parameter.
    #[serde(default)]
    pub points: Vec<PairPointRequest>,
}

/// Three tubes of one load.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MixedMeltingRequest {
    /// First liquid and last crystal of the sample [°C].
    pub sample_c: [f64; 2],
    /// Of the reference [°C].
    pub reference_c: [f64; 2],
    /// Of both ground together [°C].
    pub mixture_c: [f64; 2],
    /// Standard uncertainty of a difference between two tubes of one load [°C].
    pub standard_uncertainty_c: f64,
}

/// A range to tell purity from.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PurityRequest {
    /// What it is: enthalpy of fusion and molar mass are taken from the library where they are not given.
    pub substance: SolidRequest,
    /// First liquid [°C].
    pub first_liquid_c: f64,
    /// Last crystal [°C].
    pub last_crystal_c: f64,
    /// What the pure substance melts at, in the convention of the range [°C].
    pub pure_c: Option<f64>,
    /// Standard uncertainty of a difference of the two [°C].
    pub standard_uncertainty_c: f64,
}

/// Purity by each way that can be gone.
#[derive(Debug, Serialize, ToSchema)]
pub struct PurityTold {
    /// How it was reckoned: enthalpy of fusion and where it is from.
    pub said: String,
    /// By how low the last crystal is; null without the pure substance's or where it says nothing.
    #[schema(required)]
    pub by_clear_point: Option<Purity>,
    /// By the width of the range; null where it says nothing.
    #[schema(required)]
    pub by_width: Option<Purity>,
    /// Why a way says nothing.
    pub refused: Vec<String>,
}

/// Told as it is.
pub type Candidates = ToldCandidates;
/// Told as it is.
pub type Mixture = ToldMixture;
