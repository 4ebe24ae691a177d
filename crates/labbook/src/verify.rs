//! Whether anything in a book was altered.
//!
//! Works on books that are damaged: what cannot be read is a finding, and the rest is looked at all the
//! same. `docs/models/labbook.md` says what is found by what.

mod database;
mod recordings;

use crate::book::{Book, DATABASE, look_for, nothing_pending};
use crate::chain::Head;
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::RecordingId;
use crate::lock::Lock;
use crate::records::{Kind, Recording};
use crate::shared::{Address, verify_shared};
use crate::sqlite::{Mode, options};
use serde::Serialize;
use sqlx::ConnectOptions as _;
use sqlx::sqlite::SqliteConnectOptions;
use std::collections::BTreeSet;
use std::fmt;
use std::path::Path;

/// Where something was found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "at", rename_all = "snake_case")]
pub enum Place {
    /// The database as a whole.
    Database,
    /// One record.
    Record {
        /// Its number.
        seq: u64,
        /// Its kind, as far as it can be told.
        kind: Option<Kind>,
    },
    /// Bytes attached to a record.
    Attachment {
        /// By the digest they should have.
        sha256: String,
    },
    /// A table of the present state, or its rules.
    State {
        /// Its name.
        table: String,
    },
    /// A file of a recording.
    Recording {
        /// Which recording.
        recording: RecordingId,
        /// Which file, or none for the folder.
        file: Option<String>,
    },
    /// Something in the folder that no record speaks of.
    Folder {
        /// Its name.
        name: String,
    },
}

/// Something that is not as it was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// Where.
    #[serde(flatten)]
    pub place: Place,
    /// What was found and what was expected.
    pub what: String,
}

impl fmt::Display for Finding {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.place {
            Place::Database => write!(formatter, "{DATABASE}: ")?,
            Place::Record {
                seq,
                kind: Some(kind),
            } => write!(formatter, "record {seq} ({}): ", kind.name())?,
            Place::Record { seq, kind: None } => write!(formatter, "record {seq}: ")?,
            Place::Attachment { sha256 } => write!(formatter, "attachment {sha256}: ")?,
            Place::State { table } => write!(formatter, "{DATABASE}, table {table}: ")?,
            Place::Recording {
                recording,
                file: Some(file),
            } => write!(formatter, "recordings/{recording}/{file}: ")?,
            Place::Recording {
                recording,
                file: None,
            } => write!(formatter, "recordings/{recording}: ")?,
            Place::Folder { name } => write!(formatter, "{name}: ")?,
        }
        formatter.write_str(&self.what)
    }
}

/// What a verification looked at and found.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Verdict {
    /// Records looked at.
    pub records: u64,
    /// Attachments looked at.
    pub attachments: u64,
    /// Recordings looked at.
    pub recordings: u64,
    /// Bytes of recordings looked at.
    pub recording_bytes: u64,
    /// Where the chain ends. Whoever notes it down can tell later whether records were taken away.
    pub head: Head,
    /// What is not as it was written: the first bad record first.
    pub findings: Vec<Finding>,
}

impl Verdict {
    /// Whether nothing was found.
    pub fn sound(&self) -> bool {
        self.findings.is_empty()
    }
}

/// What is gathered on the way.
#[derive(Debug, Default)]
struct Findings(Vec<Finding>);

/// Findings beyond these say nothing new.
const MOST_FINDINGS: usize = 1000;

impl Findings {
    fn add(&mut self, place: Place, what: impl Into<String>) {
        if self.0.len() < MOST_FINDINGS {
            self.0.push(Finding {
                place,
                what: what.into(),
            });
        }
    }
}

/// Look at every record, its link, every attachment, the tables made from the records and every
/// recording's files. `noted` is the end of the chain as somebody noted it earlier; it must still be in it.
/// `progress` hears how many bytes of recordings were looked at.
///
/// # Errors
/// [`BookError`] only when there is nothing to look at: not a book, of a newer form, in use.
pub async fn verify(
    folder: &Path,
    noted: Option<Digest>,
    progress: &mut (dyn FnMut(u64) + Send),
) -> Result<Verdict, BookError> {
    if let Some(address) = Address::of(folder)? {
        return verify_shared(&address, noted, progress).await;
    }
    verify_folder(folder, noted, progress).await
}

