//! What can be asked of a book, and the answers.

use crate::ids::{
    BenchId, DeterminationId, PastResultId, PersonId, ReadingId, RecordId, RecordingId, RunId,
    SampleId, SignOffId, VerdictId,
};
use crate::records::{
    Bench, Determination, LoadedTube, Moment, Outcome, PastResult, Reader, Reading, Recording,
    Role, Run, Sample, SampleVerdict, SignOff, TubeRef,
};
use crate::when::When;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Rows a page may have at most.
pub const LONGEST_PAGE: u32 = 500;

/// Part of a list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Page<T> {
    /// These rows.
    pub rows: Vec<T>,
    /// How many there are on all pages.
    pub total: u64,
}

/// How far a sample is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// No reading yet.
    Unread,
    /// Read, no result yet.
    Read,
    /// Its runs do not agree yet.
    NotAgreed,
    /// There is a result from agreeing runs.
    Agreed,
}

impl Standing {
    /// As written in answers and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Unread => "unread",
            Self::Read => "read",
            Self::NotAgreed => "not_agreed",
            Self::Agreed => "agreed",
        }
    }

    /// From its name.
    pub fn named(name: &str) -> Option<Self> {
        [Self::Unread, Self::Read, Self::NotAgreed, Self::Agreed]
            .into_iter()
            .find(|standing| standing.name() == name)
    }
}

/// In which order samples come.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SampleOrder {
    /// The one added last comes first.
    #[default]
    Newest,
    /// By label; numbers in it by their value.
    Label,
}

/// Which samples.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SampleQuery {
    /// Every one of these words stands somewhere in label, origin or expected substance, whatever
    /// the case of its letters. Empty: all samples.
    pub text: String,
    /// Only samples that are this far.
    pub standing: Option<Standing>,
    /// In which order.
    pub order: SampleOrder,
    /// Rows to pass over.
    pub offset: u64,
    /// Rows wanted; more than [`LONGEST_PAGE`] are not given.
    pub limit: u32,
}

impl Default for SampleQuery {
    fn default() -> Self {
        Self {
            text: String::new(),
            standing: None,
            order: SampleOrder::Newest,
            offset: 0,
            limit: 50,
        }
    }
}

/// A sample in a list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SampleRow {
    /// Its id.
    pub id: SampleId,
    /// What stands on the vial.
    pub label: String,
    /// Where it comes from.
    pub origin: Option<String>,
    /// What it is thought to be.
    pub expected_substance: Option<String>,
    /// Hazards noted.
    pub hazards: Option<String>,
    /// How far it is.
    pub standing: Standing,
    /// Recordings that hold it.
    pub recordings: u64,
    /// The latest result as written, e.g. "121.6–122.4 °C".
    pub range_text: Option<String>,
    /// When it was added.
    pub added: When,
}

/// One sample with everything on it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SampleDetail {
    /// As in the list.
    pub row: SampleRow,
    /// Its latest record, to supersede.
    pub record: RecordId,
    /// What that says.
    pub sample: Sample,
    /// Its tubes in readings, the newest reading first.
    pub tubes: Vec<SampleTube>,
    /// Recordings that hold it, newest first.
    pub recordings: Vec<RecordingRow>,
    /// Its results, newest first.
    pub determinations: Vec<DeterminationRow>,
    /// What it is said to be; the last word first.
    pub verdicts: Vec<VerdictRow>,
    /// Who stands behind it besides, newest first.
    pub sign_offs: Vec<SignOffRow>,
    /// Results from before the book, the one taken in last first.
    pub past_results: Vec<PastResultRow>,
    /// Who had a part in what is said of it; they cannot sign it off.
    pub took_part: BTreeSet<(PersonId, TookPart)>,
}

/// One tube of a sample in one reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SampleTube {
    /// In which run.
    pub run: RunId,
    /// In which recording.
    pub recording: RecordingId,
    /// In which reading.
    pub reading: ReadingId,
    /// By whom or what it was read.
    pub reader: Reader,
    /// When.
    pub read_at: When,
    /// Through its melting, as read [°C/min].
    pub heating_rate_c_per_min: Option<f64>,
    /// What the reading says and what was decided on it.
    pub tube: DecidedTube,
}

/// A tube of a reading with the latest decision on it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DecidedTube {
    /// Its place.
    pub place: u8,
    /// What was in it.
    pub sample: Option<SampleId>,
    /// What the reading says.
    pub read: Moments,
    /// What a person said to it, if anybody did.
    pub decision: Option<Decision>,
}

impl DecidedTube {
    /// What counts: the override's moments, else the reading's.
    pub fn counts(&self) -> &Moments {
        match &self.decision {
            Some(Decision {
                says: DecisionKind::Overridden { instead },
                ..
            }) => instead,
            _ => &self.read,
        }
    }
}

/// Outcome and moments of a tube.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Moments {
    /// What became of it.
    pub outcome: Outcome,
    /// First liquid.
    pub first_liquid: Option<Moment>,
    /// Last crystal.
    pub last_crystal: Option<Moment>,
}

/// What a person said to a tube of a reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Decision {
    /// Who.
    pub who: PersonId,
    /// When.
    pub when: When,
    /// The record of it.
    pub record: RecordId,
    /// Why, for an override.
    pub reason: Option<String>,
    /// What.
    #[serde(flatten)]
    pub says: DecisionKind,
}

/// What was decided.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "says", rename_all = "snake_case")]
pub enum DecisionKind {
    /// The reading holds.
    Confirmed,
    /// Something else holds.
    Overridden {
        /// What holds.
        instead: Moments,
    },
}

