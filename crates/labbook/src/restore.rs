//! A book made again from its records and files: same texts, same hashes, same end of the chain.

use crate::book::{DATABASE, RECORDINGS};
use crate::chain::{ContentError, Head};
use crate::digest::{Digest, Running};
use crate::error::BookError;
use crate::export::{RecordLine, attachment_of};
use crate::ids::RecordingId;
use crate::lock::Lock;
use crate::recording::{FRAMES, FrameLine, INDEX, LOG, MANIFEST, STAGED};
use crate::records::{Entry, Record, Recording};
use crate::sqlite::{Mode, insert, migrate, options, project};
use sqlx::ConnectOptions as _;
use sqlx::sqlite::SqliteConnection;
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{self, BufWriter, Read, Write as _};
use std::path::{Path, PathBuf};

/// The first line of an index of pictures.
const INDEX_HEADER: &str = "time_s,offset,bytes,sha256\n";

/// Bytes copied at a time.
const PIECE: usize = 256 * 1024;

/// Why a book could not be made again.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RestoreError {
    /// A text that is not that of a record.
    #[error("{0}")]
    Content(#[source] ContentError),
    /// A record that does not follow.
    #[error("is record {found}; expected record {expected}")]
    Number {
        /// Its number.
        found: u64,
        /// The number that follows.
        expected: u64,
    },
    /// A record that does not name the one before.
    #[error("record {seq} names {found} as the hash of the record before; expected {expected}")]
    Link {
        /// Its number.
        seq: u64,
        /// What it names.
        found: String,
        /// The hash of the record before.
        expected: String,
    },
    /// The book could not be written.
    #[error(transparent)]
    Book(#[from] BookError),
}

/// A book under way. What it comes to is decided by its maker: dropped, the folder holds a part.
#[derive(Debug)]
pub struct Restoring {
    folder: PathBuf,
    path: PathBuf,
    connection: SqliteConnection,
    head: Head,
    recordings: BTreeMap<RecordingId, Recording>,
    wanted: BTreeSet<Digest>,
    _lock: Lock,
}

impl Restoring {
    /// Begin in `folder`, which is empty.
    ///
    /// # Errors
    /// [`BookError`]: what stands in the way of writing.
    pub async fn begin(folder: &Path) -> Result<Self, BookError> {
        let lock = Lock::take(folder)?;
        let recordings = folder.join(RECORDINGS);
        fs::create_dir(&recordings)
            .map_err(|error| BookError::file(&recordings, "written", error))?;
        let path = folder.join(DATABASE);
        let failed = |source| BookError::database(&path, source);
        let mut connection = options(&path, Mode::Create)
            .connect()
            .await
            .map_err(failed)?;
        migrate(&mut connection, &path, Mode::Create).await?;
        sqlx::query("BEGIN IMMEDIATE")
            .execute(&mut connection)
            .await
            .map_err(failed)?;
        Ok(Self {
            folder: folder.into(),
            connection,
            head: Head::default(),
            recordings: BTreeMap::new(),
            wanted: BTreeSet::new(),
            _lock: lock,
            path,
        })
    }

    /// Add the next record, checked against its hash and the record before, and bring the tables up
    /// to it as when it was first written.
    ///
    /// # Errors
    /// [`RestoreError`]: it is not the text that was written, it does not follow, or the disk.
    pub async fn record(&mut self, line: &RecordLine) -> Result<Record, RestoreError> {
        let record = line.record().map_err(RestoreError::Content)?;
        if record.seq != self.head.seq + 1 {
            return Err(RestoreError::Number {
                found: record.seq,
                expected: self.head.seq + 1,
            });
        }
        if record.previous != self.head.hash {
            let words = |hash: Option<Digest>| match hash {
                Some(hash) => hash.to_string(),
                None => "none".to_owned(),
            };
            return Err(RestoreError::Link {
                seq: record.seq,
                found: words(record.previous),
                expected: words(self.head.hash),
            });
        }
        let failed = |source| BookError::database(&self.path, source);
        insert(&mut self.connection, &record, &line.content)
            .await
            .map_err(failed)?;
        project(&mut self.connection, &record)
            .await
            .map_err(failed)?;
        self.head = Head {
            seq: record.seq,
            hash: Some(record.hash),
        };
        self.wanted.extend(attachment_of(&record.entry));
        if let Entry::Recording(recording) = &record.entry {
            self.recordings
                .insert(record.subject.into(), recording.clone());
        }
        Ok(record)
    }

    /// Keep `bytes` if a record refers to them and they are not kept yet; whether one does.
    ///
    /// # Errors
    /// [`BookError`] when they cannot be written.
    pub async fn attachment(&mut self, bytes: &[u8]) -> Result<bool, BookError> {
        let digest = Digest::of(bytes);
        if !self.wanted.remove(&digest) {
            return Ok(false);
        }
        sqlx::query("INSERT INTO attachment (sha256, bytes) VALUES (?, ?)")
            .bind(digest.to_string())
            .bind(bytes)
            .execute(&mut self.connection)
            .await
            .map_err(|source| BookError::database(&self.path, source))?;
        Ok(true)
    }

    /// Attachments that records refer to and that were not given yet.
    pub fn missing_attachments(&self) -> impl Iterator<Item = Digest> + '_ {
        self.wanted.iter().copied()
    }

    /// The recordings that the records speak of, each as it is said last.
    pub fn recordings(&self) -> &BTreeMap<RecordingId, Recording> {
        &self.recordings
    }

    /// Begin the folder of a recording.
    ///
    /// # Errors
    /// [`BookError`] when it cannot be made.
    pub fn recording(&self, id: RecordingId) -> Result<RestoredRecording, BookError> {
        RestoredRecording::begin(self.folder.join(RECORDINGS).join(id.to_string()))
    }

    /// Make everything durable; where the chain ends.
    ///
    /// # Errors
    /// [`BookError`] when the disk does not take it.
    pub async fn end(mut self) -> Result<Head, BookError> {
        let failed = |source| BookError::database(&self.path, source);
        sqlx::query("COMMIT")
            .execute(&mut self.connection)
            .await
            .map_err(failed)?;
        sqlx::Connection::close(self.connection)
            .await
            .map_err(failed)?;
        Ok(self.head)
    }
}

