//! How far a re-reading is, and what it changes.

use super::{Moved, RereadChange, Rereadings};
use crate::error::BookError;
use crate::ids::RecordingId;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Over which time the speed of the workers is told [min].
const SPEED_MIN: f64 = 10.0;

/// How many recordings are where.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RereadCounts {
    /// Wait for a worker.
    pub waiting: u64,
    /// Are being read.
    pub taken: u64,
    /// Were read.
    pub read: u64,
    /// Cannot be read.
    pub failed: u64,
    /// Were read and left out by a person.
    pub left_out: u64,
    /// Are in the book.
    pub accepted: u64,
}

impl RereadCounts {
    /// All of them.
    pub fn total(self) -> u64 {
        self.waiting + self.taken + self.read + self.failed + self.left_out + self.accepted
    }
}

/// One end of the ranges over all tubes that have it in both readings.
#[derive(Debug, Clone, Copy, Default, PartialEq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct EndMoved {
    /// Tubes.
    pub tubes: u64,
    /// Mean, now less before [°C].
    pub mean_c: Option<f64>,
    /// Median, now less before [°C].
    pub median_c: Option<f64>,
    /// 95 % moved by this much at most, whatever the sign [°C].
    pub p95_c: Option<f64>,
    /// The furthest, whatever the sign [°C].
    pub furthest_c: Option<f64>,
}

/// A worker that has taken or read something.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RereadWorker {
    /// Machine and process.
    pub name: String,
    /// What it has read.
    pub done: u64,
    /// What it has taken and is due to say something of.
    pub taken: u64,
    /// Mean time for one [s].
    pub took_s: Option<f64>,
}

/// How far a re-reading is.
#[derive(Debug, Clone, PartialEq)]
pub struct RereadingTold {
    /// By state.
    pub counts: RereadCounts,
    /// Tubes by what became of them.
    pub changes: BTreeMap<RereadChange, u64>,
    /// First liquid.
    pub first_liquid: EndMoved,
    /// Last crystal.
    pub last_crystal: EndMoved,
    /// Who reads.
    pub workers: Vec<RereadWorker>,
    /// Recordings read in the last ten minutes [1/min].
    pub per_min: f64,
}

/// One tube, before and now.
#[derive(Debug, Clone, PartialEq)]
pub struct RereadTube {
    /// In which recording.
    pub recording: RecordingId,
    /// Its place, from 1.
    pub place: u8,
    /// What became of it.
    pub change: RereadChange,
    /// As it was said before.
    pub outcome_before: Option<String>,
    /// As it is said now.
    pub outcome_now: Option<String>,
    /// First liquid.
    pub first_liquid: Option<Moved>,
    /// Last crystal.
    pub last_crystal: Option<Moved>,
    /// Whether a person left this recording out, and why.
    pub left_out: Option<String>,
}

/// A recording that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RereadFailure {
    /// Which.
    pub recording: RecordingId,
    /// Why.
    pub why: String,
}

/// As the database has a [`RereadTube`].
type TubeRow = (
    String,
    i16,
    String,
    Option<String>,
    Option<String>,
    Option<f64>,
    Option<f64>,
    Option<f64>,
    Option<f64>,
    Option<String>,
);

