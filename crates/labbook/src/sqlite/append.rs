//! Writing to the end of the chain.

use super::{Connection, SqliteStore, check, fetch, project};
use crate::chain::link;
use crate::digest::Digest;
use crate::error::BookError;
use crate::records::Record;
use crate::store::Batch;
use crate::when::When;

impl SqliteStore {
    pub(super) async fn append_batch(
        &self,
        batch: Batch,
        when: When,
    ) -> Result<Vec<Record>, BookError> {
        // One writer connection; IMMEDIATE, so that the head read is the head written after.
        let mut change = self
            .writer
            .begin_with("BEGIN IMMEDIATE")
            .await
            .map_err(|source| self.failed(source))?;
        for bytes in &batch.attachments {
            self.attach(&mut change, bytes).await?;
        }
        let mut known = check::Known::of(&mut change, &self.path, &batch).await?;
        let mut head = fetch::head(&mut change, &self.path).await?;
        let mut records = Vec::with_capacity(batch.drafts.len());
        for draft in &batch.drafts {
            check::draft(&mut change, &self.path, &known, draft, batch.who, head).await?;
            let (record, content) = link(draft, batch.who, when, head)?;
            self.write(&mut change, &record, &content).await?;
            head.seq = record.seq;
            head.hash = Some(record.hash);
            known.written(&record);
            records.push(record);
        }
        change
            .commit()
            .await
            .map_err(|source| self.failed(source))?;
        Ok(records)
    }

    async fn write(
        &self,
        connection: &mut Connection,
        record: &Record,
        content: &str,
    ) -> Result<(), BookError> {
        insert(connection, record, content)
            .await
            .map_err(|source| self.failed(source))?;
        project(connection, record)
            .await
            .map_err(|source| self.failed(source))
    }

    async fn attach(&self, connection: &mut Connection, bytes: &[u8]) -> Result<(), BookError> {
        let digest = Digest::of(bytes).to_string();
        // The same bytes may be attached again; they are kept once.
        sqlx::query(
            "INSERT INTO attachment (sha256, bytes) SELECT ?1, ?2
             WHERE NOT EXISTS (SELECT 1 FROM attachment WHERE sha256 = ?1)",
        )
        .bind(digest)
        .bind(bytes)
        .execute(connection)
        .await
        .map_err(|source| self.failed(source))?;
        Ok(())
    }
}

async fn insert(
    connection: &mut Connection,
    record: &Record,
    content: &str,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "INSERT INTO record (seq, id, kind, subject, supersedes, hash, content)
         VALUES (?, ?, ?, ?, ?, ?, ?)",
    )
    .bind(record.seq.cast_signed())
    .bind(record.id.to_string())
    .bind(record.entry.kind().name())
    .bind(record.subject.to_string())
    .bind(record.supersedes.map(|id| id.to_string()))
    .bind(record.hash.to_string())
    .bind(content)
    .execute(connection)
    .await?;
    Ok(())
}
