//! What a record does to the tables of the present state. The same code writes them at first and
//! rebuilds them when a book is verified.

use super::{Connection, project_thermometers, teaching};
use crate::ids::{ReadingId, RunId, SampleId};
use crate::records::{
    Bench, Determination, Entry, Event, LoadedTube, Person, Reader, Reading, Record, Recording,
    Run, Sample,
};
use crate::text;
use sqlx::AssertSqlSafe;
use std::collections::BTreeSet;

/// Bring the tables up to a record that was just written.
pub(crate) async fn project(
    connection: &mut Connection,
    record: &Record,
) -> Result<(), sqlx::Error> {
    match &record.entry {
        Entry::Opening(_) | Entry::Received(_) => Ok(()),
        Entry::Person(entry) => person(connection, record, entry).await,
        Entry::Bench(entry) => bench(connection, record, entry).await,
        Entry::Sample(entry) => sample(connection, record, entry).await,
        Entry::Run(entry) => run(connection, record, entry).await,
        Entry::Event(entry) => event(connection, record, entry).await,
        Entry::Recording(entry) => recording(connection, record, entry).await,
        Entry::Reading(entry) => reading(connection, record, entry).await,
        Entry::Confirmation(entry) => {
            decision(connection, record, entry.reading, entry.place).await
        }
        Entry::Override(entry) => decision(connection, record, entry.reading, entry.place).await,
        Entry::Determination(entry) => determination(connection, record, entry).await,
        Entry::SampleVerdict(entry) => of_sample(connection, record, "verdict", entry.sample).await,
        Entry::SignOff(entry) => of_sample(connection, record, "sign_off", entry.sample).await,
        Entry::PastResult(entry) => {
            of_sample(connection, record, "past_result", entry.sample).await
        }
        Entry::Standard(entry) => project_thermometers::standard(connection, record, entry).await,
        Entry::Check(entry) => project_thermometers::check(connection, record, entry).await,
        Entry::Calibration(entry) => {
            project_thermometers::calibration(connection, record, entry).await
        }
        Entry::Practical(_) => teaching::practical(connection, record).await,
        Entry::PracticalStep(entry) => teaching::step(connection, record, entry).await,
        Entry::PracticeAttempt(entry) => teaching::attempt(connection, record, entry).await,
    }
}

pub(super) fn number(record: &Record) -> i64 {
    record.seq.cast_signed()
}

async fn person(
    connection: &mut Connection,
    record: &Record,
    entry: &Person,
) -> Result<(), sqlx::Error> {
    let role = serde_json::to_value(entry.role).unwrap_or_default();
    sqlx::query(
        "INSERT INTO person (first, subject, record, name, name_key, role)
         VALUES (?1, ?2, ?1, ?3, ?4, ?5)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, name = excluded.name,
             name_key = excluded.name_key, role = excluded.role",
    )
    .bind(number(record))
    .bind(record.subject.to_string())
    .bind(&entry.name)
    .bind(text::key(&entry.name))
    .bind(role.as_str())
    .execute(connection)
    .await?;
    Ok(())
}

async fn bench(
    connection: &mut Connection,
    record: &Record,
    entry: &Bench,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "INSERT INTO bench (first, subject, record, name, name_key, due)
         VALUES (?1, ?2, ?1, ?3, ?4, ?5)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, name = excluded.name,
             name_key = excluded.name_key, due = excluded.due",
    )
    .bind(number(record))
    .bind(record.subject.to_string())
    .bind(&entry.name)
    .bind(text::key(&entry.name))
    .bind(entry.thermometer_due.map(|date| date.to_string()))
    .execute(connection)
    .await?;
    Ok(())
}

async fn sample(
    connection: &mut Connection,
    record: &Record,
    entry: &Sample,
) -> Result<(), sqlx::Error> {
    let searched = [
        Some(entry.label.as_str()),
        entry.origin.as_deref(),
        entry.expected_substance.as_deref(),
    ];
    let searched: Vec<&str> = searched.into_iter().flatten().collect();
    sqlx::query(
        "INSERT INTO sample (first, subject, record, label, label_key, sort_key, origin, expected,
             hazards, search, added, standing, recordings)
         VALUES (?1, ?2, ?1, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, 'unread', 0)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, label = excluded.label,
             label_key = excluded.label_key, sort_key = excluded.sort_key, origin = excluded.origin,
             expected = excluded.expected, hazards = excluded.hazards, search = excluded.search",
    )
    .bind(number(record))
    .bind(record.subject.to_string())
    .bind(&entry.label)
    .bind(text::key(&entry.label))
    .bind(text::sort_key(&entry.label))
    .bind(entry.origin.as_deref())
    .bind(entry.expected_substance.as_deref())
    .bind(entry.hazards.as_deref())
    .bind(text::key(&searched.join("\n")))
    .bind(record.when.to_string())
    .execute(connection)
    .await?;
    Ok(())
}

