//! Practice in reading, and the handout.

use crate::extract::{Acting, Asked, Body, Named, no_student};
use crate::practice::{
    Drawn, HANDOUT, TubeOpinions, all_attempts, attempts_of, drawing, exercise_of, handout_picture,
    has_passed, kept_exercise, opinions, progress_of,
};
use crate::problem::{Problem, Problems};
use crate::rooms::practicals::recorded;
use crate::state::AppState;
use crate::wire::{
    Exercise, Handout, HandoutPicture, PracticeAttemptRequest, PracticeItem, PracticeItems,
    PracticeMarked, PracticeProgress, PracticeReader, PracticeReaders,
};
use axum::Json;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use meltrange_labbook::{
    Draft, Kind, PersonId, PracticeAttempt, PracticeEnd, PracticeExercise, RecordingId,
};
use meltrange_teaching::{
    AnswerKey, EndMarked, ExerciseKind, Marks, PassRule, PictureTrack, Why, mark,
};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Own recordings that are offered at once.
const OWN: usize = 20;

/// A drawn picture never changes while this version serves it.
const KEEP: &str = "private, max-age=86400";

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(next))
        .routes(routes!(drawn_exercise))
        .routes(routes!(drawn_picture))
        .routes(routes!(own_recordings))
        .routes(routes!(attempt))
        .routes(routes!(my_progress))
        .routes(routes!(progress_of_person))
        .routes(routes!(readers))
        .routes(routes!(handout))
        .routes(routes!(picture_of_handout))
}

/// Which kind is wanted.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct NextQuery {
    /// One of this kind; where this person is weakest if not said.
    kind: Option<ExerciseKind>,
}

/// The next exercise
///
/// Blind: times of the pictures and nothing else.
#[utoipa::path(get, path = "/api/practice/next", tag = "practice", security(("person" = [])), params(NextQuery), responses((status = 200, body = PracticeItem), Problems))]
async fn next(
    State(state): State<AppState>,
    Acting(who): Acting,
    Asked(asked): Asked<NextQuery>,
) -> Result<Json<PracticeItem>, Problem> {
    let told = progress_of(&state, who.id).await?.progress.next;
    let (kind, why) = match asked.kind {
        Some(kind) => (kind, Why::Chosen),
        None => (told.kind, told.why),
    };
    if kind == ExerciseKind::Recording {
        let item = own(&state, who.id).await?.into_iter().next();
        return item.map(Json).ok_or_else(|| {
            Problem::unknown(
                "no recording of this book was read by two who agree and is new to you; practise on drawn ones",
            )
        });
    }
    let attempts = attempts_of(&state, Some(who.id)).await?;
    let before = attempts
        .iter()
        .filter_map(|(_, attempt)| exercise_of(&attempt.exercise))
        .filter(|exercise| exercise.kind == kind)
        .count();
    let item = item(&state, who.id, kind, seed_of(who.id, before), why).await?;
    Ok(Json(item))
}

/// The exercises of a person, one after the other: endless, and others for everybody.
fn seed_of(person: PersonId, before: usize) -> u32 {
    let digest = meltrange_labbook::Digest::of(format!("{person} {before}").as_bytes());
    let hex = digest.to_string();
    let part: String = hex.chars().take(7).collect();
    u32::from_str_radix(&part, 16).unwrap_or_default() + 1
}

async fn item(
    state: &AppState,
    who: PersonId,
    kind: ExerciseKind,
    seed: u32,
    why: Why,
) -> Result<PracticeItem, Problem> {
    let drawn = state.exercises().get(kind, seed).await?;
    // The answer takes longer than the pictures: it is made while these are looked at.
    let ahead = Arc::clone(&drawn);
    tokio::task::spawn_blocking(move || {
        if let Err(problem) = ahead.key() {
            tracing::error!(detail = %problem.detail, "an exercise has no answer");
        }
    });
    let kept = kept_exercise(&Exercise {
        kind,
        seed: Some(seed),
        recording: None,
        place: None,
    })?;
    Ok(PracticeItem {
        exercise: Exercise {
            kind,
            seed: Some(seed),
            recording: None,
            place: None,
        },
        times_s: drawn.times_s().to_vec(),
        pictures: format!("/api/practice/exercises/{}/{seed}/pictures/", kind.code()),
        why,
        attempts: times_tried(state, who, &kept).await?,
        column: None,
    })
}

