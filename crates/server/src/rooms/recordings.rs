//! Pictures with times and temperatures.

use crate::extract::{Acting, Asked, Body, Looking, Named, nothing_named};
use crate::log_series::log_series;
use crate::problem::{Problem, Problems};
use crate::sight::Sight;
use crate::state::AppState;
use crate::wire::{
    FrameTimes, LogSeries, PicturesState, ReadRequest, RecordingDetail, RecordingRow,
    RecordingState, Recordings, Work,
};
use crate::work::Order;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use meltrange_labbook::{RecordingId, RecordingQuery, SampleId};
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Pictures never change once they can be had.
const FOR_EVER: &str = "private, max-age=31536000, immutable";

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(recordings))
        .routes(routes!(recording))
        .routes(routes!(frame_times))
        .routes(routes!(frame))
        .routes(routes!(log))
        .routes(routes!(read))
}

/// Which recordings.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct RecordingsQuery {
    /// Only those that are this far.
    #[param(inline)]
    state: Option<RecordingState>,
    /// Only those that hold this sample.
    #[param(value_type = Option<String>, format = "uuid")]
    sample: Option<String>,
    /// Which page, from 1.
    #[param(minimum = 1)]
    page: Option<u64>,
    /// Rows a page; 50 if not said.
    #[param(minimum = 1, maximum = 500)]
    per_page: Option<u32>,
}

/// A page of recordings, newest first
#[utoipa::path(get, path = "/api/recordings", tag = "recordings", params(RecordingsQuery), responses((status = 200, body = Recordings), Problems))]
async fn recordings(
    State(state): State<AppState>,
    Asked(asked): Asked<RecordingsQuery>,
) -> Result<Json<Recordings>, Problem> {
    let (page, per_page) = super::paging(asked.page, asked.per_page)?;
    let sample: Option<SampleId> = asked
        .sample
        .map(|text| text.parse().map_err(|_| nothing_named(&text)))
        .transpose()?;
    let query = RecordingQuery {
        state: asked.state.map(Into::into),
        sample,
        offset: super::offset(page, per_page),
        limit: per_page,
    };
    let found = state.book().store().recordings(&query).await?;
    Ok(Json(Recordings {
        rows: found.rows.into_iter().map(RecordingRow::from).collect(),
        total: found.total,
        page,
        per_page,
    }))
}

/// One recording with its readings
#[utoipa::path(get, path = "/api/recordings/{id}", tag = "recordings", security((), ("person" = [])), params(("id" = String, Path, format = "uuid"), super::BlindQuery), responses((status = 200, body = RecordingDetail), Problems))]
async fn recording(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<RecordingId>,
    Asked(asked): Asked<super::BlindQuery>,
) -> Result<Json<RecordingDetail>, Problem> {
    let found = state.book().store().recording(id).await?;
    let sight = Sight::of(looking, asked.blind);
    let hides = sight.hides(&found.readings);
    let readings = found
        .readings
        .iter()
        .map(|reading| sight.reading(&state, reading, hides))
        .collect();
    let pictures = match state.pictures().of(&state, id).await {
        Ok(_) => PicturesState::Ready,
        Err(_) => PicturesState::Missing,
    };
    let work = state.works().under_way();
    Ok(Json(RecordingDetail {
        row: found.row.into(),
        run: found.run.into(),
        readings,
        pictures,
        blind: sight.blind,
        work: work.into_iter().find(|work| work.recording == Some(id)),
    }))
}

/// Times and temperatures of all pictures
#[utoipa::path(get, path = "/api/recordings/{id}/frames", tag = "recordings", params(("id" = String, Path, format = "uuid")), responses((status = 200, body = FrameTimes), Problems))]
async fn frame_times(
    State(state): State<AppState>,
    Named(id): Named<RecordingId>,
) -> Result<Json<FrameTimes>, Problem> {
    let pictures = state.pictures().of(&state, id).await?;
    Ok(Json(pictures.times(&state).await?.clone()))
}

/// One picture, as it was captured
#[utoipa::path(get, path = "/api/recordings/{id}/frames/{n}", tag = "recordings", params(("id" = String, Path, format = "uuid"), ("n" = u64, Path, description = "From 0.")), responses((status = 200, content(([u8] = "image/jpeg"), ([u8] = "image/png"))), (status = 304, description = "It is known already."), Problems))]
async fn frame(
    State(state): State<AppState>,
    Path((id, n)): Path<(String, String)>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    let id: RecordingId = id.parse().map_err(|_| nothing_named(&id))?;
    let at: usize = n.parse().map_err(|_| nothing_named(&n))?;
    let pictures = state.pictures().of(&state, id).await?;
    if at >= pictures.frames.times_s().len() {
        return Err(Problem::unknown(format!(
            "this recording has {} pictures; expected a number from 0 to below that",
            pictures.frames.times_s().len()
        )));
    }
    let cache = [
        (header::CACHE_CONTROL, FOR_EVER),
        (header::ETAG, "\"as-captured\""),
    ];
    if headers
        .get(header::IF_NONE_MATCH)
        .is_some_and(|tag| tag == "\"as-captured\"")
    {
        return Ok((StatusCode::NOT_MODIFIED, cache).into_response());
    }
    let bytes = tokio::task::spawn_blocking(move || pictures.frames.picture(at))
        .await
        .map_err(|error| Problem::internal(&error))??;
    let kind = if bytes.starts_with(b"\x89PNG") {
        "image/png"
    } else {
        "image/jpeg"
    };
    Ok(([(header::CONTENT_TYPE, kind)], cache, bytes).into_response())
}

/// The temperature log
#[utoipa::path(get, path = "/api/recordings/{id}/log", tag = "recordings", params(("id" = String, Path, format = "uuid")), responses((status = 200, body = LogSeries), Problems))]
async fn log(
    State(state): State<AppState>,
    Named(id): Named<RecordingId>,
) -> Result<Json<LogSeries>, Problem> {
    let log = state.book().log(id).await?;
    Ok(Json(log_series(&log, usize::MAX)))
}

/// Have the engine read a recording
///
/// Answers at once; how far it is comes as `work` events.
#[utoipa::path(post, path = "/api/recordings/{id}/read", tag = "recordings", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = ReadRequest, responses((status = 202, body = Work), Problems))]
async fn read(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<RecordingId>,
    Body(given): Body<ReadRequest>,
) -> Result<(StatusCode, Json<Work>), Problem> {
    let found = state.book().store().recording(id).await?;
    if found.row.recording.end.is_none() {
        return Err(Problem::new(
            StatusCode::CONFLICT,
            "under-way",
            "It is still being recorded",
            "this recording has not ended yet; have it read when it has",
        ));
    }
    if let Some(tubes) = given.tubes
        && !(1..=3).contains(&tubes)
    {
        return Err(Problem::field("tubes", tubes.to_string(), "1, 2 or 3"));
    }
    let order = Order::Reading {
        recording: id,
        tubes: given.tubes,
    };
    let work = state.works().order(who.id, order)?;
    Ok((StatusCode::ACCEPTED, Json(work)))
}
