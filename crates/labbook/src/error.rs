//! Why a lab book could not be used.

use crate::chain::ContentError;
use crate::ids::RecordId;
use std::path::{Path, PathBuf};

/// Why a lab book could not be used. Each message says what was found, where, and what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BookError {
    /// A field that cannot be kept.
    #[error("{field} is {found}; expected {expected}")]
    Field {
        /// Which, e.g. `sample.label`.
        field: &'static str,
        /// What was given, shortened.
        found: String,
        /// What would be kept.
        expected: &'static str,
    },
    /// A name that is taken.
    #[error("{field} \"{found}\" is taken; every {field} of a book is different")]
    Taken {
        /// Which, e.g. `sample.label`.
        field: &'static str,
        /// As given.
        found: String,
    },
    /// Nothing bears this id or name.
    #[error("there is no {what} {name} in this book")]
    Unknown {
        /// Of what kind.
        what: &'static str,
        /// Its id or name.
        name: String,
    },
    /// Somebody else changed it in the meantime.
    #[error(
        "this {what} was changed in the meantime (record {named} is no longer its latest); look at it again"
    )]
    Stale {
        /// Of what kind.
        what: &'static str,
        /// The record that was to be superseded.
        named: RecordId,
    },
    /// A change that must be explained.
    #[error("{what} needs a reason; say why")]
    ReasonMissing {
        /// What was to be recorded.
        what: &'static str,
    },
    /// Not a lab book.
    #[error(
        "{path} is not a lab book ({found}); expected a folder with book.sqlite, as \"meltrange book new\" makes it"
    )]
    NotABook {
        /// As named.
        path: PathBuf,
        /// What is there.
        found: String,
    },
    /// There is something already.
    #[error("{path} is already there and not an empty folder; name a new folder for the lab book")]
    AlreadyThere {
        /// As named.
        path: PathBuf,
    },
    /// Written by a newer program.
    #[error(
        "{path} was written by a newer version of the program (its form is {found}; this program knows up to {known}); open it with that version. Nothing was changed"
    )]
    Newer {
        /// The book.
        path: PathBuf,
        /// Form found.
        found: i64,
        /// Newest form known.
        known: i64,
    },
    /// Another process has it open.
    #[error(
        "{path} is open in another process{holder}; close that one first, or work through its pages"
    )]
    InUse {
        /// The book.
        path: PathBuf,
        /// What is known of the holder, e.g. " (number 4711)".
        holder: String,
    },
    /// It may not be written.
    #[error(
        "{path} may not be written here (read-only folder or missing permission); copy the book to a place of your own, or ask for permission"
    )]
    ReadOnly {
        /// File or folder.
        path: PathBuf,
    },
    /// Changes beside the database that only an opening in a writable folder brings in.
    #[error(
        "{path} holds changes that are not in the database yet, and nothing can be written here; copy the whole book to a place of your own and open it there"
    )]
    Pending {
        /// The write-ahead log.
        path: PathBuf,
    },
    /// No room.
    #[error(
        "there is no room left on the disk of {path}; nothing was recorded: make room and try again"
    )]
    DiskFull {
        /// File or folder.
        path: PathBuf,
    },
    /// The disk takes nothing and there is no room left in memory.
    #[error(
        "{lost} is lost (pictures lost so far: {lost_pictures}): {found}, and {waits} in memory already; make room on the disk of {path}"
    )]
    MemoryFull {
        /// The recording's folder.
        path: PathBuf,
        /// What could not be kept, e.g. "the picture at 12.5 s".
        lost: String,
        /// Pictures of this recording lost so far.
        lost_pictures: u64,
        /// How much waits, in words.
        waits: String,
        /// What the disk said.
        found: String,
    },
    /// The disk did not take the end of a recording.
    #[error(
        "{path}: the disk did not take the last {pictures} pictures and {temperatures} temperatures within {waited_s} s, and they are lost; what it took before is kept: close the book and open it again when the disk is well"
    )]
    EndLost {
        /// The recording's folder.
        path: PathBuf,
        /// How long it was tried [s].
        waited_s: u64,
        /// Pictures lost.
        pictures: u64,
        /// Temperatures lost.
        temperatures: u64,
        /// What the disk said last.
        #[source]
        source: Box<BookError>,
    },
    /// A record that was altered.
    #[error(
        "{path}: record {seq} was altered: {source}; \"meltrange book verify\" lists all that was"
    )]
    Altered {
        /// The book.
        path: PathBuf,
        /// Its number.
        seq: u64,
        /// What is wrong.
        #[source]
        source: ContentError,
    },
    /// A damaged file.
    #[error(
        "{path} is damaged: {found}; restore it from a copy (\"meltrange book verify\" says what is left)"
    )]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What was found.
        found: String,
    },
    /// A number that is not finite, or a text that is not JSON.
    #[error("the record could not be put into words")]
    Json(#[from] serde_json::Error),
    /// The database failed.
    #[error("{path}: the database failed")]
    Database {
        /// The database.
        path: PathBuf,
        /// What it said.
        #[source]
        source: sqlx::Error,
    },
    /// An address of a shared book that cannot be understood.
    #[error(
        "{shown} is not the address of a shared book ({found}); expected postgres://USER@HOST:PORT/DATABASE"
    )]
    Address {
        /// As given, without what stands before the host.
        shown: String,
        /// What is wrong with it.
        found: String,
    },
    /// The central database does not answer.
    #[error(
        "the shared book at {address} cannot be reached ({source}); nothing was recorded: try again, or ask whoever runs the database"
    )]
    OutOfReach {
        /// Without user and passphrase.
        address: String,
        /// What was said.
        #[source]
        source: sqlx::Error,
    },
    /// The answer was lost: what was to be recorded may have been.
    #[error(
        "the shared book at {address} did not answer in time ({source}); whether it was recorded is not known: look before you record it again"
    )]
    Unanswered {
        /// Without user and passphrase.
        address: String,
        /// What was said.
        #[source]
        source: sqlx::Error,
    },
    /// The central database does not allow it.
    #[error("the shared book at {address} refused this: {found}; nothing was recorded")]
    Central {
        /// Without user and passphrase.
        address: String,
        /// What the database said.
        found: String,
    },
    /// No shared book, or one of a form that this program does not know.
    #[error(
        "the database at {address} cannot be used as a lab book: {found}; \"meltrange book new\" makes one, \"meltrange book prepare\" brings one to this program's form (both as its owner)"
    )]
    CentralForm {
        /// Without user and passphrase.
        address: String,
        /// What was found.
        found: String,
    },
    /// An address of a store for recordings that cannot be understood.
    #[error(
        "{shown} is no address for recordings ({found}); expected s3://BUCKET/FOLDER, or file:///FOLDER for a folder that every machine sees"
    )]
    DepotAddress {
        /// As given.
        shown: String,
        /// What is wrong with it.
        found: String,
    },
    /// The store of recordings failed.
    #[error(
        "the store of recordings at {address} failed ({source}); what was recorded is kept on the machine that recorded it and handed over later"
    )]
    Depot {
        /// Its address.
        address: String,
        /// What it said.
        #[source]
        source: object_store::Error,
    },
    /// Something that only shared books have.
    #[error(
        "{path} is a lab book in a folder; many recordings are read again in a shared book: \"meltrange book copy\" makes one of it, \"meltrange read BOOK ID\" reads a single recording again"
    )]
    NotShared {
        /// The book.
        path: PathBuf,
    },
    /// The files of a recording are on another machine.
    #[error(
        "the pictures of recording {recording} are not here yet: they are on the machine that recorded them until it has handed them over"
    )]
    Elsewhere {
        /// Which.
        recording: String,
    },
    /// A file failed.
    #[error("{path} could not be {doing}")]
    File {
        /// Which.
        path: PathBuf,
        /// "read", "written".
        doing: &'static str,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// Pictures could not be had.
    #[error(transparent)]
    Media(#[from] meltrange_media::MediaError),
    /// A temperature log could not be used.
    #[error(transparent)]
    Log(#[from] meltrange_media::LogError),
    /// A picture that cannot be kept.
    #[error("picture {frame}: {found}; expected {expected}")]
    Picture {
        /// From 1.
        frame: u64,
        /// What was given.
        found: String,
        /// What would be kept.
        expected: &'static str,
    },
    /// A time that does not follow.
    #[error("{what} {number} is at {found_s} s, not after {before_s} s; expected rising times")]
    NotRising {
        /// "picture" or "temperature".
        what: &'static str,
        /// From 1.
        number: u64,
        /// Its time [s].
        found_s: f64,
        /// The time before it [s].
        before_s: f64,
    },
    /// No such picture.
    #[error("recording {recording} has no picture {frame}; it has {frames}")]
    NoPicture {
        /// Which recording.
        recording: String,
        /// From 1.
        frame: u64,
        /// How many there are.
        frames: u64,
    },
    /// A background task was lost.
    #[error("a task of the lab book ended early ({found}); try again")]
    Task {
        /// What is known.
        found: String,
    },
}

impl BookError {
    /// A failed file operation in the words that fit it.
    pub fn file(path: &Path, doing: &'static str, source: std::io::Error) -> Self {
        use std::io::ErrorKind;
        let path = path.to_path_buf();
        match source.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => Self::DiskFull { path },
            ErrorKind::ReadOnlyFilesystem => Self::ReadOnly { path },
            ErrorKind::PermissionDenied if doing == "written" => Self::ReadOnly { path },
            _ => Self::File {
                path,
                doing,
                source,
            },
        }
    }

    /// What the disk said, for a sentence that goes on with what was done about it.
    pub(crate) fn in_short(&self) -> String {
        match self {
            Self::DiskFull { path } => {
                format!("there is no room left on the disk of {}", path.display())
            }
            Self::ReadOnly { path } => format!("{} may not be written", path.display()),
            Self::File {
                path,
                doing,
                source,
            } => format!("{} could not be {doing} ({source})", path.display()),
            other => other.to_string(),
        }
    }

    /// A failed operation of the central database in the words that fit it.
    pub(crate) fn central(address: &str, source: sqlx::Error) -> Self {
        let address = address.to_owned();
        match source {
            // Class 57: the database stops, or was told to end this; all others are about what was asked.
            sqlx::Error::Database(error)
                if !error.code().is_some_and(|code| code.starts_with("57")) =>
            {
                Self::Central {
                    address,
                    found: error.message().to_owned(),
                }
            }
            source => Self::OutOfReach { address, source },
        }
    }

    /// Whether the book may be reached later: nothing is wrong with what was asked.
    pub fn is_out_of_reach(&self) -> bool {
        matches!(self, Self::OutOfReach { .. } | Self::Unanswered { .. })
    }

    /// A failed database operation in the words that fit it.
    pub fn database(path: &Path, source: sqlx::Error) -> Self {
        // Primary result codes: the low eight bits (sqlite.org/rescode.html).
        let code = match &source {
            sqlx::Error::Database(error) => error
                .code()
                .and_then(|code| code.parse::<i64>().ok())
                .map(|code| code & 0xFF),
            _ => None,
        };
        let path = path.to_path_buf();
        match code {
            Some(8) => Self::ReadOnly { path },
            Some(13) => Self::DiskFull { path },
            Some(11 | 26) => Self::Damaged {
                path,
                found: source.to_string(),
            },
            _ => Self::Database { path, source },
        }
    }
}
