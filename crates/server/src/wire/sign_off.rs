//! A second person's signature over the wire; results from before the book.

use super::names::{ChangedSince, CorrectionMark, SignOffMeaning};
use meltrange_labbook::{self as kept, PersonId, RecordId, SampleId, SignOffId, When};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A second person's signature.
#[derive(Debug, Serialize, ToSchema)]
pub struct SignOff {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: SignOffId,
    /// Its latest record, to take it back.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Who signed.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub when: When,
    /// What it means.
    pub meaning: SignOffMeaning,
    /// Anything else, in the person's words.
    #[schema(required)]
    pub statement: Option<String>,
    /// The result that was signed, as it was written.
    pub range_text: String,
    /// Why it was taken back; null where it was not.
    #[schema(required)]
    pub withdrawn_because: Option<String>,
    /// What is no longer as it was signed.
    pub changed_since: Vec<ChangedSince>,
    /// Whether it holds for what is said of the sample now.
    pub holds: bool,
}

impl From<&kept::SignOffRow> for SignOff {
    fn from(row: &kept::SignOffRow) -> Self {
        Self {
            id: row.id,
            record: row.record,
            who: row.who,
            when: row.when,
            meaning: row.sign_off.meaning.into(),
            statement: row.sign_off.statement.clone(),
            range_text: row.sign_off.range_text.clone(),
            withdrawn_because: row
                .sign_off
                .withdrawn
                .then(|| row.reason.clone().unwrap_or_default()),
            changed_since: row.changed_since.iter().copied().map(Into::into).collect(),
            holds: row.holds(),
        }
    }
}

/// A signature to be given.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignOffRequest {
    /// The record of the sample that was looked at.
    #[schema(value_type = String, format = Uuid)]
    pub sample_record: RecordId,
    /// The record of the result that was looked at.
    #[schema(value_type = String, format = Uuid)]
    pub result_record: RecordId,
    /// The record of the verdict that was looked at; null where nothing is said of the sample.
    #[serde(default)]
    #[schema(value_type = Option<String>, format = Uuid)]
    pub verdict_record: Option<RecordId>,
    /// What the signature means.
    pub meaning: SignOffMeaning,
    /// Anything else.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub statement: Option<String>,
    /// The signer's passphrase, where people have accounts; not needed within five minutes after they logged in.
    #[serde(default)]
    #[schema(format = Password)]
    pub passphrase: Option<String>,
}

/// A signature to be taken back.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeBackRequest {
    /// The record of it that the page knows.
    #[schema(value_type = String, format = Uuid)]
    pub supersedes: RecordId,
    /// Why.
    #[schema(max_length = 4000)]
    pub reason: String,
}

/// Whether somebody may sign a sample off now.
#[derive(Debug, Serialize, ToSchema)]
pub struct MaySign {
    /// Whether they may.
    pub may: bool,
    /// Why not, in words; null where they may.
    #[schema(required)]
    pub because: Option<String>,
}

/// A result from before the book, kept by hand.
#[derive(Debug, Serialize, ToSchema)]
pub struct PastResult {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: kept::PastResultId,
    /// Its latest record.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Who took it in.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub when: When,
    /// Of which sample.
    #[schema(value_type = String, format = Uuid)]
    pub sample: SampleId,
    /// What it was thought to be, as it was written.
    #[schema(required)]
    pub substance: Option<String>,
    /// Where the range begins [°C].
    #[schema(required)]
    pub from_c: Option<f64>,
    /// Where it ends [°C].
    #[schema(required)]
    pub to_c: Option<f64>,
    /// Whether not all was molten at the end that is named.
    pub above: bool,
    /// Whether it decomposed.
    pub decomposed: bool,
    /// Whether temperatures were corrected.
    pub mark: CorrectionMark,
    /// Heating rate [°C/min].
    #[schema(required)]
    pub heating_rate_c_per_min: Option<f64>,
    /// On which day.
    #[schema(value_type = Option<String>, format = Date, required)]
    pub measured_on: Option<jiff::civil::Date>,
    /// By whom.
    #[schema(required)]
    pub by: Option<String>,
    /// Where it was written down.
    #[schema(required)]
    pub source: Option<String>,
    /// Anything else.
    #[schema(required)]
    pub remarks: Option<String>,
    /// As it was written.
    pub as_written: String,
    /// The file it came from, and its line.
    pub file_name: String,
    /// From 1.
    pub line: u64,
    /// Why it does not count; null where it does.
    #[schema(required)]
    pub void_because: Option<String>,
}

impl From<&kept::PastResultRow> for PastResult {
    fn from(row: &kept::PastResultRow) -> Self {
        let past = &row.past_result;
        Self {
            id: row.id,
            record: row.record,
            who: row.who,
            when: row.when,
            sample: past.sample,
            substance: past.substance.clone(),
            from_c: past.from_c,
            to_c: past.to_c,
            above: past.above,
            decomposed: past.decomposed,
            mark: past.mark.into(),
            heating_rate_c_per_min: past.heating_rate_c_per_min,
            measured_on: past.measured_on,
            by: past.by.clone(),
            source: past.source.clone(),
            remarks: past.remarks.clone(),
            as_written: past.as_written.clone(),
            file_name: past.file_name.clone(),
            line: past.line,
            void_because: past.void.then(|| row.reason.clone().unwrap_or_default()),
        }
    }
}
