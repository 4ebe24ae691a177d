//! The chain: each record's canonical text holds the hash of the one before.
//!
//! What is hashed is the text that is stored, byte for byte, so that anybody can check a book
//! with a database shell and a SHA-256 program: `docs/models/labbook.md`.

use crate::digest::Digest;
use crate::ids::{PersonId, RecordId, SubjectId};
use crate::records::{Draft, Entry, Record};
use crate::when::When;
use serde::{Deserialize, Serialize};

/// Version of the form of `content`.
pub const FORMAT: u32 = 1;

/// Where a chain stands: how many records it has, and the hash of the last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Head {
    /// Number of the last record; 0 for none.
    pub seq: u64,
    /// Its hash.
    pub hash: Option<Digest>,
}

/// What is hashed.
#[derive(Serialize, Deserialize)]
struct Content {
    format: u32,
    seq: u64,
    id: RecordId,
    subject: SubjectId,
    who: Option<PersonId>,
    when: When,
    supersedes: Option<RecordId>,
    reason: Option<String>,
    previous: Option<Digest>,
    #[serde(flatten)]
    entry: Entry,
}

/// Why a stored text is no record.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ContentError {
    /// Not the text that was written.
    #[error("its text has the hash {found}; expected {expected}")]
    Hash {
        /// Of the text.
        found: Digest,
        /// As stored beside it.
        expected: String,
    },
    /// Not a record.
    #[error("its text is not a record ({source})")]
    NotARecord {
        /// What the parser said.
        #[source]
        source: serde_json::Error,
    },
    /// Written by a newer program.
    #[error("its text has the form {found}; this program knows {FORMAT}")]
    Format {
        /// The form's version.
        found: u32,
    },
}

/// The canonical text of what a draft says: the larger part of its record's, and the one that does not
/// depend on the records before.
///
/// # Errors
/// [`serde_json::Error`] when the draft holds a number that is not finite.
pub fn entry_text(draft: &Draft) -> Result<String, serde_json::Error> {
    serde_json_canonicalizer::to_string(&draft.entry)
}

/// Everything of a record but what it says.
#[derive(Serialize)]
struct Envelope<'a> {
    format: u32,
    seq: u64,
    id: RecordId,
    subject: SubjectId,
    who: Option<PersonId>,
    when: When,
    supersedes: Option<RecordId>,
    reason: Option<&'a str>,
    previous: Option<Digest>,
    kind: &'static str,
    payload: (),
}

/// Where the payload goes in an envelope's text: before it stand a number, an id and a kind, so the
/// first such place is the one.
const EMPTY: &str = "\"payload\":null";

/// Link a draft, whose [`entry_text`] is given, to the end of the chain: the record and its canonical
/// text.
///
/// # Errors
/// [`serde_json::Error`]; not where `entry` is of this draft.
pub fn link(
    draft: &Draft,
    entry: &str,
    who: Option<PersonId>,
    when: When,
    head: Head,
) -> Result<(Record, String), serde_json::Error> {
    let envelope = Envelope {
        format: FORMAT,
        seq: head.seq + 1,
        id: draft.record.unwrap_or_else(RecordId::new),
        subject: draft.subject,
        who,
        when,
        supersedes: draft.supersedes,
        reason: draft.reason.as_deref(),
        previous: head.hash,
        kind: draft.entry.kind().name(),
        payload: (),
    };
    // Keys are sorted: {"kind":…,"payload":…} alone, and in the whole.
    let payload = entry
        .strip_prefix(&format!("{{\"kind\":\"{}\",", envelope.kind))
        .and_then(|rest| rest.strip_suffix('}'))
        .ok_or_else(|| serde::ser::Error::custom("the text is not that of the draft"))?;
    let text = serde_json_canonicalizer::to_string(&envelope)?.replacen(EMPTY, payload, 1);
    let record = Record {
        seq: envelope.seq,
        id: envelope.id,
        subject: envelope.subject,
        who,
        when,
        supersedes: envelope.supersedes,
        reason: draft.reason.clone(),
        previous: envelope.previous,
        entry: draft.entry.clone(),
        hash: Digest::of(text.as_bytes()),
    };
    Ok((record, text))
}

/// The canonical text of a record: the very text that was hashed.
///
/// # Errors
/// [`serde_json::Error`]; not for a record that was read back.
pub fn content_of(record: &Record) -> Result<String, serde_json::Error> {
    serde_json_canonicalizer::to_string(&Content {
        format: FORMAT,
        seq: record.seq,
        id: record.id,
        subject: record.subject,
        who: record.who,
        when: record.when,
        supersedes: record.supersedes,
        reason: record.reason.clone(),
        previous: record.previous,
        entry: record.entry.clone(),
    })
}

/// Read a stored text back; `hash` is what is stored beside it.
///
/// # Errors
/// [`ContentError`] when it is not the text that was written.
pub fn unlink(text: &str, hash: &str) -> Result<Record, ContentError> {
    let found = Digest::of(text.as_bytes());
    if found.to_string() != hash {
        return Err(ContentError::Hash {
            found,
            expected: hash.chars().take(70).collect(),
        });
    }
    let content: Content =
        serde_json::from_str(text).map_err(|source| ContentError::NotARecord { source })?;
    if content.format != FORMAT {
        return Err(ContentError::Format {
            found: content.format,
        });
    }
    Ok(record(content, found))
}

fn record(content: Content, hash: Digest) -> Record {
    Record {
        seq: content.seq,
        id: content.id,
        subject: content.subject,
        who: content.who,
        when: content.when,
        supersedes: content.supersedes,
        reason: content.reason,
        previous: content.previous,
        entry: content.entry,
        hash,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::{Opening, Sample};

    #[test]
    fn a_record_reads_back_and_knows_the_one_before() {
        let opening = Draft::new(Opening {
            title: "Evening practical".into(),
            program: "meltrange 0.1.0".into(),
        });
        let (first, _) = link(
            &opening,
            &entry_text(&opening).expect("sound"),
            None,
            When::now(),
            Head::default(),
        )
        .expect("sound");
        let sample = Draft::new(Sample {
            label: "U-1 <b>\u{e9}</b>".into(),
            ..Sample::default()
        });
        let head = Head {
            seq: 1,
            hash: Some(first.hash),
        };
        let (second, text) = link(
            &sample,
            &entry_text(&sample).expect("sound"),
            None,
            When::now(),
            head,
        )
        .expect("sound");
        assert_eq!(second.previous, Some(first.hash));
        assert_eq!(
            unlink(&text, &second.hash.to_string()).expect("unchanged"),
            second
        );
        assert_eq!(content_of(&second).expect("sound"), text);
        let changed = text.replace("U-1", "U-2");
        assert!(matches!(
            unlink(&changed, &second.hash.to_string()),
            Err(ContentError::Hash { .. })
        ));
    }
}
