//! The records, their links, and the tables made from them.

use super::{Findings, Place, words};
use crate::chain::{Head, unlink};
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::{RecordId, RecordingId, SubjectId};
use crate::records::{Entry, Kind, Record, Recording};
use crate::sqlite::{Mode, NEWEST_FORM, form_of, migrate_to, project};
use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection};
use sqlx::{AssertSqlSafe, ConnectOptions as _, Row as _};
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::path::Path;

/// Tables that are made from the records, with the columns that put their rows in order.
const STATE: [(&str, &str); 20] = [
    ("person", "first"),
    ("bench", "first"),
    ("sample", "first"),
    ("run", "first"),
    ("run_tube", "run, place"),
    ("event", "first"),
    ("recording", "first"),
    ("reading", "first"),
    ("reading_tube", "reading, place"),
    ("determination", "first"),
    ("verdict", "first"),
    ("sign_off", "first"),
    ("past_result", "first"),
    ("standard", "first"),
    ("thermometer_check", "first"),
    ("calibration", "first"),
    ("practical", "first"),
    ("practical_step", "first"),
    ("practice_attempt", "first"),
    ("_sqlx_migrations", "version"),
];

/// Complaints of the database's own check that are passed on.
const MOST_COMPLAINTS: u32 = 20;

/// Records fetched at a time.
const PIECE: u32 = 500;

/// What the records say that others need.
#[derive(Debug, Default)]
pub(super) struct Seen {
    pub records: u64,
    pub attachments: u64,
    pub head: Head,
    pub hashes: HashSet<Digest>,
    /// The latest record of each recording.
    pub recordings: BTreeMap<RecordingId, Recording>,
    wanted_attachments: BTreeSet<Digest>,
    /// The latest record of each subject, and its kind.
    latest: HashMap<SubjectId, (RecordId, Kind)>,
    /// Whether every record was read.
    whole: bool,
}

/// Look at all of it.
pub(super) async fn look(
    connection: &mut SqliteConnection,
    path: &Path,
    findings: &mut Findings,
    seen: &mut Seen,
) -> Result<(), BookError> {
    let form = match form_of(connection).await {
        Ok(Some(found)) if found > NEWEST_FORM => {
            return Err(BookError::Newer {
                path: path.into(),
                found,
                known: NEWEST_FORM,
            });
        }
        // A book that this version did not open yet is as its own version made it.
        Ok(Some(found)) if found > 0 => found,
        Ok(_) => {
            findings.add(Place::Database, "holds no tables of a lab book");
            NEWEST_FORM
        }
        Err(error) => {
            findings.add(Place::Database, unreadable(&error));
            NEWEST_FORM
        }
    };
    let mut replay = replay(path, form).await?;
    // Records first: the first bad one is to be named first.
    records(connection, &mut replay, path, findings, seen).await?;
    attachments(connection, findings, seen).await;
    for digest in &seen.wanted_attachments {
        findings.add(
            Place::Attachment {
                sha256: digest.to_string(),
            },
            "is missing",
        );
    }
    own_check(connection, findings).await;
    schema(connection, &mut replay, path, findings).await?;
    if seen.whole {
        for (table, order) in STATE {
            compare(connection, &mut replay, path, table, order, findings).await?;
        }
    }
    Ok(())
}

/// An empty book of this form in memory, to play the records into.
async fn replay(path: &Path, form: i64) -> Result<SqliteConnection, BookError> {
    let mut replay = SqliteConnectOptions::new()
        .in_memory(true)
        .connect()
        .await
        .map_err(|source| BookError::database(path, source))?;
    migrate_to(&mut replay, path, Mode::Create, form).await?;
    Ok(replay)
}

fn unreadable(error: &sqlx::Error) -> String {
    format!(
        "is damaged and cannot be read there ({}); restore it from a copy",
        words(error)
    )
}

async fn records(
    connection: &mut SqliteConnection,
    replay: &mut SqliteConnection,
    path: &Path,
    findings: &mut Findings,
    seen: &mut Seen,
) -> Result<(), BookError> {
    let failed = |source| BookError::database(path, source);
    sqlx::query("BEGIN")
        .execute(&mut *replay)
        .await
        .map_err(failed)?;
    let mut after = i64::MIN;
    loop {
        let rows = sqlx::query(
            "SELECT seq, id, kind, subject, supersedes, hash, content FROM record
             WHERE seq > ? ORDER BY seq LIMIT ?",
        )
        .bind(after)
        .bind(PIECE)
        .fetch_all(&mut *connection)
        .await;
        let rows = match rows {
            Ok(rows) => rows,
            Err(error) => {
                findings.add(
                    Place::Database,
                    format!("after record {}, {}", seen.head.seq, unreadable(&error)),
                );
                break;
            }
        };
        if rows.is_empty() {
            seen.whole = true;
            break;
        }
        for row in &rows {
            let stored = Stored::read(row);
            after = stored.seq;
            let Some(record) = stored.look(findings, seen) else {
                // Without it the tables cannot be made again; the next one is linked to what it said.
                continue;
            };
            if let Err(error) = project(replay, &record).await {
                findings.add(
                    place(&stored, Some(record.entry.kind())),
                    format!("cannot follow the records before it ({})", words(&error)),
                );
            }
        }
    }
    sqlx::query("COMMIT")
        .execute(replay)
        .await
        .map_err(failed)?;
    Ok(())
}