/// The folder of a recording, made again. Whether its digests hold is for a verification to say, or
/// for its maker, who is told them.
#[derive(Debug)]
pub struct RestoredRecording {
    folder: PathBuf,
    frames: Option<(BufWriter<File>, Running)>,
    index: String,
    end: u64,
}

impl RestoredRecording {
    fn begin(folder: PathBuf) -> Result<Self, BookError> {
        fs::create_dir(&folder).map_err(|error| BookError::file(&folder, "written", error))?;
        Ok(Self {
            folder,
            frames: None,
            index: INDEX_HEADER.into(),
            end: 0,
        })
    }

    /// Beside the recordings of the book in `book`; the next opening puts it in its place if it is
    /// recorded then, else it goes.
    ///
    /// # Errors
    /// [`BookError`] when it cannot be made.
    pub fn beside(book: &crate::Book, id: RecordingId) -> Result<Self, BookError> {
        Self::begin(book.folder().join(RECORDINGS).join(format!("{STAGED}{id}")))
    }

    /// Put one made beside into its place.
    ///
    /// # Errors
    /// [`BookError`] when it cannot be renamed.
    pub fn put(book: &crate::Book, id: RecordingId) -> Result<(), BookError> {
        let beside = book.folder().join(RECORDINGS).join(format!("{STAGED}{id}"));
        let place = book.recording_folder(id);
        fs::rename(&beside, &place).map_err(|error| BookError::file(&place, "written", error))
    }

    /// Remove one made beside.
    pub fn drop_beside(book: &crate::Book, id: RecordingId) {
        let beside = book.folder().join(RECORDINGS).join(format!("{STAGED}{id}"));
        // What cannot be removed goes when the book is opened again.
        let _ = fs::remove_dir_all(beside);
    }