async fn run(connection: &mut Connection, record: &Record, entry: &Run) -> Result<(), sqlx::Error> {
    let subject = record.subject.to_string();
    let before: Vec<String> =
        sqlx::query_scalar("SELECT sample FROM run_tube WHERE run = ? AND sample IS NOT NULL")
            .bind(&subject)
            .fetch_all(&mut *connection)
            .await?;
    sqlx::query(
        "INSERT INTO run (first, subject, record, begun, state) VALUES (?1, ?2, ?1, ?3, ?4)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, state = excluded.state",
    )
    .bind(number(record))
    .bind(&subject)
    .bind(record.when.to_string())
    .bind(entry.state.name())
    .execute(&mut *connection)
    .await?;
    sqlx::query("DELETE FROM run_tube WHERE run = ?")
        .bind(&subject)
        .execute(&mut *connection)
        .await?;
    for LoadedTube { place, sample } in &entry.load {
        sqlx::query("INSERT INTO run_tube (run, place, sample) VALUES (?, ?, ?)")
            .bind(&subject)
            .bind(place)
            .bind(sample.map(|id| id.to_string()))
            .execute(&mut *connection)
            .await?;
    }
    let now = entry
        .load
        .iter()
        .filter_map(|tube| Some(tube.sample?.to_string()));
    for sample in before.into_iter().chain(now) {
        refresh_sample(connection, &sample).await?;
    }
    Ok(())
}

async fn event(
    connection: &mut Connection,
    record: &Record,
    entry: &Event,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "INSERT INTO event (first, subject, record, run) VALUES (?1, ?2, ?1, ?3)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, run = excluded.run",
    )
    .bind(number(record))
    .bind(record.subject.to_string())
    .bind(entry.run.to_string())
    .execute(connection)
    .await?;
    Ok(())
}

async fn recording(
    connection: &mut Connection,
    record: &Record,
    entry: &Recording,
) -> Result<(), sqlx::Error> {
    let subject = record.subject.to_string();
    sqlx::query(
        "INSERT INTO recording (first, subject, record, run, begun, state, readings)
         VALUES (?1, ?2, ?1, ?3, ?4, ?5, 0)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, run = excluded.run,
             state = CASE WHEN excluded.state <> 'under_way' AND recording.readings > 0
                 THEN 'read' ELSE excluded.state END",
    )
    .bind(number(record))
    .bind(&subject)
    .bind(entry.run.to_string())
    .bind(record.when.to_string())
    .bind(if entry.end.is_some() {
        "waits_for_reading"
    } else {
        "under_way"
    })
    .execute(&mut *connection)
    .await?;
    for sample in samples_of(connection, entry.run).await? {
        refresh_sample(connection, &sample).await?;
    }
    Ok(())
}

async fn samples_of(connection: &mut Connection, run: RunId) -> Result<Vec<String>, sqlx::Error> {
    sqlx::query_scalar("SELECT sample FROM run_tube WHERE run = ? AND sample IS NOT NULL")
        .bind(run.to_string())
        .fetch_all(connection)
        .await
}

