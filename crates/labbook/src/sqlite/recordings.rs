//! Runs and recordings.

use super::fetch::{RawRecord, checked};
use super::lists::not_a;
use super::{Connection, fetch, readings};
use crate::error::BookError;
use crate::ids::{RecordingId, RunId, SampleId};
use crate::query::{
    LONGEST_PAGE, Page, RecordingDetail, RecordingQuery, RecordingRow, RecordingState, RunRow,
};
use crate::records::{Entry, LoadedTube, Record};
use crate::when::When;
use sqlx::sqlite::SqliteRow;
use sqlx::{QueryBuilder, Row as _, Sqlite};
use std::path::Path;

impl RecordingState {
    fn name(self) -> &'static str {
        match self {
            Self::UnderWay => "under_way",
            Self::WaitsForReading => "waits_for_reading",
            Self::Read => "read",
        }
    }

    fn named(name: &str) -> Option<Self> {
        [Self::UnderWay, Self::WaitsForReading, Self::Read]
            .into_iter()
            .find(|state| state.name() == name)
    }
}

/// In which order recordings come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Order {
    Newest,
    Oldest,
}

pub(super) async fn page(
    connection: &mut Connection,
    path: &Path,
    query: &RecordingQuery,
) -> Result<Page<RecordingRow>, BookError> {
    ordered(connection, path, query, Order::Newest).await
}

pub(super) async fn ordered(
    connection: &mut Connection,
    path: &Path,
    query: &RecordingQuery,
    order: Order,
) -> Result<Page<RecordingRow>, BookError> {
    let failed = |source| BookError::database(path, source);
    let mut count = QueryBuilder::new("SELECT count(*) FROM recording c");
    conditions(&mut count, query);
    let total: i64 = count
        .build_query_scalar()
        .fetch_one(&mut *connection)
        .await
        .map_err(failed)?;
    let mut rows = QueryBuilder::new(
        "SELECT r.seq, r.hash, r.content, c.begun, c.state, c.readings
         FROM recording c JOIN record r ON r.seq = c.record",
    );
    conditions(&mut rows, query);
    rows.push(match order {
        Order::Newest => " ORDER BY c.first DESC LIMIT ",
        Order::Oldest => " ORDER BY c.first LIMIT ",
    })
    .push_bind(query.limit.min(LONGEST_PAGE))
    .push(" OFFSET ")
    .push_bind(i64::try_from(query.offset).unwrap_or(i64::MAX));
    let found = rows
        .build()
        .fetch_all(&mut *connection)
        .await
        .map_err(failed)?;
    let mut rows = Vec::with_capacity(found.len());
    for row in &found {
        rows.push(recording_row(connection, path, row).await?);
    }
    Ok(Page {
        rows,
        total: total.unsigned_abs(),
    })
}

fn conditions(builder: &mut QueryBuilder<Sqlite>, query: &RecordingQuery) {
    let mut joint = " WHERE ";
    if let Some(state) = query.state {
        builder
            .push(joint)
            .push("c.state = ")
            .push_bind(state.name());
        joint = " AND ";
    }
    if let Some(sample) = query.sample {
        builder
            .push(joint)
            .push("c.run IN (SELECT run FROM run_tube WHERE sample = ")
            .push_bind(sample.to_string())
            .push(")");
    }
}

async fn recording_row(
    connection: &mut Connection,
    path: &Path,
    row: &SqliteRow,
) -> Result<RecordingRow, BookError> {
    let failed = |source| BookError::database(path, source);
    let raw: RawRecord = (
        row.try_get("seq").map_err(failed)?,
        row.try_get("hash").map_err(failed)?,
        row.try_get("content").map_err(failed)?,
    );
    let begun: String = row.try_get("begun").map_err(failed)?;
    let state: String = row.try_get("state").map_err(failed)?;
    let readings: i64 = row.try_get("readings").map_err(failed)?;
    let record = checked(path, raw)?;
    let Entry::Recording(recording) = record.entry else {
        return Err(not_a(path, "recording", &record));
    };
    let (load, labels) = load(connection, path, recording.run).await?;
    Ok(RecordingRow {
        id: record.subject.into(),
        record: record.id,
        begun: time(path, &begun)?,
        state: RecordingState::named(&state).ok_or_else(|| BookError::Damaged {
            path: path.into(),
            found: format!("state of a recording is \"{state}\""),
        })?,
        recording,
        load,
        labels,
        readings: readings.unsigned_abs(),
    })
}

