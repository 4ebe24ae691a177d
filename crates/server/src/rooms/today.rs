//! What is under way and what waits.

use crate::extract::Looking;
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{Today, WaitingRecordings, WaitingSamples};
use axum::Json;
use axum::extract::State;
use meltrange_labbook::When;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(today))
}

/// What is under way and what waits
#[utoipa::path(get, path = "/api/today", tag = "today", security((), ("person" = [])), responses((status = 200, body = Today), Problems))]
async fn today(State(state): State<AppState>, looking: Looking) -> Result<Json<Today>, Problem> {
    let found = state.book().store().today().await?;
    let rows = found.not_agreed.into_iter();
    Ok(Json(Today {
        runs_under_way: found.runs_under_way.into_iter().map(Into::into).collect(),
        work: state.works().under_way(),
        waiting_for_reading: WaitingRecordings {
            rows: found
                .waiting_for_reading
                .into_iter()
                .map(Into::into)
                .collect(),
            total: found.waiting_for_reading_total,
        },
        not_agreed: WaitingSamples {
            rows: rows.map(|row| super::samples::row(row, looking)).collect(),
            total: found.not_agreed_total,
        },
        undecided_tubes: found.undecided_tubes,
        thermometers: crate::wire::ThermometersToday::default(),
    }))
}
