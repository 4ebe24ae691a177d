//! `archive.json`: what an archive is of.

use crate::error::ArchiveError;
use meltrange_labbook::{Head, RecordingId, SampleId};
use serde::{Deserialize, Serialize};
use std::path::Path;

/// Its name.
pub(crate) const ARCHIVE: &str = "archive.json";

/// Version of its form.
pub(crate) const FORM: u32 = 1;

/// What an archive is of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ArchiveManifest {
    /// Version of the form.
    pub form: u32,
    /// A whole book or one sample.
    pub of: ArchiveOf,
    /// What the book is called.
    pub title: String,
    /// Where the book's chain stood.
    pub head: HeadNote,
    /// How many records are in the archive.
    pub records: u64,
    /// Which ones: numbers in the book's chain, e.g. "1-4, 7".
    pub numbers: String,
    /// The program that made it.
    pub program: String,
    /// What could not be put in.
    pub incomplete: Vec<Incomplete>,
}

/// What an archive holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ArchiveOf {
    /// A whole book.
    Book,
    /// One sample with what concerns it.
    Sample {
        /// Which.
        id: SampleId,
        /// What stands on the vial.
        label: String,
    },
}

impl ArchiveOf {
    /// In words.
    pub(crate) fn words(&self) -> &'static str {
        match self {
            Self::Book => "lab book",
            Self::Sample { .. } => "sample",
        }
    }
}

/// The end of a chain as it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HeadNote {
    /// Number of the last record.
    pub seq: u64,
    /// Its hash.
    pub hash: String,
}

impl From<Head> for HeadNote {
    fn from(head: Head) -> Self {
        Self {
            seq: head.seq,
            hash: head.hash.map(|hash| hash.to_string()).unwrap_or_default(),
        }
    }
}

/// A file of a recording that could not be put in, or is not as it was recorded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Incomplete {
    /// Whose.
    pub recording: RecordingId,
    /// Which, as the book calls it.
    pub file: String,
    /// What was found.
    pub found: String,
}

impl ArchiveManifest {
    pub(crate) fn text(&self) -> Result<Vec<u8>, ArchiveError> {
        let mut text = serde_json::to_vec_pretty(self)?;
        text.push(b'\n');
        Ok(text)
    }

    pub(crate) fn parse(archive: &Path, bytes: &[u8]) -> Result<Self, ArchiveError> {
        /// The form first: another one may have other fields.
        #[derive(Deserialize)]
        struct Form {
            form: u32,
        }
        let wrong = |error: serde_json::Error| {
            ArchiveError::altered(
                ARCHIVE,
                Some(error.line() as u64),
                format!("it cannot be read ({error})"),
                "what the archive is of, as it was written",
            )
        };
        let found: Form = serde_json::from_slice(bytes).map_err(wrong)?;
        if found.form > FORM {
            return Err(ArchiveError::Newer {
                path: archive.into(),
                found: found.form,
                known: FORM,
            });
        }
        serde_json::from_slice(bytes).map_err(wrong)
    }
}

/// Numbers in words, e.g. "1-4, 7"; they rise.
pub(crate) fn numbers(of: impl IntoIterator<Item = u64>) -> String {
    let mut spans: Vec<(u64, u64)> = Vec::new();
    for number in of {
        match spans.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => spans.push((number, number)),
        }
    }
    let words: Vec<String> = spans
        .into_iter()
        .map(|(first, last)| {
            if first == last {
                first.to_string()
            } else {
                format!("{first}-{last}")
            }
        })
        .collect();
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::numbers;

    #[test]
    fn numbers_with_gaps_are_written_as_spans() {
        assert_eq!(numbers([1, 2, 3, 7, 9, 10]), "1-3, 7, 9-10");
        assert_eq!(numbers([]), "");
    }
}
