//! Thermometers: benches with their past, standards, checks, calibrations, and the results that
//! stand on them. Lists are fetched whole: a handful of statements, however long they are.

use super::Connection;
use super::fetch::{RawRecord, all_checked, checked};
use super::lists::{benches, not_a};
use crate::error::BookError;
use crate::ids::{BenchId, ReadingId, RunId};
use crate::query::Moments;
use crate::records::{Determination, Entry, Record, TubeRef};
use crate::thermometers::{
    BenchHistory, CalibrationRow, CheckRow, ResultTube, ResultTubes, Results, RunPlace,
    StandardRow, Thermometers,
};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::Path;

/// The bench of a run's record, as the index has it.
macro_rules! bench_of {
    ($record:literal) => {
        concat!(
            "CASE WHEN json_valid(",
            $record,
            ".content) THEN json_extract(",
            $record,
            ".content, '$.payload.bench') END"
        )
    };
}

pub(super) async fn all(
    connection: &mut Connection,
    path: &Path,
) -> Result<Thermometers, BookError> {
    Ok(Thermometers {
        benches: histories(connection, path).await?,
        standards: standards(connection, path).await?,
        checks: checks(connection, path).await?,
        calibrations: calibrations(connection, path).await?,
    })
}

async fn histories(
    connection: &mut Connection,
    path: &Path,
) -> Result<Vec<BenchHistory>, BookError> {
    let failed = |source| BookError::database(path, source);
    let rows = benches(connection, path).await?;
    let past: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM bench b JOIN record r ON r.subject = b.subject
         ORDER BY r.seq",
    )
    .fetch_all(&mut *connection)
    .await
    .map_err(failed)?;
    let mut thermometers: BTreeMap<BenchId, Vec<_>> = BTreeMap::new();
    for record in all_checked(path, past)? {
        let Entry::Bench(bench) = record.entry else {
            return Err(not_a(path, "bench", &record));
        };
        thermometers
            .entry(record.subject.into())
            .or_default()
            .push((record.when, bench.thermometer));
    }
    let mut histories = Vec::with_capacity(rows.len());
    for row in rows {
        let used: i64 = sqlx::query_scalar(concat!(
            "SELECT EXISTS (SELECT 1 FROM record r WHERE r.kind = 'run' AND ",
            bench_of!("r"),
            " = ?)"
        ))
        .bind(row.id.to_string())
        .fetch_one(&mut *connection)
        .await
        .map_err(failed)?;
        histories.push(BenchHistory {
            thermometers: thermometers.remove(&row.id).unwrap_or_default(),
            used: used != 0,
            row,
        });
    }
    Ok(histories)
}

async fn records(
    connection: &mut Connection,
    path: &Path,
    query: &'static str,
) -> Result<Vec<Record>, BookError> {
    let rows: Vec<RawRecord> = sqlx::query_as(query)
        .fetch_all(connection)
        .await
        .map_err(|source| BookError::database(path, source))?;
    all_checked(path, rows)
}

async fn standards(
    connection: &mut Connection,
    path: &Path,
) -> Result<Vec<StandardRow>, BookError> {
    let found = records(
        connection,
        path,
        "SELECT r.seq, r.hash, r.content FROM standard s JOIN record r ON r.seq = s.record
         ORDER BY s.first",
    )
    .await?;
    let mut rows = Vec::with_capacity(found.len());
    for record in found {
        let (Entry::Standard(standard), Some(who)) = (&record.entry, record.who) else {
            return Err(not_a(path, "standard", &record));
        };
        rows.push(StandardRow {
            id: record.subject.into(),
            record: record.id,
            who,
            when: record.when,
            standard: standard.clone(),
        });
    }
    rows.sort_by(|a, b| a.standard.reference_c.total_cmp(&b.standard.reference_c));
    Ok(rows)
}

async fn checks(connection: &mut Connection, path: &Path) -> Result<Vec<CheckRow>, BookError> {
    let found = records(
        connection,
        path,
        "SELECT r.seq, r.hash, r.content FROM thermometer_check c JOIN record r ON r.seq = c.record
         ORDER BY c.made_on, c.first",
    )
    .await?;
    let mut rows = Vec::with_capacity(found.len());
    for record in found {
        let (Entry::Check(check), Some(who)) = (&record.entry, record.who) else {
            return Err(not_a(path, "check", &record));
        };
        rows.push(CheckRow {
            id: record.subject.into(),
            record: record.id,
            who,
            when: record.when,
            reason: record.reason.clone(),
            check: check.clone(),
        });
    }
    Ok(rows)
}

async fn calibrations(
    connection: &mut Connection,
    path: &Path,
) -> Result<Vec<CalibrationRow>, BookError> {
    let found = records(
        connection,
        path,
        "SELECT r.seq, r.hash, r.content FROM calibration c JOIN record r ON r.seq = c.record
         ORDER BY c.in_force_from, c.first",
    )
    .await?;
    let mut rows = Vec::with_capacity(found.len());
    for record in found {
        let (Entry::Calibration(calibration), Some(who)) = (&record.entry, record.who) else {
            return Err(not_a(path, "calibration", &record));
        };
        rows.push(CalibrationRow {
            id: record.subject.into(),
            record: record.id,
            who,
            when: record.when,
            reason: record.reason.clone(),
            calibration: calibration.clone(),
        });
    }
    Ok(rows)
}

