//! A sample from another book into this one: its records with their own ids, people, times and reasons.

use crate::error::ArchiveError;
use crate::manifest::{ARCHIVE, ArchiveOf};
use crate::pictures_again::pictures_again;
use crate::restore::restore_recording;
use crate::source::Source;
use crate::verified::Verified;
use jiff::{SignedDuration, Timestamp};
use meltrange_labbook::{
    Batch, Book, BookError, Draft, Entry, PersonId, Received, Record, Recording, RecordingId,
    RestoredRecording, Role, When, attachment_of,
};
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::Path;

/// Largest attachment: the curves of one reading.
const LARGEST_ATTACHMENT: u64 = 256 << 20;

/// How far clocks of two machines may be apart.
const CLOCKS_APART: SignedDuration = SignedDuration::from_mins(10);

/// What was brought in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BroughtIn {
    /// What stands on the sample's vial.
    pub label: String,
    /// What the book is called that it comes from.
    pub title: String,
    /// Records written.
    pub records: u64,
    /// Records that were there already, with the same text.
    pub already_there: u64,
    /// Recordings written.
    pub recordings: u64,
    /// Those of them whose video gave no pictures to look through here.
    pub without_pictures: Vec<RecordingId>,
}

/// A record to be written, and its line in the archive.
struct Coming {
    line: u64,
    record: Record,
    attachment: Option<Vec<u8>>,
}

/// Bring the sample that `archive` is of into `book`. What is there already with the same text is passed over,
/// so that an interrupted one is finished by another. `by` is the person who brings it in. `progress` hears the
/// part done, 0..=1.
///
/// # Errors
/// [`ArchiveError`]: it is no archive of a sample, was altered, or the book holds something that stands against
/// it; nothing is written then.
pub async fn bring_in(
    book: &Book,
    archive: &Path,
    by: PersonId,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<BroughtIn, ArchiveError> {
    let source = Source::open(archive)?;
    let all = source.files().values().sum::<u64>().max(1) as f64;
    let mut archive = Verified::look(source, &mut |done| progress(done as f64 / all / 2.0))?;
    let ArchiveOf::Sample { label, .. } = archive.manifest.of.clone() else {
        return Err(ArchiveError::OtherKind {
            path: archive.source.path().into(),
            found: archive.manifest.of.words(),
            expected: "sample",
        });
    };
    if let Some(lack) = archive.manifest.incomplete.first() {
        return Err(ArchiveError::Incomplete {
            recording: lack.recording.to_string(),
            found: format!("{} {}", lack.file, lack.found),
        });
    }
    let (mut coming, already_there) = coming(book, &mut archive).await?;
    refuse_presumed(book, &coming, by).await?;
    attachments(&mut archive, &mut coming)?;
    let recordings = recordings(&coming)?;
    let staged = Staged {
        book,
        ids: recordings.keys().copied().collect(),
    };
    for (number, (&id, recording)) in (1_u64..).zip(&recordings) {
        // What an interrupted one left.
        RestoredRecording::drop_beside(book, id);
        let to = RestoredRecording::beside(book, id)?;
        restore_recording(&mut archive, id, recording, to)?;
        progress(0.5 + number as f64 / recordings.len() as f64 / 2.0);
    }
    let records = coming.len() as u64;
    let received = received(&mut archive, records)?;
    rehearse(book, &coming, by, received.as_ref()).await?;
    let written = write(book, &coming).await.map_err(|(_, error)| error);
    let said = match (&written, received) {
        (Ok(()), Some(draft)) => book.append(by, vec![draft]).await.map(|_| ()),
        _ => Ok(()),
    };
    // Whatever was recorded has its files, also where something failed on the way.
    staged.put().await?;
    written?;
    said?;
    let without_pictures = pictures_again(book, &recordings, &mut |_| ()).await;
    Ok(BroughtIn {
        label,
        title: archive.manifest.title.clone(),
        records,
        already_there,
        recordings: recordings.len() as u64,
        without_pictures,
    })
}

/// The record that says that records were taken in; none where none were.
fn received(archive: &mut Verified, records: u64) -> Result<Option<Draft>, ArchiveError> {
    let (records_sha256, _) = archive.source.digest(crate::RECORDS)?;
    let from = &archive.manifest;
    let ArchiveOf::Sample { id, .. } = &from.of else {
        return Ok(None);
    };
    let head_hash = from.head.hash.parse().map_err(|_| {
        ArchiveError::altered(
            ARCHIVE,
            None,
            format!("the end of the chain is \"{}\"", from.head.hash),
            "a SHA-256 digest",
        )
    })?;
    Ok((records > 0).then(|| {
        Draft::new(Received {
            title: from.title.clone(),
            head_seq: from.head.seq,
            head_hash,
            sample: Some(*id),
            records,
            records_sha256,
        })
    }))
}

/// Recordings beside their place; those not put go.
struct Staged<'a> {
    book: &'a Book,
    ids: Vec<RecordingId>,
}