/// A row of the chain as it stands.
struct Stored {
    seq: i64,
    id: String,
    kind: String,
    subject: String,
    supersedes: Option<String>,
    hash: String,
    content: String,
}

impl Stored {
    fn read(row: &sqlx::sqlite::SqliteRow) -> Self {
        // A column of a damaged row can be of any type; what is not a text is not what was written.
        let text = |column: &str| {
            row.try_get_unchecked::<Vec<u8>, _>(column)
                .map(|bytes| String::from_utf8_lossy(&bytes).into_owned())
                .unwrap_or_default()
        };
        let supersedes = row.try_get_unchecked::<Option<Vec<u8>>, _>("supersedes");
        Self {
            seq: row.try_get("seq").unwrap_or_default(),
            id: text("id"),
            kind: text("kind"),
            subject: text("subject"),
            supersedes: supersedes
                .ok()
                .flatten()
                .map(|bytes| String::from_utf8_lossy(&bytes).into_owned()),
            hash: text("hash"),
            content: text("content"),
        }
    }

    /// Look at one record and its link to the one before; the record if its text is as written.
    fn look(&self, findings: &mut Findings, seen: &mut Seen) -> Option<Record> {
        seen.records += 1;
        let expected = Head {
            seq: seen.head.seq + 1,
            hash: seen.head.hash,
        };
        let gap = self.seq != expected.seq.cast_signed();
        if gap {
            findings.add(
                place(self, None),
                format!(
                    "stands where record {} was expected; records in between are missing",
                    expected.seq
                ),
            );
        }
        seen.head = Head {
            seq: self.seq.unsigned_abs(),
            hash: self.hash.parse().ok(),
        };
        seen.hashes.extend(seen.head.hash);
        let record = match unlink(&self.content, &self.hash) {
            Ok(record) => record,
            Err(error) => {
                findings.add(place(self, None), error.to_string());
                return None;
            }
        };
        let kind = record.entry.kind();
        if record.previous != expected.hash && !gap {
            let named = |hash: Option<Digest>| hash.map_or("none".into(), |hash| hash.to_string());
            findings.add(
                place(self, Some(kind)),
                format!(
                    "follows a record with the hash {}; the one before it has {}",
                    named(record.previous),
                    named(expected.hash)
                ),
            );
        }
        self.columns(&record, findings);
        self.history(&record, findings, seen);
        Some(record)
    }

    /// The columns beside the text must say what the text says.
    fn columns(&self, record: &Record, findings: &mut Findings) {
        let kind = record.entry.kind();
        for (column, found, expected) in [
            ("seq", self.seq.to_string(), record.seq.to_string()),
            ("id", self.id.clone(), record.id.to_string()),
            ("kind", self.kind.clone(), kind.name().to_owned()),
            ("subject", self.subject.clone(), record.subject.to_string()),
            (
                "supersedes",
                self.supersedes.clone().unwrap_or_default(),
                record
                    .supersedes
                    .map(|id| id.to_string())
                    .unwrap_or_default(),
            ),
        ] {
            if found != expected {
                findings.add(
                    place(self, Some(kind)),
                    format!("its column {column} is \"{found}\"; its text says \"{expected}\""),
                );
            }
        }
    }

    /// What it says of others must be so.
    fn history(&self, record: &Record, findings: &mut Findings, seen: &mut Seen) {
        let kind = record.entry.kind();
        let before = seen
            .latest
            .insert(record.subject, (record.id, kind))
            .map(|(id, _)| id);
        if record.supersedes != before {
            findings.add(
                place(self, Some(kind)),
                "does not take the place of the latest record on its subject",
            );
        }
        match &record.entry {
            Entry::Recording(recording) => {
                seen.recordings
                    .insert(record.subject.into(), recording.clone());
            }
            Entry::Reading(reading) => seen.wanted_attachments.extend(reading.curves),
            _ => {}
        }
    }
}

fn place(stored: &Stored, kind: Option<Kind>) -> Place {
    Place::Record {
        seq: stored.seq.unsigned_abs(),
        kind: kind.or_else(|| Kind::named(&stored.kind)),
    }
}

