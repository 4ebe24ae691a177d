//! Why an archive could not be written or used.

use meltrange_labbook::{BookError, RestoreError};
use std::io;
use std::path::{Path, PathBuf};

/// Why an archive could not be written or used. Each message says what was found, where, and what was
/// expected.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ArchiveError {
    /// There is something already.
    #[error("{path} is already there; name a new file or folder for the archive")]
    AlreadyThere {
        /// As named.
        path: PathBuf,
    },
    /// The book could not be read or written.
    #[error(transparent)]
    Book(#[from] BookError),
    /// No room.
    #[error(
        "there is no room left on the disk of {path}; nothing was left there: make room, or name a place on another disk"
    )]
    DiskFull {
        /// What was being written.
        path: PathBuf,
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
        source: io::Error,
    },
    /// A record that an archive may not bring.
    #[error(
        "line {line} of records.jsonl, a {kind}, {found}; expected records of a sample by people of the other book. Nothing was taken in"
    )]
    Presumed {
        /// Its line.
        line: u64,
        /// Its kind.
        kind: &'static str,
        /// What it presumes.
        found: String,
    },
    /// Neither a folder nor a zip file.
    #[error(
        "{path} is not an archive ({found}); expected a folder or a zip file as \"meltrange book export\" or \"meltrange sample export\" writes it"
    )]
    NotAnArchive {
        /// As named.
        path: PathBuf,
        /// What is there.
        found: String,
    },
    /// A zip file that would harm.
    #[error("{path} was refused: {found}; expected {expected}")]
    Refused {
        /// The zip file.
        path: PathBuf,
        /// What is wrong with it.
        found: String,
        /// What is taken.
        expected: &'static str,
    },
    /// The archive is not as it was written.
    #[error("{file}{}: {found}; expected {expected}. Nothing was made of this archive: take an unaltered copy", at(*.line))]
    Altered {
        /// Which file in the archive.
        file: String,
        /// Its line, from 1, where one is to blame.
        line: Option<u64>,
        /// What was found.
        found: String,
        /// What was expected.
        expected: String,
    },
    /// Parts were missing when the archive was made.
    #[error(
        "this archive says that recording {recording} was not whole when it was made ({found}); a book with every digest cannot be made of it. Its files can be looked at as they are"
    )]
    Incomplete {
        /// Which recording.
        recording: String,
        /// What it says.
        found: String,
    },
    /// The archive of something else.
    #[error("{path} is the archive of a {found}; expected that of a {expected}")]
    OtherKind {
        /// As named.
        path: PathBuf,
        /// "lab book", "sample".
        found: &'static str,
        /// Likewise.
        expected: &'static str,
    },
    /// Written by a newer program.
    #[error(
        "{path} has the form {found}; this program knows {known}: use the version that wrote it"
    )]
    Newer {
        /// As named.
        path: PathBuf,
        /// Form found.
        found: u32,
        /// Form known.
        known: u32,
    },
    /// The book that was made is not sound.
    #[error("the book made of this archive is not sound ({found}); nothing was left of it")]
    NotSound {
        /// The first finding.
        found: String,
    },
    /// The book holds the same thing with another text.
    #[error(
        "record {record} ({kind}) is in this book already with another {field}; the two histories cannot be joined, and nothing was written"
    )]
    Conflict {
        /// The record's id.
        record: String,
        /// Its kind.
        kind: &'static str,
        /// What differs.
        field: &'static str,
    },
    /// A record that the book does not take.
    #[error(
        "records.jsonl, line {line}: the {kind} {name} cannot be brought into this book, and nothing was written"
    )]
    NotTaken {
        /// From 1.
        line: u64,
        /// Of the record.
        kind: &'static str,
        /// A name or id.
        name: String,
        /// Why.
        #[source]
        source: Box<BookError>,
    },
    /// A number or text that cannot be put into words.
    #[error("a part of the archive could not be put into words")]
    Json(#[from] serde_json::Error),
    /// A table that is not as it should be.
    #[error("{table}, line {line}, column {column}: found \"{found}\"; expected {expected}")]
    Cell {
        /// Which table.
        table: String,
        /// From 1.
        line: u64,
        /// Its name.
        column: String,
        /// What stands there.
        found: String,
        /// What should.
        expected: &'static str,
    },
    /// A table that is not there.
    #[error("there is no table \"{found}\"; expected one of {expected}")]
    NoTable {
        /// As named.
        found: String,
        /// Those that are there.
        expected: String,
    },
    /// A recording without pictures, or with pictures that cannot stand in one film.
    #[error("recording {recording} cannot be made a film: {found}; expected {expected}")]
    NoFilm {
        /// Which.
        recording: String,
        /// What stands in the way.
        found: String,
        /// What is taken.
        expected: &'static str,
    },
}

fn at(line: Option<u64>) -> String {
    line.map_or_else(String::new, |line| format!(", line {line}"))
}

impl ArchiveError {
    /// A failed file operation in the words that fit it.
    pub(crate) fn file(path: &Path, doing: &'static str, source: io::Error) -> Self {
        use io::ErrorKind;
        let path = path.to_path_buf();
        match source.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => Self::DiskFull { path },
            _ => Self::File {
                path,
                doing,
                source,
            },
        }
    }

    /// Something that is not as it was written.
    pub(crate) fn altered(
        file: &str,
        line: Option<u64>,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) -> Self {
        Self::Altered {
            file: file.into(),
            line,
            found: found.into(),
            expected: expected.into(),
        }
    }

    /// A record of `records.jsonl` that is not the next of its chain.
    pub(crate) fn restoring(line: u64, error: RestoreError) -> Self {
        match error {
            RestoreError::Book(error) => Self::Book(error),
            RestoreError::Number { found, expected } => Self::altered(
                crate::RECORDS,
                Some(line),
                format!("it is record {found}"),
                format!("record {expected}"),
            ),
            other => Self::altered(
                crate::RECORDS,
                Some(line),
                other.to_string(),
                "the record as it was written",
            ),
        }
    }
}