/// Where and when these runs were.
pub(super) async fn run_places(
    connection: &mut Connection,
    path: &Path,
    runs: &BTreeSet<RunId>,
) -> Result<BTreeMap<RunId, RunPlace>, BookError> {
    let rows: Vec<(String, String, Option<String>)> = sqlx::query_as(concat!(
        "SELECT u.subject, u.begun, ",
        bench_of!("r"),
        " FROM run u JOIN record r ON r.seq = u.record
         WHERE u.subject IN (SELECT value FROM json_each(?))"
    ))
    .bind(serde_json::to_string(runs)?)
    .fetch_all(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    let damaged = |what: &str, found: &str| BookError::Damaged {
        path: path.into(),
        found: format!("\"{found}\" is listed as {what} of a run"),
    };
    rows.into_iter()
        .map(|(run, begun, bench)| {
            let place = RunPlace {
                bench: bench
                    .map(|id| id.parse().map_err(|_| damaged("the bench", &id)))
                    .transpose()?,
                begun: begun.parse().map_err(|_| damaged("the begin", &begun))?,
            };
            Ok((run.parse().map_err(|_| damaged("the id", &run))?, place))
        })
        .collect()
}

/// All results of samples that were read on this bench, each with its tubes as they hold now.
pub(super) async fn results_on(
    connection: &mut Connection,
    path: &Path,
    bench: BenchId,
) -> Result<Results, BookError> {
    let failed = |source| BookError::database(path, source);
    let rows: Vec<(i64, String, String, String)> = sqlx::query_as(concat!(
        "SELECT r.seq, r.hash, r.content, s.label FROM determination d
         JOIN record r ON r.seq = d.record JOIN sample s ON s.subject = d.sample
         WHERE d.sample IN (
             SELECT t.sample FROM record b JOIN recording c ON c.run = b.subject
             JOIN reading g ON g.recording = c.subject JOIN reading_tube t ON t.reading = g.subject
             WHERE b.kind = 'run' AND ",
        bench_of!("b"),
        " = ?) ORDER BY d.first"
    ))
    .bind(bench.to_string())
    .fetch_all(&mut *connection)
    .await
    .map_err(failed)?;
    // Thousands of texts to be hashed and parsed: on all cores.
    let stated: Vec<(Record, String)> = rows
        .into_par_iter()
        .map(|(seq, hash, content, label)| Ok((checked(path, (seq, hash, content))?, label)))
        .collect::<Result<_, BookError>>()?;
    let mut all = Vec::with_capacity(stated.len());
    for (record, label) in stated {
        let Entry::Determination(determination) = record.entry else {
            return Err(not_a(path, "determination", &record));
        };
        all.push((record.subject, record.id, label, determination));
    }
    let readings: BTreeSet<ReadingId> = all
        .iter()
        .flat_map(|(_, _, _, determination)| &determination.from)
        .map(|tube| tube.reading)
        .collect();
    let tubes = tubes_of(connection, path, &readings).await?;
    let runs: BTreeSet<RunId> = tubes.values().map(|tube| tube.run).collect();
    let results = all
        .into_iter()
        .map(|(subject, record, label, determination)| ResultTubes {
            record,
            id: subject.into(),
            label,
            tubes: held(&determination, &tubes),
            determination,
        })
        .collect();
    Ok(Results {
        results,
        runs: run_places(connection, path, &runs).await?,
    })
}

fn held(
    determination: &Determination,
    tubes: &HashMap<(ReadingId, u8), ResultTube>,
) -> Vec<ResultTube> {
    determination
        .from
        .iter()
        .filter_map(|tube| tubes.get(&(tube.reading, tube.place)).cloned())
        .collect()
}

/// All tubes of these readings, as they hold now.
async fn tubes_of(
    connection: &mut Connection,
    path: &Path,
    readings: &BTreeSet<ReadingId>,
) -> Result<HashMap<(ReadingId, u8), ResultTube>, BookError> {
    let failed = |source| BookError::database(path, source);
    let wanted = serde_json::to_string(readings)?;
    let rows: Vec<(i64, String, String, String)> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content, c.run FROM reading g JOIN record r ON r.seq = g.record
         JOIN recording c ON c.subject = g.recording
         WHERE g.subject IN (SELECT value FROM json_each(?))",
    )
    .bind(&wanted)
    .fetch_all(&mut *connection)
    .await
    .map_err(failed)?;
    let read: Vec<(Record, String)> = rows
        .into_par_iter()
        .map(|(seq, hash, content, run)| Ok((checked(path, (seq, hash, content))?, run)))
        .collect::<Result<_, BookError>>()?;
    let mut tubes = HashMap::new();
    for (record, run) in read {
        let Entry::Reading(reading) = &record.entry else {
            return Err(not_a(path, "reading", &record));
        };
        let run: RunId = run.parse().map_err(|_| BookError::Damaged {
            path: path.into(),
            found: format!("\"{run}\" is listed as a run"),
        })?;
        let id: ReadingId = record.subject.into();
        for tube in &reading.tubes {
            let found = ResultTube {
                tube: TubeRef {
                    reading: id,
                    place: tube.place,
                },
                run,
                counts: Moments {
                    outcome: tube.outcome,
                    first_liquid: tube.first_liquid,
                    last_crystal: tube.last_crystal,
                },
                heating_rate_c_per_min: tube.heating_rate_c_per_min,
            };
            tubes.insert((id, tube.place), found);
        }
    }
    let decided: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM reading_tube t JOIN record r ON r.seq = t.decision
         WHERE r.kind = 'override' AND t.reading IN (SELECT value FROM json_each(?))",
    )
    .bind(&wanted)
    .fetch_all(&mut *connection)
    .await
    .map_err(failed)?;
    for record in all_checked(path, decided)? {
        let Entry::Override(says) = &record.entry else {
            return Err(not_a(path, "override", &record));
        };
        if let Some(tube) = tubes.get_mut(&(says.reading, says.place)) {
            tube.counts = Moments {
                outcome: says.outcome,
                first_liquid: says.first_liquid,
                last_crystal: says.last_crystal,
            };
        }
    }
    Ok(tubes)
}
