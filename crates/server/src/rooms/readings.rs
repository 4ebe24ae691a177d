//! First liquid and last crystal, and what people say to them.

use crate::extract::{Acting, Asked, Body, Looking, Named};
use crate::problem::{Problem, Problems};
use crate::seen::{Clock, same};
use crate::sight::Sight;
use crate::state::AppState;
use crate::wire::{DecisionRequest, NewReading, Reading, TubeCurve};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{
    self as kept, Confirmation, Curves, DecidedTube, Draft, Moments, Override, ReadingId,
    RecordingId, TubeEntry,
};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(reading))
        .routes(routes!(decide))
        .routes(routes!(add_reading))
}

/// One reading with its curves and the decisions on it
#[utoipa::path(get, path = "/api/readings/{id}", tag = "readings", security((), ("person" = [])), params(("id" = String, Path, format = "uuid"), super::BlindQuery), responses((status = 200, body = Reading), Problems))]
async fn reading(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<ReadingId>,
    Asked(asked): Asked<super::BlindQuery>,
) -> Result<Json<Reading>, Problem> {
    Ok(Json(
        shown(&state, Sight::of(looking, asked.blind), id).await?,
    ))
}

/// The reading `id` as it may be seen, with its curves.
async fn shown(state: &AppState, sight: Sight, id: ReadingId) -> Result<Reading, Problem> {
    let store = state.book().store();
    let found = store.reading(id).await?;
    let hides = sight.blind && {
        let recording = store.recording(found.reading.recording).await?;
        sight.hides(&recording.readings)
    };
    let mut reading = sight.reading(state, &found, hides);
    if !reading.hidden
        && let Some(digest) = found.reading.curves
    {
        let bytes = store.attachment(digest).await?;
        let curves: Curves =
            serde_json::from_slice(&bytes).map_err(|error| Problem::internal(&error))?;
        reading.curves = curves.tubes.into_iter().map(TubeCurve::from).collect();
    }
    Ok(reading)
}

/// Read a recording oneself
///
/// Whether it was blind is noted: whether this person had seen an opinion on it before.
#[utoipa::path(post, path = "/api/recordings/{id}/readings", tag = "readings", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = NewReading, responses((status = 201, body = Reading), Problems))]
async fn add_reading(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<RecordingId>,
    Body(given): Body<NewReading>,
) -> Result<(StatusCode, Json<Reading>), Problem> {
    let found = state.book().store().recording(id).await?;
    if given.tubes.is_empty() {
        return Err(Problem::field("tubes", "empty", "at least one tube"));
    }
    let clock = Clock::of(&state, id).await?;
    let mut tubes = Vec::with_capacity(given.tubes.len());
    for seen in &given.tubes {
        let moments = clock.moments(seen.first_liquid, seen.last_crystal, seen.outcome)?;
        let loaded = found.row.load.iter().find(|tube| tube.place == seen.place);
        tubes.push(TubeEntry {
            place: seen.place,
            sample: loaded.and_then(|tube| tube.sample),
            outcome: moments.outcome,
            first_liquid: moments.first_liquid,
            last_crystal: moments.last_crystal,
            heating_rate_c_per_min: None,
            frame_px: None,
            remarks: Vec::new(),
        });
    }
    tubes.sort_by_key(|tube| tube.place);
    let draft = Draft::new(kept::Reading {
        recording: id,
        reader: kept::Reader::Person {
            person: who.id,
            blind: !state.was_shown(who.id, id),
        },
        tubes,
        quality: Vec::new(),
        notes: Vec::new(),
        curves: None,
    });
    let reading = draft.subject().into();
    super::append_one(&state, who.id, draft).await?;
    let sight = Sight::of(Looking(Some(who)), Some(false));
    Ok((
        StatusCode::CREATED,
        Json(shown(&state, sight, reading).await?),
    ))
}

/// Say what one thinks of one tube of a reading
///
/// Confirm it, or set other moments; where these differ a reason is needed.
#[utoipa::path(post, path = "/api/readings/{id}/decisions", tag = "readings", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = DecisionRequest, responses((status = 201, body = Reading), Problems))]
async fn decide(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<ReadingId>,
    Body(given): Body<DecisionRequest>,
) -> Result<(StatusCode, Json<Reading>), Problem> {
    let found = state.book().store().reading(id).await?;
    let tube = found
        .tubes
        .iter()
        .find(|tube| tube.place == given.place())
        .ok_or_else(|| {
            Problem::field(
                "place",
                given.place().to_string(),
                "a place of this reading",
            )
        })?;
    let draft = match given {
        DecisionRequest::Confirm { place } => confirmation(id, place),
        DecisionRequest::Set {
            place: _,
            first_liquid,
            last_crystal,
            outcome,
            reason,
        } => {
            let clock = Clock::of(&state, found.reading.recording).await?;
            let moments = clock.moments(first_liquid, last_crystal, outcome)?;
            set(id, tube, moments, reason)
        }
    };
    // A result that is just being worked out is to stand on the one or the other.
    let turn = state.results_turn().await;
    super::append_one(&state, who.id, draft).await?;
    drop(turn);
    let sight = Sight::of(Looking(Some(who)), None);
    Ok((StatusCode::CREATED, Json(shown(&state, sight, id).await?)))
}

fn confirmation(reading: ReadingId, place: u8) -> Draft {
    Draft::new(Confirmation { reading, place })
}

/// Other moments; the same ones are a confirmation. The book refuses those without a reason.
fn set(reading: ReadingId, tube: &DecidedTube, moments: Moments, reason: Option<String>) -> Draft {
    if same(&tube.read, &moments) {
        return confirmation(reading, tube.place);
    }
    let draft = Draft::new(Override {
        reading,
        place: tube.place,
        outcome: moments.outcome,
        first_liquid: moments.first_liquid,
        last_crystal: moments.last_crystal,
    });
    match reason.filter(|reason| !reason.trim().is_empty()) {
        Some(reason) => draft.because(reason),
        None => draft,
    }
}
