//! Class sessions, what is done in them, and blind readings for practice.

use super::Connection;
use super::fetch::{RawRecord, all_checked};
use super::project::number;
use crate::error::BookError;
use crate::ids::{PersonId, PracticalId};
use crate::records::{PracticalStep, PracticeAttempt, Record};
use std::path::Path;

pub(super) async fn practical(
    connection: &mut Connection,
    record: &Record,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "INSERT INTO practical (first, subject, record) VALUES (?1, ?2, ?1)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record",
    )
    .bind(number(record))
    .bind(record.subject.to_string())
    .execute(connection)
    .await?;
    Ok(())
}

pub(super) async fn step(
    connection: &mut Connection,
    record: &Record,
    entry: &PracticalStep,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "INSERT INTO practical_step (first, subject, record, practical) VALUES (?1, ?2, ?1, ?3)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, practical = excluded.practical",
    )
    .bind(number(record))
    .bind(record.subject.to_string())
    .bind(entry.practical.to_string())
    .execute(connection)
    .await?;
    Ok(())
}

pub(super) async fn attempt(
    connection: &mut Connection,
    record: &Record,
    entry: &PracticeAttempt,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "INSERT INTO practice_attempt (first, subject, record, person) VALUES (?1, ?2, ?1, ?3)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, person = excluded.person",
    )
    .bind(number(record))
    .bind(record.subject.to_string())
    .bind(entry.person.to_string())
    .execute(connection)
    .await?;
    Ok(())
}

pub(super) async fn practicals(
    connection: &mut Connection,
    path: &Path,
) -> Result<Vec<Record>, BookError> {
    let rows: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM practical p JOIN record r ON r.seq = p.record
         ORDER BY p.first DESC",
    )
    .fetch_all(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    all_checked(path, rows)
}

pub(super) async fn steps(
    connection: &mut Connection,
    path: &Path,
    practical: PracticalId,
    after: u64,
) -> Result<Vec<Record>, BookError> {
    let rows: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM practical_step s JOIN record r ON r.seq = s.record
         WHERE s.practical = ? AND s.record > ? ORDER BY s.record",
    )
    .bind(practical.to_string())
    .bind(i64::try_from(after).unwrap_or(i64::MAX))
    .fetch_all(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    all_checked(path, rows)
}

pub(super) async fn attempts(
    connection: &mut Connection,
    path: &Path,
    person: Option<PersonId>,
) -> Result<Vec<Record>, BookError> {
    let rows: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM practice_attempt a JOIN record r ON r.seq = a.record
         WHERE ?1 IS NULL OR a.person = ?1 ORDER BY a.first",
    )
    .bind(person.map(|person| person.to_string()))
    .fetch_all(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    all_checked(path, rows)
}
