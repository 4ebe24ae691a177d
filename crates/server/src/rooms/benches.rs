//! Heating apparatus.

use crate::extract::{Acting, Body};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{Bench, BenchContent, Benches};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{self as kept, BenchId, Draft};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(benches, add_bench))
}

/// All benches
#[utoipa::path(get, path = "/api/benches", tag = "benches", responses((status = 200, body = Benches), Problems))]
async fn benches(State(state): State<AppState>) -> Result<Json<Benches>, Problem> {
    let benches = state.book().store().benches().await?;
    Ok(Json(Benches {
        benches: benches.into_iter().map(Bench::from).collect(),
    }))
}

/// Add a bench
#[utoipa::path(post, path = "/api/benches", tag = "benches", security(("person" = [])), request_body = BenchContent, responses((status = 201, body = Bench), Problems))]
async fn add_bench(
    State(state): State<AppState>,
    Acting(who): Acting,
    Body(given): Body<BenchContent>,
) -> Result<(StatusCode, Json<Bench>), Problem> {
    let thermometer_due = given
        .thermometer_due
        .as_deref()
        .map(|date| super::date("thermometer_due", date))
        .transpose()?;
    let draft = Draft::new(kept::Bench {
        name: given.name,
        places: given.places,
        thermometer: given.thermometer,
        thermometer_due,
        check_every_days: given.check_every_days,
        max_c: given.max_c,
    });
    let id: BenchId = draft.subject().into();
    super::append_one(&state, who.id, draft).await?;
    let rows = state.book().store().benches().await?;
    rows.into_iter()
        .find(|row| row.id == id)
        .map(|row| (StatusCode::CREATED, Json(Bench::from(row))))
        .ok_or_else(|| Problem::unknown("the bench that was just added is not there"))
}
