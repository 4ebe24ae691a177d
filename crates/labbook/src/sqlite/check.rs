//! Whether a draft fits what is in the book.

use super::{Connection, fetch};
use crate::chain::Head;
use crate::error::BookError;
use crate::ids::{PersonId, SubjectId};
use crate::records::check::{entry, needs_reason, references, unique_name};
use crate::records::{Draft, Entry, Kind};
use crate::text;
use std::path::Path;

pub(super) async fn draft(
    connection: &mut Connection,
    path: &Path,
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
    author(connection, path, draft, who, head).await?;
    place_in_history(connection, path, draft).await?;
    for (kind, subject) in references(&draft.entry) {
        exists(connection, path, kind, subject).await?;
    }
    if let Entry::Confirmation(crate::records::Confirmation { reading, place })
    | Entry::Override(crate::records::Override { reading, place, .. }) = &draft.entry
    {
        tube_exists(connection, path, (*reading).into(), *place).await?;
    }
    if let Some((field, name)) = unique_name(&draft.entry) {
        free(connection, path, draft, field, name).await?;
    }
    Ok(())
}

/// The opening comes first and is nobody's; everything else is somebody's.
async fn author(
    connection: &mut Connection,
    path: &Path,
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
        Some(who) => exists(connection, path, Kind::Person, who.into()).await,
    }
}

async fn place_in_history(
    connection: &mut Connection,
    path: &Path,
    draft: &Draft,
) -> Result<(), BookError> {
    let what = draft.entry.kind().name();
    let latest = match fetch::latest(connection, path, draft.subject).await {
        Ok(latest) => Some(latest),
        Err(BookError::Unknown { .. }) => None,
        Err(other) => return Err(other),
    };
    match (draft.supersedes, latest) {
        (None, None) => Ok(()),
        (Some(named), Some(latest)) if latest.id == named => {
            if latest.entry.kind() == draft.entry.kind() {
                return Ok(());
            }
            Err(BookError::Field {
                field: "record.kind",
                found: format!("{what} in place of {}", latest.entry.kind().name()),
                expected: "a record of the same kind",
            })
        }
        (Some(named), Some(_)) => Err(BookError::Stale { what, named }),
        (Some(named), None) => Err(BookError::Unknown {
            what: "record",
            name: named.to_string(),
        }),
        (None, Some(latest)) => Err(BookError::Stale {
            what,
            named: latest.id,
        }),
    }
}

async fn exists(
    connection: &mut Connection,
    path: &Path,
    kind: Kind,
    subject: SubjectId,
) -> Result<(), BookError> {
    let found: Option<String> =
        sqlx::query_scalar("SELECT kind FROM record WHERE subject = ? LIMIT 1")
            .bind(subject.to_string())
            .fetch_optional(connection)
            .await
            .map_err(|source| BookError::database(path, source))?;
    if found.as_deref() == Some(kind.name()) {
        return Ok(());
    }
    Err(BookError::Unknown {
        what: kind.name(),
        name: subject.to_string(),
    })
}

async fn tube_exists(
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
