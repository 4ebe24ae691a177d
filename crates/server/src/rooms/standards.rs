//! Reference substances.

use crate::extract::{Acting, Body, Named};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{StandardContent, StandardRevision, StandardRow, Standards};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::StandardId;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(standards, add_standard))
        .routes(routes!(revise_standard))
}

/// All reference substances, and those that are usual
#[utoipa::path(get, path = "/api/standards", tag = "standards", responses((status = 200, body = Standards), Problems))]
async fn standards(State(_state): State<AppState>) -> Result<Json<Standards>, Problem> {
    Err(Problem::unknown("not yet"))
}

/// Add a reference substance
#[utoipa::path(post, path = "/api/standards", tag = "standards", security(("person" = [])), request_body = StandardContent, responses((status = 201, body = StandardRow), Problems))]
async fn add_standard(
    State(_state): State<AppState>,
    Acting(_who): Acting,
    Body(_given): Body<StandardContent>,
) -> Result<(StatusCode, Json<StandardRow>), Problem> {
    Err(Problem::unknown("not yet"))
}

/// Say anew what a reference substance is, or retire it
///
/// The whole content takes the place of the record named; calibrations keep the value they were made with.
/// Retiring is for analysts and supervisors.
#[utoipa::path(post, path = "/api/standards/{id}", tag = "standards", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = StandardRevision, responses((status = 200, body = StandardRow), Problems))]
async fn revise_standard(
    State(_state): State<AppState>,
    Acting(_who): Acting,
    Named(_id): Named<StandardId>,
    Body(_given): Body<StandardRevision>,
) -> Result<Json<StandardRow>, Problem> {
    Err(Problem::unknown("not yet"))
}