async fn times_tried(
    state: &AppState,
    who: PersonId,
    exercise: &PracticeExercise,
) -> Result<usize, Problem> {
    let attempts = attempts_of(state, Some(who)).await?;
    let same = attempts
        .iter()
        .filter(|(_, attempt)| attempt.exercise == *exercise);
    Ok(same.count())
}

/// One exercise by its kind and seed
#[utoipa::path(get, path = "/api/practice/exercises/{kind}/{seed}", tag = "practice", security(("person" = [])), params(("kind" = ExerciseKind, Path), ("seed" = u32, Path)), responses((status = 200, body = PracticeItem), Problems))]
async fn drawn_exercise(
    State(state): State<AppState>,
    Acting(who): Acting,
    Path((kind, seed)): Path<(String, String)>,
) -> Result<Json<PracticeItem>, Problem> {
    let (kind, seed) = named(&kind, &seed)?;
    item(&state, who.id, kind, seed, Why::Chosen)
        .await
        .map(Json)
}

fn named(kind: &str, seed: &str) -> Result<(ExerciseKind, u32), Problem> {
    let unknown = || {
        Problem::unknown(
            "there is no such exercise; expected a kind such as plain and a whole number",
        )
    };
    let kind = ExerciseKind::of_code(kind)
        .filter(|kind| *kind != ExerciseKind::Recording)
        .ok_or_else(unknown)?;
    Ok((kind, seed.parse().map_err(|_| unknown())?))
}

/// A picture of an exercise
#[utoipa::path(get, path = "/api/practice/exercises/{kind}/{seed}/pictures/{n}", tag = "practice", params(("kind" = ExerciseKind, Path), ("seed" = u32, Path), ("n" = u32, Path, description = "From 0.")), responses((status = 200, content_type = "image/jpeg", body = Vec<u8>), Problems))]
async fn drawn_picture(
    State(state): State<AppState>,
    Path((kind, seed, n)): Path<(String, String, String)>,
) -> Result<Response, Problem> {
    let (kind, seed) = named(&kind, &seed)?;
    let drawn = state.exercises().get(kind, seed).await?;
    let count = drawn.times_s().len();
    let none = || {
        Problem::unknown(format!(
            "this exercise has {count} pictures; expected a number from 0 to below that"
        ))
    };
    let n: usize = n.parse().map_err(|_| none())?;
    let jpeg = drawing(move || drawn.picture(n)).await?.ok_or_else(none)?;
    Ok(picture(jpeg.as_ref().clone()))
}

fn picture(jpeg: Vec<u8>) -> Response {
    let head = [
        (header::CONTENT_TYPE, "image/jpeg"),
        (header::CACHE_CONTROL, KEEP),
    ];
    (head, jpeg).into_response()
}

/// The book's own exercises
///
/// Tubes that two or more readers agreed on within 0.5 °C at both ends, one of them a person, and that are new to whoever asks.
#[utoipa::path(get, path = "/api/practice/recordings", tag = "practice", security(("person" = [])), responses((status = 200, body = PracticeItems), Problems))]
async fn own_recordings(
    State(state): State<AppState>,
    Acting(who): Acting,
) -> Result<Json<PracticeItems>, Problem> {
    let items = own(&state, who.id).await?;
    Ok(Json(PracticeItems { items }))
}