impl Staged<'_> {
    /// Put those in their places that are recorded.
    async fn put(mut self) -> Result<(), BookError> {
        let mut recorded = Vec::new();
        for &id in &self.ids {
            if self.book.store().latest(id.into()).await.is_ok() {
                recorded.push(id);
            }
        }
        self.ids.retain(|id| !recorded.contains(id));
        // From here on they are recorded: what is not put now is put at the next opening.
        for id in recorded {
            RestoredRecording::put(self.book, id)?;
        }
        Ok(())
    }
}

impl Drop for Staged<'_> {
    fn drop(&mut self) {
        for &id in &self.ids {
            RestoredRecording::drop_beside(self.book, id);
        }
    }
}

/// The records that are not in the book yet, and how many are.
async fn coming(book: &Book, archive: &mut Verified) -> Result<(Vec<Coming>, u64), ArchiveError> {
    let mut coming = Vec::new();
    let mut already_there = 0;
    let mut before = 0;
    for (number, line) in archive.records()? {
        let altered = |found: String, expected: &str| {
            ArchiveError::altered(crate::RECORDS, Some(number), found, expected)
        };
        let record = line
            .record()
            .map_err(|error| altered(error.to_string(), "the record as it was written"))?;
        if record.seq <= before || record.who.is_none() {
            return Err(altered(
                format!(
                    "it is record {} of {}",
                    record.seq,
                    record.entry.kind().name()
                ),
                "a record of a sample, in the order they were written",
            ));
        }
        before = record.seq;
        match book.store().record(record.id).await {
            Ok(there) => {
                if let Some(field) = difference(&record, &there) {
                    return Err(ArchiveError::Conflict {
                        record: record.id.to_string(),
                        kind: there.entry.kind().name(),
                        field,
                    });
                }
                already_there += 1;
            }
            Err(BookError::Unknown { .. }) => coming.push(Coming {
                line: number,
                record,
                attachment: None,
            }),
            Err(other) => return Err(other.into()),
        }
    }
    Ok((coming, already_there))
}

/// Refuse records of times to come, and, unless a supervisor brings it in, what says anew who people of this book
/// are, and records and signatures in the name of others of this book.
async fn refuse_presumed(book: &Book, coming: &[Coming], by: PersonId) -> Result<(), ArchiveError> {
    let people = book.store().people().await?;
    let supervises = people
        .iter()
        .any(|row| row.id == by && row.role == Role::Supervisor);
    let latest = When::now()
        .instant()
        .checked_add(CLOCKS_APART)
        .unwrap_or(Timestamp::MAX);
    for one in coming {
        let presumed = |found: String| ArchiveError::Presumed {
            line: one.line,
            kind: one.record.entry.kind().name(),
            found,
        };
        if one.record.when.instant() > latest {
            return Err(presumed(format!(
                "is of {}, which is to come",
                one.record.when
            )));
        }
        if supervises {
            continue;
        }
        let about = PersonId::from(one.record.subject);
        if people.iter().any(|row| row.id == about) {
            return Err(presumed(
                "changes a person of this book; only a supervisor may bring that in".into(),
            ));
        }
        let in_whose_name = people
            .iter()
            .find(|row| Some(row.id) == one.record.who && row.id != by);
        if let Some(person) = in_whose_name {
            return Err(presumed(format!(
                "is in the name of {}, who is a person of this book; only a supervisor may bring that in",
                person.name
            )));
        }
    }
    Ok(())
}

/// What is different between two records of the same id, their places in their chains aside.
fn difference(one: &Record, other: &Record) -> Option<&'static str> {
    [
        (one.subject == other.subject, "subject"),
        (one.who == other.who, "person"),
        (one.when == other.when, "time"),
        (
            one.supersedes == other.supersedes,
            "record that it supersedes",
        ),
        (one.reason == other.reason, "reason"),
        (one.entry == other.entry, "text"),
    ]
    .into_iter()
    .find_map(|(same, field)| (!same).then_some(field))
}

