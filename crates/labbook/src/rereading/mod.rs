//! Many recordings read again, by another engine: a queue in the database of a shared book from which any number
//! of workers on any machines take, what they found beside what was read before, and its acceptance.
//!
//! `docs/models/rereading.md` says what is where. What is found is no record until a supervisor accepts it.

mod accepting;
mod compared;
mod queue;
mod telling;

pub use accepting::AcceptedSome;
pub use compared::{ComparedTube, Moved, RereadChange};
pub use queue::Taken;
pub use telling::{EndMoved, RereadCounts, RereadFailure, RereadTube, RereadWorker, RereadingTold};

use crate::book::Book;
use crate::error::BookError;
use crate::ids::{PersonId, RecordingId};
use crate::records::{Entry, Reader};
use crate::shared::Central;
use crate::when::When;
use sqlx::postgres::PgPool;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Records looked through at a time.
const PIECE: u32 = 1000;

/// Which recordings are read again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RereadChoice {
    /// Those whose last reading by an engine is of another version, or that no engine has read.
    OtherVersions,
    /// All that are ended.
    All,
}

/// What a re-reading is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rereading {
    /// Its id.
    pub id: Uuid,
    /// The engine that reads: program and version.
    pub engine: String,
    /// Who began it.
    pub begun_by: PersonId,
    /// When.
    pub begun_at: When,
    /// How far it is.
    pub state: RereadState,
    /// Who accepted or dropped it, and when.
    pub decided: Option<(PersonId, When)>,
}

/// How far a re-reading is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum RereadState {
    /// Workers read, or what they found waits to be accepted.
    Reading,
    /// It was accepted, and is being recorded.
    Accepting,
    /// All of it is recorded.
    Accepted,
    /// Nothing of it is recorded.
    Dropped,
}

impl RereadState {
    /// As in the database.
    pub fn name(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::Accepting => "accepting",
            Self::Accepted => "accepted",
            Self::Dropped => "dropped",
        }
    }
}

/// The re-readings of a shared book.
#[derive(Debug, Clone, Copy)]
pub struct Rereadings<'a> {
    book: &'a Book,
    central: &'a Central,
}

/// As the database has one.
type RereadingRow = (
    String,
    String,
    String,
    String,
    String,
    Option<String>,
    Option<String>,
);

/// Columns of [`RereadingRow`].
const COLUMNS: &str = "id, engine, begun_by, begun_at, state, decided_by, decided_at";

impl Book {
    /// Its re-readings.
    ///
    /// # Errors
    /// [`BookError::NotShared`] for a book in a folder.
    pub fn rereadings(&self) -> Result<Rereadings<'_>, BookError> {
        let central = self.central().ok_or_else(|| BookError::NotShared {
            path: self.folder().into(),
        })?;
        Ok(Rereadings {
            book: self,
            central,
        })
    }
}

