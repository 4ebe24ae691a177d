//! The lab book: everything that was measured, append-only, in a folder that can be checked.
//!
//! In: drafts of records ([`Draft`]), pictures and temperatures. Out: records in a hash chain, answers
//! to the questions that pages ask ([`Store`]), pictures at any moment, and a verdict on whether
//! anything was altered. `docs/models/labbook.md` describes the folder byte for byte.
//!
//! ```no_run
//! # async fn example() -> Result<(), meltrange_labbook::BookError> {
//! use meltrange_labbook::{Access, Book, Draft, Person, Role, Sample, SampleQuery};
//!
//! let supervisor = Person { name: "R. Amsel".into(), role: Role::Supervisor };
//! let (book, who) = Book::create("practical".as_ref(), "Evening practical", supervisor).await?;
//! let sample = Sample { label: "U-1".into(), ..Sample::default() };
//! let records = book.append(who, vec![Draft::new(sample)]).await?;
//! assert_eq!(book.store().samples(&SampleQuery::default()).await?.total, 1);
//! # let _ = (records, Access::Write);
//! # Ok(()) }
//! ```

mod announcing;
mod book;
mod book_recordings;
mod book_runs;
mod chain;
mod curves;
mod digest;
mod error;
mod export;
mod ids;
mod lock;
mod past_list;
mod query;
mod recording;
mod records;
mod rereading;
mod restore;
mod sample_list;
mod shared;
mod sqlite;
mod store;
mod text;
mod thermometers;
mod verify;
mod when;

pub use book::{Access, Book, Change, Handed, PROGRAM, Sharing};
pub use chain::{ContentError, FORMAT, Head};
pub use curves::{Curve, Curves};
pub use digest::{Digest, DigestError};
pub use error::BookError;
pub use export::{Captured, CapturedPictures, Exported, RecordLine, attachment_of, references};
pub use ids::{
    AttemptId, BenchId, CalibrationId, CheckId, DeterminationId, IdError, PastResultId, PersonId,
    PracticalId, ReadingId, RecordId, RecordingId, RunId, SampleId, SignOffId, StandardId, StepId,
    SubjectId, VerdictId,
};
pub use past_list::{
    ListedPast, PastColumn, PastFault, PastHeading, PastList, PastListError, PastTaken, PlacedPast,
    Unit, parse_past,
};
pub use query::{
    BenchRow, ChangedSince, DecidedTube, Decision, DecisionKind, DeterminationRow, LONGEST_PAGE,
    Moments, Page, PastResultRow, PersonRow, ReadingDetail, RecordingDetail, RecordingQuery,
    RecordingRow, RecordingState, RunRow, SampleDetail, SampleOrder, SampleQuery, SampleRow,
    SampleTube, SignOffRow, Standing, Today, TookPart, VerdictRow,
};
pub use recording::{Frames, ImportOrder, Imported, Manifest, ManifestFile, RecordingWriter};
pub use records::{
    Basis, Bench, Calibration, CalibrationPoint, Candidate, CandidateList, CertificateState, Check,
    Confirmation, Convention, CorrectionMark, DealtVial, Determination, Draft, Entry, Event,
    EventKind, Identified, Identity, Kind, LoadedTube, MixedMelting, MixedVerdict, Moment,
    NamedSubstance, Opening, Outcome, Override, PastResult, Person, Practical, PracticalAct,
    PracticalStep, PracticeAttempt, PracticeEnd, PracticeExercise, Preparation, Purity,
    PurityMethod, Quality, QualityKind, Reader, Reading, Received, Record, Recording, RecordingEnd,
    RecordingSource, Remark, RemarkKind, Required, ResultValue, Role, Run, RunCorrection, RunState,
    Sample, SampleVerdict, SignOff, SignOffMeaning, Standard, StandardEnd, ThermometerState,
    TubeEntry, TubeRef, Unknown,
};
pub use rereading::{
    AcceptedSome, ComparedTube, EndMoved, Moved, RereadChange, RereadChoice, RereadCounts,
    RereadFailure, RereadState, RereadTube, RereadWorker, Rereading, RereadingTold, Rereadings,
    Taken,
};
pub use restore::{RestoreError, RestoredRecording, Restoring};
pub use sample_list::{ListedSample, SAMPLE_COLUMNS, SampleListError, parse_samples};
pub use shared::{
    Copied, back_up_shared, copy_into_shared, copy_out_of_shared, is_shared, prepare_shared,
    shown_place,
};
pub use sqlite::SqliteStore;
pub use store::{Batch, Store};
pub use thermometers::{
    BenchHistory, CalibrationRow, CheckRow, ResultTube, ResultTubes, Results, RunPlace,
    StandardRow, Thermometers,
};
pub use verify::{Finding, Place, Verdict, verify};
pub use when::{When, WhenError};
