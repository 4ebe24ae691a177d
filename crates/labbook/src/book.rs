//! A lab book: a folder, its store, and whoever listens to what is added.

use crate::error::BookError;
use crate::ids::{PersonId, RecordId, RecordingId, SubjectId};
use crate::lock::Lock;
use crate::records::{Draft, Kind, Opening, Person, Record};
use crate::sqlite::{Mode, SqliteStore};
use crate::store::{Batch, Store};
use crate::when::When;
use serde::Serialize;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tokio::sync::broadcast;

/// This program, as records name it.
pub(crate) const PROGRAM: &str = concat!("meltrange ", env!("CARGO_PKG_VERSION"));

/// The database in a book's folder.
pub(crate) const DATABASE: &str = "book.sqlite";

/// The recordings in a book's folder.
pub(crate) const RECORDINGS: &str = "recordings";

/// Changes a slow listener may fall behind before it has to ask for what it missed.
const BACKLOG: usize = 1024;

/// How a book is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// To read and write; no other process can have it open.
    Write,
    /// To look at only, as in a folder that cannot be written.
    Read,
}

/// A record was added. Numbers rise without gaps: a listener that missed some asks for
/// [`Store::after`] the last one it saw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Change {
    /// The record's number.
    pub seq: u64,
    /// The record.
    pub id: RecordId,
    /// Its kind.
    pub kind: Kind,
    /// What it is about.
    pub subject: SubjectId,
}

impl From<&Record> for Change {
    fn from(record: &Record) -> Self {
        Self {
            seq: record.seq,
            id: record.id,
            kind: record.entry.kind(),
            subject: record.subject,
        }
    }
}

/// A lab book.
#[derive(Debug)]
pub struct Book {
    folder: PathBuf,
    store: Arc<SqliteStore>,
    changes: broadcast::Sender<Change>,
    /// Keeps batches and their announcements in the same order.
    turn: tokio::sync::Mutex<()>,
    /// None where it was opened to be read only.
    lock: Option<Lock>,
}

impl Book {
    /// Make a new book in `folder`, which must not be there or be empty; its first person.
    ///
    /// # Errors
    /// [`BookError::AlreadyThere`], or what stands in the way of writing. Nothing is left then.
    pub async fn create(
        folder: &Path,
        title: &str,
        first: Person,
    ) -> Result<(Self, PersonId), BookError> {
        let fresh = Fresh::make(folder)?;
        let lock = Lock::take(folder)?;
        let recordings = folder.join(RECORDINGS);
        std::fs::create_dir(&recordings)
            .map_err(|error| BookError::file(&recordings, "written", error))?;
        let store = SqliteStore::open(&folder.join(DATABASE), Mode::Create).await?;
        let book = Self::of(folder, store, Some(lock));
        let who = PersonId::new();
        let begun = async {
            let opening = Draft::new(Opening {
                title: title.into(),
                program: PROGRAM.into(),
            });
            book.write(Batch {
                who: None,
                drafts: vec![opening],
                attachments: Vec::new(),
            })
            .await?;
            book.append(who, vec![Draft::about(who, first)]).await
        };
        if let Err(error) = begun.await {
            book.close().await;
            return Err(error);
        }
        fresh.keep();
        Ok((book, who))
    }

    /// Open the book in `folder`.
    ///
    /// # Errors
    /// [`BookError`]: not a book, of a newer form, in use, not writable, damaged.
    pub async fn open(folder: &Path, access: Access) -> Result<Self, BookError> {
        let database = folder.join(DATABASE);
        look_for(&database, folder)?;
        let (lock, mode) = match access {
            Access::Write => (Some(Lock::take(folder)?), Mode::Write),
            Access::Read => {
                nothing_pending(folder)?;
                (None, Mode::Read)
            }
        };
        let store = SqliteStore::open(&database, mode).await?;
        let book = Self::of(folder, store, lock);
        if access == Access::Write {
            book.recover().await?;
        }
        Ok(book)
    }

    /// Open a copy of a book without putting its recordings in order.
    pub(crate) async fn open_as_it_is(folder: &Path) -> Result<Self, BookError> {
        let lock = Lock::take(folder)?;
        let store = SqliteStore::open(&folder.join(DATABASE), Mode::Write).await?;
        Ok(Self::of(folder, store, Some(lock)))
    }

    fn of(folder: &Path, store: SqliteStore, lock: Option<Lock>) -> Self {
        Self {
            folder: folder.into(),
            store: Arc::new(store),
            changes: broadcast::Sender::new(BACKLOG),
            turn: tokio::sync::Mutex::new(()),
            lock,
        }
    }

