//! What a lab book holds.

mod basis;
mod bench;
mod calibration;
pub(crate) mod check;
mod check_out_and_in;
mod check_teaching;
mod check_thermometer;
mod check_verdict;
mod decision;
mod determination;
mod event;
mod past_result;
mod person;
mod practical;
mod practice;
mod reading;
mod received;
mod recording;
mod run;
mod sample;
mod sign_off;
mod standard;
mod thermometer_check;
mod verdict;

pub use basis::{Basis, Required, RunCorrection, ThermometerState};
pub use bench::Bench;
pub use calibration::{Calibration, CalibrationPoint, CertificateState};
pub use decision::{Confirmation, Override};
pub use determination::{Convention, Determination, ResultValue, TubeRef};
pub use event::{Event, EventKind};
pub use past_result::{CorrectionMark, PastResult};
pub use person::{Person, Role};
pub use practical::{DealtVial, Practical, PracticalAct, PracticalStep, Unknown};
pub use practice::{PracticeAttempt, PracticeEnd, PracticeExercise};
pub use reading::{
    Moment, Outcome, Quality, QualityKind, Reader, Reading, Remark, RemarkKind, TubeEntry,
};
pub use received::Received;
pub use recording::{Recording, RecordingEnd, RecordingSource};
pub use run::{LoadedTube, Run, RunState};
pub use sample::{Preparation, Sample};
pub use sign_off::{SignOff, SignOffMeaning};
pub use standard::{Standard, StandardEnd};
pub use thermometer_check::Check;
pub use verdict::{
    Candidate, CandidateList, Identified, Identity, MixedMelting, MixedVerdict, NamedSubstance,
    Purity, PurityMethod, SampleVerdict,
};

use crate::digest::Digest;
use crate::ids::{PersonId, RecordId, SubjectId};
use crate::when::When;
use serde::{Deserialize, Serialize};

/// The opening record of every book.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Opening {
    /// What the book is called.
    pub title: String,
    /// The program that made it.
    pub program: String,
}

/// What a record says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "payload", rename_all = "snake_case")]
pub enum Entry {
    /// The book was begun; always the first record and only there.
    Opening(Opening),
    /// Somebody.
    Person(Person),
    /// A sample.
    Sample(Sample),
    /// A bench.
    Bench(Bench),
    /// A heating of one load.
    Run(Run),
    /// Something that happened in a run.
    Event(Event),
    /// Pictures and temperatures of one run.
    Recording(Recording),
    /// First liquid and last crystal of the tubes of one recording.
    Reading(Reading),
    /// A person agrees with a reading of the engine, for one tube.
    Confirmation(Confirmation),
    /// A person puts other moments in place of a reading's, for one tube; needs a reason.
    Override(Override),
    /// The result for a sample.
    Determination(Determination),
    /// What a sample is said to be, and how pure.
    SampleVerdict(SampleVerdict),
    /// A second person stands behind it.
    SignOff(SignOff),
    /// A result from before this book.
    PastResult(PastResult),
    /// Records before this one come from another book.
    Received(Received),
    /// A reference substance.
    Standard(Standard),
    /// What a reference substance showed on a bench.
    Check(Check),
    /// A correction for a bench's thermometer.
    Calibration(Calibration),
    /// A class session as it was set up.
    Practical(Box<Practical>),
    /// Something done in a class session.
    PracticalStep(PracticalStep),
    /// A blind reading for practice.
    PracticeAttempt(PracticeAttempt),
}

/// Of what kind a record is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "as the variants of Entry")]
pub enum Kind {
    Opening,
    Person,
    Sample,
    Bench,
    Run,
    Event,
    Recording,
    Reading,
    Confirmation,
    Override,
    Determination,
    SampleVerdict,
    SignOff,
    PastResult,
    Received,
    Standard,
    Check,
    Calibration,
    Practical,
    PracticalStep,
    PracticeAttempt,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 21] = [
        Self::Opening,
        Self::Person,
        Self::Sample,
        Self::Bench,
        Self::Run,
        Self::Event,
        Self::Recording,
        Self::Reading,
        Self::Confirmation,
        Self::Override,
        Self::Determination,
        Self::SampleVerdict,
        Self::SignOff,
        Self::PastResult,
        Self::Received,
        Self::Standard,
        Self::Check,
        Self::Calibration,
        Self::Practical,
        Self::PracticalStep,
        Self::PracticeAttempt,
    ];

    /// As written in records and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Opening => "opening",
            Self::Person => "person",
            Self::Sample => "sample",
            Self::Bench => "bench",
            Self::Run => "run",
            Self::Event => "event",
            Self::Recording => "recording",
            Self::Reading => "reading",
            Self::Confirmation => "confirmation",
            Self::Override => "override",
            Self::Determination => "determination",
            Self::SampleVerdict => "sample_verdict",
            Self::SignOff => "sign_off",
            Self::PastResult => "past_result",
            Self::Received => "received",
            Self::Standard => "standard",
            Self::Check => "check",
            Self::Calibration => "calibration",
            Self::Practical => "practical",
            Self::PracticalStep => "practical_step",
            Self::PracticeAttempt => "practice_attempt",
        }
    }

    /// From its name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }
}

