//! What waits to be read again, and who has taken it.
//!
//! A recording is taken for a while; a worker that still reads says so and keeps it. What a lost worker had taken
//! is free again after that while, three times: what loses three workers is said to have failed.

use super::compared::{ComparedTube, compare};
use super::{RereadState, Rereadings};
use crate::error::BookError;
use crate::ids::{RecordId, RecordingId};
use crate::records::{Reader, Reading};
use sqlx::{Postgres, Transaction};
use uuid::Uuid;

/// For how long a recording is taken [s].
const TAKEN_S: f64 = 120.0;

/// Workers that may be lost over one recording.
const MOST_TRIES: i16 = 3;

/// A recording that this worker has taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// For which re-reading.
    pub rereading: Uuid,
    /// Which.
    pub recording: RecordingId,
    worker: String,
}

impl Rereadings<'_> {
    /// Take the next recording that waits for this engine; none where none waits.
    ///
    /// # Errors
    /// [`BookError`]: out of reach.
    pub async fn take(&self, worker: &str, engine: &str) -> Result<Option<Taken>, BookError> {
        sqlx::query(
            "UPDATE book.reread_recording SET state = 'failed', done_at = now(),
                    why = 'the workers that read it were lost: ' || worker || ' was the last of ' || tries
             WHERE state = 'taken' AND taken_until < now() AND tries >= $1",
        )
        .bind(MOST_TRIES)
        .execute(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        let row: Option<(String, String)> = sqlx::query_as(
            "UPDATE book.reread_recording r SET state = 'taken', worker = $1, tries = tries + 1,
                    taken_until = now() + make_interval(secs => $2)
             FROM (SELECT w.rereading, w.recording FROM book.reread_recording w
                   JOIN book.rereading b ON b.id = w.rereading
                   WHERE b.state = 'reading' AND b.engine = $3
                     AND (w.state = 'waiting' OR (w.state = 'taken' AND w.taken_until < now()))
                   ORDER BY w.rereading, w.recording LIMIT 1 FOR UPDATE OF w SKIP LOCKED) next
             WHERE r.rereading = next.rereading AND r.recording = next.recording
             RETURNING r.rereading, r.recording",
        )
        .bind(worker)
        .bind(TAKEN_S)
        .bind(engine)
        .fetch_optional(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        let Some((rereading, recording)) = row else {
            return Ok(None);
        };
        let wrong = || BookError::Damaged {
            path: self.central.shown().into(),
            found: format!("re-reading {rereading} of recording {recording}: no such ids"),
        };
        Ok(Some(Taken {
            rereading: rereading.parse().map_err(|_| wrong())?,
            recording: recording.parse().map_err(|_| wrong())?,
            worker: worker.to_owned(),
        }))
    }

    /// Still at it: it is taken for another while. Whether it is this worker's still; if not, reading on is of no use.
    ///
    /// # Errors
    /// [`BookError`]: out of reach.
    pub async fn still_reads(&self, taken: &Taken) -> Result<bool, BookError> {
        let done = sqlx::query(
            "UPDATE book.reread_recording r SET taken_until = now() + make_interval(secs => $4)
             FROM book.rereading b
             WHERE b.id = r.rereading AND b.state = 'reading' AND r.rereading = $1 AND r.recording = $2
               AND r.worker = $3 AND r.state = 'taken'",
        )
        .bind(taken.rereading.to_string())
        .bind(taken.recording.to_string())
        .bind(&taken.worker)
        .bind(TAKEN_S)
        .execute(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        Ok(done.rows_affected() == 1)
    }

    /// Keep what was found, beside what the engine's last reading in the book says. Whether it was this worker's to
    /// say still: if not, nothing is kept.
    ///
    /// # Errors
    /// [`BookError`]: out of reach; then nothing is kept, and it can be tried again.
    pub async fn keep(
        &self,
        taken: &Taken,
        reading: &Reading,
        curves: &[u8],
        took_s: f64,
    ) -> Result<bool, BookError> {
        let detail = self.book.store().recording(taken.recording).await?;
        let before = detail
            .readings
            .iter()
            .map(|row| &row.reading)
            .find(|reading| matches!(reading.reader, Reader::Engine { .. }));
        let tubes = compare(before, reading);
        let text = serde_json::to_string(reading)?;
        let mut change = self
            .pool()
            .begin()
            .await
            .map_err(|source| self.failed(source))?;
        let done = sqlx::query(
            "UPDATE book.reread_recording SET state = 'read', record = $4, reading = $5, curves = $6,
                    took_s = $7, done_at = now(), why = NULL
             WHERE rereading = $1 AND recording = $2 AND worker = $3 AND state = 'taken'",
        )
        .bind(taken.rereading.to_string())
        .bind(taken.recording.to_string())
        .bind(&taken.worker)
        .bind(RecordId::new().to_string())
        .bind(text)
        .bind(curves)
        .bind(took_s)
        .execute(&mut *change)
        .await
        .map_err(|source| self.failed(source))?;
        if done.rows_affected() != 1 {
            return Ok(false);
        }
        for tube in &tubes {
            self.keep_tube(&mut change, taken, tube).await?;
        }
        change
            .commit()
            .await
            .map_err(|source| self.failed(source))?;
        Ok(true)
    }

    async fn keep_tube(
        &self,
        change: &mut Transaction<'static, Postgres>,
        taken: &Taken,
        tube: &ComparedTube,
    ) -> Result<(), BookError> {
        sqlx::query(
            "INSERT INTO book.reread_tube (rereading, recording, place, change, outcome_before, outcome_now,
                 first_liquid_moved_c, first_liquid_standard_uncertainty_c,
                 last_crystal_moved_c, last_crystal_standard_uncertainty_c, moved_c)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
        )
        .bind(taken.rereading.to_string())
        .bind(taken.recording.to_string())
        .bind(i16::from(tube.place))
        .bind(tube.change.name())
        .bind(tube.outcome_before)
        .bind(tube.outcome_now)
        .bind(tube.first_liquid.map(|end| end.by_c))
        .bind(tube.first_liquid.map(|end| end.standard_uncertainty_c))
        .bind(tube.last_crystal.map(|end| end.by_c))
        .bind(tube.last_crystal.map(|end| end.standard_uncertainty_c))
        .bind(tube.moved_c())
        .execute(&mut **change)
        .await
        .map_err(|source| self.failed(source))?;
        Ok(())
    }

    /// It cannot be read, and why.
    ///
    /// # Errors
    /// [`BookError`]: out of reach.
    pub async fn could_not_read(
        &self,
        taken: &Taken,
        why: &str,
        took_s: f64,
    ) -> Result<(), BookError> {
        sqlx::query(
            "UPDATE book.reread_recording SET state = 'failed', why = $4, took_s = $5, done_at = now()
             WHERE rereading = $1 AND recording = $2 AND worker = $3 AND state = 'taken'",
        )
        .bind(taken.rereading.to_string())
        .bind(taken.recording.to_string())
        .bind(&taken.worker)
        .bind(why)
        .bind(took_s)
        .execute(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        Ok(())
    }

    /// Give it back unread: somebody else may take it at once.
    ///
    /// # Errors
    /// [`BookError`]: out of reach; then it is free after a while.
    pub async fn give_back(&self, taken: &Taken) -> Result<(), BookError> {
        sqlx::query(
            "UPDATE book.reread_recording SET state = 'waiting', tries = tries - 1, taken_until = NULL
             WHERE rereading = $1 AND recording = $2 AND worker = $3 AND state = 'taken'",
        )
        .bind(taken.rereading.to_string())
        .bind(taken.recording.to_string())
        .bind(&taken.worker)
        .execute(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        Ok(())
    }

    /// Let those that failed wait again; how many.
    ///
    /// # Errors
    /// [`BookError`]: no re-reading that reads, or out of reach.
    pub async fn try_again(&self, id: Uuid) -> Result<u64, BookError> {
        self.must_be(id, RereadState::Reading).await?;
        let done = sqlx::query(
            "UPDATE book.reread_recording SET state = 'waiting', tries = 0, why = NULL, done_at = NULL, took_s = NULL
             WHERE rereading = $1 AND state = 'failed'",
        )
        .bind(id.to_string())
        .execute(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        Ok(done.rows_affected())
    }

    /// Leave one recording out: what was found in it is not recorded. `why` is kept.
    ///
    /// # Errors
    /// [`BookError`]: no such re-reading that reads, nothing found in this recording, no reason, out of reach.
    pub async fn leave_out(
        &self,
        id: Uuid,
        recording: RecordingId,
        why: &str,
    ) -> Result<(), BookError> {
        if why.trim().is_empty() {
            return Err(BookError::ReasonMissing {
                what: "leaving a recording out",
            });
        }
        self.must_be(id, RereadState::Reading).await?;
        let done = sqlx::query(
            "UPDATE book.reread_recording SET state = 'left_out', why = $3
             WHERE rereading = $1 AND recording = $2 AND state = 'read'",
        )
        .bind(id.to_string())
        .bind(recording.to_string())
        .bind(why.trim())
        .execute(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        match done.rows_affected() {
            0 => Err(BookError::Unknown {
                what: "new reading of recording",
                name: recording.to_string(),
            }),
            _ => Ok(()),
        }
    }

    /// Refuse what is not at this point.
    pub(super) async fn must_be(&self, id: Uuid, state: RereadState) -> Result<(), BookError> {
        let found = self.one(id).await?;
        if found.state == state {
            return Ok(());
        }
        Err(BookError::Field {
            field: "rereading.state",
            found: found.state.name().into(),
            expected: state.name(),
        })
    }
}