async fn attachments(connection: &mut SqliteConnection, findings: &mut Findings, seen: &mut Seen) {
    let mut after = String::new();
    loop {
        // One at a time: they can be large.
        let row = sqlx::query(
            "SELECT CAST(sha256 AS BLOB) AS sha256, CAST(bytes AS BLOB) AS bytes FROM attachment
             WHERE sha256 > ? ORDER BY sha256 LIMIT 1",
        )
        .bind(&after)
        .fetch_optional(&mut *connection)
        .await;
        let row = match row {
            Ok(None) => return,
            Ok(Some(row)) => row,
            Err(error) => {
                findings.add(
                    Place::Database,
                    format!("its attachments: {}", unreadable(&error)),
                );
                return;
            }
        };
        seen.attachments += 1;
        let name: Vec<u8> = row.try_get("sha256").unwrap_or_default();
        let name = String::from_utf8_lossy(&name).into_owned();
        let bytes: Vec<u8> = row.try_get("bytes").unwrap_or_default();
        let found = Digest::of(&bytes);
        if found.to_string() == name {
            seen.wanted_attachments.remove(&found);
        } else {
            findings.add(
                Place::Attachment {
                    sha256: name.clone(),
                },
                format!("has the digest {found}"),
            );
        }
        if name <= after {
            // A damaged index can go in circles.
            return;
        }
        after = name;
    }
}

/// The database's own check of its pages and indices.
async fn own_check(connection: &mut SqliteConnection, findings: &mut Findings) {
    let complaints: Result<Vec<String>, _> = sqlx::query_scalar(AssertSqlSafe(format!(
        "PRAGMA integrity_check({MOST_COMPLAINTS})"
    )))
    .fetch_all(&mut *connection)
    .await;
    match complaints {
        Ok(complaints) => {
            for complaint in complaints.iter().filter(|complaint| *complaint != "ok") {
                findings.add(
                    Place::Database,
                    format!("is damaged: {complaint}; restore it from a copy"),
                );
            }
        }
        Err(error) => findings.add(Place::Database, unreadable(&error)),
    }
}

/// Tables, indices and the rules that keep records from being changed.
async fn schema(
    connection: &mut SqliteConnection,
    replay: &mut SqliteConnection,
    path: &Path,
    findings: &mut Findings,
) -> Result<(), BookError> {
    const QUERY: &str = "SELECT name, coalesce(sql, '') FROM sqlite_schema ORDER BY name";
    let expected: Vec<(String, String)> = sqlx::query_as(QUERY)
        .fetch_all(replay)
        .await
        .map_err(|source| BookError::database(path, source))?;
    let found: Vec<(String, String)> = match sqlx::query_as(QUERY).fetch_all(connection).await {
        Ok(found) => found,
        Err(error) => {
            findings.add(Place::Database, unreadable(&error));
            return Ok(());
        }
    };
    let expected: BTreeMap<_, _> = expected.into_iter().collect();
    let found: BTreeMap<_, _> = found.into_iter().collect();
    for name in expected.keys().chain(found.keys()).collect::<BTreeSet<_>>() {
        let what = match (expected.get(name), found.get(name)) {
            (Some(expected), Some(found)) if expected == found => continue,
            (Some(_), Some(_)) => "is defined otherwise than the program defines it",
            (Some(_), None) => "is missing",
            (None, _) => "is not the program's",
        };
        findings.add(
            Place::State {
                table: name.clone(),
            },
            what,
        );
    }
    Ok(())
}

/// A table against what the records come to, row by row.
async fn compare(
    connection: &mut SqliteConnection,
    replay: &mut SqliteConnection,
    path: &Path,
    table: &str,
    order: &str,
    findings: &mut Findings,
) -> Result<(), BookError> {
    let failed = |source| BookError::database(path, source);
    let columns: Vec<String> = sqlx::query_scalar("SELECT name FROM pragma_table_info(?)")
        .bind(table)
        .fetch_all(&mut *replay)
        .await
        .map_err(failed)?;
    if columns.is_empty() {
        // A form older than this table.
        return Ok(());
    }
    // When and how fast a step was taken differs from book to book.
    let columns: Vec<String> = columns
        .iter()
        .filter(|name| !matches!(name.as_str(), "installed_on" | "execution_time"))
        .map(|name| format!("quote({name})"))
        .collect();
    let query = |after: usize| {
        format!(
            "SELECT {} FROM {table} ORDER BY {order} LIMIT 2000 OFFSET {after}",
            columns.join(" || ', ' || ")
        )
    };
    let mut done = 0;
    loop {
        let expected: Vec<String> = sqlx::query_scalar(AssertSqlSafe(query(done)))
            .fetch_all(&mut *replay)
            .await
            .map_err(failed)?;
        let found: Result<Vec<String>, _> = sqlx::query_scalar(AssertSqlSafe(query(done)))
            .fetch_all(&mut *connection)
            .await;
        let place = Place::State {
            table: table.into(),
        };
        let found = match found {
            Ok(found) => found,
            Err(error) => {
                findings.add(place, unreadable(&error));
                return Ok(());
            }
        };
        let same = expected
            .iter()
            .zip(&found)
            .take_while(|(expected, found)| expected == found)
            .count();
        if same < expected.len().max(found.len()) {
            let shown = |row: Option<&String>| {
                row.map_or("nothing".into(), |row| {
                    row.chars().take(300).collect::<String>()
                })
            };
            findings.add(
                place,
                format!(
                    "row {} is {}; the records come to {}",
                    done + same + 1,
                    shown(found.get(same)),
                    shown(expected.get(same))
                ),
            );
            return Ok(());
        }
        if expected.is_empty() {
            return Ok(());
        }
        done += expected.len();
    }
}
