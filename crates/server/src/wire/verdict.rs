//! What samples are said to be.

use meltrange_identity::MixedMelting;
use meltrange_labbook::{
    Identified, PersonId, RecordId, RecordingId, SampleVerdict, TubeRef, VerdictId, When,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Which tube is which in a mixed melting.
#[derive(Debug, Clone, Copy, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MixedTubesRequest {
    /// Place of the sample.
    #[schema(minimum = 1, maximum = 3)]
    pub sample_place: u8,
    /// Place of the reference.
    #[schema(minimum = 1, maximum = 3)]
    pub reference_place: u8,
    /// Place of the two ground together.
    #[schema(minimum = 1, maximum = 3)]
    pub mixture_place: u8,
    /// Standard uncertainty of a difference between two tubes of one load [°C]; from the readings and 0.2 °C
    /// between places if not given. Not taken for what is recorded.
    pub standard_uncertainty_c: Option<f64>,
}

/// A mixed melting that was read in one recording.
#[derive(Debug, Serialize, ToSchema)]
pub struct MixedTubesJudged {
    /// What it says.
    pub told: MixedMelting,
    /// Tubes that were taken: sample, reference, mixture.
    pub tubes: [TubeRef; 3],
    /// First liquid and last crystal of each, as logged [°C].
    pub ranges_c: [[f64; 2]; 3],
    /// Standard uncertainty of a difference between two of them [°C].
    pub standard_uncertainty_c: f64,
    /// Whether a person has decided on all three.
    pub decided: bool,
}

/// A mixed melting as evidence.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MixedEvidence {
    /// Which recording.
    #[schema(value_type = String, format = Uuid)]
    pub recording: RecordingId,
    /// Name or CAS number of the reference.
    #[schema(max_length = 200)]
    pub reference: String,
    /// Which tube is which; the sample's must hold this sample.
    pub tubes: MixedTubesRequest,
}

/// What a sample is to be said to be.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VerdictRequest {
    /// How much is said.
    pub says: Identified,
    /// Name or CAS number; left out where nothing is said of a substance.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub substance: Option<String>,
    /// Rank only substances of the own list.
    #[serde(default)]
    pub only_own: bool,
    /// Mixed meltings that speak for or against it.
    #[serde(default)]
    #[schema(max_items = 20)]
    pub mixed_meltings: Vec<MixedEvidence>,
    /// What the pure substance melts at, in the convention of the result [°C]; tells purity by the last crystal.
    #[serde(default)]
    pub pure_c: Option<f64>,
    /// Its standard uncertainty [°C]; 1.5, as of a literature value, if not given.
    #[serde(default)]
    #[schema(exclusive_minimum = 0, maximum = 20)]
    pub pure_u_c: Option<f64>,
    /// The record of the result that was looked at; refused when there is another by now.
    #[serde(default)]
    #[schema(value_type = Option<String>, format = Uuid)]
    pub result_record: Option<RecordId>,
    /// Other evidence, e.g. where a spectrum is kept.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub other_evidence: Option<String>,
    /// The whole in words; proposed if not given.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub words: Option<String>,
    /// The record of the verdict that this takes the place of, where there is one.
    #[serde(default)]
    #[schema(value_type = Option<String>, format = Uuid)]
    pub supersedes: Option<RecordId>,
    /// Why another one takes its place.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub reason: Option<String>,
}

/// What a sample is said to be.
#[derive(Debug, Serialize, ToSchema)]
pub struct Verdict {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: VerdictId,
    /// The latest record of it, to supersede.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Whose.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub when: When,
    /// Why it took the place of another, where it did.
    #[schema(required)]
    pub reason: Option<String>,
    /// What is said.
    pub verdict: SampleVerdict,
    /// Whether the result it rests on has changed since, or another one came after it, or a tube of its mixed
    /// meltings was decided or read otherwise.
    pub outdated: bool,
}
