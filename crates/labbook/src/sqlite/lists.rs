//! People and benches: short lists.

use super::Connection;
use super::fetch::{RawRecord, checked};
use crate::error::BookError;
use crate::query::{BenchRow, PersonRow};
use crate::records::{Entry, Record};
use std::path::Path;

pub(super) async fn people(
    connection: &mut Connection,
    path: &Path,
) -> Result<Vec<PersonRow>, BookError> {
    let rows: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM person p JOIN record r ON r.seq = p.record
         ORDER BY p.name_key",
    )
    .fetch_all(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    rows.into_iter()
        .map(|row| {
            let record = checked(path, row)?;
            match record.entry {
                Entry::Person(person) => Ok(PersonRow {
                    id: record.subject.into(),
                    record: record.id,
                    name: person.name,
                    role: person.role,
                }),
                _ => Err(not_a(path, "person", &record)),
            }
        })
        .collect()
}

pub(super) async fn benches(
    connection: &mut Connection,
    path: &Path,
) -> Result<Vec<BenchRow>, BookError> {
    let rows: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM bench b JOIN record r ON r.seq = b.record
         ORDER BY b.name_key",
    )
    .fetch_all(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    bench_rows(path, rows)
}

pub(super) fn bench_rows(path: &Path, rows: Vec<RawRecord>) -> Result<Vec<BenchRow>, BookError> {
    rows.into_iter()
        .map(|row| {
            let record = checked(path, row)?;
            match record.entry {
                Entry::Bench(bench) => Ok(BenchRow {
                    id: record.subject.into(),
                    record: record.id,
                    bench,
                }),
                _ => Err(not_a(path, "bench", &record)),
            }
        })
        .collect()
}

/// The tables name a record of another kind: they were tampered with.
pub(super) fn not_a(path: &Path, what: &str, record: &Record) -> BookError {
    BookError::Damaged {
        path: path.into(),
        found: format!(
            "record {} is listed as {what} and is {}",
            record.seq,
            record.entry.kind().name()
        ),
    }
}
