//! The copy of a shared book that each process keeps: an ordinary book's database, brought up to the chain
//! record by record. Questions are answered from it; what is added is checked in it and written to both.

use super::central::{Central, Row};
use crate::book::Change;
use crate::chain::Head;
use crate::error::BookError;
use crate::export::attachment_of;
use crate::records::Record;
use crate::sqlite::{Connection, SqliteStore, checked, head_of, insert, project};
use crate::store::Batch;
use crate::when::When;
use sqlx::postgres::PgConnection;

/// Records taken over in one piece.
const PIECE: i64 = 1000;

impl SqliteStore {
    /// Take over what others recorded; `heard` gets it in order.
    pub(crate) async fn catch_up(
        &self,
        central: &Central,
        connection: &mut PgConnection,
        heard: &mut Vec<Change>,
    ) -> Result<(), BookError> {
        loop {
            let mut change = self.begin().await?;
            let head = head_of(&mut change, self.path()).await?;
            let rows = central.after(connection, head.seq, PIECE).await?;
            if rows.is_empty() {
                return Ok(());
            }
            let records: Vec<(Record, String)> = rows
                .into_iter()
                .map(|row| {
                    let text = row.2.clone();
                    checked(central.shown().as_ref(), row).map(|record| (record, text))
                })
                .collect::<Result<_, _>>()?;
            self.take_over(central, connection, &mut change, head, &records)
                .await?;
            change
                .commit()
                .await
                .map_err(|source| self.failed(source))?;
            heard.extend(records.iter().map(|(record, _)| Change::from(record)));
        }
    }

    async fn take_over(
        &self,
        central: &Central,
        connection: &mut PgConnection,
        change: &mut Connection,
        mut head: Head,
        records: &[(Record, String)],
    ) -> Result<(), BookError> {
        for (record, text) in records {
            if record.seq != head.seq + 1 || record.previous != head.hash {
                return Err(BookError::Damaged {
                    path: central.shown().into(),
                    found: format!("record {} does not follow record {}", record.seq, head.seq),
                });
            }
            if let Some(digest) = attachment_of(&record.entry)
                && let Some(bytes) = central.attachment(connection, digest).await?
            {
                self.attach(change, &bytes).await?;
            }
            insert(change, record, text)
                .await
                .map_err(|source| self.failed(source))?;
            project(change, record)
                .await
                .map_err(|source| self.failed(source))?;
            head = Head {
                seq: record.seq,
                hash: Some(record.hash),
            };
        }
        Ok(())
    }

    /// Write a batch to the end of the shared chain and to the copy. Others' records that come before it go
    /// to `heard`, also where the batch is refused.
    pub(crate) async fn append_shared(
        &self,
        central: &Central,
        batch: Batch,
        when: When,
        heard: &mut Vec<Change>,
    ) -> Result<Vec<Record>, BookError> {
        if batch.drafts.is_empty() {
            return Ok(Vec::new());
        }
        central
            .within(async {
                let mut turn = central.turn().await?;
                self.catch_up(central, turn.connection(), heard).await?;
                let mut change = self.begin().await?;
                let before = head_of(&mut change, self.path()).await?.seq;
                let records = self.write_batch(&mut change, &batch, when).await?;
                let rows = self.rows_after(&mut change, before, i64::MAX).await?;
                turn.add(&batch.attachments, rows).await?;
                if let Some(last) = records.last() {
                    turn.commit(last.id).await?;
                }
                // It is recorded now. Where the copy cannot take it, it is taken over later.
                let _ = change.commit().await;
                Ok(records)
            })
            .await
    }

    async fn rows_after(
        &self,
        change: &mut Connection,
        seq: u64,
        limit: i64,
    ) -> Result<Vec<Row>, BookError> {
        sqlx::query_as(
            "SELECT seq, id, kind, subject, supersedes, hash, content FROM record WHERE seq > ?
             ORDER BY seq LIMIT ?",
        )
        .bind(seq.cast_signed())
        .bind(limit)
        .fetch_all(change)
        .await
        .map_err(|source| self.failed(source))
    }

    /// Records after number `seq` as they are stored, at most `limit`.
    pub(crate) async fn rows(&self, seq: u64, limit: i64) -> Result<Vec<Row>, BookError> {
        let mut view = self.view().await?;
        self.rows_after(&mut view, seq, limit).await
    }

    /// Whether the copy is one of this chain: the chain has its last record.
    pub(crate) async fn is_copy_of(
        &self,
        central: &Central,
        connection: &mut PgConnection,
    ) -> Result<bool, BookError> {
        use crate::store::Store as _;
        let head = self.head().await?;
        let Some(hash) = head.hash else {
            return Ok(true);
        };
        let there = central.hash_at(connection, head.seq).await?;
        Ok(there == Some(hash.to_string()))
    }
}
