//! Results: tried, then stated.

use crate::extract::{Acting, Body, Named};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{Determination, DeterminationTried, DetermineRequest};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::SampleId;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(try_determination))
        .routes(routes!(determine))
}

/// Try what a result would be
///
/// Nothing is recorded. Without `from`, of each tube that was heated the reading that counts.
#[utoipa::path(post, path = "/api/samples/{id}/determinations/try", tag = "samples", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = DetermineRequest, responses((status = 200, body = DeterminationTried), Problems))]
async fn try_determination(
    State(_state): State<AppState>,
    Acting(_who): Acting,
    Named(_id): Named<SampleId>,
    Body(_given): Body<DetermineRequest>,
) -> Result<Json<DeterminationTried>, Problem> {
    Err(Problem::unknown("not yet"))
}

/// State a result
///
/// From the tubes named, as they hold now, each run with the correction in force on its day; what it
/// rests on is recorded with it.
#[utoipa::path(post, path = "/api/samples/{id}/determinations", tag = "samples", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = DetermineRequest, responses((status = 201, body = Determination), Problems))]
async fn determine(
    State(_state): State<AppState>,
    Acting(_who): Acting,
    Named(_id): Named<SampleId>,
    Body(_given): Body<DetermineRequest>,
) -> Result<(StatusCode, Json<Determination>), Problem> {
    Err(Problem::unknown("not yet"))
}
