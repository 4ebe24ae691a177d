//! Videos and logs on their way into the book.

use crate::extract::{Acting, Asked, Body, Named};
use crate::limits::LOG_POINTS;
use crate::log_series::{log_series, parsed};
use crate::preview;
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{ImportRequest, LogSeries, Upload, UploadedVideo, Work};
use crate::work::Order;
use axum::Json;
use axum::body::Body as Stream;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use meltrange_labbook::ImportOrder;
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;
use uuid::Uuid;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(remove_upload))
        .routes(routes!(preview_upload))
        .routes(routes!(upload_picture))
        .routes(routes!(upload_log))
        .routes(routes!(import))
        .routes(routes!(work))
        .merge(
            OpenApiRouter::new()
                .routes(routes!(upload))
                // Its own limit holds, piece by piece.
                .layer(DefaultBodyLimit::disable()),
        )
}

/// What a file is called.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct UploadQuery {
    /// Its name, as the person knows it.
    #[param(max_length = 4000)]
    name: String,
}

/// Send a video or a temperature log
///
/// The body is the file. It goes to the disk piece by piece; broken off, nothing of it is left.
#[utoipa::path(post, path = "/api/uploads", tag = "imports", security(("person" = [])), params(UploadQuery), request_body(content = inline(Vec<u8>), content_type = "application/octet-stream"), responses((status = 201, body = Upload), Problems))]
async fn upload(
    State(state): State<AppState>,
    _: Acting,
    Asked(asked): Asked<UploadQuery>,
    body: Stream,
) -> Result<(StatusCode, Json<Upload>), Problem> {
    let upload = state
        .uploads()
        .receive(&asked.name, body.into_data_stream())
        .await?;
    Ok((StatusCode::CREATED, Json(upload)))
}

/// Remove a file that was sent
#[utoipa::path(delete, path = "/api/uploads/{id}", tag = "imports", security(("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 204), Problems))]
async fn remove_upload(
    State(state): State<AppState>,
    _: Acting,
    Named(id): Named<Uuid>,
) -> Result<StatusCode, Problem> {
    if state.uploads().remove(id) {
        return Ok(StatusCode::NO_CONTENT);
    }
    Err(Problem::unknown(format!("no file {id} lies ready")))
}

/// What a video that was sent holds
#[utoipa::path(get, path = "/api/uploads/{id}/preview", tag = "imports", params(("id" = String, Path, format = "uuid")), responses((status = 200, body = UploadedVideo), Problems))]
async fn preview_upload(
    State(state): State<AppState>,
    Named(id): Named<Uuid>,
) -> Result<Json<UploadedVideo>, Problem> {
    let held = state.uploads().get(id)?;
    Ok(Json(preview::video(held).await?))
}

/// When.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct PictureQuery {
    /// Video clock [s]; the first picture if not said.
    time_s: Option<f64>,
}

/// A picture of a video that was sent
///
/// The first at or after the time asked for, in grey.
#[utoipa::path(get, path = "/api/uploads/{id}/picture", tag = "imports", params(("id" = String, Path, format = "uuid"), PictureQuery), responses((status = 200, content_type = "image/jpeg", body = inline(Vec<u8>)), Problems))]
async fn upload_picture(
    State(state): State<AppState>,
    Named(id): Named<Uuid>,
    Asked(asked): Asked<PictureQuery>,
) -> Result<Response, Problem> {
    let held = state.uploads().get(id)?;
    let picture = preview::picture(held, asked.time_s).await?;
    let headers = [
        (header::CONTENT_TYPE, "image/jpeg"),
        (header::CACHE_CONTROL, "private, max-age=3600"),
    ];
    Ok((headers, picture).into_response())
}

/// The temperatures of a log that was sent
///
/// At most 4000 points: a longer log is thinned here, never in the book.
#[utoipa::path(get, path = "/api/uploads/{id}/log", tag = "imports", params(("id" = String, Path, format = "uuid")), responses((status = 200, body = LogSeries), Problems))]
async fn upload_log(
    State(state): State<AppState>,
    Named(id): Named<Uuid>,
) -> Result<Json<LogSeries>, Problem> {
    let held = state.uploads().get(id)?;
    let log = parsed(held.path.clone(), &held.upload.name).await?;
    Ok(Json(log_series(&log, LOG_POINTS)))
}

/// Make a recording of a video and a log that were sent
///
/// Answers at once; how far it is comes as `work` events.
#[utoipa::path(post, path = "/api/imports", tag = "imports", security(("person" = [])), request_body = ImportRequest, responses((status = 202, body = Work), Problems))]
async fn import(
    State(state): State<AppState>,
    Acting(who): Acting,
    Body(given): Body<ImportRequest>,
) -> Result<(StatusCode, Json<Work>), Problem> {
    let video = state.uploads().get(given.video)?;
    let log = state.uploads().get(given.log)?;
    let samples = super::load(&state, &given.tubes).await?;
    if let Some(bench) = given.bench {
        super::is_kind(
            &state,
            bench.into(),
            meltrange_labbook::Kind::Bench,
            "bench",
        )
        .await?;
    }
    let order = ImportOrder {
        media: video.path,
        name: Some(video.upload.name),
        temperature: log.path,
        video_start_s: given.video_start_s,
        samples,
        bench: given.bench,
        remarks: given.remarks,
    };
    let work = state.works().order(
        who.id,
        Order::Import {
            order: Box::new(order),
            uploads: [given.video, given.log],
            read: given.read,
        },
    )?;
    Ok((StatusCode::ACCEPTED, Json(work)))
}

/// How far an import or a reading is
#[utoipa::path(get, path = "/api/work/{id}", tag = "imports", params(("id" = String, Path, format = "uuid")), responses((status = 200, body = Work), Problems))]
async fn work(
    State(state): State<AppState>,
    Named(id): Named<Uuid>,
) -> Result<Json<Work>, Problem> {
    state
        .works()
        .get(id)
        .map(Json)
        .ok_or_else(|| Problem::unknown(format!("no work {id} is remembered here")))
}