    /// The name of a recording's log.
    pub const LOG: &str = LOG;
    /// The name of a recording's manifest.
    pub const MANIFEST: &str = MANIFEST;
    /// The name of a recording's packed pictures.
    pub const FRAMES: &str = FRAMES;
    /// The name of the index of these.
    pub const INDEX: &str = INDEX;

    /// Write the file `name`; its digest and how many bytes.
    ///
    /// # Errors
    /// [`BookError`]; also when `from` cannot be read.
    pub fn file(&self, name: &str, mut from: impl Read) -> Result<(Digest, u64), BookError> {
        let path = self.folder.join(name);
        let written = |error| BookError::file(&path, "written", error);
        let mut to = File::create_new(&path).map_err(written)?;
        let mut running = Running::default();
        let mut piece = vec![0; PIECE];
        loop {
            let len = match from.read(&mut piece) {
                Ok(0) => break,
                Ok(len) => len,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(BookError::file(&path, "read", error)),
            };
            let piece = piece.get(..len).unwrap_or_default();
            running.add(piece);
            to.write_all(piece).map_err(written)?;
        }
        to.sync_all().map_err(written)?;
        Ok(running.end())
    }

    /// Add the next picture; its digest. `time_s` is on the pictures' own clock.
    ///
    /// # Errors
    /// [`BookError`] when it cannot be written.
    pub fn picture(&mut self, time_s: f64, picture: &[u8]) -> Result<Digest, BookError> {
        self.begin_pictures()?;
        let path = self.folder.join(FRAMES);
        if let Some((out, running)) = &mut self.frames {
            out.write_all(picture)
                .map_err(|error| BookError::file(&path, "written", error))?;
            running.add(picture);
        }
        let line = FrameLine {
            time_s,
            offset: self.end,
            bytes: picture.len() as u64,
            sha256: Digest::of(picture),
        };
        line.write(&mut self.index);
        self.end = line.end();
        Ok(line.sha256)
    }

    /// Begin the packed pictures, also when none will come.
    ///
    /// # Errors
    /// [`BookError`] when the file cannot be made.
    pub fn begin_pictures(&mut self) -> Result<(), BookError> {
        if self.frames.is_none() {
            let path = self.folder.join(FRAMES);
            let file = File::create_new(&path)
                .map_err(|error| BookError::file(&path, "written", error))?;
            self.frames = Some((BufWriter::with_capacity(1 << 20, file), Running::default()));
        }
        Ok(())
    }

    /// End the pictures: their file and its index, each with digest and length; none where no pictures
    /// were begun.
    ///
    /// # Errors
    /// [`BookError`] when they cannot be written.
    pub fn end_pictures(&mut self) -> Result<Option<[(Digest, u64); 2]>, BookError> {
        let Some((out, running)) = self.frames.take() else {
            return Ok(None);
        };
        let path = self.folder.join(FRAMES);
        out.into_inner()
            .map_err(io::IntoInnerError::into_error)
            .and_then(|file| file.sync_all())
            .map_err(|error| BookError::file(&path, "written", error))?;
        let index = self.file(INDEX, self.index.as_bytes())?;
        Ok(Some([running.end(), index]))
    }
}

impl crate::Book {
    /// A copy of the records in `folder`, new or empty, without recordings: to try on it what the book would
    /// take.
    ///
    /// # Errors
    /// [`BookError`] when it cannot be written.
    pub async fn copy_records(&self, folder: &Path) -> Result<Self, BookError> {
        let path = self.folder().join(DATABASE);
        let copy = folder.join(DATABASE);
        let recordings = folder.join(RECORDINGS);
        fs::create_dir_all(&recordings)
            .map_err(|error| BookError::file(&recordings, "written", error))?;
        let failed = |source| BookError::database(&path, source);
        let mut connection = options(&path, Mode::Write)
            .connect()
            .await
            .map_err(failed)?;
        sqlx::query("VACUUM INTO ?")
            .bind(copy.to_string_lossy().into_owned())
            .execute(&mut connection)
            .await
            .map_err(failed)?;
        sqlx::Connection::close(connection).await.map_err(failed)?;
        Self::open_as_it_is(folder).await
    }
}