/// The same for a book in a folder.
pub(crate) async fn verify_folder(
    folder: &Path,
    noted: Option<Digest>,
    progress: &mut (dyn FnMut(u64) + Send),
) -> Result<Verdict, BookError> {
    let path = folder.join(DATABASE);
    look_for(&path, folder)?;
    // Where nothing can be written nothing else writes either.
    let (_lock, mode) = match Lock::take(folder) {
        Ok(lock) => (Some(lock), Mode::Write),
        Err(BookError::ReadOnly { .. }) => {
            nothing_pending(folder)?;
            (None, Mode::Read)
        }
        Err(other) => return Err(other),
    };
    let mut findings = Findings::default();
    let mut seen = database::Seen::default();
    match options(&path, mode).connect().await {
        Err(source) => findings.add(
            Place::Database,
            format!("cannot be opened ({})", words(&source)),
        ),
        Ok(mut connection) => {
            database::look(&mut connection, &path, &mut findings, &mut seen).await?;
            // What is left to say was said; a damaged file may fail to close cleanly.
            let _ = sqlx::Connection::close(connection).await;
        }
    }
    if let Some(noted) = noted
        && !seen.hashes.contains(&noted)
    {
        findings.add(
            Place::Database,
            format!("the chain does not hold the hash {noted} that was noted earlier"),
        );
    }
    let recording_bytes = recordings::look(folder, &seen, None, &mut findings, progress)?;
    Ok(Verdict {
        records: seen.records,
        attachments: seen.attachments,
        recordings: seen.recordings.len() as u64,
        recording_bytes,
        head: seen.head,
        findings: findings.0,
    })
}

/// Look at the files of one recording in the folder of a book; how many bytes, and what was found.
pub(crate) fn look_at_recordings(
    folder: &Path,
    id: RecordingId,
    recording: &Recording,
    progress: &mut (dyn FnMut(u64) + Send),
) -> Result<(u64, Vec<Finding>), BookError> {
    let mut findings = Findings::default();
    let mut seen = database::Seen::default();
    seen.recordings.insert(id, recording.clone());
    let only = BTreeSet::from([id]);
    let bytes = recordings::look(folder, &seen, Some(&only), &mut findings, progress)?;
    Ok((bytes, findings.0))
}

impl Book {
    /// Look at every record and its link, every attachment and the tables made from the records, and at the
    /// files of these recordings only, while the book is open: what a report of a few samples rests on. What is
    /// written meanwhile is not seen.
    ///
    /// # Errors
    /// [`BookError`] only where there is nothing to look at.
    pub async fn verify_with(&self, only: BTreeSet<RecordingId>) -> Result<Verdict, BookError> {
        for &recording in &only {
            // Where they are not, that is found.
            let _ = self.bring_here(recording).await;
        }
        let folder = self.folder().to_owned();
        let connection = match self.mode() {
            Mode::Read => options(&folder.join(DATABASE), Mode::Read),
            Mode::Write | Mode::Create => {
                options(&folder.join(DATABASE), Mode::Write).read_only(true)
            }
        };
        // Most of it is reckoning: not where others wait for answers.
        let here = tokio::runtime::Handle::current();
        let looked = tokio::task::spawn_blocking(move || {
            here.block_on(look_with(&folder, &connection, &only))
        });
        looked.await.unwrap_or_else(|error| {
            Err(BookError::Damaged {
                path: self.folder().into(),
                found: format!("verification did not end ({error})"),
            })
        })
    }
}

async fn look_with(
    folder: &Path,
    connection: &SqliteConnectOptions,
    only: &BTreeSet<RecordingId>,
) -> Result<Verdict, BookError> {
    let path = folder.join(DATABASE);
    let mut findings = Findings::default();
    let mut seen = database::Seen::default();
    match connection.connect().await {
        Err(source) => findings.add(
            Place::Database,
            format!("cannot be opened ({})", words(&source)),
        ),
        Ok(mut connection) => {
            // One view of the book, whatever is written meanwhile.
            if let Err(source) = sqlx::query("BEGIN").execute(&mut connection).await {
                findings.add(Place::Database, words(&source));
            }
            database::look(&mut connection, &path, &mut findings, &mut seen).await?;
            let _ = sqlx::Connection::close(connection).await;
        }
    }
    let recording_bytes = recordings::look(folder, &seen, Some(only), &mut findings, &mut |_| ())?;
    Ok(Verdict {
        records: seen.records,
        attachments: seen.attachments,
        recordings: only.len() as u64,
        recording_bytes,
        head: seen.head,
        findings: findings.0,
    })
}

fn words(error: &sqlx::Error) -> String {
    match error {
        sqlx::Error::Database(error) => error.message().to_owned(),
        other => other.to_string(),
    }
}
