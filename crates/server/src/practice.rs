//! Practice in reading: exercises that are drawn, the book's own that several readers agreed on, and who read them how.

mod attempts;
mod compared;
mod drawn;
mod engine;
mod handout;
mod opinions;

pub(crate) use attempts::{
    all_attempts, attempts_of, exercise_of, has_passed, kept_exercise, progress_of,
};
pub(crate) use compared::{agreement, compared, observed, readers_of};
pub(crate) use drawn::{Drawn, DrawnExercises, drawing};
pub(crate) use engine::EngineMarks;
pub(crate) use handout::{HANDOUT, handout_picture};
pub(crate) use opinions::{ReaderOf, TubeOpinions, opinions};