async fn own(state: &AppState, who: PersonId) -> Result<Vec<PracticeItem>, Problem> {
    let mut items = Vec::new();
    for tube in opinions(state).await? {
        let read = tube
            .said
            .contains_key(&crate::practice::ReaderOf::Person(who));
        if items.len() >= OWN || !tube.agreed() || read || state.was_shown(who, tube.recording) {
            continue;
        }
        // A recording whose pictures are elsewhere cannot be practised on.
        let Ok(pictures) = state.pictures().of(state, tube.recording).await else {
            continue;
        };
        let times_s = pictures.times(state).await?.time_s.clone();
        let exercise = Exercise {
            kind: ExerciseKind::Recording,
            seed: None,
            recording: Some(tube.recording),
            place: Some(tube.place),
        };
        let kept = kept_exercise(&exercise)?;
        items.push(PracticeItem {
            exercise,
            times_s,
            pictures: format!("/api/recordings/{}/frames/", tube.recording),
            why: Why::Chosen,
            attempts: times_tried(state, who, &kept).await?,
            column: None,
        });
    }
    Ok(items)
}

/// Mark an exercise
///
/// The marks are compared with the truth, or with what several readers agreed on, and recorded. The same id again is answered
/// the same and recorded once.
#[utoipa::path(post, path = "/api/practice/attempts", tag = "practice", security(("person" = [])), request_body = PracticeAttemptRequest, responses((status = 200, body = PracticeMarked), Problems))]
async fn attempt(
    State(state): State<AppState>,
    Acting(who): Acting,
    Body(given): Body<PracticeAttemptRequest>,
) -> Result<Json<PracticeMarked>, Problem> {
    let kept = kept_exercise(&given.exercise)?;
    let source = Answer::of(&state, &kept, given.exercise.kind).await?;
    let marks = Marks {
        first_liquid_s: given.first_liquid_s,
        last_crystal_s: given.last_crystal_s,
    };
    let (key, marked) = drawing(move || {
        let key = source.key()?;
        let marked = mark(key, marks, PassRule::default().limit_c)
            .map_err(|error| Problem::field("marks", "not taken", error.to_string()))?;
        Ok::<_, Problem>((key.clone(), marked))
    })
    .await??;
    if !recorded(&state, given.id.into(), Kind::PracticeAttempt).await? {
        let attempt = PracticeAttempt {
            person: who.id,
            exercise: kept,
            first_liquid: end(&marked.first_liquid),
            last_crystal: end(&marked.last_crystal),
            seconds_spent: given.seconds_spent,
        };
        super::append_one(&state, who.id, Draft::about(given.id, attempt)).await?;
    }
    Ok(Json(PracticeMarked {
        id: given.id,
        exercise: given.exercise,
        basis: marked.basis,
        first_liquid: marked.first_liquid,
        last_crystal: marked.last_crystal,
        events: key.events.clone(),
        times_s: key.track.times_s().to_vec(),
        temperatures_c: key.track.temperatures_c().to_vec(),
        solid_left_fraction: key.solid_left_fraction.clone(),
        progress: progress_of(&state, who.id).await?,
    }))
}

fn end(marked: &EndMarked) -> PracticeEnd {
    PracticeEnd {
        marked_s: marked.marked_s,
        marked_c: marked.marked_c,
        known_s: marked.true_s,
        known_c: marked.true_c,
        known_uncertainty_c: marked.uncertainty_c,
    }
}

/// Where the answer is.
enum Answer {
    Drawn(Arc<Drawn>),
    Agreed(Box<AnswerKey>),
}

impl Answer {
    async fn of(
        state: &AppState,
        exercise: &PracticeExercise,
        kind: ExerciseKind,
    ) -> Result<Self, Problem> {
        match exercise {
            PracticeExercise::Simulated { seed, .. } => {
                let seed = u32::try_from(*seed).unwrap_or_default();
                Ok(Self::Drawn(state.exercises().get(kind, seed).await?))
            }
            PracticeExercise::Recording { recording, place } => {
                let key = agreed(state, *recording, *place).await?;
                Ok(Self::Agreed(Box::new(key)))
            }
        }
    }

    fn key(&self) -> Result<&AnswerKey, Problem> {
        match self {
            Self::Drawn(drawn) => drawn.key(),
            Self::Agreed(key) => Ok(key),
        }
    }
}

