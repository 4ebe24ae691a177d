//! What keeps the records: the interface behind which SQLite stands, and later others.
//!
//! Each method is a whole question of the subject, not a row operation, so that a store answers it in
//! its own best way (its own search index, its own joins). The conformance suite in
//! `tests/it/store.rs` is written against this trait.

use crate::chain::Head;
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::{
    BenchId, PersonId, PracticalId, ReadingId, RecordId, RecordingId, RunId, SampleId, SubjectId,
};
use crate::query::{
    BenchRow, Page, PersonRow, ReadingDetail, RecordingDetail, RecordingQuery, RecordingRow,
    RunRow, SampleDetail, SampleQuery, SampleRow, Today,
};
use crate::records::{Draft, Record};
use crate::thermometers::{Results, RunPlace, Thermometers};
use crate::when::When;
use async_trait::async_trait;
use std::collections::{BTreeMap, BTreeSet};

/// Records to be written together: all of them or none.
#[derive(Debug, Clone, Default)]
pub struct Batch {
    /// Whose records; none only for a book's opening.
    pub who: Option<PersonId>,
    /// In this order.
    pub drafts: Vec<Draft>,
    /// Bytes that the drafts refer to by their digest.
    pub attachments: Vec<Vec<u8>>,
}

/// Keeps records in their chain and answers questions about them.
#[async_trait]
pub trait Store: std::fmt::Debug + Send + Sync + 'static {
    /// Write a batch to the end of the chain; durable when this returns.
    ///
    /// # Errors
    /// [`BookError`]; then nothing of the batch was written.
    async fn append(&self, batch: Batch, when: When) -> Result<Vec<Record>, BookError>;

    /// Where the chain stands.
    async fn head(&self) -> Result<Head, BookError>;

    /// Records after number `seq`, in order, at most `limit`.
    async fn after(&self, seq: u64, limit: u32) -> Result<Vec<Record>, BookError>;

    /// One record.
    async fn record(&self, id: RecordId) -> Result<Record, BookError>;

    /// Everything that was recorded of one subject, oldest first.
    async fn history(&self, subject: SubjectId) -> Result<Vec<Record>, BookError>;

    /// The latest record of one subject.
    async fn latest(&self, subject: SubjectId) -> Result<Record, BookError>;

    /// Bytes by their digest.
    async fn attachment(&self, digest: Digest) -> Result<Vec<u8>, BookError>;

    /// Everybody, by name.
    async fn people(&self) -> Result<Vec<PersonRow>, BookError>;

    /// All benches, by name.
    async fn benches(&self) -> Result<Vec<BenchRow>, BookError>;

    /// A page of samples.
    async fn samples(&self, query: &SampleQuery) -> Result<Page<SampleRow>, BookError>;

    /// The sample with this label, whatever the case of its letters.
    async fn sample_labelled(&self, label: &str) -> Result<Option<SampleRow>, BookError>;

    /// One sample with its tubes, decisions and results.
    async fn sample(&self, id: SampleId) -> Result<SampleDetail, BookError>;

    /// One run.
    async fn run(&self, id: RunId) -> Result<RunRow, BookError>;

    /// What happened in a run, in the order it was recorded, each as it is said last; none for a run
    /// that is not there.
    async fn events(&self, run: RunId) -> Result<Vec<Record>, BookError>;

    /// A page of recordings, newest first.
    async fn recordings(&self, query: &RecordingQuery) -> Result<Page<RecordingRow>, BookError>;

    /// One recording with its readings.
    async fn recording(&self, id: RecordingId) -> Result<RecordingDetail, BookError>;

    /// One reading with the decisions on it.
    async fn reading(&self, id: ReadingId) -> Result<ReadingDetail, BookError>;

    /// All benches with the thermometers they have had, standards, checks and calibrations.
    async fn thermometers(&self) -> Result<Thermometers, BookError>;

    /// Where and when these runs were; those that are not there are left out.
    async fn run_places(
        &self,
        runs: &BTreeSet<RunId>,
    ) -> Result<BTreeMap<RunId, RunPlace>, BookError>;

    /// All results of samples that were read on this bench, with what they are worked out from.
    async fn results_on(&self, bench: BenchId) -> Result<Results, BookError>;

    /// Class sessions as they are said last, newest first.
    async fn practicals(&self) -> Result<Vec<Record>, BookError>;

    /// What was done in one of them after record number `after`, in the order it was recorded; nothing for one that
    /// is not there.
    async fn practical_steps(
        &self,
        practical: PracticalId,
        after: u64,
    ) -> Result<Vec<Record>, BookError>;

    /// Blind readings for practice, in the order they were recorded, of one person or of everybody.
    async fn practice_attempts(&self, person: Option<PersonId>) -> Result<Vec<Record>, BookError>;

    /// What is under way and what waits.
    async fn today(&self) -> Result<Today, BookError>;
}
