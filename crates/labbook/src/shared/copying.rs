//! A book from a folder into a shared one, and back: record by record, and compared afterwards.

use super::address::Address;
use super::carrying::PLACE;
use super::central::{Central, Row};
use super::depot::Depot;
use super::taking_out::take_out;
use crate::book::{Access, Book, RECORDINGS};
use crate::digest::Digest;
use crate::error::BookError;
use crate::export::attachment_of;
use crate::ids::{RecordId, RecordingId};
use crate::records::{Entry, Record};
use crate::sqlite::checked;
use crate::verify::verify_folder;
use std::path::Path;

/// Records copied at a time.
const PIECE: i64 = 1000;

/// What was copied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Copied {
    /// Records, each compared with its original.
    pub records: u64,
    /// Recordings, each file compared with its digest.
    pub recordings: u64,
}

/// Make the tables of a shared book, or bring them to the newest form, and say where its recordings are kept.
/// Needs the rights of the database's owner.
///
/// # Errors
/// [`BookError`]: not such an address, out of reach, not allowed.
pub async fn prepare_shared(place: &Path, recordings: Option<&str>) -> Result<(), BookError> {
    let address = shared(place)?;
    // An address that cannot be used is not kept.
    recordings.map(Depot::at).transpose()?;
    Central::prepare(&address).await?;
    if let Some(recordings) = recordings {
        Central::keep_place(&address, PLACE, recordings).await?;
    }
    Ok(())
}

