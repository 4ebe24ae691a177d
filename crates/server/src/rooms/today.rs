//! What is under way and what waits.

use crate::extract::Looking;
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::thermometers::{Standings, row};
use crate::wire::{ThermometersToday, Today, WaitingRecordings, WaitingSamples};
use axum::Json;
use axum::extract::State;
use meltrange_labbook::{BookError, ThermometerState, When};
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
        thermometers: thermometers(&state).await?,
    }))
}

/// Thermometers that somebody should look at. One that was never checked is looked at once it was used.
async fn thermometers(state: &AppState) -> Result<ThermometersToday, BookError> {
    let all = state.book().store().thermometers().await?;
    let today = When::now().date();
    let mut standings = Standings::of(&all);
    let mut found = ThermometersToday::default();
    for bench in &all.benches {
        let state = standings.on(bench.row.id, today).map(|one| one.state);
        let list = match state {
            Some(ThermometerState::Due) => &mut found.due,
            Some(ThermometerState::Overdue) => &mut found.overdue,
            Some(ThermometerState::OutOfControl) => &mut found.out_of_control,
            Some(ThermometerState::NeverChecked) if bench.used => &mut found.never_checked,
            _ => continue,
        };
        list.push(row(&all, &mut standings, bench, today));
    }
    Ok(found)
}
