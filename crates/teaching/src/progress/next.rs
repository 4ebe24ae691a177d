//! Which exercise comes next: from plain to tricky until each kind is seen, then where it is weakest.

use super::{Attempt, PassRule, recent};
use crate::exercise::ExerciseKind;
use serde::{Deserialize, Serialize};

/// Harder kinds wait until the plainer one is within this many times the limit.
const NEAR_ENOUGH: f64 = 2.0;

/// So many attempts as all kinds go on the average are mixed into a kind's own: a few tell little by themselves.
const SHRINK_ATTEMPTS: f64 = 2.0;

/// Why an exercise comes next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// Nothing was tried yet.
    First,
    /// This kind was not seen yet.
    NotYetSeen,
    /// This kind is still too far off to go on to harder ones.
    PlainerFirst,
    /// Errors are largest here.
    Weakest,
    /// It was asked for.
    Chosen,
}

/// What to do next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NextExercise {
    /// Kind of exercise.
    pub kind: ExerciseKind,
    /// Why this one.
    pub why: Why,
}

/// The next exercise after these attempts, in order of time.
pub(super) fn next(attempts: &[&Attempt], rule: &PassRule) -> NextExercise {
    let simulated = ExerciseKind::SIMULATED;
    let tried = |kind| attempts.iter().any(|one| one.kind == kind);
    if !simulated.into_iter().any(tried) {
        return NextExercise {
            kind: simulated[0],
            why: Why::First,
        };
    }
    let mut plainer: Option<ExerciseKind> = None;
    for kind in simulated {
        if tried(kind) {
            plainer = Some(kind);
            continue;
        }
        // A kind that was not seen: is the plainer one near enough to go on?
        let far_off = plainer.filter(|&plainer| {
            mean_square(&recent(attempts, plainer))
                .is_some_and(|square| square.sqrt() > NEAR_ENOUGH * rule.limit_c)
        });
        return match far_off {
            Some(kind) => NextExercise {
                kind,
                why: Why::PlainerFirst,
            },
            None => NextExercise {
                kind,
                why: Why::NotYetSeen,
            },
        };
    }
    NextExercise {
        kind: weakest(attempts),
        why: Why::Weakest,
    }
}

/// The kind with the largest recent error, few attempts drawn towards what all kinds show; of equals the
/// one that was tried longest ago.
fn weakest(attempts: &[&Attempt]) -> ExerciseKind {
    let own: Vec<(ExerciseKind, Vec<&Attempt>)> = ExerciseKind::SIMULATED
        .into_iter()
        .map(|kind| (kind, recent(attempts, kind)))
        .collect();
    let all: Vec<&Attempt> = own.iter().flat_map(|(_, recent)| recent.clone()).collect();
    let overall = mean_square(&all).unwrap_or(0.0);
    let last_tried = |kind| attempts.iter().rposition(|one| one.kind == kind);
    let mut worst = (f64::NEG_INFINITY, None, ExerciseKind::Plain);
    for (kind, recent) in own {
        let n = recent.len() as f64;
        let square = mean_square(&recent).unwrap_or(0.0);
        let shrunk = (n * square + SHRINK_ATTEMPTS * overall) / (n + SHRINK_ATTEMPTS);
        let last = last_tried(kind);
        if shrunk > worst.0 || (shrunk == worst.0 && last < worst.1) {
            worst = (shrunk, last, kind);
        }
    }
    worst.2
}

/// Mean square of the errors at both ends [°C²]; `None` of nothing.
fn mean_square(attempts: &[&Attempt]) -> Option<f64> {
    let squares: f64 = attempts
        .iter()
        .map(|one| 0.5 * (one.first_liquid_error_c.powi(2) + one.last_crystal_error_c.powi(2)))
        .sum();
    (!attempts.is_empty()).then(|| squares / attempts.len() as f64)
}
