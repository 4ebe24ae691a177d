//! A lab book: a folder, its store, and whoever listens to what is added. A shared book has its chain
//! elsewhere, and the folder holds the copy that this process keeps.

use crate::announcing::Announcing;
use crate::error::BookError;
use crate::ids::{PersonId, RecordId, RecordingId, SubjectId};
use crate::lock::Lock;
use crate::records::{Draft, Kind, Opening, Person, Record};
use crate::shared::{
    Address, Begun, Carrying, Central, Hearing, LocalCopy, Outbox, Row, open_copy,
};
use crate::sqlite::{Mode, SqliteStore};
use crate::store::{Batch, Store};
use crate::when::When;
use serde::Serialize;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::broadcast;
use tokio::task::JoinHandle;

/// This program, as records name it.
pub const PROGRAM: &str = concat!("meltrange ", env!("CARGO_PKG_VERSION"));

/// The database in a book's folder.
pub(crate) const DATABASE: &str = "book.sqlite";

/// The recordings in a book's folder.
pub(crate) const RECORDINGS: &str = "recordings";

/// How a book is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// To read and write; no other process can have it open, unless it is shared.
    Write,
    /// As [`Access::Write`], by a server: of a shared book it has one place on this machine, and goes on
    /// while the database is out of reach.
    Serve,
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

impl Handed {
    /// The records, where they are in the book.
    pub fn recorded(self) -> Option<Vec<Record>> {
        match self {
            Self::Recorded(records) => Some(records),
            Self::Waits => None,
        }
    }
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
    chain: Announcing,
    /// None where it was opened to be read only.
    lock: Option<Lock>,
    /// The other side of a shared book.
    shared: Option<SharedSide>,
}

/// The other side of a shared book.
#[derive(Debug)]
struct SharedSide {
    central: Arc<Central>,
    outbox: Arc<Outbox>,
    begun: Begun,
    carrying: Arc<Carrying>,
    tasks: [JoinHandle<()>; 2],
}

/// How a shared book stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sharing {
    /// Records that its database has and this process has not; none where the database does not answer.
    pub behind: Option<u64>,
    /// Batches that wait here to be recorded.
    pub waiting: usize,
    /// Batches that were refused.
    pub refused: usize,
    /// Recordings whose files are here.
    pub here: usize,
    /// Those of them that the store does not have yet.
    pub to_hand_over: usize,
}

/// What became of records that may wait.
#[derive(Debug, PartialEq)]
pub enum Handed {
    /// They are in the book.
    Recorded(Vec<Record>),
    /// The shared book is out of reach: they wait on this machine's disk and are recorded, in order and
    /// once, when it can be reached again.
    Waits,
}

impl Book {
    /// Make a new book in `folder`, which must not be there or be empty, or at the address of an empty
    /// database; its first person.
    ///
    /// # Errors
    /// [`BookError::AlreadyThere`], or what stands in the way of writing. Nothing is left then.
    pub async fn create(
        folder: &Path,
        title: &str,
        first: Person,
    ) -> Result<(Self, PersonId), BookError> {
        if let Some(address) = Address::of(folder)? {
            Central::prepare_if_needed(&address).await?;
            let book = Self::open_shared(&address, Access::Write).await?;
            if book.store().head().await?.seq > 0 {
                book.close().await;
                return Err(BookError::Central {
                    address: address.shown().to_owned(),
                    found: "there is a lab book in it already".into(),
                });
            }
            let who = book.begin(title, first).await?;
            return Ok((book, who));
        }
        let fresh = Fresh::make(folder)?;
        let lock = Lock::take(folder)?;
        let recordings = folder.join(RECORDINGS);
        std::fs::create_dir(&recordings)
            .map_err(|error| BookError::file(&recordings, "written", error))?;
        let store = SqliteStore::open(&folder.join(DATABASE), Mode::Create).await?;
        let book = Self::of(folder, store, Some(lock));
        match book.begin(title, first).await {
            Ok(who) => {
                fresh.keep();
                Ok((book, who))
            }
            Err(error) => {
                book.close().await;
                Err(error)
            }
        }
    }

    /// The first records: the opening and the first person.
    async fn begin(&self, title: &str, first: Person) -> Result<PersonId, BookError> {
        let who = PersonId::new();
        let opening = Draft::new(Opening {
            title: title.into(),
            program: PROGRAM.into(),
        });
        self.write(Batch {
            who: None,
            drafts: vec![opening],
            attachments: Vec::new(),
        })
        .await?;
        self.append(who, vec![Draft::about(who, first)]).await?;
        Ok(who)
    }

    /// Open the book in `folder`, or the shared one at this address.
    ///
    /// # Errors
    /// [`BookError`]: not a book, of a newer form, in use, not writable, damaged, out of reach.
    pub async fn open(folder: &Path, access: Access) -> Result<Self, BookError> {
        if let Some(address) = Address::of(folder)? {
            let book = Self::open_shared(&address, access).await?;
            book.recover().await?;
            return Ok(book);
        }
        let database = folder.join(DATABASE);
        look_for(&database, folder)?;
        let (lock, mode) = match access {
            Access::Write | Access::Serve => (Some(Lock::take(folder)?), Mode::Write),
            Access::Read => {
                nothing_pending(folder)?;
                (None, Mode::Read)
            }
        };
        let store = SqliteStore::open(&database, mode).await?;
        let book = Self::of(folder, store, lock);
        if access != Access::Read {
            book.recover().await?;
        }
        Ok(book)
    }

