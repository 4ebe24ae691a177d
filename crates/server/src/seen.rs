//! What a person saw, as moments with temperatures.

use crate::problem::Problem;
use crate::state::AppState;
use crate::wire::{Outcome, Seen};
use meltrange_labbook::{Moment, Moments, RecordingId};
use meltrange_physics::TemperatureLog;

/// Times closer than this are the same [s]: they went through JSON.
const SAME_S: f64 = 1e-3;

/// The clock of one recording: its pictures' times and its log.
#[derive(Debug)]
pub(crate) struct Clock {
    times_s: Vec<f64>,
    log: TemperatureLog,
}

impl Clock {
    /// Of a recording. Without pictures to look at it knows no picture numbers.
    pub async fn of(state: &AppState, recording: RecordingId) -> Result<Self, Problem> {
        let log = state.book().log(recording).await?.log;
        let pictures = state.pictures().of(state, recording).await;
        Ok(Self {
            times_s: pictures.map_or_else(|_| Vec::new(), |open| open.frames.times_s().to_vec()),
            log,
        })
    }

    /// Outcome and moments from what was seen.
    pub fn moments(
        &self,
        first_liquid: Seen,
        last_crystal: Seen,
        outcome: Option<Outcome>,
    ) -> Result<Moments, Problem> {
        let first_liquid = self.moment("first_liquid", first_liquid)?;
        let last_crystal = self.moment("last_crystal", last_crystal)?;
        let outcome = outcome.unwrap_or(match (first_liquid, last_crystal) {
            (None, None) => Outcome::Unmelted,
            (_, Some(_)) => Outcome::Melted,
            (Some(_), None) => Outcome::PartlyMelted,
        });
        Ok(Moments {
            outcome: outcome.into(),
            first_liquid,
            last_crystal,
        })
    }

    fn moment(&self, field: &'static str, seen: Seen) -> Result<Option<Moment>, Problem> {
        let time_s = match seen {
            Seen::Never => return Ok(None),
            Seen::Time { time_s } => time_s,
            Seen::Frame { frame } => usize::try_from(frame)
                .ok()
                .and_then(|at| self.times_s.get(at).copied())
                .ok_or_else(|| {
                    Problem::field(
                        field,
                        format!("picture {frame}"),
                        format!("a picture from 0 to below {}", self.times_s.len()),
                    )
                })?,
        };
        let point = self.log.at(time_s).ok_or_else(|| {
            let (from_s, to_s) = self.log.span_s();
            Problem::field(
                field,
                format!("at {time_s} s, where the log has no temperature"),
                format!("a time from {from_s} s to {to_s} s"),
            )
        })?;
        // Seen in this picture and not in the one before: anywhere between them (GUM 4.3.7).
        let of_time_c = point.rate_c_per_s * self.spacing_s(time_s) / 12.0_f64.sqrt();
        Ok(Some(Moment {
            time_s,
            temperature_c: point.temperature_c,
            standard_uncertainty_c: of_time_c.hypot(point.standard_uncertainty_c),
        }))
    }

    /// Time between the picture shown at `time_s` and the one before it [s]; 0 where there is none.
    fn spacing_s(&self, time_s: f64) -> f64 {
        let after = self
            .times_s
            .partition_point(|&taken_s| taken_s <= time_s + SAME_S);
        match (
            after.checked_sub(2).and_then(|at| self.times_s.get(at)),
            after.checked_sub(1).and_then(|at| self.times_s.get(at)),
        ) {
            (Some(before_s), Some(shown_s)) => shown_s - before_s,
            _ => 0.0,
        }
    }
}

/// Whether a person sees it as the reading does: same outcome, same times.
pub(crate) fn same(one: &Moments, other: &Moments) -> bool {
    let same_time = |one: &Option<Moment>, other: &Option<Moment>| match (one, other) {
        (None, None) => true,
        (Some(one), Some(other)) => (one.time_s - other.time_s).abs() <= SAME_S,
        _ => false,
    };
    one.outcome == other.outcome
        && same_time(&one.first_liquid, &other.first_liquid)
        && same_time(&one.last_crystal, &other.last_crystal)
}
