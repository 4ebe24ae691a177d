//! Samples, agreement and results.

use super::{
    Determination, MaySign, PastResult, Reader, RecordingRow, SignOff, Standing, Tube, TubeRef,
    Verdict,
};
use meltrange_labbook as kept;
use meltrange_labbook::{ReadingId, RecordId, RecordingId, RunId, SampleId, When};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What is kept of a sample.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SampleContent {
    /// What stands on the vial; different from all others in the book, whatever the case of its letters.
    #[schema(min_length = 1, max_length = 200)]
    pub label: String,
    /// Where it comes from.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub origin: Option<String>,
    /// What it is thought to be.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub expected_substance: Option<String>,
    /// Hazards noted. What is not noted is not thereby harmless.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub hazards: Option<String>,
    /// How it was made ready.
    #[serde(default)]
    pub preparation: Preparation,
    /// Anything else.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub remarks: Option<String>,
}

/// The checklist of making a sample ready; null is "not noted".
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Preparation {
    /// Dried.
    #[serde(default)]
    pub dried: Option<bool>,
    /// Ground fine.
    #[serde(default)]
    pub ground: Option<bool>,
    /// Height of the packed column [mm]; 2 to 3 is common practice.
    #[serde(default)]
    #[schema(exclusive_minimum = 0, maximum = 50)]
    pub column_height_mm: Option<f64>,
    /// Solvent it was crystallised from or may still hold.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub solvent: Option<String>,
}

impl From<SampleContent> for kept::Sample {
    fn from(given: SampleContent) -> Self {
        Self {
            label: given.label,
            origin: given.origin,
            expected_substance: given.expected_substance,
            hazards: given.hazards,
            preparation: kept::Preparation {
                dried: given.preparation.dried,
                ground: given.preparation.ground,
                column_height_mm: given.preparation.column_height_mm,
                solvent: given.preparation.solvent,
            },
            remarks: given.remarks,
        }
    }
}

impl From<kept::Sample> for SampleContent {
    fn from(found: kept::Sample) -> Self {
        Self {
            label: found.label,
            origin: found.origin,
            expected_substance: found.expected_substance,
            hazards: found.hazards,
            preparation: Preparation {
                dried: found.preparation.dried,
                ground: found.preparation.ground,
                column_height_mm: found.preparation.column_height_mm,
                solvent: found.preparation.solvent,
            },
            remarks: found.remarks,
        }
    }
}

/// A sample as it is to be from now on.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SampleRevision {
    /// The record that this takes the place of: the latest one known to the page.
    #[schema(value_type = String, format = Uuid)]
    pub supersedes: RecordId,
    /// All of its content, changed or not.
    pub sample: SampleContent,
    /// Why.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub reason: Option<String>,
}

/// A sample in a list.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct SampleRow {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: SampleId,
    /// What stands on the vial.
    pub label: String,
    /// Where it comes from.
    #[schema(required)]
    pub origin: Option<String>,
    /// What it is thought to be.
    #[schema(required)]
    pub expected_substance: Option<String>,
    /// Hazards noted.
    #[schema(required)]
    pub hazards: Option<String>,
    /// How far it is.
    pub standing: Standing,
    /// Recordings that hold it.
    pub recordings: u64,
    /// The latest result, e.g. "121.6–122.4 °C"; null also for students, who read first.
    #[schema(required)]
    pub range_text: Option<String>,
    /// When it was added.
    #[schema(value_type = String, format = DateTime)]
    pub added: When,
}

impl From<kept::SampleRow> for SampleRow {
    fn from(found: kept::SampleRow) -> Self {
        Self {
            id: found.id,
            label: found.label,
            origin: found.origin,
            expected_substance: found.expected_substance,
            hazards: found.hazards,
            standing: found.standing.into(),
            recordings: found.recordings,
            range_text: found.range_text,
            added: found.added,
        }
    }
}

/// A page of samples.
#[derive(Debug, Serialize, ToSchema)]
pub struct Samples {
    /// These.
    pub rows: Vec<SampleRow>,
    /// How many there are on all pages.
    pub total: u64,
    /// Which page this is, 1...
    pub page: u64,
    /// Rows a page.
    pub per_page: u32,
}