impl Entry {
    /// Of what kind it is.
    pub fn kind(&self) -> Kind {
        match self {
            Self::Opening(_) => Kind::Opening,
            Self::Person(_) => Kind::Person,
            Self::Sample(_) => Kind::Sample,
            Self::Bench(_) => Kind::Bench,
            Self::Run(_) => Kind::Run,
            Self::Event(_) => Kind::Event,
            Self::Recording(_) => Kind::Recording,
            Self::Reading(_) => Kind::Reading,
            Self::Confirmation(_) => Kind::Confirmation,
            Self::Override(_) => Kind::Override,
            Self::Determination(_) => Kind::Determination,
            Self::SampleVerdict(_) => Kind::SampleVerdict,
            Self::SignOff(_) => Kind::SignOff,
            Self::PastResult(_) => Kind::PastResult,
            Self::Received(_) => Kind::Received,
            Self::Standard(_) => Kind::Standard,
            Self::Check(_) => Kind::Check,
            Self::Calibration(_) => Kind::Calibration,
            Self::Practical(_) => Kind::Practical,
            Self::PracticalStep(_) => Kind::PracticalStep,
            Self::PracticeAttempt(_) => Kind::PracticeAttempt,
        }
    }
}

macro_rules! entries {
    ($($name:ident),*) => {$(
        impl From<$name> for Entry {
            fn from(value: $name) -> Self {
                Self::$name(value)
            }
        }
    )*};
}

entries!(
    Opening,
    Person,
    Sample,
    Bench,
    Run,
    Event,
    Recording,
    Reading,
    Confirmation,
    Override,
    Determination,
    SampleVerdict,
    SignOff,
    PastResult,
    Received,
    Standard,
    Check,
    Calibration,
    PracticalStep,
    PracticeAttempt
);

impl From<Practical> for Entry {
    fn from(value: Practical) -> Self {
        Self::Practical(Box::new(value))
    }
}

/// One link of the chain.
///
/// `hash` is the SHA-256 of `content`, the canonical JSON (RFC 8785) of everything else here.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Place in the chain, 1.. without gaps.
    pub seq: u64,
    /// Its name.
    pub id: RecordId,
    /// What it is about.
    pub subject: SubjectId,
    /// Whose record it is; none only for the opening.
    pub who: Option<PersonId>,
    /// When it was written.
    pub when: When,
    /// The record that this one takes the place of.
    pub supersedes: Option<RecordId>,
    /// Why, where something was changed.
    pub reason: Option<String>,
    /// The hash of the record before; none only for the first.
    pub previous: Option<Digest>,
    /// What it says.
    pub entry: Entry,
    /// Its own hash.
    pub hash: Digest,
}

/// A record to be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Draft {
    pub(crate) subject: SubjectId,
    pub(crate) record: Option<RecordId>,
    pub(crate) supersedes: Option<RecordId>,
    pub(crate) reason: Option<String>,
    pub(crate) entry: Entry,
}

impl Draft {
    /// About something new. Its id is made here, so that further drafts can refer to it.
    pub fn new(entry: impl Into<Entry>) -> Self {
        Self::about(SubjectId::new(), entry)
    }

    /// About something new whose id was made before.
    pub fn about(subject: impl Into<SubjectId>, entry: impl Into<Entry>) -> Self {
        Self {
            subject: subject.into(),
            record: None,
            supersedes: None,
            reason: None,
            entry: entry.into(),
        }
    }

    /// In place of what `record` says of `subject`. Refused when `record` is no longer the latest.
    pub fn revision(
        subject: impl Into<SubjectId>,
        record: RecordId,
        entry: impl Into<Entry>,
    ) -> Self {
        Self {
            subject: subject.into(),
            record: None,
            supersedes: Some(record),
            reason: None,
            entry: entry.into(),
        }
    }

    /// As a record whose id was made before, so that others written with it can refer to it.
    pub fn recorded_as(mut self, record: RecordId) -> Self {
        self.record = Some(record);
        self
    }

    /// With an id of its own, so that it can be told whether it was recorded.
    pub(crate) fn with_record_id(mut self) -> Self {
        self.record.get_or_insert_with(RecordId::new);
        self
    }

    /// With a reason.
    pub fn because(mut self, reason: impl Into<String>) -> Self {
        self.reason = Some(reason.into());
        self
    }

    /// What it is about.
    pub fn subject(&self) -> SubjectId {
        self.subject
    }
}
