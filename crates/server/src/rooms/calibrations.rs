//! Calibrations: tried, recorded, withdrawn.

use crate::extract::{Acting, Body, Named};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{CalibrationDone, CalibrationRequest, CalibrationTried, WithdrawRequest};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{BenchId, CalibrationId};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(try_calibration))
        .routes(routes!(calibrate))
        .routes(routes!(withdraw))
}

/// Try what a calibration would be, and what it would change
///
/// Nothing is recorded.
#[utoipa::path(post, path = "/api/thermometers/{bench}/calibrations/try", tag = "thermometers", security(("person" = [])), params(("bench" = String, Path, format = "uuid")), request_body = CalibrationRequest, responses((status = 200, body = CalibrationTried), Problems))]
async fn try_calibration(
    State(_state): State<AppState>,
    Acting(_who): Acting,
    Named(_bench): Named<BenchId>,
    Body(_given): Body<CalibrationRequest>,
) -> Result<Json<CalibrationTried>, Problem> {
    Err(Problem::unknown("not yet"))
}

/// Calibrate a thermometer
///
/// For analysts and supervisors. Every result from a run whose correction changes is worked out anew
/// and recorded in place of the one before, together with the calibration: all of it or nothing.
#[utoipa::path(post, path = "/api/thermometers/{bench}/calibrations", tag = "thermometers", security(("person" = [])), params(("bench" = String, Path, format = "uuid")), request_body = CalibrationRequest, responses((status = 201, body = CalibrationDone), Problems))]
async fn calibrate(
    State(_state): State<AppState>,
    Acting(_who): Acting,
    Named(_bench): Named<BenchId>,
    Body(_given): Body<CalibrationRequest>,
) -> Result<(StatusCode, Json<CalibrationDone>), Problem> {
    Err(Problem::unknown("not yet"))
}

/// Withdraw a calibration
///
/// For analysts and supervisors, with a reason. Results are worked out anew as for a calibration.
#[utoipa::path(post, path = "/api/calibrations/{id}/withdraw", tag = "thermometers", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = WithdrawRequest, responses((status = 200, body = CalibrationDone), Problems))]
async fn withdraw(
    State(_state): State<AppState>,
    Acting(_who): Acting,
    Named(_id): Named<CalibrationId>,
    Body(_given): Body<WithdrawRequest>,
) -> Result<Json<CalibrationDone>, Problem> {
    Err(Problem::unknown("not yet"))
}
