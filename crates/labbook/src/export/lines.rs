//! Records as lines of text that anybody can check, and what they speak of.

use crate::chain::{self, ContentError};
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::SubjectId;
use crate::records::{Entry, Kind, Record};
use serde::{Deserialize, Serialize};

/// A record as `records.jsonl` has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecordLine {
    /// SHA-256 of `content`.
    pub hash: String,
    /// The very text that was hashed.
    pub content: String,
}

impl RecordLine {
    /// Of a record as it is stored.
    ///
    /// # Errors
    /// [`BookError`] when the text that was hashed cannot be had.
    pub fn of(record: &Record) -> Result<Self, BookError> {
        let line = Self {
            hash: record.hash.to_string(),
            content: chain::content_of(record)?,
        };
        match line.record() {
            Ok(_) => Ok(line),
            Err(source) => Err(BookError::Altered {
                path: "records.jsonl".into(),
                seq: record.seq,
                source,
            }),
        }
    }

    /// The line with its end.
    ///
    /// # Errors
    /// [`BookError`]; not for lines of records.
    pub fn text(&self) -> Result<String, BookError> {
        let mut text = serde_json::to_string(self)?;
        text.push('\n');
        Ok(text)
    }

    /// The record, its hash checked.
    ///
    /// # Errors
    /// [`ContentError`] when it is not the text that was written.
    pub fn record(&self) -> Result<Record, ContentError> {
        chain::unlink(&self.content, &self.hash)
    }
}

/// The bytes that an entry refers to by their digest, if it does.
pub fn attachment_of(entry: &Entry) -> Option<Digest> {
    match entry {
        Entry::Reading(reading) => reading.curves,
        _ => None,
    }
}

/// What an entry speaks of: these must be in a book before it can be.
pub fn references(entry: &Entry) -> Vec<(Kind, SubjectId)> {
    crate::records::check::references(entry)
}
