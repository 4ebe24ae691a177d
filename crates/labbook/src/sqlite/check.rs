//! Whether a draft fits what is in the book.

use super::{Connection, check_verdict, fetch, signing};
use crate::chain::Head;
use crate::error::BookError;
use crate::ids::{PersonId, RecordId, SubjectId};
use crate::records::check::{entry, needs_reason, references, unique_name};
use crate::records::{Check, Draft, Entry, Kind, Record};
use crate::store::Batch;
use crate::text;
use std::collections::{BTreeSet, HashMap};
use std::path::Path;

pub(super) async fn draft(
    connection: &mut Connection,
    path: &Path,
    known: &Known,
    draft: &Draft,
    who: Option<PersonId>,
    head: Head,
) -> Result<(), BookError> {
    let kind = draft.entry.kind();
    entry(&draft.entry)?;
    text::optional("reason", draft.reason.as_deref())?;
    let unexplained = draft
        .reason
        .as_deref()
        .is_none_or(|reason| reason.trim().is_empty());
    if unexplained && needs_reason(&draft.entry, draft.supersedes.is_some()) {
        return Err(BookError::ReasonMissing { what: kind.name() });
    }
    author(known, draft, who, head)?;
    known.place_in_history(draft)?;
    for (kind, subject) in references(&draft.entry) {
        known.exists(kind, subject)?;
    }
    // What was mistyped must be allowed to be declared void.
    if let Entry::Check(check) = &draft.entry
        && !check.void
    {
        reachable(connection, path, check).await?;
    }
    if let Entry::Confirmation(crate::records::Confirmation { reading, place })
    | Entry::Override(crate::records::Override { reading, place, .. }) = &draft.entry
    {
        tube_exists(connection, path, (*reading).into(), *place).await?;
    }
    if let Entry::SampleVerdict(said) = &draft.entry {
        check_verdict::grounds(connection, path, draft.subject, said).await?;
    }
    if let Entry::SignOff(signed) = &draft.entry {
        signing::grounds(connection, path, who, draft.subject, signed).await?;
    }
    if let Some((field, name)) = unique_name(&draft.entry) {
        free(connection, path, draft, field, name).await?;
    }
    Ok(())
}

/// The opening comes first and is nobody's; everything else is somebody's.
fn author(
    known: &Known,
    draft: &Draft,
    who: Option<PersonId>,
    head: Head,
) -> Result<(), BookError> {
    let opening = draft.entry.kind() == Kind::Opening;
    if opening != (head.seq == 0) {
        return Err(BookError::Field {
            field: "record.kind",
            found: format!("{} as number {}", draft.entry.kind().name(), head.seq + 1),
            expected: "the opening as number 1 and nowhere else",
        });
    }
    match who {
        None if opening => Ok(()),
        None => Err(BookError::Field {
            field: "record.who",
            found: "nobody".into(),
            expected: "the person whose record it is",
        }),
        // The first person records themselves.
        Some(who) if draft.subject == who.into() => Ok(()),
        Some(who) => known.exists(Kind::Person, who.into()),
    }
}

/// What a batch speaks of, looked up once for all of it: thousands of drafts come together when a
/// calibration changes their results.
#[derive(Debug, Default)]
pub(super) struct Known(HashMap<SubjectId, (Kind, RecordId)>);

impl Known {
    /// Kind and latest record of all that these drafts are about or refer to.
    pub async fn of(
        connection: &mut Connection,
        path: &Path,
        batch: &Batch,
    ) -> Result<Self, BookError> {
        let wanted: BTreeSet<SubjectId> = batch
            .drafts
            .iter()
            .flat_map(|draft| {
                references(&draft.entry)
                    .into_iter()
                    .map(|(_, subject)| subject)
                    .chain([draft.subject])
            })
            .chain(batch.who.map(SubjectId::from))
            .collect();
        let rows: Vec<(String, String, String)> = sqlx::query_as(
            "SELECT subject, kind, id FROM record WHERE seq IN
                 (SELECT max(seq) FROM record WHERE subject IN (SELECT value FROM json_each(?))
                  GROUP BY subject)",
        )
        .bind(serde_json::to_string(&wanted)?)
        .fetch_all(connection)
        .await
        .map_err(|source| BookError::database(path, source))?;
        rows.into_iter()
            .map(|(subject, kind, id)| {
                let damaged = || BookError::Damaged {
                    path: path.into(),
                    found: format!("record {id} of kind {kind} is listed for {subject}"),
                };
                Ok((
                    subject.parse().map_err(|_| damaged())?,
                    (
                        Kind::named(&kind).ok_or_else(damaged)?,
                        id.parse().map_err(|_| damaged())?,
                    ),
                ))
            })
            .collect::<Result<_, _>>()
            .map(Self)
    }

