//! Samples: lists, search, one with everything on it.

use super::fetch::{RawRecord, checked};
use super::lists::not_a;
use super::{Connection, fetch, readings, recordings, signing};
use crate::error::BookError;
use crate::ids::SampleId;
use crate::query::{
    DeterminationRow, LONGEST_PAGE, Page, SampleDetail, SampleOrder, SampleQuery, SampleRow,
    SampleTube, Standing, VerdictRow,
};
use crate::records::{Entry, TubeRef};
use crate::text;
use sqlx::sqlite::SqliteRow;
use sqlx::{QueryBuilder, Row as _, Sqlite};
use std::collections::BTreeSet;
use std::path::Path;

const COLUMNS: &str =
    "subject, label, origin, expected, hazards, standing, recordings, range_text, added";

/// Words of a search beyond these are not looked at.
const MOST_WORDS: usize = 8;

/// What stands after SELECT … FROM sample to choose rows.
fn conditions(builder: &mut QueryBuilder<Sqlite>, query: &SampleQuery) {
    let mut joint = " WHERE ";
    if let Some(standing) = query.standing {
        builder
            .push(joint)
            .push("standing = ")
            .push_bind(standing.name());
        joint = " AND ";
    }
    for word in query.text.split_whitespace().take(MOST_WORDS) {
        builder
            .push(joint)
            .push("instr(search, ")
            .push_bind(text::key(word))
            .push(") > 0");
        joint = " AND ";
    }
}

pub(super) async fn page(
    connection: &mut Connection,
    path: &Path,
    query: &SampleQuery,
) -> Result<Page<SampleRow>, BookError> {
    let failed = |source| BookError::database(path, source);
    // The keys are found in an index that holds what is searched; only the rows shown are fetched.
    let (inner, outer) = match query.order {
        SampleOrder::Newest => ("first DESC", "s.first DESC"),
        SampleOrder::Label => ("sort_key, first", "s.sort_key, s.first"),
    };
    let mut rows = QueryBuilder::new("SELECT ");
    rows.push(COLUMNS)
        .push(" FROM sample s WHERE s.first IN (SELECT first FROM sample");
    conditions(&mut rows, query);
    rows.push(" ORDER BY ")
        .push(inner)
        .push(" LIMIT ")
        .push_bind(query.limit.min(LONGEST_PAGE))
        .push(" OFFSET ")
        .push_bind(i64::try_from(query.offset).unwrap_or(i64::MAX))
        .push(") ORDER BY ")
        .push(outer);
    let rows: Vec<SampleRow> = rows
        .build()
        .fetch_all(&mut *connection)
        .await
        .map_err(failed)?
        .iter()
        .map(|found| row(path, found))
        .collect::<Result<_, _>>()?;
    // A first page that is not full has them all: what is rare costs one pass, not two.
    let all_here = query.offset == 0 && rows.len() < query.limit.min(LONGEST_PAGE) as usize;
    let total = if all_here {
        rows.len() as u64
    } else {
        count(connection, path, query).await?
    };
    Ok(Page { rows, total })
}

async fn count(
    connection: &mut Connection,
    path: &Path,
    query: &SampleQuery,
) -> Result<u64, BookError> {
    let mut count = QueryBuilder::new("SELECT count(*) FROM sample");
    conditions(&mut count, query);
    let total: i64 = count
        .build_query_scalar()
        .fetch_one(connection)
        .await
        .map_err(|source| BookError::database(path, source))?;
    Ok(total.unsigned_abs())
}

pub(super) async fn labelled(
    connection: &mut Connection,
    path: &Path,
    label: &str,
) -> Result<Option<SampleRow>, BookError> {
    let mut query = QueryBuilder::<Sqlite>::new("SELECT ");
    query
        .push(COLUMNS)
        .push(" FROM sample WHERE label_key = ")
        .push_bind(text::key(label));
    query
        .build()
        .fetch_optional(connection)
        .await
        .map_err(|source| BookError::database(path, source))?
        .as_ref()
        .map(|found| row(path, found))
        .transpose()
}

fn row(path: &Path, found: &SqliteRow) -> Result<SampleRow, BookError> {
    let failed = |source| BookError::database(path, source);
    let text = |column| found.try_get::<String, _>(column).map_err(failed);
    let maybe = |column| found.try_get::<Option<String>, _>(column).map_err(failed);
    let damaged = |column: &str, value: &str| BookError::Damaged {
        path: path.into(),
        found: format!("{column} of a sample is \"{value}\""),
    };
    let (id, standing, added) = (text("subject")?, text("standing")?, text("added")?);
    let recordings: i64 = found.try_get("recordings").map_err(failed)?;
    Ok(SampleRow {
        id: id.parse().map_err(|_| damaged("subject", &id))?,
        label: text("label")?,
        origin: maybe("origin")?,
        expected_substance: maybe("expected")?,
        hazards: maybe("hazards")?,
        standing: Standing::named(&standing).ok_or_else(|| damaged("standing", &standing))?,
        recordings: recordings.unsigned_abs(),
        range_text: maybe("range_text")?,
        added: added.parse().map_err(|_| damaged("added", &added))?,
    })
}