async fn reading(
    connection: &mut Connection,
    record: &Record,
    entry: &Reading,
) -> Result<(), sqlx::Error> {
    let subject = record.subject.to_string();
    let before: Vec<String> = sqlx::query_scalar(
        "SELECT sample FROM reading_tube WHERE reading = ? AND sample IS NOT NULL",
    )
    .bind(&subject)
    .fetch_all(&mut *connection)
    .await?;
    sqlx::query(
        "INSERT INTO reading (first, subject, record, recording, by_engine)
         VALUES (?1, ?2, ?1, ?3, ?4)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record,
             recording = excluded.recording, by_engine = excluded.by_engine",
    )
    .bind(number(record))
    .bind(&subject)
    .bind(entry.recording.to_string())
    .bind(matches!(entry.reader, Reader::Engine { .. }))
    .execute(&mut *connection)
    .await?;
    // A reading that takes the place of another must be decided on anew.
    sqlx::query("DELETE FROM reading_tube WHERE reading = ?")
        .bind(&subject)
        .execute(&mut *connection)
        .await?;
    for tube in &entry.tubes {
        sqlx::query("INSERT INTO reading_tube (reading, place, sample) VALUES (?, ?, ?)")
            .bind(&subject)
            .bind(tube.place)
            .bind(tube.sample.map(|id| id.to_string()))
            .execute(&mut *connection)
            .await?;
    }
    sqlx::query(
        "UPDATE recording SET
             state = CASE WHEN state = 'under_way' THEN state ELSE 'read' END,
             readings = (SELECT count(*) FROM reading WHERE recording = ?1)
         WHERE subject = ?1",
    )
    .bind(entry.recording.to_string())
    .execute(&mut *connection)
    .await?;
    let now = entry
        .tubes
        .iter()
        .filter_map(|tube| Some(tube.sample?.to_string()));
    for sample in before.into_iter().chain(now) {
        refresh_sample(connection, &sample).await?;
    }
    Ok(())
}

async fn decision(
    connection: &mut Connection,
    record: &Record,
    reading: ReadingId,
    place: u8,
) -> Result<(), sqlx::Error> {
    sqlx::query("UPDATE reading_tube SET decision = ? WHERE reading = ? AND place = ?")
        .bind(number(record))
        .bind(reading.to_string())
        .bind(place)
        .execute(connection)
        .await?;
    Ok(())
}

async fn determination(
    connection: &mut Connection,
    record: &Record,
    entry: &Determination,
) -> Result<(), sqlx::Error> {
    let subject = record.subject.to_string();
    let before: Option<String> =
        sqlx::query_scalar("SELECT sample FROM determination WHERE subject = ?")
            .bind(&subject)
            .fetch_optional(&mut *connection)
            .await?;
    sqlx::query(
        "INSERT INTO determination (first, subject, record, sample, agreed, range_text)
         VALUES (?1, ?2, ?1, ?3, ?4, ?5)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, sample = excluded.sample,
             agreed = excluded.agreed, range_text = excluded.range_text",
    )
    .bind(number(record))
    .bind(&subject)
    .bind(entry.sample.to_string())
    .bind(entry.agreed)
    .bind(&entry.range_text)
    .execute(&mut *connection)
    .await?;
    let now = entry.sample.to_string();
    for sample in before.into_iter().filter(|before| *before != now) {
        refresh_sample(connection, &sample).await?;
    }
    refresh_sample(connection, &now).await?;
    Ok(())
}

/// A row of a table that says of which sample its records are.
async fn of_sample(
    connection: &mut Connection,
    record: &Record,
    table: &'static str,
    sample: SampleId,
) -> Result<(), sqlx::Error> {
    let statement = format!(
        "INSERT INTO {table} (first, subject, record, sample) VALUES (?1, ?2, ?1, ?3)
         ON CONFLICT (subject) DO UPDATE SET record = excluded.record, sample = excluded.sample"
    );
    sqlx::query(AssertSqlSafe(statement))
        .bind(number(record))
        .bind(record.subject.to_string())
        .bind(sample.to_string())
        .execute(connection)
        .await?;
    Ok(())
}

/// What is counted up for a sample from other tables.
async fn refresh_sample(connection: &mut Connection, sample: &str) -> Result<(), sqlx::Error> {
    refresh_samples(connection, &BTreeSet::from([sample.to_owned()])).await
}

/// The same for several.
pub(super) async fn refresh_samples(
    connection: &mut Connection,
    samples: &BTreeSet<String>,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "UPDATE sample SET
             recordings = (SELECT count(DISTINCT r.subject) FROM run_tube t JOIN recording r ON r.run = t.run
                           WHERE t.sample = sample.subject),
             range_text = (SELECT d.range_text FROM determination d WHERE d.sample = sample.subject
                           ORDER BY d.record DESC LIMIT 1),
             standing = coalesce(
                 (SELECT CASE WHEN d.agreed THEN 'agreed' ELSE 'not_agreed' END
                  FROM determination d WHERE d.sample = sample.subject ORDER BY d.record DESC LIMIT 1),
                 CASE WHEN EXISTS (SELECT 1 FROM reading_tube t WHERE t.sample = sample.subject)
                      THEN 'read' ELSE 'unread' END)
         WHERE subject IN (SELECT value FROM json_each(?))",
    )
    .bind(serde_json::json!(samples).to_string())
    .execute(connection)
    .await?;
    Ok(())
}