    /// After a record of the batch was written.
    pub fn written(&mut self, record: &Record) {
        self.0
            .insert(record.subject, (record.entry.kind(), record.id));
    }

    fn place_in_history(&self, draft: &Draft) -> Result<(), BookError> {
        let what = draft.entry.kind().name();
        match (draft.supersedes, self.0.get(&draft.subject)) {
            (None, None) => Ok(()),
            (Some(named), Some(&(kind, latest))) if latest == named => {
                if kind == draft.entry.kind() {
                    return Ok(());
                }
                Err(BookError::Field {
                    field: "record.kind",
                    found: format!("{what} in place of {}", kind.name()),
                    expected: "a record of the same kind",
                })
            }
            (Some(named), Some(_)) => Err(BookError::Stale { what, named }),
            (Some(named), None) => Err(BookError::Unknown {
                what: "record",
                name: named.to_string(),
            }),
            (None, Some(&(_, latest))) => Err(BookError::Stale {
                what,
                named: latest,
            }),
        }
    }

    fn exists(&self, kind: Kind, subject: SubjectId) -> Result<(), BookError> {
        match self.0.get(&subject) {
            Some((found, _)) if *found == kind => Ok(()),
            _ => Err(BookError::Unknown {
                what: kind.name(),
                name: subject.to_string(),
            }),
        }
    }
}

/// A bench cannot have shown more than it can be heated to.
async fn reachable(
    connection: &mut Connection,
    path: &Path,
    check: &Check,
) -> Result<(), BookError> {
    let bench = fetch::latest(connection, path, check.bench.into()).await?;
    match &bench.entry {
        Entry::Bench(bench) => match bench.max_c {
            Some(max_c) if check.indicated_c > max_c => Err(BookError::Field {
                field: "check.indicated_c",
                found: format!(
                    "{} °C, above the {max_c} °C that {} may become",
                    check.indicated_c, bench.name
                ),
                expected: "a temperature that this bench can show",
            }),
            _ => Ok(()),
        },
        _ => Err(BookError::Unknown {
            what: "bench",
            name: check.bench.to_string(),
        }),
    }
}

pub(super) async fn tube_exists(
    connection: &mut Connection,
    path: &Path,
    reading: SubjectId,
    place: u8,
) -> Result<(), BookError> {
    let found: i64 =
        sqlx::query_scalar("SELECT count(*) FROM reading_tube WHERE reading = ? AND place = ?")
            .bind(reading.to_string())
            .bind(place)
            .fetch_one(connection)
            .await
            .map_err(|source| BookError::database(path, source))?;
    if found == 1 {
        return Ok(());
    }
    Err(BookError::Unknown {
        what: "tube",
        name: format!("{place} in reading {reading}"),
    })
}

async fn free(
    connection: &mut Connection,
    path: &Path,
    draft: &Draft,
    field: &'static str,
    name: &str,
) -> Result<(), BookError> {
    let query = match draft.entry.kind() {
        Kind::Person => "SELECT subject FROM person WHERE name_key = ?",
        Kind::Bench => "SELECT subject FROM bench WHERE name_key = ?",
        _ => "SELECT subject FROM sample WHERE label_key = ?",
    };
    let holder: Option<String> = sqlx::query_scalar(query)
        .bind(text::key(name))
        .fetch_optional(connection)
        .await
        .map_err(|source| BookError::database(path, source))?;
    match holder {
        Some(holder) if holder != draft.subject.to_string() => Err(BookError::Taken {
            field,
            found: name.into(),
        }),
        _ => Ok(()),
    }
}