fn time(path: &Path, text: &str) -> Result<When, BookError> {
    text.parse().map_err(|_| BookError::Damaged {
        path: path.into(),
        found: format!("\"{text}\" is listed as a time"),
    })
}

async fn load(
    connection: &mut Connection,
    path: &Path,
    run: RunId,
) -> Result<(Vec<LoadedTube>, Vec<Option<String>>), BookError> {
    let rows: Vec<(i64, Option<String>, Option<String>)> = sqlx::query_as(
        "SELECT t.place, t.sample, s.label FROM run_tube t LEFT JOIN sample s ON s.subject = t.sample
         WHERE t.run = ? ORDER BY t.place",
    )
    .bind(run.to_string())
    .fetch_all(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    Ok(rows
        .into_iter()
        .map(|(place, sample, label)| {
            let tube = LoadedTube {
                place: u8::try_from(place).unwrap_or(u8::MAX),
                sample: sample.and_then(|id| id.parse().ok()),
            };
            (tube, label)
        })
        .unzip())
}

pub(super) async fn of_sample(
    connection: &mut Connection,
    path: &Path,
    sample: SampleId,
) -> Result<Vec<RecordingRow>, BookError> {
    let query = RecordingQuery {
        sample: Some(sample),
        limit: LONGEST_PAGE,
        ..RecordingQuery::default()
    };
    Ok(page(connection, path, &query).await?.rows)
}

pub(super) async fn run_of(
    connection: &mut Connection,
    path: &Path,
    recording: RecordingId,
) -> Result<RunId, BookError> {
    let run: Option<String> = sqlx::query_scalar("SELECT run FROM recording WHERE subject = ?")
        .bind(recording.to_string())
        .fetch_optional(connection)
        .await
        .map_err(|source| BookError::database(path, source))?;
    run.and_then(|run| run.parse().ok())
        .ok_or_else(|| BookError::Unknown {
            what: "recording",
            name: recording.to_string(),
        })
}

pub(super) async fn detail(
    connection: &mut Connection,
    path: &Path,
    id: RecordingId,
) -> Result<RecordingDetail, BookError> {
    let row = sqlx::query(
        "SELECT r.seq, r.hash, r.content, c.begun, c.state, c.readings
         FROM recording c JOIN record r ON r.seq = c.record WHERE c.subject = ?",
    )
    .bind(id.to_string())
    .fetch_optional(&mut *connection)
    .await
    .map_err(|source| BookError::database(path, source))?
    .ok_or_else(|| BookError::Unknown {
        what: "recording",
        name: id.to_string(),
    })?;
    let row = recording_row(connection, path, &row).await?;
    Ok(RecordingDetail {
        run: run(connection, path, row.recording.run).await?,
        readings: readings::of_recording(connection, path, id).await?,
        row,
    })
}

pub(super) async fn run(
    connection: &mut Connection,
    path: &Path,
    id: RunId,
) -> Result<RunRow, BookError> {
    let unknown = || BookError::Unknown {
        what: "run",
        name: id.to_string(),
    };
    let record = match fetch::latest(connection, path, id.into()).await {
        Err(BookError::Unknown { .. }) => return Err(unknown()),
        other => other?,
    };
    run_row(connection, path, record).await
}

async fn run_row(
    connection: &mut Connection,
    path: &Path,
    record: Record,
) -> Result<RunRow, BookError> {
    let Entry::Run(run) = record.entry else {
        return Err(not_a(path, "run", &record));
    };
    let id: RunId = record.subject.into();
    let begun: Option<String> = sqlx::query_scalar("SELECT begun FROM run WHERE subject = ?")
        .bind(id.to_string())
        .fetch_optional(&mut *connection)
        .await
        .map_err(|source| BookError::database(path, source))?;
    let (_, labels) = load(connection, path, id).await?;
    Ok(RunRow {
        id,
        record: record.id,
        begun: time(path, begun.as_deref().unwrap_or_default())?,
        run,
        labels,
    })
}

pub(super) async fn runs_under_way(
    connection: &mut Connection,
    path: &Path,
) -> Result<Vec<RunRow>, BookError> {
    let rows: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM run u JOIN record r ON r.seq = u.record
         WHERE u.state = 'under_way' ORDER BY u.first LIMIT ?",
    )
    .bind(LONGEST_PAGE)
    .fetch_all(&mut *connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    let mut runs = Vec::with_capacity(rows.len());
    for row in rows {
        runs.push(run_row(connection, path, checked(path, row)?).await?);
    }
    Ok(runs)
}
