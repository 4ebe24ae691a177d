//! Records in an SQLite file: a book's own, or the copy of a shared one.

mod append;
mod append_results;
mod check;
mod check_verdict;
mod events;
mod fetch;
mod lists;
mod migrate;
mod project;
mod project_thermometers;
mod readings;
mod recordings;
mod samples;
mod signing;
mod teaching;
mod thermometers;
mod today;

pub(crate) use append::insert;
pub(crate) use fetch::{RawRecord, checked, head as head_of};
pub(crate) use migrate::{NEWEST_FORM, form_of, migrate, migrate_to};
pub(crate) use project::project;

use crate::book::Change;
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
use crate::records::Record;
use crate::shared::Central;
use crate::store::{Batch, Store};
use crate::thermometers::{Results, RunPlace, Thermometers};
use crate::when::When;
use async_trait::async_trait;
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqlitePool, SqlitePoolOptions,
    SqliteSynchronous,
};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// Connections that answer questions side by side.
const READERS: u32 = 4;

/// How a book's database is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mode {
    /// Made if it is not there.
    Create,
    /// Read and written.
    Write,
    /// Read only, from a folder where nothing can be written.
    Read,
}

/// Records in an SQLite file: WAL, flushed with every batch.
#[derive(Debug)]
pub struct SqliteStore {
    path: PathBuf,
    writer: SqlitePool,
    readers: SqlitePool,
    /// The chain that this is a copy of; none where the file is the book.
    central: Option<Arc<Central>>,
}

impl SqliteStore {
    pub(crate) async fn open(path: &Path, mode: Mode) -> Result<Self, BookError> {
        let failed = |source| BookError::database(path, source);
        let pool = |connections| {
            SqlitePoolOptions::new()
                .max_connections(connections)
                .min_connections(1)
                .idle_timeout(None)
                .max_lifetime(None)
                .connect_with(options(path, mode))
        };
        let writer = pool(1).await.map_err(failed)?;
        let store = Self {
            path: path.into(),
            readers: writer.clone(),
            writer,
            central: None,
        };
        {
            let mut connection = store.writer.acquire().await.map_err(failed)?;
            migrate(&mut connection, path, mode).await?;
        }
        let readers = pool(READERS).await.map_err(failed)?;
        Ok(Self { readers, ..store })
    }

    /// As the copy of a shared chain: what is added goes to both.
    pub(crate) fn copy_of(self, central: Arc<Central>) -> Self {
        Self {
            central: Some(central),
            ..self
        }
    }

    /// Its file.
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// Begin to write: nobody else does until the end.
    pub(crate) async fn begin(
        &self,
    ) -> Result<sqlx::Transaction<'static, sqlx::Sqlite>, BookError> {
        self.writer
            .begin_with("BEGIN IMMEDIATE")
            .await
            .map_err(|source| self.failed(source))
    }

    /// Write a batch to the end of the chain. `heard` gets what others recorded before it.
    pub(crate) async fn append_hearing(
        &self,
        batch: Batch,
        when: When,
        heard: &mut Vec<Change>,
    ) -> Result<Vec<Record>, BookError> {
        match &self.central {
            Some(central) => self.append_shared(central, batch, when, heard).await,
            None => self.append_batch(batch, when).await,
        }
    }

    /// End all connections; what is in the write-ahead log goes into the file.
    pub(crate) async fn close(&self) {
        self.readers.close().await;
        self.writer.close().await;
    }

    pub(crate) fn failed(&self, source: sqlx::Error) -> BookError {
        BookError::database(&self.path, source)
    }

    /// A view of the book that does not change while it is asked.
    pub(crate) async fn view(&self) -> Result<sqlx::Transaction<'static, sqlx::Sqlite>, BookError> {
        self.readers
            .begin()
            .await
            .map_err(|source| self.failed(source))
    }
}

/// How a book's file is opened.
pub(crate) fn options(path: &Path, mode: Mode) -> SqliteConnectOptions {
    let options = SqliteConnectOptions::new()
        .filename(path)
        .create_if_missing(mode == Mode::Create)
        .foreign_keys(true)
        .busy_timeout(Duration::from_secs(5))
        // Damage is found where it is read, not pages later.
        .pragma("cell_size_check", "ON");
    match mode {
        // Without a place for the shared memory of a write-ahead log.
        Mode::Read => options.read_only(true).immutable(true),
        Mode::Create | Mode::Write => options
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full)
            .page_size(8192),
    }
}

/// A helper's connection.
pub(crate) type Connection = SqliteConnection;

