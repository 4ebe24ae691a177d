//! Writing to the end of the chain.

use super::append_results::Waiting;
use super::{Connection, SqliteStore, check, fetch, project};
use crate::chain::{entry_text, link};
use crate::digest::Digest;
use crate::error::BookError;
use crate::records::{Kind, Record};
use crate::store::Batch;
use crate::when::When;
use rayon::prelude::*;

impl SqliteStore {
    pub(super) async fn append_batch(
        &self,
        batch: Batch,
        when: When,
    ) -> Result<Vec<Record>, BookError> {
        // One writer connection; IMMEDIATE, so that the head read is the head written after.
        let mut change = self.begin().await?;
        let records = self.write_batch(&mut change, &batch, when).await?;
        change
            .commit()
            .await
            .map_err(|source| self.failed(source))?;
        Ok(records)
    }

    /// Check a batch and write it, not durable yet.
    pub(crate) async fn write_batch(
        &self,
        change: &mut Connection,
        batch: &Batch,
        when: When,
    ) -> Result<Vec<Record>, BookError> {
        for bytes in &batch.attachments {
            self.attach(change, bytes).await?;
        }
        let mut known = check::Known::of(change, &self.path, batch).await?;
        let mut head = fetch::head(change, &self.path).await?;
        let many = batch.drafts.len() > 1;
        let mut waiting = Waiting::default();
        let mut records = Vec::with_capacity(batch.drafts.len());
        // On all cores where there are many: for thousands of results this is most of the work.
        let entries: Vec<String> = if many {
            batch
                .drafts
                .par_iter()
                .map(entry_text)
                .collect::<Result<_, _>>()?
        } else {
            batch
                .drafts
                .iter()
                .map(entry_text)
                .collect::<Result<_, _>>()?
        };
        for (draft, entry) in batch.drafts.iter().zip(&entries) {
            check::draft(change, &self.path, &known, draft, batch.who, head).await?;
            let (record, content) = link(draft, entry, batch.who, when, head)?;
            head.seq = record.seq;
            head.hash = Some(record.hash);
            known.written(&record);
            if many && record.entry.kind() == Kind::Determination {
                // Nothing that is checked of a result stands in a table: it can be written later.
                waiting.add(record, content);
                continue;
            }
            records.extend(waiting.write(self, change).await?);
            self.write(change, &record, &content).await?;
            records.push(record);
        }
        records.extend(waiting.write(self, change).await?);
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

    pub(crate) async fn attach(
        &self,
        connection: &mut Connection,
        bytes: &[u8],
    ) -> Result<(), BookError> {
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

/// Write a record and its canonical text to the end of the chain.
pub(crate) async fn insert(
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
