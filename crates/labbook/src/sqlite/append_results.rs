//! Results written many at a time, as when a calibration changes thousands of them: a few statements for
//! all instead of several for each.

use super::project::refresh_samples;
use super::{Connection, SqliteStore};
use crate::error::BookError;
use crate::records::{Determination, Entry, Record};
use sqlx::{QueryBuilder, Sqlite};
use std::collections::BTreeSet;

/// Rows of one statement; seven values each, far below what SQLite takes.
const ROWS: usize = 500;

/// Results that are linked to the chain and wait to be written, in order.
#[derive(Debug, Default)]
pub(super) struct Waiting(Vec<(Record, String)>);

impl Waiting {
    pub fn add(&mut self, record: Record, content: String) {
        self.0.push((record, content));
    }

    /// Write them and bring the tables up to them, as [`super::project`] would one by one. Gives them
    /// back in order.
    pub async fn write(
        &mut self,
        store: &SqliteStore,
        connection: &mut Connection,
    ) -> Result<Vec<Record>, BookError> {
        if self.0.is_empty() {
            return Ok(Vec::new());
        }
        let waiting = std::mem::take(&mut self.0);
        for rows in waiting.chunks(ROWS) {
            insert(connection, rows)
                .await
                .map_err(|source| store.failed(source))?;
        }
        let records: Vec<Record> = waiting.into_iter().map(|(record, _)| record).collect();
        let results: Vec<(&Record, &Determination)> = records
            .iter()
            .filter_map(|record| match &record.entry {
                Entry::Determination(result) => Some((record, result)),
                _ => None,
            })
            .collect();
        let subjects: Vec<_> = records.iter().map(|record| record.subject).collect();
        let before: Vec<String> = sqlx::query_scalar(
            "SELECT sample FROM determination WHERE subject IN (SELECT value FROM json_each(?))",
        )
        .bind(serde_json::to_string(&subjects)?)
        .fetch_all(&mut *connection)
        .await
        .map_err(|source| store.failed(source))?;
        for rows in results.chunks(ROWS) {
            project(connection, rows)
                .await
                .map_err(|source| store.failed(source))?;
        }
        let samples: BTreeSet<String> = before
            .into_iter()
            .chain(results.iter().map(|(_, result)| result.sample.to_string()))
            .collect();
        refresh_samples(connection, &samples)
            .await
            .map_err(|source| store.failed(source))?;
        Ok(records)
    }
}

async fn insert(connection: &mut Connection, rows: &[(Record, String)]) -> Result<(), sqlx::Error> {
    let mut query = QueryBuilder::<Sqlite>::new(
        "INSERT INTO record (seq, id, kind, subject, supersedes, hash, content) ",
    );
    query.push_values(rows, |mut row, (record, content)| {
        row.push_bind(record.seq.cast_signed())
            .push_bind(record.id.to_string())
            .push_bind(record.entry.kind().name())
            .push_bind(record.subject.to_string())
            .push_bind(record.supersedes.map(|id| id.to_string()))
            .push_bind(record.hash.to_string())
            .push_bind(content);
    });
    query.build().execute(connection).await?;
    Ok(())
}

async fn project(
    connection: &mut Connection,
    rows: &[(&Record, &Determination)],
) -> Result<(), sqlx::Error> {
    let mut query = QueryBuilder::<Sqlite>::new(
        "INSERT INTO determination (first, subject, record, sample, agreed, range_text) ",
    );
    query.push_values(rows, |mut row, (record, result)| {
        row.push_bind(record.seq.cast_signed())
            .push_bind(record.subject.to_string())
            .push_bind(record.seq.cast_signed())
            .push_bind(result.sample.to_string())
            .push_bind(result.agreed)
            .push_bind(&result.range_text);
    });
    query.push(
        " ON CONFLICT (subject) DO UPDATE SET record = excluded.record, sample = excluded.sample,
             agreed = excluded.agreed, range_text = excluded.range_text",
    );
    query.build().execute(connection).await?;
    Ok(())
}