    async fn open_shared(address: &Address, access: Access) -> Result<Self, BookError> {
        let LocalCopy {
            folder,
            lock,
            store,
            central,
        } = open_copy(address, access).await?;
        let mut book = Self::of(&folder, store, Some(lock));
        let outbox = Arc::new(Outbox::in_folder(&folder)?);
        let hearing = Hearing {
            chain: book.chain.clone(),
            central: Arc::clone(&central),
            outbox: Arc::clone(&outbox),
        };
        let carrying = Carrying::of(&folder, book.chain.clone(), Arc::clone(&central))?;
        let carrying = Arc::new(carrying);
        book.shared = Some(SharedSide {
            central,
            outbox,
            begun: Begun::in_folder(&folder)?,
            tasks: [
                tokio::spawn(hearing.hear()),
                tokio::spawn(Arc::clone(&carrying).carry()),
            ],
            carrying,
        });
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
            chain: Announcing::of(store),
            lock,
            shared: None,
        }
    }

    /// Where its chain is, without user and passphrase; none for a book in a folder.
    pub fn shared_at(&self) -> Option<&str> {
        self.shared.as_ref().map(|shared| shared.central.shown())
    }

    /// The database of a shared book.
    pub(crate) fn central(&self) -> Option<&Central> {
        self.shared.as_ref().map(|shared| &*shared.central)
    }

    /// The database in its folder.
    pub(crate) fn sqlite(&self) -> &SqliteStore {
        &self.chain.store
    }

    /// Recordings of a shared book that are this machine's to put in order.
    pub(crate) fn begun(&self) -> Option<&Begun> {
        self.shared.as_ref().map(|shared| &shared.begun)
    }

    /// Records after number `seq` as they are stored, at most `limit`.
    pub(crate) async fn rows_after(&self, seq: u64, limit: i64) -> Result<Vec<Row>, BookError> {
        self.chain.store.rows(seq, limit).await
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
        &*self.chain.store
    }

    /// Hear of every record from now on.
    pub fn changes(&self) -> broadcast::Receiver<Change> {
        self.chain.changes.subscribe()
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
        self.chain.write(batch, when).await
    }

    /// Write `drafts` as `who`, all of them or none; those of a shared book that is out of reach wait. For what
    /// a bench does, which goes on all the same.
    ///
    /// # Errors
    /// [`BookError`]; then nothing was written and nothing waits.
    pub async fn append_or_keep(
        &self,
        who: PersonId,
        drafts: Vec<Draft>,
    ) -> Result<Handed, BookError> {
        let Some(shared) = &self.shared else {
            return self.append(who, drafts).await.map(Handed::Recorded);
        };
        let recorded = shared.outbox.record(&self.chain, who, drafts).await?;
        Ok(recorded.map_or(Handed::Waits, Handed::Recorded))
    }

    /// See to it that the files of a recording are here: those of a shared book may have been made on another
    /// machine.
    ///
    /// # Errors
    /// [`BookError::Elsewhere`] where they were not handed over yet; [`BookError`].
    pub async fn bring_here(&self, recording: RecordingId) -> Result<(), BookError> {
        match &self.shared {
            Some(shared) => shared.carrying.bring(recording).await,
            None => Ok(()),
        }
    }

    /// Remove this machine's copy of a recording that the store of a shared book has; it is brought here again when it is
    /// looked at. Whether there was one to remove.
    ///
    /// # Errors
    /// [`BookError`] when it cannot be removed.
    pub async fn let_go(&self, recording: RecordingId) -> Result<bool, BookError> {
        match &self.shared {
            Some(shared) => shared.carrying.let_go(recording).await,
            None => Ok(false),
        }
    }

    /// How a shared book stands; none for one in a folder.
    pub async fn sharing(&self) -> Option<Sharing> {
        let shared = self.shared.as_ref()?;
        let here = self.chain.store.head().await.map_or(0, |head| head.seq);
        let there = shared
            .central
            .within(async {
                let mut connection = shared.central.connection().await?;
                shared.central.last_seq(&mut connection).await
            })
            .await;
        let (files, to_hand_over) = shared.carrying.counts().await;
        Some(Sharing {
            behind: there.ok().map(|there| there.saturating_sub(here)),
            waiting: shared.outbox.waiting().unwrap_or_default(),
            refused: shared.outbox.refused(),
            here: files,
            to_hand_over,
        })
    }

    /// Remove this machine's copies of recordings that the store of a shared book has and that nobody has opened for this
    /// long; how many.
    ///
    /// # Errors
    /// [`BookError`] when one cannot be removed.
    pub async fn let_go_unopened(&self, unopened: Duration) -> Result<u64, BookError> {
        match &self.shared {
            Some(shared) => shared.carrying.let_go_unopened(unopened).await,
            None => Ok(0),
        }
    }

    /// How many batches wait on this machine to be recorded in a shared book.
    ///
    /// # Errors
    /// [`BookError`] when the folder cannot be read.
    pub fn waiting(&self) -> Result<usize, BookError> {
        self.shared
            .as_ref()
            .map_or(Ok(0), |shared| shared.outbox.waiting())
    }

    /// Close it: what is in the write-ahead log goes into the database.
    pub async fn close(self) {
        if let Some(shared) = &self.shared {
            for task in &shared.tasks {
                task.abort();
            }
            // What is out of reach now is handed over when this folder is opened again.
            let _ = shared.carrying.hand_over().await;
            shared.central.close().await;
        }
        self.chain.store.close().await;
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
pub(crate) struct Fresh<'a> {
    folder: &'a Path,
    made: bool,
    kept: bool,
}

impl<'a> Fresh<'a> {
    pub fn make(folder: &'a Path) -> Result<Self, BookError> {
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

    pub fn keep(mut self) {
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
