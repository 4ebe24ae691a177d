//! Sign-offs: who may, what they cover, and whether they still do; and results from before the book.

use super::fetch::{RawRecord, checked};
use super::lists::not_a;
use super::{Connection, fetch};
use crate::error::BookError;
use crate::ids::{PersonId, SampleId};
use crate::query::{
    ChangedSince, DeterminationRow, PastResultRow, SampleDetail, SampleTube, SignOffRow, TookPart,
    VerdictRow,
};
use crate::records::{Entry, Person, Reader, Role, SignOff};
use sqlx::AssertSqlSafe;
use std::collections::BTreeSet;
use std::path::Path;

/// What a sign-off is compared with: the present state of its sample.
pub(super) struct Present<'a> {
    pub sample_record: crate::ids::RecordId,
    pub determinations: &'a [DeterminationRow],
    pub verdicts: &'a [VerdictRow],
    /// Tubes with the number of the record that is the last word on each.
    pub tubes: &'a [(SampleTube, u64)],
}

pub(super) async fn sign_offs(
    connection: &mut Connection,
    path: &Path,
    sample: SampleId,
    present: &Present<'_>,
) -> Result<Vec<SignOffRow>, BookError> {
    let mut rows = Vec::new();
    for row in records(connection, path, "sign_off", sample).await? {
        let record = checked(path, row)?;
        let (Entry::SignOff(sign_off), Some(who)) = (&record.entry, record.who) else {
            return Err(not_a(path, "sign-off", &record));
        };
        // Who signed stays who signed, whoever takes it back.
        let signed = match fetch::history(connection, path, record.subject)
            .await?
            .first()
        {
            Some(first) => (first.who.unwrap_or(who), first.when, first.seq),
            None => (who, record.when, record.seq),
        };
        rows.push(SignOffRow {
            id: record.subject.into(),
            who: signed.0,
            when: signed.1,
            record: record.id,
            reason: record.reason.clone(),
            changed_since: changed_since(sign_off, signed.2, present),
            sign_off: sign_off.clone(),
        });
    }
    Ok(rows)
}

/// What is no longer as it was when it was signed.
fn changed_since(signed: &SignOff, at_seq: u64, present: &Present<'_>) -> Vec<ChangedSince> {
    let result = present.determinations.first();
    let verdict = present.verdicts.first();
    let read_since = present
        .tubes
        .iter()
        .any(|(_, last_word)| *last_word > at_seq)
        || verdict.is_some_and(|row| !row.outdated.is_empty());
    [
        (
            ChangedSince::Sample,
            signed.sample_record != present.sample_record,
        ),
        (
            ChangedSince::Readings,
            read_since || result.is_some_and(|row| !row.outdated.is_empty()),
        ),
        (
            ChangedSince::Result,
            result.map(|row| row.record) != Some(signed.result_record),
        ),
        (
            ChangedSince::Verdict,
            verdict.map(|row| row.record) != signed.verdict_record,
        ),
    ]
    .into_iter()
    .filter_map(|(what, changed)| changed.then_some(what))
    .collect()
}

pub(super) async fn past_results(
    connection: &mut Connection,
    path: &Path,
    sample: SampleId,
) -> Result<Vec<PastResultRow>, BookError> {
    let rows = records(connection, path, "past_result", sample).await?;
    rows.into_iter()
        .map(|row| {
            let record = checked(path, row)?;
            let (Entry::PastResult(past), Some(who)) = (&record.entry, record.who) else {
                return Err(not_a(path, "past result", &record));
            };
            Ok(PastResultRow {
                id: record.subject.into(),
                who,
                when: record.when,
                record: record.id,
                reason: record.reason.clone(),
                past_result: past.clone(),
            })
        })
        .collect()
}