fn attachments(archive: &mut Verified, coming: &mut [Coming]) -> Result<(), ArchiveError> {
    let mut by_digest = BTreeMap::new();
    for name in archive.below("curves/") {
        let (digest, _) = archive.source.digest(&name)?;
        by_digest.insert(digest, name);
    }
    for one in coming {
        let Some(digest) = attachment_of(&one.record.entry) else {
            continue;
        };
        let name = by_digest.get(&digest).ok_or_else(|| {
            ArchiveError::altered(
                "curves/",
                None,
                format!(
                    "no file has the digest that line {} of {} names",
                    one.line,
                    crate::RECORDS
                ),
                format!("one with the digest {digest}"),
            )
        })?;
        one.attachment = Some(archive.source.bytes(name, LARGEST_ATTACHMENT)?);
    }
    Ok(())
}

/// The recordings that come, each as it is said last.
fn recordings(coming: &[Coming]) -> Result<BTreeMap<RecordingId, Recording>, ArchiveError> {
    let mut recordings = BTreeMap::new();
    for one in coming {
        if let Entry::Recording(recording) = &one.record.entry {
            // Only the first record of a recording means that its files come, too.
            let begins = one.record.supersedes.is_none();
            let id = RecordingId::from(one.record.subject);
            if begins || recordings.contains_key(&id) {
                recordings.insert(id, recording.clone());
            }
        }
    }
    match recordings
        .iter()
        .find(|(_, recording)| recording.end.is_none())
    {
        None => Ok(recordings),
        Some((id, _)) => Err(ArchiveError::Incomplete {
            recording: id.to_string(),
            found: "it was under way".into(),
        }),
    }
}

/// Write it all into a copy of the book first: what a book does not take is found before anything is written.
async fn rehearse(
    book: &Book,
    coming: &[Coming],
    by: PersonId,
    received: Option<&Draft>,
) -> Result<(), ArchiveError> {
    let folder = tempfile::tempdir()
        .map_err(|error| ArchiveError::file(&std::env::temp_dir(), "written", error))?;
    let copy = book.copy_records(folder.path()).await?;
    let mut written = write(&copy, coming).await;
    if let (Ok(()), Some(draft)) = (&written, received) {
        let said = copy.append(by, vec![draft.clone()]).await;
        written = said
            .map(|_| ())
            .map_err(|error| (coming.len(), error.into()));
    }
    copy.close().await;
    written.map_err(|(at, error)| match (coming.get(at), error) {
        (Some(one), ArchiveError::Book(source)) => ArchiveError::NotTaken {
            line: one.line,
            kind: one.record.entry.kind().name(),
            name: name_of(&one.record),
            source: Box::new(source),
        },
        (_, other) => other,
    })
}

fn name_of(record: &Record) -> String {
    match &record.entry {
        Entry::Person(person) => format!("\"{}\"", person.name),
        Entry::Sample(sample) => format!("\"{}\"", sample.label),
        Entry::Bench(bench) => format!("\"{}\"", bench.name),
        _ => record.id.to_string(),
    }
}

/// Write the records, those of one person and moment together; else the first of those that were not taken.
async fn write(book: &Book, coming: &[Coming]) -> Result<(), (usize, ArchiveError)> {
    let together = |one: &Coming, other: &Coming| {
        (one.record.who, one.record.when) == (other.record.who, other.record.when)
    };
    let mut at = 0;
    for group in coming.chunk_by(together) {
        let drafts = group.iter().map(|one| draft(&one.record)).collect();
        let attachments = group
            .iter()
            .filter_map(|one| one.attachment.clone())
            .collect();
        let when = group.first().map(|one| one.record.when);
        let batch = Batch {
            who: group.first().and_then(|one| one.record.who),
            drafts,
            attachments,
        };
        book.write_as_of(batch, when)
            .await
            .map_err(|error| (at, error.into()))?;
        at += group.len();
    }
    Ok(())
}

fn draft(record: &Record) -> Draft {
    let draft = match record.supersedes {
        None => Draft::about(record.subject, record.entry.clone()),
        Some(before) => Draft::revision(record.subject, before, record.entry.clone()),
    }
    .recorded_as(record.id);
    match &record.reason {
        None => draft,
        Some(reason) => draft.because(reason.clone()),
    }
}