#[async_trait]
impl Store for SqliteStore {
    async fn append(&self, batch: Batch, when: When) -> Result<Vec<Record>, BookError> {
        self.append_hearing(batch, when, &mut Vec::new()).await
    }

    async fn head(&self) -> Result<Head, BookError> {
        let mut view = self.view().await?;
        fetch::head(&mut view, &self.path).await
    }

    async fn after(&self, seq: u64, limit: u32) -> Result<Vec<Record>, BookError> {
        let mut view = self.view().await?;
        fetch::after(&mut view, &self.path, seq, limit).await
    }

    async fn record(&self, id: RecordId) -> Result<Record, BookError> {
        let mut view = self.view().await?;
        fetch::by_id(&mut view, &self.path, id).await
    }

    async fn history(&self, subject: SubjectId) -> Result<Vec<Record>, BookError> {
        let mut view = self.view().await?;
        fetch::history(&mut view, &self.path, subject).await
    }

    async fn latest(&self, subject: SubjectId) -> Result<Record, BookError> {
        let mut view = self.view().await?;
        fetch::latest(&mut view, &self.path, subject).await
    }

    async fn attachment(&self, digest: Digest) -> Result<Vec<u8>, BookError> {
        let mut view = self.view().await?;
        fetch::attachment(&mut view, &self.path, digest).await
    }

    async fn people(&self) -> Result<Vec<PersonRow>, BookError> {
        let mut view = self.view().await?;
        lists::people(&mut view, &self.path).await
    }

    async fn benches(&self) -> Result<Vec<BenchRow>, BookError> {
        let mut view = self.view().await?;
        lists::benches(&mut view, &self.path).await
    }

    async fn samples(&self, query: &SampleQuery) -> Result<Page<SampleRow>, BookError> {
        let mut view = self.view().await?;
        samples::page(&mut view, &self.path, query).await
    }

    async fn sample_labelled(&self, label: &str) -> Result<Option<SampleRow>, BookError> {
        let mut view = self.view().await?;
        samples::labelled(&mut view, &self.path, label).await
    }

    async fn sample(&self, id: SampleId) -> Result<SampleDetail, BookError> {
        let mut view = self.view().await?;
        samples::detail(&mut view, &self.path, id).await
    }

    async fn run(&self, id: RunId) -> Result<RunRow, BookError> {
        let mut view = self.view().await?;
        recordings::run(&mut view, &self.path, id).await
    }

    async fn events(&self, run: RunId) -> Result<Vec<Record>, BookError> {
        let mut view = self.view().await?;
        events::of_run(&mut view, &self.path, run).await
    }

    async fn practicals(&self) -> Result<Vec<Record>, BookError> {
        let mut view = self.view().await?;
        teaching::practicals(&mut view, &self.path).await
    }

    async fn practical_steps(
        &self,
        practical: PracticalId,
        after: u64,
    ) -> Result<Vec<Record>, BookError> {
        let mut view = self.view().await?;
        teaching::steps(&mut view, &self.path, practical, after).await
    }

    async fn practice_attempts(&self, person: Option<PersonId>) -> Result<Vec<Record>, BookError> {
        let mut view = self.view().await?;
        teaching::attempts(&mut view, &self.path, person).await
    }

    async fn recordings(&self, query: &RecordingQuery) -> Result<Page<RecordingRow>, BookError> {
        let mut view = self.view().await?;
        recordings::page(&mut view, &self.path, query).await
    }

    async fn recording(&self, id: RecordingId) -> Result<RecordingDetail, BookError> {
        let mut view = self.view().await?;
        recordings::detail(&mut view, &self.path, id).await
    }

    async fn reading(&self, id: ReadingId) -> Result<ReadingDetail, BookError> {
        let mut view = self.view().await?;
        readings::detail(&mut view, &self.path, id).await
    }

    async fn thermometers(&self) -> Result<Thermometers, BookError> {
        let mut view = self.view().await?;
        thermometers::all(&mut view, &self.path).await
    }

    async fn run_places(
        &self,
        runs: &BTreeSet<RunId>,
    ) -> Result<BTreeMap<RunId, RunPlace>, BookError> {
        let mut view = self.view().await?;
        thermometers::run_places(&mut view, &self.path, runs).await
    }

    async fn results_on(&self, bench: BenchId) -> Result<Results, BookError> {
        let mut view = self.view().await?;
        thermometers::results_on(&mut view, &self.path, bench).await
    }

    async fn today(&self) -> Result<Today, BookError> {
        let mut view = self.view().await?;
        today::today(&mut view, &self.path).await
    }
}