impl<'a> Rereadings<'a> {
    fn pool(&self) -> &'a PgPool {
        self.central.pool()
    }

    fn failed(&self, source: sqlx::Error) -> BookError {
        BookError::central(self.central.shown(), source)
    }

    /// Begin one: every recording of this choice waits for a worker of `engine`. With how many there are.
    ///
    /// # Errors
    /// [`BookError::Field`] where there is nothing to read, or one is under way; [`BookError`].
    pub async fn begin(
        &self,
        who: PersonId,
        engine: &str,
        choice: RereadChoice,
    ) -> Result<(Rereading, u64), BookError> {
        let recordings = self.chosen(engine, choice).await?;
        if recordings.is_empty() {
            return Err(BookError::Field {
                field: "rereading.recordings",
                found: "none".into(),
                expected: "ended recordings that were not read by this version of the engine yet",
            });
        }
        let begun = Rereading {
            id: Uuid::now_v7(),
            engine: engine.to_owned(),
            begun_by: who,
            begun_at: When::now(),
            state: RereadState::Reading,
            decided: None,
        };
        let id = begun.id.to_string();
        let mut change = self
            .pool()
            .begin()
            .await
            .map_err(|source| self.failed(source))?;
        let made = sqlx::query(
            "INSERT INTO book.rereading (id, engine, begun_by, begun_at) VALUES ($1, $2, $3, $4)",
        )
        .bind(&id)
        .bind(engine)
        .bind(who.to_string())
        .bind(begun.begun_at.to_string())
        .execute(&mut *change)
        .await;
        match made {
            Err(sqlx::Error::Database(error)) if error.is_unique_violation() => {
                return Err(BookError::Field {
                    field: "rereading",
                    found: "under way already".into(),
                    expected: "that the one before is accepted or dropped first",
                });
            }
            other => other.map_err(|source| self.failed(source))?,
        };
        let ids: Vec<String> = recordings.iter().map(RecordingId::to_string).collect();
        sqlx::query(
            "INSERT INTO book.reread_recording (rereading, recording) SELECT $1, * FROM unnest($2::text[])",
        )
        .bind(&id)
        .bind(&ids)
        .execute(&mut *change)
        .await
        .map_err(|source| self.failed(source))?;
        change
            .commit()
            .await
            .map_err(|source| self.failed(source))?;
        Ok((begun, ids.len() as u64))
    }

    /// Ended recordings of this choice, in the order in which they were begun.
    async fn chosen(
        &self,
        engine: &str,
        choice: RereadChoice,
    ) -> Result<Vec<RecordingId>, BookError> {
        // Whether each was read by this engine last.
        let mut ended: BTreeMap<RecordingId, bool> = BTreeMap::new();
        let mut seq = 0;
        loop {
            let records = self.book.store().after(seq, PIECE).await?;
            let Some(last) = records.last() else { break };
            seq = last.seq;
            for record in records {
                match record.entry {
                    Entry::Recording(recording) if recording.end.is_some() => {
                        ended.entry(record.subject.into()).or_default();
                    }
                    Entry::Reading(reading) => {
                        if let Reader::Engine { program } = &reading.reader
                            && let Some(by_this) = ended.get_mut(&reading.recording)
                        {
                            *by_this = program == engine;
                        }
                    }
                    _ => {}
                }
            }
        }
        Ok(ended
            .into_iter()
            .filter(|(_, by_this)| choice == RereadChoice::All || !by_this)
            .map(|(id, _)| id)
            .collect())
    }

    /// All of them, newest first.
    ///
    /// # Errors
    /// [`BookError`]: out of reach.
    pub async fn all(&self) -> Result<Vec<Rereading>, BookError> {
        let rows: Vec<RereadingRow> = sqlx::query_as(sqlx::AssertSqlSafe(format!(
            "SELECT {COLUMNS} FROM book.rereading ORDER BY id DESC"
        )))
        .fetch_all(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        rows.into_iter().map(|row| self.of_row(row)).collect()
    }

    /// One of them.
    ///
    /// # Errors
    /// [`BookError::Unknown`]; [`BookError`].
    pub async fn one(&self, id: Uuid) -> Result<Rereading, BookError> {
        let row: Option<RereadingRow> = sqlx::query_as(sqlx::AssertSqlSafe(format!(
            "SELECT {COLUMNS} FROM book.rereading WHERE id = $1"
        )))
        .bind(id.to_string())
        .fetch_optional(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        let row = row.ok_or_else(|| BookError::Unknown {
            what: "re-reading",
            name: id.to_string(),
        })?;
        self.of_row(row)
    }

    fn of_row(&self, row: RereadingRow) -> Result<Rereading, BookError> {
        let (id, engine, begun_by, begun_at, state, decided_by, decided_at) = row;
        let wrong = |found: &dyn std::fmt::Display| BookError::Damaged {
            path: self.central.shown().into(),
            found: format!("re-reading {id}: {found}"),
        };
        let decided = match (decided_by, decided_at) {
            (Some(who), Some(when)) => Some((
                who.parse().map_err(|error| wrong(&error))?,
                when.parse().map_err(|error| wrong(&error))?,
            )),
            _ => None,
        };
        Ok(Rereading {
            id: id.parse().map_err(|error| wrong(&error))?,
            begun_by: begun_by.parse().map_err(|error| wrong(&error))?,
            begun_at: begun_at.parse().map_err(|error| wrong(&error))?,
            state: [
                RereadState::Reading,
                RereadState::Accepting,
                RereadState::Accepted,
                RereadState::Dropped,
            ]
            .into_iter()
            .find(|known| known.name() == state)
            .ok_or_else(|| wrong(&state))?,
            decided,
            engine,
        })
    }
}
