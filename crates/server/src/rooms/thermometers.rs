//! Thermometers and their checks.

use crate::extract::{Acting, Body, Named};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{CheckContent, CheckRevision, Thermometer, ThermometerRevision, Thermometers};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{BenchId, CheckId};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(thermometers))
        .routes(routes!(thermometer, revise_thermometer))
        .routes(routes!(add_check))
        .routes(routes!(revise_check))
}

/// All thermometers, as they stand today
#[utoipa::path(get, path = "/api/thermometers", tag = "thermometers", responses((status = 200, body = Thermometers), Problems))]
async fn thermometers(State(_state): State<AppState>) -> Result<Json<Thermometers>, Problem> {
    Err(Problem::unknown("not yet"))
}

/// The thermometer of a bench with its checks, its drift and its calibrations
#[utoipa::path(get, path = "/api/thermometers/{bench}", tag = "thermometers", params(("bench" = String, Path, format = "uuid")), responses((status = 200, body = Thermometer), Problems))]
async fn thermometer(
    State(_state): State<AppState>,
    Named(_bench): Named<BenchId>,
) -> Result<Json<Thermometer>, Problem> {
    Err(Problem::unknown("not yet"))
}

/// Say anew which thermometer a bench has, how often it is to be checked, and how hot the bench may become
///
/// Another thermometer begins without a calibration; runs that were begun before keep theirs.
#[utoipa::path(post, path = "/api/thermometers/{bench}", tag = "thermometers", security(("person" = [])), params(("bench" = String, Path, format = "uuid")), request_body = ThermometerRevision, responses((status = 200, body = Thermometer), Problems))]
async fn revise_thermometer(
    State(_state): State<AppState>,
    Acting(_who): Acting,
    Named(_bench): Named<BenchId>,
    Body(_given): Body<ThermometerRevision>,
) -> Result<Json<Thermometer>, Problem> {
    Err(Problem::unknown("not yet"))
}

/// Record what a reference substance showed
#[utoipa::path(post, path = "/api/thermometers/{bench}/checks", tag = "thermometers", security(("person" = [])), params(("bench" = String, Path, format = "uuid")), request_body = CheckContent, responses((status = 201, body = Thermometer), Problems))]
async fn add_check(
    State(_state): State<AppState>,
    Acting(_who): Acting,
    Named(_bench): Named<BenchId>,
    Body(_given): Body<CheckContent>,
) -> Result<(StatusCode, Json<Thermometer>), Problem> {
    Err(Problem::unknown("not yet"))
}

/// Void a check, or say anew what it was
///
/// With a reason. Calibrations keep the numbers they were made with.
#[utoipa::path(post, path = "/api/checks/{id}", tag = "thermometers", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = CheckRevision, responses((status = 200, body = Thermometer), Problems))]
async fn revise_check(
    State(_state): State<AppState>,
    Acting(_who): Acting,
    Named(_id): Named<CheckId>,
    Body(_given): Body<CheckRevision>,
) -> Result<Json<Thermometer>, Problem> {
    Err(Problem::unknown("not yet"))
}