/// The last word of each subject of a table that lists them by sample, newest first.
async fn records(
    connection: &mut Connection,
    path: &Path,
    table: &'static str,
    sample: SampleId,
) -> Result<Vec<RawRecord>, BookError> {
    let statement = format!(
        "SELECT r.seq, r.hash, r.content FROM {table} t JOIN record r ON r.seq = t.record
         WHERE t.sample = ? ORDER BY t.first DESC"
    );
    sqlx::query_as(AssertSqlSafe(statement))
        .bind(sample.to_string())
        .fetch_all(connection)
        .await
        .map_err(|source| BookError::database(path, source))
}

/// Everybody who had a part in what is said of a sample; each part once.
pub(super) async fn took_part(
    connection: &mut Connection,
    path: &Path,
    detail: &SampleDetail,
) -> Result<BTreeSet<(PersonId, TookPart)>, BookError> {
    let mut all = BTreeSet::new();
    let runs: BTreeSet<_> = detail
        .recordings
        .iter()
        .map(|row| row.recording.run)
        .collect();
    for run in runs {
        let first = fetch::history(connection, path, run.into()).await?;
        all.extend(
            first
                .iter()
                .filter_map(|record| record.who)
                .map(|who| (who, TookPart::Measured)),
        );
    }
    for tube in &detail.tubes {
        if let Reader::Person { person, .. } = &tube.reader {
            all.insert((*person, TookPart::Read));
        }
        all.extend(
            tube.tube
                .decision
                .iter()
                .map(|decision| (decision.who, TookPart::Read)),
        );
    }
    if let Some(result) = detail.determinations.first() {
        // Whoever stated it first stands behind it even where a calibration made it anew.
        let stated = fetch::history(connection, path, result.id.into()).await?;
        all.extend(
            stated
                .iter()
                .filter_map(|record| record.who)
                .map(|who| (who, TookPart::Determined)),
        );
    }
    if let Some(said) = detail.verdicts.first() {
        all.insert((said.who, TookPart::Determined));
    }
    Ok(all)
}

/// Whether what is signed is what is there now, and whoever signs is a second person who may.
pub(super) async fn grounds(
    connection: &mut Connection,
    path: &Path,
    who: Option<PersonId>,
    signed: &SignOff,
) -> Result<(), BookError> {
    if signed.withdrawn {
        return Ok(());
    }
    let detail = super::samples::detail(connection, path, signed.sample).await?;
    let result = detail
        .determinations
        .first()
        .filter(|row| row.id == signed.determination && row.record == signed.result_record);
    let seen = result.is_some()
        && detail.record == signed.sample_record
        && detail.verdicts.first().map(|row| row.record) == signed.verdict_record;
    if !seen {
        return Err(BookError::Field {
            field: "sign_off.result_record",
            found: signed.result_record.to_string(),
            expected: "the newest records of sample, result and verdict; somebody changed one of them, look at them again",
        });
    }
    let unsettled = result.is_some_and(|row| !row.outdated.is_empty())
        || detail
            .verdicts
            .first()
            .is_some_and(|row| !row.outdated.is_empty());
    if unsettled {
        return Err(BookError::Field {
            field: "sign_off.result_record",
            found: "a result whose tubes were decided or read otherwise since".into(),
            expected: "a result stated anew from them",
        });
    }
    let Some(who) = who else {
        return Ok(());
    };
    let person = fetch::latest(connection, path, who.into()).await?;
    let may = matches!(
        &person.entry,
        Entry::Person(Person {
            role: Role::Supervisor | Role::Analyst,
            ..
        })
    );
    if !may {
        return Err(BookError::Field {
            field: "sign_off.who",
            found: "a student or a viewer".into(),
            expected: "a supervisor or an analyst",
        });
    }
    if took_part(connection, path, &detail)
        .await?
        .iter()
        .any(|(one, _)| *one == who)
    {
        return Err(BookError::Field {
            field: "sign_off.who",
            found: "somebody who measured, read or stated it".into(),
            expected: "a second person, who had no part in it",
        });
    }
    Ok(())
}