/// A result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeterminationRow {
    /// Its id.
    pub id: DeterminationId,
    /// Whose.
    pub who: PersonId,
    /// When.
    pub when: When,
    /// The latest record of it.
    pub record: RecordId,
    /// Why it took the place of another, where it did.
    pub reason: Option<String>,
    /// What it says.
    pub determination: Determination,
    /// Tubes it stands on that were decided otherwise since.
    pub outdated: Vec<TubeRef>,
}

/// What a sample is said to be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VerdictRow {
    /// Its id.
    pub id: VerdictId,
    /// Who says so.
    pub who: PersonId,
    /// When.
    pub when: When,
    /// The latest record of it.
    pub record: RecordId,
    /// Why it took the place of another, where it did.
    pub reason: Option<String>,
    /// What is said.
    pub verdict: SampleVerdict,
    /// Tubes of its mixed meltings that were decided or read otherwise since.
    pub outdated: Vec<TubeRef>,
}

/// A second person's signature.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SignOffRow {
    /// Its id.
    pub id: SignOffId,
    /// Who signed.
    pub who: PersonId,
    /// When.
    pub when: When,
    /// The latest record of it.
    pub record: RecordId,
    /// Why it was taken back, where it was.
    pub reason: Option<String>,
    /// What was signed.
    pub sign_off: SignOff,
    /// What is no longer as it was then.
    pub changed_since: Vec<ChangedSince>,
}

impl SignOffRow {
    /// Whether it holds for what is said of the sample now.
    pub fn holds(&self) -> bool {
        !self.sign_off.withdrawn && self.changed_since.is_empty()
    }
}

/// What may change after a signature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ChangedSince {
    /// What is kept of the sample itself.
    Sample,
    /// A tube was read or decided on.
    Readings,
    /// The result was stated anew.
    Result,
    /// Something else is said of the sample, or nothing.
    Verdict,
}

/// A result from before the book.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PastResultRow {
    /// Its id.
    pub id: PastResultId,
    /// Who took it in.
    pub who: PersonId,
    /// When.
    pub when: When,
    /// The latest record of it.
    pub record: RecordId,
    /// Why it was changed, where it was.
    pub reason: Option<String>,
    /// What it says.
    pub past_result: PastResult,
}

/// What part somebody had in what is said of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TookPart {
    /// Ran the bench.
    Measured,
    /// Read a tube, or decided on a reading.
    Read,
    /// Stated the result or the verdict.
    Determined,
}

/// Somebody.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PersonRow {
    /// Their id.
    pub id: PersonId,
    /// The latest record of them.
    pub record: RecordId,
    /// Their name.
    pub name: String,
    /// What they may do.
    pub role: Role,
}

/// A bench.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchRow {
    /// Its id.
    pub id: BenchId,
    /// The latest record of it.
    pub record: RecordId,
    /// What that says.
    pub bench: Bench,
}

/// A run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunRow {
    /// Its id.
    pub id: RunId,
    /// The latest record of it.
    pub record: RecordId,
    /// When it was begun.
    pub begun: When,
    /// What its latest record says.
    pub run: Run,
    /// Labels of what it holds, as in its load.
    pub labels: Vec<Option<String>>,
}

/// How far a recording is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RecordingState {
    /// Being recorded.
    UnderWay,
    /// Ended, not read yet.
    WaitsForReading,
    /// Read by the engine or by a person.
    Read,
}

/// Which recordings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RecordingQuery {
    /// Only those that are this far.
    pub state: Option<RecordingState>,
    /// Only those that hold this sample.
    pub sample: Option<SampleId>,
    /// Rows to pass over.
    pub offset: u64,
    /// Rows wanted; more than [`LONGEST_PAGE`] are not given.
    pub limit: u32,
}

impl Default for RecordingQuery {
    fn default() -> Self {
        Self {
            state: None,
            sample: None,
            offset: 0,
            limit: 50,
        }
    }
}

/// A recording in a list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecordingRow {
    /// Its id.
    pub id: RecordingId,
    /// The latest record of it.
    pub record: RecordId,
    /// When it was begun.
    pub begun: When,
    /// How far it is.
    pub state: RecordingState,
    /// What its latest record says.
    pub recording: Recording,
    /// What stands in which place.
    pub load: Vec<LoadedTube>,
    /// Labels of what it holds, as in `load`.
    pub labels: Vec<Option<String>>,
    /// How many readings it has.
    pub readings: u64,
}

/// One recording with its readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecordingDetail {
    /// As in the list.
    pub row: RecordingRow,
    /// Its run.
    pub run: RunRow,
    /// Its readings, newest first.
    pub readings: Vec<ReadingDetail>,
}

/// One reading with the decisions on it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingDetail {
    /// Its id.
    pub id: ReadingId,
    /// The latest record of it.
    pub record: RecordId,
    /// Whose record.
    pub who: PersonId,
    /// When.
    pub when: When,
    /// What it says.
    pub reading: Reading,
    /// Its tubes with the decisions.
    pub tubes: Vec<DecidedTube>,
}

/// What is under way and what waits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Today {
    /// Runs under way.
    pub runs_under_way: Vec<RunRow>,
    /// Recordings that nobody has read yet, oldest first, at most [`LONGEST_PAGE`].
    pub waiting_for_reading: Vec<RecordingRow>,
    /// How many those are.
    pub waiting_for_reading_total: u64,
    /// Samples with readings and no agreed result: those whose runs disagree first, then those
    /// without a result, newest first in each; at most [`LONGEST_PAGE`].
    pub not_agreed: Vec<SampleRow>,
    /// How many those are.
    pub not_agreed_total: u64,
    /// Tubes of engine readings on which nobody has decided.
    pub undecided_tubes: u64,
}
