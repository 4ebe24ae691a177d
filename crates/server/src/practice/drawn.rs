//! Exercises that are drawn when somebody asks for them.

use crate::problem::Problem;
use crate::state::locked;
use axum::http::StatusCode;
use jpeg_encoder::{ColorType, Encoder};
use meltrange_scene::{Film, Picture, Scene};
use meltrange_teaching::{AnswerKey, ExerciseKind, scene};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, OnceLock};

/// Exercises that are kept ready: a class of learners at work.
const KEPT: usize = 48;

/// Fine enough that no grain is lost, 0 to 100.
const QUALITY: u8 = 88;

/// An exercise made ready: pictures and the answer are made when they are asked for first, and kept.
#[derive(Debug)]
pub(crate) struct Drawn {
    film: Film,
    times_s: Vec<f64>,
    pictures: Vec<OnceLock<Arc<Vec<u8>>>>,
    key: OnceLock<Option<AnswerKey>>,
}

impl Drawn {
    /// Make a scene ready. Takes a fraction of a second.
    pub fn of(scene: Scene) -> Result<Self, Problem> {
        let film = Film::new(scene).map_err(|error| Problem::internal(&error))?;
        let start_s = film.scene().log.video_start_s;
        Ok(Self {
            times_s: film
                .times_s()
                .iter()
                .map(|time_s| time_s + start_s)
                .collect(),
            pictures: film.times_s().iter().map(|_| OnceLock::new()).collect(),
            key: OnceLock::new(),
            film,
        })
    }

    pub(super) fn film(&self) -> &Film {
        &self.film
    }

    /// When pictures are taken, log clock [s].
    pub fn times_s(&self) -> &[f64] {
        &self.times_s
    }

    /// Picture `n` as JPEG; none beyond the last.
    pub fn picture(&self, n: usize) -> Option<Arc<Vec<u8>>> {
        let kept = self.pictures.get(n)?;
        Some(Arc::clone(
            kept.get_or_init(|| Arc::new(jpeg(&self.film.picture(n)))),
        ))
    }

    /// The answer.
    pub fn key(&self) -> Result<&AnswerKey, Problem> {
        let key = self.key.get_or_init(|| AnswerKey::of_film(&self.film).ok());
        key.as_ref().ok_or_else(|| {
            Problem::internal(&std::io::Error::other(
                "an exercise that does not melt to its end",
            ))
        })
    }
}

pub(super) fn jpeg(picture: &Picture) -> Vec<u8> {
    let side = |px: usize| u16::try_from(px).unwrap_or(u16::MAX);
    let (width, height) = (side(picture.width), side(picture.height));
    let mut jpeg = Vec::new();
    let encoder = Encoder::new(&mut jpeg, QUALITY);
    // Into memory: only a picture without pixels fails, and there is none.
    if encoder
        .encode(&picture.rgb(), width, height, ColorType::Rgb)
        .is_err()
    {
        jpeg.clear();
    }
    jpeg
}

/// Those that were asked for lately.
#[derive(Debug, Default)]
pub(crate) struct DrawnExercises(Mutex<VecDeque<(ExerciseKind, u32, Arc<Drawn>)>>);

impl DrawnExercises {
    /// One by its kind and seed.
    pub async fn get(&self, kind: ExerciseKind, seed: u32) -> Result<Arc<Drawn>, Problem> {
        {
            let mut kept = locked(&self.0);
            if let Some(at) = kept.iter().position(|one| one.0 == kind && one.1 == seed)
                && let Some(found) = kept.remove(at)
            {
                let drawn = Arc::clone(&found.2);
                kept.push_front(found);
                return Ok(drawn);
            }
        }
        let drawn = drawing(move || {
            let scene = scene(kind, u64::from(seed)).ok_or_else(not_drawn)?;
            Drawn::of(scene)
        })
        .await??;
        let drawn = Arc::new(drawn);
        let mut kept = locked(&self.0);
        kept.truncate(KEPT - 1);
        kept.push_front((kind, seed, Arc::clone(&drawn)));
        Ok(drawn)
    }
}

fn not_drawn() -> Problem {
    Problem::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "field",
        "A field cannot be taken",
        "\"recording\" is no kind of exercise that is drawn; expected plain, faint, settling, glistening, late_last_crystal or combined",
    )
}

/// Drawing is not for the threads that answer.
pub(crate) async fn drawing<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Problem> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|error| Problem::internal(&error))
}
