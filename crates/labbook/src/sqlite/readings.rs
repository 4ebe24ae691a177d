//! Readings with the decisions on them.

use super::lists::not_a;
use super::{Connection, fetch};
use crate::error::BookError;
use crate::ids::{ReadingId, RecordingId};
use crate::query::{DecidedTube, Decision, DecisionKind, Moments, ReadingDetail};
use crate::records::{Entry, Record};
use std::path::Path;

pub(super) async fn detail(
    connection: &mut Connection,
    path: &Path,
    id: ReadingId,
) -> Result<ReadingDetail, BookError> {
    Ok(with_last_words(connection, path, id).await?.0)
}

/// A reading, and for each tube the number of the record that is the last word on it.
pub(super) async fn with_last_words(
    connection: &mut Connection,
    path: &Path,
    id: ReadingId,
) -> Result<(ReadingDetail, Vec<u64>), BookError> {
    let unknown = || BookError::Unknown {
        what: "reading",
        name: id.to_string(),
    };
    let record = match fetch::latest(connection, path, id.into()).await {
        Err(BookError::Unknown { .. }) => return Err(unknown()),
        other => other?,
    };
    let (Entry::Reading(reading), Some(who)) = (&record.entry, record.who) else {
        return Err(unknown());
    };
    let decided: Vec<(i64, i64)> = sqlx::query_as(
        "SELECT place, decision FROM reading_tube WHERE reading = ? AND decision IS NOT NULL",
    )
    .bind(id.to_string())
    .fetch_all(&mut *connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    let mut tubes = Vec::new();
    let mut last_words = Vec::new();
    for tube in &reading.tubes {
        let seq = decided
            .iter()
            .find(|(place, _)| *place == i64::from(tube.place))
            .map(|(_, seq)| *seq);
        let decision = match seq {
            Some(seq) => Some(decision(
                path,
                &fetch::by_seq(connection, path, seq).await?,
            )?),
            None => None,
        };
        last_words.push(seq.map_or(record.seq, i64::unsigned_abs));
        tubes.push(DecidedTube {
            place: tube.place,
            sample: tube.sample,
            read: Moments {
                outcome: tube.outcome,
                first_liquid: tube.first_liquid,
                last_crystal: tube.last_crystal,
            },
            decision,
        });
    }
    let detail = ReadingDetail {
        id,
        record: record.id,
        who,
        when: record.when,
        reading: reading.clone(),
        tubes,
    };
    Ok((detail, last_words))
}

fn decision(path: &Path, record: &Record) -> Result<Decision, BookError> {
    let says = match &record.entry {
        Entry::Confirmation(_) => DecisionKind::Confirmed,
        Entry::Override(instead) => DecisionKind::Overridden {
            instead: Moments {
                outcome: instead.outcome,
                first_liquid: instead.first_liquid,
                last_crystal: instead.last_crystal,
            },
        },
        _ => return Err(not_a(path, "decision", record)),
    };
    Ok(Decision {
        who: record.who.ok_or_else(|| not_a(path, "decision", record))?,
        when: record.when,
        record: record.id,
        reason: record.reason.clone(),
        says,
    })
}

/// The readings of a recording, newest first.
pub(super) async fn of_recording(
    connection: &mut Connection,
    path: &Path,
    recording: RecordingId,
) -> Result<Vec<ReadingDetail>, BookError> {
    let ids: Vec<String> =
        sqlx::query_scalar("SELECT subject FROM reading WHERE recording = ? ORDER BY first DESC")
            .bind(recording.to_string())
            .fetch_all(&mut *connection)
            .await
            .map_err(|source| BookError::database(path, source))?;
    let mut readings = Vec::with_capacity(ids.len());
    for id in ids {
        let id = id.parse().map_err(|_| BookError::Damaged {
            path: path.into(),
            found: format!("\"{id}\" is listed as a reading"),
        })?;
        readings.push(detail(connection, path, id).await?);
    }
    Ok(readings)
}