    /// How its database is opened once more.
    pub(crate) fn mode(&self) -> Mode {
        match self.lock {
            Some(_) => Mode::Write,
            None => Mode::Read,
        }
    }

    /// Its folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The folder of a recording.
    pub fn recording_folder(&self, recording: RecordingId) -> PathBuf {
        self.folder.join(RECORDINGS).join(recording.to_string())
    }

    /// What answers questions. To write, use [`Book::append`], which tells the listeners.
    pub fn store(&self) -> &dyn Store {
        &*self.store
    }

    /// Hear of every record from now on.
    pub fn changes(&self) -> broadcast::Receiver<Change> {
        self.changes.subscribe()
    }

    /// Write `drafts` as `who`: all of them or none.
    ///
    /// # Errors
    /// [`BookError`]; then nothing was written.
    pub async fn append(
        &self,
        who: PersonId,
        drafts: Vec<Draft>,
    ) -> Result<Vec<Record>, BookError> {
        self.write(Batch {
            who: Some(who),
            drafts,
            attachments: Vec::new(),
        })
        .await
    }

    /// Write a batch.
    ///
    /// # Errors
    /// [`BookError`]; then nothing was written.
    pub async fn write(&self, batch: Batch) -> Result<Vec<Record>, BookError> {
        self.write_as_of(batch, None).await
    }

    /// Write a batch as of `when`, where that was before it came into this book; now if none.
    ///
    /// # Errors
    /// [`BookError`]; then nothing was written.
    pub async fn write_as_of(
        &self,
        batch: Batch,
        when: Option<When>,
    ) -> Result<Vec<Record>, BookError> {
        let turn = self.turn.lock().await;
        let when = when.unwrap_or_else(When::now);
        let records = self.store.append(batch, when).await?;
        for record in &records {
            // Without listeners there is nobody to tell.
            let _ = self.changes.send(Change::from(record));
        }
        drop(turn);
        Ok(records)
    }

    /// Close it: what is in the write-ahead log goes into the database.
    pub async fn close(self) {
        self.store.close().await;
    }
}

/// Whether there is a database to open, in words that help when there is none.
pub(crate) fn look_for(database: &Path, folder: &Path) -> Result<(), BookError> {
    let found = match (folder.metadata(), database.metadata()) {
        (_, Ok(file)) if file.is_file() => return Ok(()),
        (Err(error), _) => format!("it cannot be looked at: {error}"),
        (Ok(there), _) if !there.is_dir() => "it is a file".into(),
        (_, Ok(_)) => format!("{DATABASE} is not a file"),
        (_, Err(error)) if error.kind() == std::io::ErrorKind::NotFound => {
            format!("there is no {DATABASE} in it")
        }
        (_, Err(error)) => return Err(BookError::file(database, "read", error)),
    };
    Err(BookError::NotABook {
        path: folder.into(),
        found,
    })
}

/// What a crash left in the write-ahead log cannot be seen where nothing can be written.
pub(crate) fn nothing_pending(folder: &Path) -> Result<(), BookError> {
    let log = folder.join(format!("{DATABASE}-wal"));
    match log.metadata() {
        Ok(found) if found.len() > 0 => Err(BookError::Pending { path: log }),
        _ => Ok(()),
    }
}

/// A folder for a new book; emptied again unless the book came about.
struct Fresh<'a> {
    folder: &'a Path,
    made: bool,
    kept: bool,
}

impl<'a> Fresh<'a> {
    fn make(folder: &'a Path) -> Result<Self, BookError> {
        let written = |error| BookError::file(folder, "written", error);
        let made = match std::fs::read_dir(folder).map(Iterator::count) {
            Ok(0) => false,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                std::fs::create_dir_all(folder).map_err(written)?;
                true
            }
            Err(error) if error.kind() != std::io::ErrorKind::NotADirectory => {
                return Err(BookError::file(folder, "read", error));
            }
            Ok(_) | Err(_) => {
                return Err(BookError::AlreadyThere {
                    path: folder.into(),
                });
            }
        };
        Ok(Self {
            folder,
            made,
            kept: false,
        })
    }

    fn keep(mut self) {
        self.kept = true;
    }
}

impl Drop for Fresh<'_> {
    fn drop(&mut self) {
        if self.kept {
            return;
        }
        // It was empty: everything in it is ours. What cannot be removed is left.
        if let Ok(entries) = std::fs::read_dir(self.folder) {
            for entry in entries.flatten() {
                let path = entry.path();
                let _ = std::fs::remove_file(&path).or_else(|_| std::fs::remove_dir_all(&path));
            }
        }
        if self.made {
            let _ = std::fs::remove_dir(self.folder);
        }
    }
}
