//! What was found becomes records of the book, or is dropped.

use super::{RereadState, Rereadings};
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::{PersonId, RecordId};
use crate::records::{Draft, Reading};
use crate::store::Batch;
use crate::when::When;
use uuid::Uuid;

/// Readings recorded at a time: well within the time for which a writer may hold its turn.
const TOGETHER: i64 = 20;

/// How far an acceptance is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AcceptedSome {
    /// Recorded by this call.
    pub recorded: u64,
    /// Still to be recorded.
    pub left: u64,
}

impl Rereadings<'_> {
    /// Accept what was found, as `who`: from now on [`Rereadings::accept_some`] records it. Everything must have been read,
    /// have failed or been left out.
    ///
    /// # Errors
    /// [`BookError`]: recordings wait to be read still, it is over, out of reach.
    pub async fn accept(&self, id: Uuid, who: PersonId) -> Result<(), BookError> {
        self.must_be(id, RereadState::Reading).await?;
        let (waiting,): (i64,) = sqlx::query_as(
            "SELECT count(*) FROM book.reread_recording WHERE rereading = $1 AND state IN ('waiting', 'taken')",
        )
        .bind(id.to_string())
        .fetch_one(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        if waiting > 0 {
            return Err(BookError::Field {
                field: "rereading",
                found: format!("unfinished: {waiting} recordings wait to be read"),
                expected: "that every recording was read before it is accepted",
            });
        }
        self.decide(id, who, RereadState::Accepting).await
    }

    /// Drop it: nothing of what was found is recorded.
    ///
    /// # Errors
    /// [`BookError`]: it is over, out of reach.
    pub async fn drop_it(&self, id: Uuid, who: PersonId) -> Result<(), BookError> {
        self.must_be(id, RereadState::Reading).await?;
        self.decide(id, who, RereadState::Dropped).await?;
        self.forget_curves(id).await
    }

    async fn decide(&self, id: Uuid, who: PersonId, state: RereadState) -> Result<(), BookError> {
        let done = sqlx::query(
            "UPDATE book.rereading SET state = $2, decided_by = $3, decided_at = $4
             WHERE id = $1 AND state = 'reading'",
        )
        .bind(id.to_string())
        .bind(state.name())
        .bind(who.to_string())
        .bind(When::now().to_string())
        .execute(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        match done.rows_affected() {
            1 => Ok(()),
            // Somebody else was quicker: say how it stands now.
            _ => self.must_be(id, RereadState::Reading).await,
        }
    }

    /// Record some of what was accepted, in the name of whoever accepted it; each reading once, also when a call
    /// before was cut off anywhere. Several may do this side by side.
    ///
    /// # Errors
    /// [`BookError`]: not accepted, out of reach; what was not recorded is recorded by a later call.
    pub async fn accept_some(&self, id: Uuid) -> Result<AcceptedSome, BookError> {
        let found = self.one(id).await?;
        let over = AcceptedSome {
            recorded: 0,
            left: 0,
        };
        let (RereadState::Accepting, Some((who, _))) = (found.state, found.decided) else {
            return match found.state {
                RereadState::Accepted => Ok(over),
                _ => self
                    .must_be(id, RereadState::Accepting)
                    .await
                    .map(|()| over),
            };
        };
        let mut change = self
            .pool()
            .begin()
            .await
            .map_err(|source| self.failed(source))?;
        let rows: Vec<(String, String, String, Vec<u8>)> = sqlx::query_as(
            "SELECT recording, record, reading, curves FROM book.reread_recording
             WHERE rereading = $1 AND state = 'read' ORDER BY recording LIMIT $2 FOR UPDATE SKIP LOCKED",
        )
        .bind(id.to_string())
        .bind(TOGETHER)
        .fetch_all(&mut *change)
        .await
        .map_err(|source| self.failed(source))?;
        let recordings: Vec<String> = rows.iter().map(|row| row.0.clone()).collect();
        self.record(who, rows).await?;
        sqlx::query(
            "UPDATE book.reread_recording SET state = 'accepted', reading = NULL, curves = NULL
             WHERE rereading = $1 AND recording = ANY($2)",
        )
        .bind(id.to_string())
        .bind(&recordings)
        .execute(&mut *change)
        .await
        .map_err(|source| self.failed(source))?;
        change
            .commit()
            .await
            .map_err(|source| self.failed(source))?;
        let (left,): (i64,) = sqlx::query_as(
            "SELECT count(*) FROM book.reread_recording WHERE rereading = $1 AND state = 'read'",
        )
        .bind(id.to_string())
        .fetch_one(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        if left == 0 {
            sqlx::query(
                "UPDATE book.rereading SET state = 'accepted' WHERE id = $1 AND state = 'accepting'",
            )
            .bind(id.to_string())
            .execute(self.pool())
            .await
            .map_err(|source| self.failed(source))?;
            self.forget_curves(id).await?;
        }
        Ok(AcceptedSome {
            recorded: recordings.len() as u64,
            left: left.unsigned_abs(),
        })
    }

    /// Those that are not in the book yet.
    async fn record(
        &self,
        who: PersonId,
        rows: Vec<(String, String, String, Vec<u8>)>,
    ) -> Result<(), BookError> {
        let mut batch = Batch {
            who: Some(who),
            ..Batch::default()
        };
        for (recording, record, text, curves) in rows {
            let record: RecordId = record.parse().map_err(|_| BookError::Damaged {
                path: self.central.shown().into(),
                found: format!("the new reading of recording {recording} has no id of a record"),
            })?;
            if self.central.has(record).await? {
                continue;
            }
            let reading: Reading = serde_json::from_str(&text)?;
            if reading.curves != Some(Digest::of(&curves)) {
                return Err(BookError::Damaged {
                    path: self.central.shown().into(),
                    found: format!("the curves of the new reading of recording {recording}"),
                });
            }
            batch.drafts.push(Draft::new(reading).recorded_as(record));
            batch.attachments.push(curves);
        }
        if batch.drafts.is_empty() {
            return Ok(());
        }
        self.book.write(batch).await.map(|_| ())
    }

    /// Curves are large, and nobody asks for those of readings that are not recorded.
    async fn forget_curves(&self, id: Uuid) -> Result<(), BookError> {
        sqlx::query(
            "UPDATE book.reread_recording SET curves = NULL WHERE rereading = $1 AND curves IS NOT NULL",
        )
        .bind(id.to_string())
        .execute(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        Ok(())
    }
}