pub(super) async fn detail(
    connection: &mut Connection,
    path: &Path,
    id: SampleId,
) -> Result<SampleDetail, BookError> {
    let unknown = || BookError::Unknown {
        what: "sample",
        name: id.to_string(),
    };
    let latest = match fetch::latest(connection, path, id.into()).await {
        Err(BookError::Unknown { .. }) => return Err(unknown()),
        other => other?,
    };
    let Entry::Sample(sample) = latest.entry else {
        return Err(unknown());
    };
    let row = labelled(connection, path, &sample.label)
        .await?
        .ok_or_else(unknown)?;
    let tubes = tubes(connection, path, id).await?;
    let determinations = determinations(connection, path, id, &tubes).await?;
    let verdicts = verdicts(connection, path, id).await?;
    let present = signing::Present {
        sample_record: latest.id,
        determinations: &determinations,
        verdicts: &verdicts,
        tubes: &tubes,
    };
    let sign_offs = signing::sign_offs(connection, path, id, &present).await?;
    let mut detail = SampleDetail {
        row,
        record: latest.id,
        sample,
        determinations,
        verdicts,
        sign_offs,
        past_results: signing::past_results(connection, path, id).await?,
        took_part: BTreeSet::new(),
        tubes: tubes.into_iter().map(|(tube, _)| tube).collect(),
        recordings: recordings::of_sample(connection, path, id).await?,
    };
    detail.took_part = signing::took_part(connection, path, &detail).await?;
    signing::no_longer_second(&mut detail);
    Ok(detail)
}

/// Tubes with the number of the record that is the last word on each.
async fn tubes(
    connection: &mut Connection,
    path: &Path,
    id: SampleId,
) -> Result<Vec<(SampleTube, u64)>, BookError> {
    let readings: Vec<String> = sqlx::query_scalar(
        "SELECT DISTINCT r.subject FROM reading_tube t JOIN reading r ON r.subject = t.reading
         WHERE t.sample = ? ORDER BY r.first DESC",
    )
    .bind(id.to_string())
    .fetch_all(&mut *connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    let mut tubes = Vec::new();
    for reading in readings {
        let reading = reading.parse().map_err(|_| BookError::Damaged {
            path: path.into(),
            found: format!("\"{reading}\" is listed as a reading"),
        })?;
        let (detail, last_words) = readings::with_last_words(connection, path, reading).await?;
        let run = recordings::run_of(connection, path, detail.reading.recording).await?;
        for (tube, last_word) in detail.tubes.into_iter().zip(last_words) {
            if tube.sample == Some(id) {
                let tube = SampleTube {
                    run,
                    recording: detail.reading.recording,
                    reading: detail.id,
                    reader: detail.reading.reader.clone(),
                    read_at: detail.when,
                    heating_rate_c_per_min: detail
                        .reading
                        .tubes
                        .iter()
                        .find(|read| read.place == tube.place)
                        .and_then(|read| read.heating_rate_c_per_min),
                    tube,
                };
                tubes.push((tube, last_word));
            }
        }
    }
    Ok(tubes)
}

async fn determinations(
    connection: &mut Connection,
    path: &Path,
    id: SampleId,
    tubes: &[(SampleTube, u64)],
) -> Result<Vec<DeterminationRow>, BookError> {
    let rows: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM determination d JOIN record r ON r.seq = d.record
         WHERE d.sample = ? ORDER BY d.record DESC",
    )
    .bind(id.to_string())
    .fetch_all(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    rows.into_iter()
        .map(|row| {
            let record = checked(path, row)?;
            let (Entry::Determination(determination), Some(who)) = (&record.entry, record.who)
            else {
                return Err(not_a(path, "determination", &record));
            };
            let changed_since = |from: &&TubeRef| {
                tubes.iter().any(|(tube, last_word)| {
                    tube.reading == from.reading
                        && tube.tube.place == from.place
                        && *last_word > record.seq
                })
            };
            Ok(DeterminationRow {
                id: record.subject.into(),
                who,
                when: record.when,
                record: record.id,
                reason: record.reason.clone(),
                outdated: determination
                    .from
                    .iter()
                    .filter(changed_since)
                    .copied()
                    .collect(),
                determination: determination.clone(),
            })
        })
        .collect()
}

async fn verdicts(
    connection: &mut Connection,
    path: &Path,
    id: SampleId,
) -> Result<Vec<VerdictRow>, BookError> {
    let rows: Vec<RawRecord> = sqlx::query_as(
        "SELECT r.seq, r.hash, r.content FROM verdict v JOIN record r ON r.seq = v.record
         WHERE v.sample = ? ORDER BY v.record DESC",
    )
    .bind(id.to_string())
    .fetch_all(&mut *connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    let mut verdicts = Vec::with_capacity(rows.len());
    for row in rows {
        let record = checked(path, row)?;
        let (Entry::SampleVerdict(verdict), Some(who)) = (&record.entry, record.who) else {
            return Err(not_a(path, "verdict", &record));
        };
        let mut outdated = Vec::new();
        for mixed in &verdict.mixed_meltings {
            for tube in [mixed.sample_tube, mixed.reference_tube, mixed.mixture_tube] {
                if last_word(connection, path, tube).await? > record.seq {
                    outdated.push(tube);
                }
            }
        }
        verdicts.push(VerdictRow {
            id: record.subject.into(),
            who,
            when: record.when,
            record: record.id,
            reason: record.reason.clone(),
            verdict: verdict.clone(),
            outdated,
        });
    }
    Ok(verdicts)
}

/// Number of the record that is the last word on a tube; 0 where it is no longer there.
async fn last_word(
    connection: &mut Connection,
    path: &Path,
    tube: TubeRef,
) -> Result<u64, BookError> {
    let found: Option<i64> = sqlx::query_scalar(
        "SELECT max(r.record, coalesce(t.decision, 0)) FROM reading_tube t
         JOIN reading r ON r.subject = t.reading WHERE t.reading = ? AND t.place = ?",
    )
    .bind(tube.reading.to_string())
    .bind(tube.place)
    .fetch_optional(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    Ok(found.map_or(0, i64::unsigned_abs))
}
