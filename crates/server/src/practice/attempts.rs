//! What people read for practice, out of the book.

use crate::problem::Problem;
use crate::state::AppState;
use crate::wire::{Exercise, PracticeProgress};
use meltrange_labbook::{Entry, PROGRAM, PersonId, PracticeAttempt, PracticeExercise, Record};
use meltrange_teaching::{Attempt, ExerciseKind, PassRule, progress};

/// Attempts of somebody, or of everybody, in order.
pub(crate) async fn attempts_of(
    state: &AppState,
    person: Option<PersonId>,
) -> Result<Vec<(Record, PracticeAttempt)>, Problem> {
    let records = state.book().store().practice_attempts(person).await?;
    Ok(records
        .into_iter()
        .filter_map(|record| match record.entry.clone() {
            Entry::PracticeAttempt(attempt) => Some((record, attempt)),
            _ => None,
        })
        .collect())
}

/// Everybody's.
pub(crate) async fn all_attempts(
    state: &AppState,
) -> Result<Vec<(Record, PracticeAttempt)>, Problem> {
    attempts_of(state, None).await
}

/// The kind of what was read; an exercise of a kind that this program does not know is none.
pub(crate) fn exercise_of(kept: &PracticeExercise) -> Option<Exercise> {
    match kept {
        PracticeExercise::Simulated { exercise, seed, .. } => Some(Exercise {
            kind: ExerciseKind::of_code(exercise)?,
            seed: u32::try_from(*seed).ok(),
            recording: None,
            place: None,
        }),
        PracticeExercise::Recording { recording, place } => Some(Exercise {
            kind: ExerciseKind::Recording,
            seed: None,
            recording: Some(*recording),
            place: Some(*place),
        }),
    }
}

/// The same as a book keeps it; refused where it says too little.
pub(crate) fn kept_exercise(asked: &Exercise) -> Result<PracticeExercise, Problem> {
    match (asked.kind, asked.seed, asked.recording, asked.place) {
        (ExerciseKind::Recording, _, Some(recording), Some(place)) => {
            Ok(PracticeExercise::Recording { recording, place })
        }
        (ExerciseKind::Recording, ..) => Err(Problem::field(
            "exercise",
            "a recording without its id or place",
            "both",
        )),
        (kind, Some(seed), ..) => Ok(PracticeExercise::Simulated {
            exercise: kind.code().to_owned(),
            seed: u64::from(seed),
            program: PROGRAM.to_owned(),
        }),
        (_, None, ..) => Err(Problem::field("exercise.seed", "missing", "a whole number")),
    }
}

/// How far somebody is.
pub(crate) async fn progress_of(
    state: &AppState,
    person: PersonId,
) -> Result<PracticeProgress, Problem> {
    let attempts = attempts_of(state, Some(person)).await?;
    Ok(PracticeProgress {
        person,
        name: crate::rooms::person_name(state, person).await?,
        progress: progress(&told(&attempts), &PassRule::default()),
    })
}

/// Attempts as progress is worked out from them.
pub(super) fn told(attempts: &[(Record, PracticeAttempt)]) -> Vec<Attempt> {
    attempts
        .iter()
        .filter_map(|(record, attempt)| {
            Some(Attempt {
                when: record.when.to_string(),
                kind: exercise_of(&attempt.exercise)?.kind,
                first_liquid_error_c: attempt.first_liquid.error_c(),
                last_crystal_error_c: attempt.last_crystal.error_c(),
            })
        })
        .collect()
}

/// Whether somebody has passed, by their attempts.
pub(crate) fn has_passed(attempts: &[(Record, PracticeAttempt)]) -> bool {
    progress(&told(attempts), &PassRule::default()).passed
}
