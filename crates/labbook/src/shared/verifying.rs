//! Whether anything in a shared book was altered: the chain in PostgreSQL, its rules, and the recordings in
//! their store. The copy that a process keeps is not asked.

use super::address::Address;
use super::carrying::PLACE;
use super::central::Central;
use super::depot::Depot;
use super::taking_out::take_out;
use crate::book::RECORDINGS;
use crate::chain::unlink;
use crate::digest::Digest;
use crate::error::BookError;
use crate::verify::{Finding, Place, Verdict, look_at_recordings, verify_folder};
use sqlx::postgres::PgConnection;
use std::fs;

/// Records looked at at a time.
const PIECE: i64 = 1000;

/// The rules that `0001_chain.sql` makes.
const RULES: [&str; 5] = [
    "record_is_not_changed",
    "attachment_is_not_changed",
    "record_comes_last",
    "attachment_is_its_digest",
    "record_is_told",
];

/// Look at all of it.
pub(crate) async fn verify_shared(
    address: &Address,
    noted: Option<Digest>,
    progress: &mut (dyn FnMut(u64) + Send),
) -> Result<Verdict, BookError> {
    let central = Central::at(address);
    central.known_form().await?;
    let mut connection = central.connection().await?;
    let mut findings = Vec::new();
    rules(&central, &mut connection, &mut findings).await?;
    let room = tempfile::tempdir()
        .map_err(|error| BookError::file(&std::env::temp_dir(), "written", error))?;
    let mut verdict = Verdict::default();
    // Of a chain that is broken no book can be made: the texts are looked at one by one.
    let broken = broken_links(&central, &mut connection, &mut verdict).await?;
    if broken.is_empty() {
        let book = room.path().join("book");
        fs::create_dir(&book).map_err(|error| BookError::file(&book, "written", error))?;
        let recordings = take_out(&central, &mut connection, &book).await?;
        let ended: Vec<_> = recordings
            .iter()
            .filter_map(|(&id, recording)| Some((id, recording, recording.end.as_ref()?.manifest)))
            .collect();
        verdict = verify_folder(&book, noted, &mut |_| ()).await?;
        // The files are not in this folder.
        verdict
            .findings
            .retain(|finding| !matches!(finding.place, Place::Recording { .. }));
        let place = central.place(PLACE).await?;
        let depot = place.as_deref().map(Depot::at).transpose()?;
        for (id, recording, manifest) in ended {
            let Some(depot) = &depot else {
                verdict
                    .findings
                    .push(absent(id, "nothing says where its files are kept".into()));
                continue;
            };
            match depot.fetch(id, manifest, &book.join(RECORDINGS)).await {
                Ok(()) => {
                    let before = verdict.recording_bytes;
                    let (bytes, found) = look_at_recordings(&book, id, recording, &mut |done| {
                        progress(before + done)
                    })?;
                    verdict.recording_bytes += bytes;
                    verdict.findings.extend(found);
                    let folder = book.join(RECORDINGS).join(id.to_string());
                    fs::remove_dir_all(&folder)
                        .map_err(|error| BookError::file(&folder, "written", error))?;
                }
                Err(BookError::Depot {
                    source: object_store::Error::NotFound { path, .. },
                    ..
                }) => {
                    let what = format!(
                        "is missing in the store of recordings ({path}); it is on the machine that recorded it until that hands it over"
                    );
                    verdict.findings.push(absent(id, what));
                }
                Err(other @ BookError::Depot { .. }) => return Err(other),
                Err(error) => verdict.findings.push(absent(id, error.to_string())),
            }
        }
    }
    findings.extend(broken);
    findings.append(&mut verdict.findings);
    verdict.findings = findings;
    drop(connection);
    central.close().await;
    Ok(verdict)
}

fn absent(recording: crate::ids::RecordingId, what: String) -> Finding {
    Finding {
        place: Place::Recording {
            recording,
            file: None,
        },
        what,
    }
}

/// Triggers that are missing or switched off, and rights that a writer should not have.
async fn rules(
    central: &Central,
    connection: &mut PgConnection,
    findings: &mut Vec<Finding>,
) -> Result<(), BookError> {
    let failed = |source| BookError::central(central.shown(), source);
    let there: Vec<String> = sqlx::query_scalar(
        "SELECT tgname::text FROM pg_trigger
         WHERE tgrelid IN ('book.record'::regclass, 'book.attachment'::regclass) AND tgenabled IN ('O', 'A')",
    )
    .fetch_all(&mut *connection)
    .await
    .map_err(failed)?;
    let mut found = |what: String| {
        findings.push(Finding {
            place: Place::Database,
            what,
        });
    };
    for rule in RULES {
        if !there.iter().any(|name| name == rule) {
            found(format!("the rule {rule} is missing or switched off"));
        }
    }
    let rights: Vec<(String, String)> = sqlx::query_as(
        "SELECT t.name, p.name FROM unnest(ARRAY['book.record', 'book.attachment']) t(name),
             unnest(ARRAY['UPDATE', 'DELETE', 'TRUNCATE']) p(name)
         WHERE EXISTS (SELECT FROM pg_roles WHERE rolname = 'meltrange_writer')
             AND has_table_privilege('meltrange_writer', t.name, p.name)",
    )
    .fetch_all(connection)
    .await
    .map_err(failed)?;
    for (table, right) in rights {
        found(format!(
            "the role meltrange_writer has the right {right} on {table}"
        ));
    }
    Ok(())
}

/// Records whose text, number or link is not as it was written.
async fn broken_links(
    central: &Central,
    connection: &mut PgConnection,
    verdict: &mut Verdict,
) -> Result<Vec<Finding>, BookError> {
    let mut findings = Vec::new();
    let mut before: (u64, Option<String>) = (0, None);
    loop {
        let rows = central.after(connection, before.0, PIECE).await?;
        if rows.is_empty() {
            return Ok(findings);
        }
        for (seq, hash, text) in rows {
            let seq = seq.unsigned_abs();
            let mut found = |kind, what: String| {
                findings.push(Finding {
                    place: Place::Record { seq, kind },
                    what,
                });
            };
            if seq != before.0 + 1 {
                found(None, format!("comes after record {}", before.0));
            }
            match unlink(&text, &hash) {
                Err(error) => found(None, error.to_string()),
                Ok(record) => {
                    let kind = Some(record.entry.kind());
                    if record.seq != seq {
                        found(
                            kind,
                            format!("its text says that it is record {}", record.seq),
                        );
                    }
                    if record.previous.map(|hash| hash.to_string()) != before.1 {
                        found(
                            kind,
                            "its text does not name the hash of the record before".into(),
                        );
                    }
                }
            }
            verdict.records += 1;
            before = (seq, Some(hash));
        }
    }
}
