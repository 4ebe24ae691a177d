//! What happened in runs.

use super::Connection;
use super::fetch::{RawRecord, all_checked};
use crate::error::BookError;
use crate::ids::RunId;
use crate::records::Record;
use std::path::Path;

pub(super) async fn of_run(
    connection: &mut Connection,
    path: &Path,
    run: RunId,
) -> Result<Vec<Record>, BookError> {
    let rows: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM event e JOIN record r ON r.seq = e.record
         WHERE e.run = ? ORDER BY e.first",
    )
    .bind(run.to_string())
    .fetch_all(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    all_checked(path, rows)
}