impl Rereadings<'_> {
    /// How far one is, and what it changes.
    ///
    /// # Errors
    /// [`BookError`]: out of reach.
    pub async fn told(&self, id: Uuid) -> Result<RereadingTold, BookError> {
        let counts = self.counts(id).await?;
        let id_text = id.to_string();
        let changes: Vec<(String, i64)> = sqlx::query_as(
            "SELECT change, count(*) FROM book.reread_tube WHERE rereading = $1 GROUP BY change",
        )
        .bind(&id_text)
        .fetch_all(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        let workers: Vec<(String, i64, i64, Option<f64>)> = sqlx::query_as(
            "SELECT worker, count(*) FILTER (WHERE done_at IS NOT NULL),
                    count(*) FILTER (WHERE state = 'taken' AND taken_until >= now()), avg(took_s)
             FROM book.reread_recording WHERE rereading = $1 AND worker IS NOT NULL
             GROUP BY worker ORDER BY worker",
        )
        .bind(&id_text)
        .fetch_all(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        let (done,): (i64,) = sqlx::query_as(
            "SELECT count(*) FROM book.reread_recording
             WHERE rereading = $1 AND done_at > now() - make_interval(mins => $2)",
        )
        .bind(&id_text)
        .bind(SPEED_MIN as i32)
        .fetch_one(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        Ok(RereadingTold {
            counts,
            changes: changes
                .into_iter()
                .filter_map(|(name, count)| {
                    Some((RereadChange::named(&name)?, count.unsigned_abs()))
                })
                .collect(),
            first_liquid: self.end_moved(&id_text, "first_liquid_moved_c").await?,
            last_crystal: self.end_moved(&id_text, "last_crystal_moved_c").await?,
            workers: workers
                .into_iter()
                .map(|(name, done, taken, took_s)| RereadWorker {
                    name,
                    done: done.unsigned_abs(),
                    taken: taken.unsigned_abs(),
                    took_s,
                })
                .collect(),
            per_min: done as f64 / SPEED_MIN,
        })
    }

    /// How many recordings are where.
    ///
    /// # Errors
    /// [`BookError`]: out of reach.
    pub async fn counts(&self, id: Uuid) -> Result<RereadCounts, BookError> {
        let states: Vec<(String, i64)> = sqlx::query_as(
            "SELECT state, count(*) FROM book.reread_recording WHERE rereading = $1 GROUP BY state",
        )
        .bind(id.to_string())
        .fetch_all(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        let mut counts = RereadCounts::default();
        for (state, count) in states {
            let place = match state.as_str() {
                "waiting" => &mut counts.waiting,
                "taken" => &mut counts.taken,
                "read" => &mut counts.read,
                "failed" => &mut counts.failed,
                "left_out" => &mut counts.left_out,
                _ => &mut counts.accepted,
            };
            *place = count.unsigned_abs();
        }
        Ok(counts)
    }

    async fn end_moved(&self, id: &str, column: &'static str) -> Result<EndMoved, BookError> {
        let (tubes, mean_c, median_c, p95_c, furthest_c): (
            i64,
            Option<f64>,
            Option<f64>,
            Option<f64>,
            Option<f64>,
        ) = sqlx::query_as(sqlx::AssertSqlSafe(format!(
            "SELECT count({column}), avg({column}), percentile_cont(0.5) WITHIN GROUP (ORDER BY {column}),
                    percentile_cont(0.95) WITHIN GROUP (ORDER BY abs({column})), max(abs({column}))
             FROM book.reread_tube WHERE rereading = $1"
        )))
        .bind(id)
        .fetch_one(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        Ok(EndMoved {
            tubes: tubes.unsigned_abs(),
            mean_c,
            median_c,
            p95_c,
            furthest_c,
        })
    }

    /// Tubes that changed in this way, those that moved furthest first.
    ///
    /// # Errors
    /// [`BookError`]: out of reach.
    pub async fn tubes(
        &self,
        id: Uuid,
        change: Option<RereadChange>,
        offset: u64,
        limit: u32,
    ) -> Result<Vec<RereadTube>, BookError> {
        let rows: Vec<TubeRow> = sqlx::query_as(
            "SELECT t.recording, t.place, t.change, t.outcome_before, t.outcome_now,
                    t.first_liquid_moved_c, t.first_liquid_standard_uncertainty_c,
                    t.last_crystal_moved_c, t.last_crystal_standard_uncertainty_c,
                    CASE WHEN r.state = 'left_out' THEN r.why END
             FROM book.reread_tube t
             JOIN book.reread_recording r ON r.rereading = t.rereading AND r.recording = t.recording
             WHERE t.rereading = $1 AND ($2::text IS NULL OR t.change = $2)
             ORDER BY t.moved_c DESC NULLS LAST, t.recording, t.place OFFSET $3 LIMIT $4",
        )
        .bind(id.to_string())
        .bind(change.map(RereadChange::name))
        .bind(offset.cast_signed())
        .bind(i64::from(limit))
        .fetch_all(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        let moved = |by_c: Option<f64>, u: Option<f64>| {
            Some(Moved {
                by_c: by_c?,
                standard_uncertainty_c: u?,
            })
        };
        rows.into_iter()
            .map(|row| {
                Ok(RereadTube {
                    recording: self.recording_id(&row.0)?,
                    place: u8::try_from(row.1).unwrap_or(u8::MAX),
                    change: RereadChange::named(&row.2).unwrap_or(RereadChange::Lost),
                    outcome_before: row.3,
                    outcome_now: row.4,
                    first_liquid: moved(row.5, row.6),
                    last_crystal: moved(row.7, row.8),
                    left_out: row.9,
                })
            })
            .collect()
    }

    /// Recordings that cannot be read, at most `limit`.
    ///
    /// # Errors
    /// [`BookError`]: out of reach.
    pub async fn failures(&self, id: Uuid, limit: u32) -> Result<Vec<RereadFailure>, BookError> {
        let rows: Vec<(String, Option<String>)> = sqlx::query_as(
            "SELECT recording, why FROM book.reread_recording WHERE rereading = $1 AND state = 'failed'
             ORDER BY recording LIMIT $2",
        )
        .bind(id.to_string())
        .bind(i64::from(limit))
        .fetch_all(self.pool())
        .await
        .map_err(|source| self.failed(source))?;
        rows.into_iter()
            .map(|(recording, why)| {
                Ok(RereadFailure {
                    recording: self.recording_id(&recording)?,
                    why: why.unwrap_or_default(),
                })
            })
            .collect()
    }

    fn recording_id(&self, text: &str) -> Result<RecordingId, BookError> {
        text.parse().map_err(|_| BookError::Damaged {
            path: self.central.shown().into(),
            found: format!("\"{text}\" is no recording"),
        })
    }
}
