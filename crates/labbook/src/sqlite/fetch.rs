//! Records as they are stored.

use super::Connection;
use crate::chain::{Head, unlink};
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::{RecordId, SubjectId};
use crate::query::LONGEST_PAGE;
use crate::records::Record;
use std::path::Path;

/// A row of the chain: number, hash, canonical text.
pub(crate) type RawRecord = (i64, String, String);

/// Read a row back, its hash checked.
pub(crate) fn checked(path: &Path, (seq, hash, content): RawRecord) -> Result<Record, BookError> {
    unlink(&content, &hash).map_err(|source| BookError::Altered {
        path: path.into(),
        seq: seq.unsigned_abs(),
        source,
    })
}

pub(super) fn all_checked(path: &Path, rows: Vec<RawRecord>) -> Result<Vec<Record>, BookError> {
    rows.into_iter().map(|row| checked(path, row)).collect()
}

pub(crate) async fn head(connection: &mut Connection, path: &Path) -> Result<Head, BookError> {
    let last: Option<(i64, String)> =
        sqlx::query_as("SELECT seq, hash FROM record ORDER BY seq DESC LIMIT 1")
            .fetch_optional(connection)
            .await
            .map_err(|source| BookError::database(path, source))?;
    let Some((seq, hash)) = last else {
        return Ok(Head::default());
    };
    let hash = hash.parse().map_err(|_| BookError::Damaged {
        path: path.into(),
        found: format!("the hash of record {seq} is \"{hash}\""),
    })?;
    Ok(Head {
        seq: seq.unsigned_abs(),
        hash: Some(hash),
    })
}

pub(super) async fn after(
    connection: &mut Connection,
    path: &Path,
    seq: u64,
    limit: u32,
) -> Result<Vec<Record>, BookError> {
    let rows: Vec<RawRecord> =
        sqlx::query_as("SELECT seq, hash, content FROM record WHERE seq > ? ORDER BY seq LIMIT ?")
            .bind(i64::try_from(seq).unwrap_or(i64::MAX))
            .bind(limit.min(LONGEST_PAGE))
            .fetch_all(connection)
            .await
            .map_err(|source| BookError::database(path, source))?;
    all_checked(path, rows)
}

pub(super) async fn by_seq(
    connection: &mut Connection,
    path: &Path,
    seq: i64,
) -> Result<Record, BookError> {
    let row: Option<RawRecord> =
        sqlx::query_as("SELECT seq, hash, content FROM record WHERE seq = ?")
            .bind(seq)
            .fetch_optional(connection)
            .await
            .map_err(|source| BookError::database(path, source))?;
    let row = row.ok_or_else(|| BookError::Damaged {
        path: path.into(),
        found: format!("record {seq} is missing"),
    })?;
    checked(path, row)
}

pub(super) async fn by_id(
    connection: &mut Connection,
    path: &Path,
    id: RecordId,
) -> Result<Record, BookError> {
    let row: Option<RawRecord> =
        sqlx::query_as("SELECT seq, hash, content FROM record WHERE id = ?")
            .bind(id.to_string())
            .fetch_optional(connection)
            .await
            .map_err(|source| BookError::database(path, source))?;
    let row = row.ok_or_else(|| BookError::Unknown {
        what: "record",
        name: id.to_string(),
    })?;
    checked(path, row)
}

pub(super) async fn history(
    connection: &mut Connection,
    path: &Path,
    subject: SubjectId,
) -> Result<Vec<Record>, BookError> {
    let rows: Vec<RawRecord> =
        sqlx::query_as("SELECT seq, hash, content FROM record WHERE subject = ? ORDER BY seq")
            .bind(subject.to_string())
            .fetch_all(connection)
            .await
            .map_err(|source| BookError::database(path, source))?;
    all_checked(path, rows)
}

pub(super) async fn latest(
    connection: &mut Connection,
    path: &Path,
    subject: SubjectId,
) -> Result<Record, BookError> {
    let row: Option<RawRecord> = sqlx::query_as(
        "SELECT seq, hash, content FROM record WHERE subject = ? ORDER BY seq DESC LIMIT 1",
    )
    .bind(subject.to_string())
    .fetch_optional(connection)
    .await
    .map_err(|source| BookError::database(path, source))?;
    let row = row.ok_or_else(|| BookError::Unknown {
        what: "entry",
        name: subject.to_string(),
    })?;
    checked(path, row)
}

pub(super) async fn attachment(
    connection: &mut Connection,
    path: &Path,
    digest: Digest,
) -> Result<Vec<u8>, BookError> {
    let bytes: Option<Vec<u8>> =
        sqlx::query_scalar("SELECT bytes FROM attachment WHERE sha256 = ?")
            .bind(digest.to_string())
            .fetch_optional(connection)
            .await
            .map_err(|source| BookError::database(path, source))?;
    let bytes = bytes.ok_or_else(|| BookError::Unknown {
        what: "attachment",
        name: digest.to_string(),
    })?;
    let found = Digest::of(&bytes);
    if found != digest {
        return Err(BookError::Damaged {
            path: path.into(),
            found: format!("attachment {digest} has the digest {found}"),
        });
    }
    Ok(bytes)
}
