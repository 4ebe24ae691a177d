//! What is said of a sample: what it is and how pure.

use super::TubeRef;
use crate::ids::{DeterminationId, RecordId, RecordingId, SampleId};
use serde::{Deserialize, Serialize};

/// What a person says that a sample is, and how pure, with what it rests on. What is worked out in it is
/// kept as it was worked out then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SampleVerdict {
    /// Of which sample.
    #[cfg_attr(feature = "schema", schema(value_type = String, format = Uuid))]
    pub sample: SampleId,
    /// From which result.
    #[cfg_attr(feature = "schema", schema(value_type = String, format = Uuid))]
    pub determination: DeterminationId,
    /// The record of that result that was looked at.
    #[cfg_attr(feature = "schema", schema(value_type = String, format = Uuid))]
    pub result_record: RecordId,
    /// The result as it was written, with its mark, e.g. "121.6–122.4 °C (corrected)".
    pub range_text: String,
    /// What it is said to be.
    pub identity: Identity,
    /// What the range alone says it could be.
    pub candidates: CandidateList,
    /// Mixed meltings that were looked at.
    pub mixed_meltings: Vec<MixedMelting>,
    /// How pure, by each way that could be gone.
    pub purities: Vec<Purity>,
    /// Other evidence, in the person's words, e.g. where a spectrum is kept.
    #[cfg_attr(feature = "schema", schema(required))]
    pub other_evidence: Option<String>,
    /// What was to be minded.
    pub cautions: Vec<String>,
    /// The whole in a sentence or a few, as the person confirmed it.
    pub words: String,
}

/// What a sample is said to be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "schema", schema(as = SaidIdentity))]
pub struct Identity {
    /// How much is said.
    pub says: Identified,
    /// Of which substance; none where nothing is said of one.
    #[cfg_attr(feature = "schema", schema(required))]
    pub substance: Option<NamedSubstance>,
}

/// How much is said of a sample's identity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub enum Identified {
    /// It is this substance.
    Is,
    /// All that was seen fits this substance; that is no proof.
    ConsistentWith,
    /// It is not this substance.
    IsNot,
    /// Nothing is said.
    Open,
}

impl Identified {
    /// Whether a substance must be named.
    pub fn of_a_substance(self) -> bool {
        !matches!(self, Self::Open)
    }
}

/// A substance by name.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NamedSubstance {
    /// Its name.
    pub name: String,
    /// CAS number; empty where none is known.
    pub cas: String,
}

/// What a range alone says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "schema", schema(as = SaidCandidates))]
pub struct CandidateList {
    /// So many substances were ranked.
    pub among: u64,
    /// Whether only those of the own list.
    pub own_list_only: bool,
    /// The likeliest, and the one that is named, likeliest first.
    pub likeliest: Vec<Candidate>,
    /// How many make up 95 %.
    pub credible_95: u64,
    /// That it is none of those that were ranked.
    pub unlisted_probability: f64,
}

/// One substance that it could be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "schema", schema(as = SaidCandidate))]
pub struct Candidate {
    /// Which.
    #[serde(flatten)]
    pub substance: NamedSubstance,
    /// From the range alone, 0..=1.
    pub probability: f64,
}

/// Sample, reference and their mixture side by side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "schema", schema(as = SaidMixedMelting))]
pub struct MixedMelting {
    /// In which recording.
    #[cfg_attr(feature = "schema", schema(value_type = String, format = Uuid))]
    pub recording: RecordingId,
    /// What stood beside it.
    pub reference: NamedSubstance,
    /// Tube of the sample.
    pub sample_tube: TubeRef,
    /// Tube of the reference.
    pub reference_tube: TubeRef,
    /// Tube of the mixture.
    pub mixture_tube: TubeRef,
    /// First liquid and last crystal of each, as logged [°C].
    pub sample_c: [f64; 2],
    /// Likewise.
    pub reference_c: [f64; 2],
    /// Likewise.
    pub mixture_c: [f64; 2],
    /// Standard uncertainty of a difference between two of them [°C].
    pub standard_uncertainty_c: f64,
    /// What it says.
    pub verdict: MixedVerdict,
    /// In a sentence, with how much it proves.
    pub words: String,
}

/// What a mixed melting says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "schema", schema(as = SaidMixedVerdict))]
pub enum MixedVerdict {
    /// Depressed and broadened.
    Different,
    /// Sample and reference do not melt alike by themselves.
    MeltApart,
    /// Not depressed, not broadened.
    ConsistentWithSame,
    /// Something between.
    CannotTell,
}

/// How pure, by one way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "schema", schema(as = SaidPurity))]
pub struct Purity {
    /// By which.
    pub method: PurityMethod,
    /// Of what, main substance left out [mole fraction].
    pub impurity_mole_fraction: f64,
    /// Of the same.
    pub standard_uncertainty: f64,
    /// Of the same, with 95 %.
    pub interval_95: [f64; 2],
    /// What the pure substance melts at: given, or reckoned from the range [°C].
    pub pure_melting_c: f64,
    /// Enthalpy of fusion it was reckoned with [J/mol].
    pub hfus_j_per_mol: f64,
    /// Where that is from.
    pub hfus_source: String,
}

/// How purity was told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "schema", schema(as = SaidPurityMethod))]
pub enum PurityMethod {
    /// By how low the last crystal is.
    ClearPoint,
    /// By the width of the range.
    Width,
}
