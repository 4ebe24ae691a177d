//! Sign-offs: who may, what they cover, and whether they still do; and results from before the book.

use super::fetch::{RawRecord, checked};
use super::lists::not_a;
use super::{Connection, fetch};
use crate::error::BookError;
use crate::ids::{PersonId, SampleId, SubjectId};
use crate::query::{
    ChangedSince, DeterminationRow, PastResultRow, SampleDetail, SampleTube, SignOffRow, TookPart,
    VerdictRow,
};
use crate::records::{Entry, Reader, Role, SignOff};
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
        let said = fetch::history(connection, path, said.id.into()).await?;
        all.extend(
            said.iter()
                .filter_map(|record| record.who)
                .map(|who| (who, TookPart::Determined)),
        );
    }
    for row in &detail.recordings {
        let kept = fetch::history(connection, path, row.id.into()).await?;
        all.extend(
            kept.iter()
                .filter_map(|record| record.who)
                .map(|who| (who, TookPart::Measured)),
        );
    }
    Ok(all)
}

/// Whoever signed and had a part in it since is no second person any more.
pub(super) fn no_longer_second(detail: &mut SampleDetail) {
    let parts = &detail.took_part;
    for row in &mut detail.sign_offs {
        let took_part = parts.iter().any(|(one, _)| *one == row.who);
        if took_part && !row.changed_since.contains(&ChangedSince::Readings) {
            row.changed_since.push(ChangedSince::Readings);
        }
    }
}

/// Whether what is signed is what is there now, and whoever signs, or takes it back, may.
pub(super) async fn grounds(
    connection: &mut Connection,
    path: &Path,
    who: Option<PersonId>,
    subject: SubjectId,
    signed: &SignOff,
) -> Result<(), BookError> {
    let Some(who) = who else {
        return Ok(());
    };
    let role = match fetch::latest(connection, path, who.into()).await?.entry {
        Entry::Person(person) => person.role,
        _ => Role::Viewer,
    };
    let refused = |found: &str, expected| {
        Err(BookError::Field {
            field: "sign_off.who",
            found: found.into(),
            expected,
        })
    };
    if signed.withdrawn {
        let first = fetch::history(connection, path, subject).await?;
        let own = first.first().and_then(|record| record.who) == Some(who);
        let before = first.last().map(|record| &record.entry);
        let as_before = matches!(
            before,
            Some(Entry::SignOff(before)) if *signed == (SignOff { withdrawn: true, ..before.clone() })
        );
        if !as_before {
            return refused("another signature", "the same one, taken back");
        }
        if own || role == Role::Supervisor {
            return Ok(());
        }
        return refused("somebody else", "whoever signed, or a supervisor");
    }
    if !fetch::history(connection, path, subject).await?.is_empty() {
        return refused("a signature in place of another", "one of its own");
    }
    let detail = super::samples::detail(connection, path, signed.sample).await?;
    newest_and_settled(signed, &detail)?;
    if !matches!(role, Role::Supervisor | Role::Analyst) {
        return refused("a student or a viewer", "a supervisor or an analyst");
    }
    let parts = took_part(connection, path, &detail).await?;
    if parts.iter().any(|(one, _)| *one == who) {
        return refused(
            "somebody who measured, read or stated it",
            "a second person, who had no part in it",
        );
    }
    Ok(())
}

fn newest_and_settled(signed: &SignOff, detail: &SampleDetail) -> Result<(), BookError> {
    let (result, verdict) = (detail.determinations.first(), detail.verdicts.first());
    let refused = |found: String, expected| {
        Err(BookError::Field {
            field: "sign_off.result_record",
            found,
            expected,
        })
    };
    let named = result.map(|row| (row.id, row.record))
        == Some((signed.determination, signed.result_record));
    let as_written = result.is_some_and(|row| row.determination.range_text == signed.range_text);
    if !named
        || !as_written
        || detail.record != signed.sample_record
        || verdict.map(|row| row.record) != signed.verdict_record
    {
        return refused(
            signed.result_record.to_string(),
            "the newest records of sample, result and verdict; somebody changed one of them, look at them again",
        );
    }
    let unsettled = result.is_some_and(|row| !row.outdated.is_empty())
        || verdict.is_some_and(|row| !row.outdated.is_empty());
    if unsettled {
        return refused(
            "a result whose tubes were decided or read otherwise since".into(),
            "a result stated anew from them",
        );
    }
    Ok(())
}