/// Copy the book in the folder `from` into the empty database at `to`. The folder stays as it is.
/// `progress` hears the part done, 0..=1.
///
/// # Errors
/// [`BookError`]: the book is not sound, the database is not empty or out of reach. Then nothing is recorded.
pub async fn copy_into_shared(
    from: &Path,
    to: &Path,
    recordings: Option<&str>,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<Copied, BookError> {
    let address = shared(to)?;
    refuse_unsound(from).await?;
    prepare_shared(to, recordings).await?;
    let central = Central::at(&address);
    let book = Book::open(from, Access::Write).await?;
    let copied = async {
        refuse_full(&central).await?;
        let ended = ended_recordings(&book).await?;
        if !ended.is_empty() {
            let place = central.place(PLACE).await?;
            let place = place.ok_or_else(|| BookError::DepotAddress {
                shown: "nothing".into(),
                found: format!(
                    "the book has {} recordings, and nothing says where they go",
                    ended.len()
                ),
            })?;
            let depot = Depot::at(&place)?;
            for (number, &id) in (1_u32..).zip(&ended) {
                depot.put(id, &book.recording_folder(id)).await?;
                progress(f64::from(number) / ended.len() as f64 * 0.8);
            }
        }
        let records = copy_records(&book, &central, progress).await?;
        Ok(Copied {
            records,
            recordings: ended.len() as u64,
        })
    };
    let copied = copied.await;
    central.close().await;
    book.close().await;
    progress(1.0);
    copied
}

/// Copy the shared book at `from` into `folder`, new or empty, and verify it there. `progress` hears the part done,
/// 0..=1.
///
/// # Errors
/// [`BookError`]: what is not as it was written, what cannot be reached or written. Then nothing is left.
pub async fn copy_out_of_shared(
    from: &Path,
    folder: &Path,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<Copied, BookError> {
    let address = shared(from)?;
    let fresh = crate::book::Fresh::make(folder)?;
    let central = Central::at(&address);
    central.known_form().await?;
    let mut connection = central.connection().await?;
    let recordings = take_out(&central, &mut connection, folder).await?;
    let place = central.place(PLACE).await?;
    let depot = place.as_deref().map(Depot::at).transpose()?;
    let ended: Vec<_> = recordings
        .iter()
        .filter_map(|(id, recording)| Some((*id, recording.end.as_ref()?.manifest)))
        .collect();
    for (number, &(id, manifest)) in (1_u32..).zip(&ended) {
        let depot = depot.as_ref().ok_or_else(|| BookError::Elsewhere {
            recording: id.to_string(),
        })?;
        depot.fetch(id, manifest, &folder.join(RECORDINGS)).await?;
        progress(f64::from(number) / ended.len() as f64 * 0.8);
    }
    refuse_unsound(folder).await?;
    let book = Book::open(folder, Access::Write).await?;
    let records = compare(&book, &central, &mut connection).await;
    book.close().await;
    drop(connection);
    central.close().await;
    let records = records?;
    fresh.keep();
    progress(1.0);
    Ok(Copied {
        records,
        recordings: ended.len() as u64,
    })
}

fn shared(place: &Path) -> Result<Address, BookError> {
    Address::of(place)?.ok_or_else(|| BookError::Address {
        shown: place.display().to_string(),
        found: "it is a folder".into(),
    })
}

async fn refuse_unsound(folder: &Path) -> Result<(), BookError> {
    let verdict = verify_folder(folder, None, &mut |_| ()).await?;
    match verdict.findings.first() {
        None => Ok(()),
        Some(finding) => Err(BookError::Damaged {
            path: folder.into(),
            found: finding.to_string(),
        }),
    }
}

async fn refuse_full(central: &Central) -> Result<(), BookError> {
    let mut connection = central.connection().await?;
    if central.last_seq(&mut connection).await? == 0 {
        return Ok(());
    }
    Err(BookError::Central {
        address: central.shown().to_owned(),
        found: "there is a lab book in it already".into(),
    })
}

pub(super) async fn ended_recordings(book: &Book) -> Result<Vec<RecordingId>, BookError> {
    let mut ended = std::collections::BTreeSet::new();
    let mut seq = 0;
    loop {
        let records = book.store().after(seq, PIECE as u32).await?;
        let Some(last) = records.last() else {
            return Ok(ended.into_iter().collect());
        };
        seq = last.seq;
        ended.extend(records.iter().filter_map(|record| match &record.entry {
            Entry::Recording(recording) if recording.end.is_some() => {
                Some(RecordingId::from(record.subject))
            }
            _ => None,
        }));
    }
}

/// All of them or none.
async fn copy_records(
    book: &Book,
    central: &Central,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<u64, BookError> {
    let mut turn = central.turn().await?;
    if central.last_seq(turn.connection()).await? > 0 {
        return Err(BookError::Central {
            address: central.shown().to_owned(),
            found: "somebody else began a lab book in it".into(),
        });
    }
    let all = book.store().head().await?.seq.max(1);
    let mut seq = 0;
    let mut last: Option<RecordId> = None;
    loop {
        let rows = book.rows_after(seq, PIECE).await?;
        let Some(end) = rows.last() else { break };
        seq = end.0.unsigned_abs();
        let mut attachments = Vec::new();
        for row in &rows {
            let record = record_of(book, row)?;
            if let Some(digest) = attachment_of(&record.entry) {
                attachments.push(book.store().attachment(digest).await?);
            }
            last = Some(record.id);
        }
        turn.add(&attachments, rows).await?;
        progress(0.8 + 0.1 * seq as f64 / all as f64);
    }
    if let Some(last) = last {
        turn.commit(last).await?;
    }
    let mut connection = central.connection().await?;
    compare(book, central, &mut connection).await
}

fn record_of(book: &Book, row: &Row) -> Result<Record, BookError> {
    checked(book.folder(), (row.0, row.5.clone(), row.6.clone()))
}

/// Each record of one with the same of the other, text by text and bytes by digest; how many.
async fn compare(
    book: &Book,
    central: &Central,
    connection: &mut sqlx::postgres::PgConnection,
) -> Result<u64, BookError> {
    let mut seq = 0;
    loop {
        let here = book.rows_after(seq, PIECE).await?;
        let there = central.after(connection, seq, PIECE).await?;
        for (number, row) in (seq + 1..).zip(&here) {
            let same = usize::try_from(number - seq - 1)
                .ok()
                .and_then(|at| there.get(at))
                .is_some_and(|(other, hash, text)| (*other, hash, text) == (row.0, &row.5, &row.6));
            if !same {
                return Err(differs(central, number));
            }
            if let Some(digest) = attachment_of(&record_of(book, row)?.entry) {
                let bytes = central.attachment(connection, digest).await?;
                if bytes.is_none_or(|bytes| Digest::of(&bytes) != digest) {
                    return Err(differs(central, number));
                }
            }
        }
        if here.len() != there.len() {
            return Err(differs(
                central,
                seq + here.len().min(there.len()) as u64 + 1,
            ));
        }
        let Some(last) = here.last() else {
            return Ok(seq);
        };
        seq = last.0.unsigned_abs();
    }
}

fn differs(central: &Central, seq: u64) -> BookError {
    BookError::Damaged {
        path: central.shown().into(),
        found: format!("record {seq} is not the same in both"),
    }
}
