//! Practice in reading melting ranges: exercises whose truth is known, marking, progress.
//!
//! What comes in: a kind of exercise and a seed, the moments that a learner marked, the attempts so
//! far. What goes out: a scene ([`scene`]), what the marks are worth and what fooled the learner
//! ([`mark`]), how far the learner is and what comes next ([`progress`]). No files, no clock, no
//! network; equations and sources in docs/models/practice.md.
//!
//! ```
//! use meltrange_teaching::{Attempt, ExerciseKind, PassRule, progress};
//! let attempt = Attempt {
//!     when: "2026-11-27T18:05:00Z".to_owned(),
//!     kind: ExerciseKind::Plain,
//!     first_liquid_error_c: -0.2,
//!     last_crystal_error_c: 0.1,
//! };
//! let so_far = progress(&[attempt], &PassRule::default());
//! assert!(!so_far.passed);
//! assert_eq!(so_far.next.kind, ExerciseKind::Faint);
//! ```

mod dealing;
mod exercise;
mod marking;
mod progress;
mod rubric;
mod telling_apart;

pub use dealing::{DealError, deal, deal_one_more, vials};
pub use exercise::{ExerciseKind, scene};
pub use marking::{
    AnswerKey, Basis, EndMarked, FooledBy, Happening, KeyError, KnownEnd, Marked, MarkingError,
    Marks, PictureTrack, mark,
};
pub use progress::{
    Attempt, EndProgress, KindProgress, Missing, NextExercise, PassRule, PracticePoint, Progress,
    Why, progress,
};
pub use rubric::{Rubric, RunShown, SeatMark, Work, agreement_c, agrees, suggest};
pub use telling_apart::{PairOfUnknowns, Solid, Told, needed_ratio, tell_apart};
