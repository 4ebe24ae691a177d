//! What is under way and what waits.

use super::{Connection, recordings, samples};
use crate::error::BookError;
use crate::query::{
    LONGEST_PAGE, Page, RecordingQuery, RecordingState, SampleQuery, SampleRow, Standing, Today,
};
use std::path::Path;

pub(super) async fn today(connection: &mut Connection, path: &Path) -> Result<Today, BookError> {
    let waiting = RecordingQuery {
        state: Some(RecordingState::WaitsForReading),
        limit: LONGEST_PAGE,
        ..RecordingQuery::default()
    };
    let waiting =
        recordings::ordered(connection, path, &waiting, recordings::Order::Oldest).await?;
    let not_agreed = not_agreed(connection, path).await?;
    let undecided: i64 = sqlx::query_scalar(
        "SELECT count(*) FROM reading_tube t JOIN reading r ON r.subject = t.reading
         WHERE t.decision IS NULL AND r.by_engine",
    )
    .fetch_one(&mut *connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    Ok(Today {
        runs_under_way: recordings::runs_under_way(connection, path).await?,
        waiting_for_reading: waiting.rows,
        waiting_for_reading_total: waiting.total,
        not_agreed: not_agreed.rows,
        not_agreed_total: not_agreed.total,
        undecided_tubes: undecided.unsigned_abs(),
    })
}

/// Samples with readings and no agreed result: those that disagree first, newest first in each.
async fn not_agreed(
    connection: &mut Connection,
    path: &Path,
) -> Result<Page<SampleRow>, BookError> {
    let mut all = Page {
        rows: Vec::new(),
        total: 0,
    };
    for standing in [Standing::NotAgreed, Standing::Read] {
        let query = SampleQuery {
            standing: Some(standing),
            limit: LONGEST_PAGE,
            ..SampleQuery::default()
        };
        let page = samples::page(connection, path, &query).await?;
        all.rows.extend(page.rows);
        all.total += page.total;
    }
    all.rows.truncate(LONGEST_PAGE as usize);
    Ok(all)
}