/// Samples that were added.
#[derive(Debug, Serialize, ToSchema)]
pub struct ImportedSamples {
    /// Their ids, in the order of the lines.
    #[schema(value_type = Vec<String>)]
    pub samples: Vec<SampleId>,
}

/// One tube of a sample in one reading.
#[derive(Debug, Serialize, ToSchema)]
pub struct SampleTube {
    /// In which run.
    #[schema(value_type = String, format = Uuid)]
    pub run: RunId,
    /// In which recording.
    #[schema(value_type = String, format = Uuid)]
    pub recording: RecordingId,
    /// In which reading.
    #[schema(value_type = String, format = Uuid)]
    pub reading: ReadingId,
    /// By whom or what it was read.
    pub reader: Reader,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub read_at: When,
    /// Whether its opinion is kept back until the person has decided.
    pub hidden: bool,
    /// What the reading says and what was decided on it.
    pub tube: Tube,
}

/// Whether a sample's runs agree; tubes of one run are averaged first.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Agreement {
    /// Whether at least two runs lie within `within_c` at both ends.
    pub agreed: bool,
    /// Farthest apart that agreeing runs may be at either end [°C].
    pub within_c: f64,
    /// Each run with a full range, in order of time.
    pub runs: Vec<AgreementRun>,
    /// Farthest apart at either end, among the runs that agree, else among all [°C].
    #[schema(required)]
    pub spread_c: Option<f64>,
    /// How many more runs are needed, at least.
    pub further_runs_needed: u32,
    /// Tubes of the agreeing runs: what a determination from them would stand on.
    pub from: Vec<TubeRef>,
    /// What it would say, with the corrections in force, e.g. "121.6–122.4 °C".
    #[schema(required)]
    pub range_text: Option<String>,
    /// Why the runs cannot be compared, in words; null where they can.
    #[schema(required)]
    pub refused: Option<String>,
}

/// What one run says of a sample: the mean of its tubes.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct AgreementRun {
    /// Which run.
    #[schema(value_type = String, format = Uuid)]
    pub run: RunId,
    /// First liquid, as logged [°C].
    pub first_liquid_c: f64,
    /// Last crystal, as logged [°C].
    pub last_crystal_c: f64,
    /// From how many tubes.
    pub tubes: u32,
    /// Whether it is among those that agree.
    pub agrees: bool,
    /// Whether a person has decided on every tube of it.
    pub decided: bool,
}

/// A value with its uncertainty [°C].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct ResultValue {
    /// The value [°C].
    pub value_c: f64,
    /// Standard uncertainty [°C].
    pub standard_uncertainty_c: f64,
    /// Expanded uncertainty [°C].
    pub expanded_uncertainty_c: f64,
    /// Their ratio.
    pub coverage_factor: f64,
}

impl From<kept::ResultValue> for ResultValue {
    fn from(found: kept::ResultValue) -> Self {
        Self {
            value_c: found.value_c,
            standard_uncertainty_c: found.standard_uncertainty_c,
            expanded_uncertainty_c: found.expanded_uncertainty_c,
            coverage_factor: found.coverage_factor,
        }
    }
}

/// One sample with everything on it.
#[derive(Debug, Serialize, ToSchema)]
pub struct SampleDetail {
    /// As in the list.
    pub row: SampleRow,
    /// Its latest record, to supersede.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// What that says.
    pub sample: SampleContent,
    /// Its tubes in readings, the newest reading first.
    pub tubes: Vec<SampleTube>,
    /// Recordings that hold it, newest first.
    pub recordings: Vec<RecordingRow>,
    /// Whether its runs agree; null while opinions are kept back.
    #[schema(required)]
    pub agreement: Option<Agreement>,
    /// Its results, newest first; empty while opinions are kept back.
    pub determinations: Vec<Determination>,
    /// What it is said to be, the last word first; empty while opinions are kept back.
    pub verdicts: Vec<Verdict>,
    /// Who stands behind it besides, newest first; empty while opinions are kept back.
    pub sign_offs: Vec<SignOff>,
    /// Whether this person may sign it off now.
    pub may_sign: MaySign,
    /// Results from before the book, the one taken in last first; empty while opinions are kept back.
    pub past_results: Vec<PastResult>,
    /// Whether opinions are kept back until the person has decided.
    pub blind: bool,
}