async fn agreed(state: &AppState, recording: RecordingId, place: u8) -> Result<AnswerKey, Problem> {
    let all = opinions(state).await?;
    let tube = all
        .iter()
        .find(|tube| tube.recording == recording && tube.place == place)
        .filter(|tube| TubeOpinions::agreed(tube))
        .ok_or_else(|| Problem::unknown("no readers agree on this tube of the book (any more)"))?;
    let pictures = state.pictures().of(state, recording).await?;
    let times = pictures.times(state).await?;
    let known: Vec<(f64, f64)> = times
        .time_s
        .iter()
        .zip(&times.temperature_c)
        .filter_map(|(&time_s, temperature_c)| Some((time_s, (*temperature_c)?)))
        .collect();
    let (times_s, temperatures_c) = known.into_iter().unzip();
    let track =
        PictureTrack::new(times_s, temperatures_c).map_err(|error| Problem::internal(&error))?;
    AnswerKey::of_consensus(track, &tube.marks())
        .map_err(|error| Problem::unknown(error.to_string()))
}

/// One's own progress
#[utoipa::path(get, path = "/api/practice/progress", tag = "practice", security(("person" = [])), responses((status = 200, body = PracticeProgress), Problems))]
async fn my_progress(
    State(state): State<AppState>,
    Acting(who): Acting,
) -> Result<Json<PracticeProgress>, Problem> {
    progress_of(&state, who.id).await.map(Json)
}

/// Somebody's progress
///
/// One's own; anybody's for supervisors and analysts.
#[utoipa::path(get, path = "/api/practice/progress/{person}", tag = "practice", security(("person" = [])), params(("person" = String, Path, format = "uuid")), responses((status = 200, body = PracticeProgress), Problems))]
async fn progress_of_person(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(person): Named<PersonId>,
) -> Result<Json<PracticeProgress>, Problem> {
    super::is_kind(&state, person.into(), Kind::Person, "person").await?;
    if person != who.id {
        no_student(who, "the progress of others is looked at")?;
    }
    progress_of(&state, person).await.map(Json)
}

/// Who has practised
///
/// Supervisors and analysts.
#[utoipa::path(get, path = "/api/practice/readers", tag = "practice", security(("person" = [])), responses((status = 200, body = PracticeReaders), Problems))]
async fn readers(
    State(state): State<AppState>,
    Acting(who): Acting,
) -> Result<Json<PracticeReaders>, Problem> {
    no_student(who, "the progress of others is looked at")?;
    let mut each: BTreeMap<PersonId, Vec<_>> = BTreeMap::new();
    for one in all_attempts(&state).await? {
        each.entry(one.1.person).or_default().push(one);
    }
    let names = crate::practicals::names_of(&state).await?;
    let mut readers: Vec<PracticeReader> = each
        .into_iter()
        .map(|(person, attempts)| PracticeReader {
            person,
            name: names.get(&person).cloned().unwrap_or_default(),
            attempts: attempts.len(),
            passed: has_passed(&attempts),
        })
        .collect();
    readers.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(Json(PracticeReaders { readers }))
}

/// The handout
///
/// Pictures for a sheet on filling a tube and reading a melt, drawn by the program.
#[utoipa::path(get, path = "/api/handout", tag = "practice", responses((status = 200, body = Handout), Problems))]
async fn handout() -> Json<Handout> {
    let pictures = HANDOUT
        .iter()
        .map(|(name, caption)| HandoutPicture {
            name: (*name).to_owned(),
            address: format!("/api/handout/pictures/{name}"),
            caption: (*caption).to_owned(),
        })
        .collect();
    Json(Handout { pictures })
}

/// A picture of the handout
#[utoipa::path(get, path = "/api/handout/pictures/{name}", tag = "practice", params(("name" = String, Path)), responses((status = 200, content_type = "image/jpeg", body = Vec<u8>), Problems))]
async fn picture_of_handout(Path(name): Path<String>) -> Result<Response, Problem> {
    let jpeg = drawing(move || handout_picture(&name)).await??;
    Ok(picture(jpeg))
}
