//! Calibrations: tried, recorded, withdrawn.

use super::thermometers::on;
use crate::extract::{Acting, Body, Named, no_student};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::thermometers::{Recomputed, calibration_view, fitted, plot, recompute};
use crate::wire::{
    CalibrationChanges, CalibrationDone, CalibrationRequest, CalibrationTried, WithdrawRequest,
};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{
    BenchId, Calibration, CalibrationId, CalibrationRow, Draft, PersonId, RecordId, Thermometers,
    When,
};
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
/// For analysts and supervisors. Nothing is recorded.
#[utoipa::path(post, path = "/api/thermometers/{bench}/calibrations/try", tag = "thermometers", security(("person" = [])), params(("bench" = String, Path, format = "uuid")), request_body = CalibrationRequest, responses((status = 200, body = CalibrationTried), Problems))]
async fn try_calibration(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(bench): Named<BenchId>,
    Body(given): Body<CalibrationRequest>,
) -> Result<Json<CalibrationTried>, Problem> {
    let made = Made::of(&state, who.id, bench, &given, || {
        no_student(who, "thermometers are calibrated")
    })
    .await?;
    let calibration = made.row.calibration.clone();
    // A correction that could not be applied changes nothing; recording it is refused.
    let changes = anew(&state, bench, made.all, made.reason).await?.changes;
    Ok(Json(CalibrationTried {
        plot: plot(&calibration.curve),
        degree_because: calibration.degree_because,
        points: calibration.points.iter().map(Into::into).collect(),
        remarks: calibration.remarks,
        curve: calibration.curve,
        changes,
    }))
}

/// Calibrate a thermometer
///
/// For analysts and supervisors. Every result from a run whose correction changes is worked out anew
/// and recorded in place of the one before, together with the calibration: all of it or nothing.
#[utoipa::path(post, path = "/api/thermometers/{bench}/calibrations", tag = "thermometers", security(("person" = [])), params(("bench" = String, Path, format = "uuid")), request_body = CalibrationRequest, responses((status = 201, body = CalibrationDone), Problems))]
async fn calibrate(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(bench): Named<BenchId>,
    Body(given): Body<CalibrationRequest>,
) -> Result<(StatusCode, Json<CalibrationDone>), Problem> {
    let turn = state.results_turn().await;
    let made = Made::of(&state, who.id, bench, &given, || {
        no_student(who, "thermometers are calibrated")
    })
    .await?;
    // Results refer to this very record.
    let draft =
        Draft::about(made.row.id, made.row.calibration.clone()).recorded_as(made.row.record);
    let changes = record(&state, who.id, bench, draft, made.all, made.reason).await?;
    drop(turn);
    let done = done(&state, made.row.id, changes).await?;
    Ok((StatusCode::CREATED, Json(done)))
}

/// Withdraw a calibration
///
/// For analysts and supervisors, with a reason. Results are worked out anew as for a calibration.
#[utoipa::path(post, path = "/api/calibrations/{id}/withdraw", tag = "thermometers", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = WithdrawRequest, responses((status = 200, body = CalibrationDone), Problems))]
async fn withdraw(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<CalibrationId>,
    Body(given): Body<WithdrawRequest>,
) -> Result<Json<CalibrationDone>, Problem> {
    let turn = state.results_turn().await;
    let mut all = state.book().store().thermometers().await?;
    let row = all.calibrations.iter_mut().find(|row| row.id == id);
    let row =
        row.ok_or_else(|| Problem::unknown(format!("there is no calibration {id} in this book")))?;
    no_student(who, "calibrations are withdrawn")?;
    if row.calibration.withdrawn {
        return Err(Problem::field(
            "calibration",
            "withdrawn already",
            "one that is not withdrawn",
        ));
    }
    row.calibration.withdrawn = true;
    // The state of the thermometer names the reason.
    row.reason = Some(given.reason.clone());
    let bench = row.calibration.bench;
    let draft = Draft::revision(id, given.supersedes, row.calibration.clone())
        .because(given.reason.clone());
    let reason = format!("withdrawn: {}", given.reason);
    let changes = record(&state, who.id, bench, draft, all, reason).await?;
    drop(turn);
    Ok(Json(done(&state, id, changes).await?))
}

/// A calibration that is not recorded yet, among those that are.
#[derive(Debug)]
struct Made {
    row: CalibrationRow,
    all: Thermometers,
    reason: String,
}

impl Made {
    async fn of(
        state: &AppState,
        who: PersonId,
        bench: BenchId,
        given: &CalibrationRequest,
        may: impl FnOnce() -> Result<(), Problem>,
    ) -> Result<Self, Problem> {
        let mut all = state.book().store().thermometers().await?;
        let name = on(&all, bench)?.row.bench.name.clone();
        may()?;
        let from = super::date("in_force_from", &given.in_force_from)?;
        let calibration: Calibration = fitted(&all, bench, given, from)?;
        let row = CalibrationRow {
            id: CalibrationId::new(),
            record: RecordId::new(),
            who,
            when: When::now(),
            reason: None,
            calibration,
        };
        all.add_calibration(row.clone());
        Ok(Self {
            row,
            all,
            reason: format!("calibration of {name} in force from {from}"),
        })
    }
}

/// What `all` makes of the results on this bench. Not on a thread that others wait for.
async fn anew(
    state: &AppState,
    bench: BenchId,
    all: Thermometers,
    reason: String,
) -> Result<Recomputed, Problem> {
    let results = state.book().store().results_on(bench).await?;
    tokio::task::spawn_blocking(move || recompute(&all, results, &reason))
        .await
        .map_err(|error| Problem::internal(&error))
}

/// Record a calibration and what it makes of results: all of it or nothing.
async fn record(
    state: &AppState,
    who: PersonId,
    bench: BenchId,
    draft: Draft,
    all: Thermometers,
    reason: String,
) -> Result<CalibrationChanges, Problem> {
    let Recomputed {
        drafts: of_results,
        changes,
    } = anew(state, bench, all, reason).await?;
    let mut drafts = Vec::with_capacity(1 + of_results.len());
    drafts.push(draft);
    drafts.extend(of_results);
    state.book().append(who, drafts).await?;
    Ok(changes)
}

async fn done(
    state: &AppState,
    id: CalibrationId,
    changes: CalibrationChanges,
) -> Result<CalibrationDone, Problem> {
    let all = state.book().store().thermometers().await?;
    let row = all
        .calibrations
        .iter()
        .find(|row| row.id == id)
        .ok_or_else(|| Problem::unknown(format!("there is no calibration {id} in this book")))?;
    let today = When::now().date();
    let thermometer = all
        .bench(row.calibration.bench)
        .and_then(|bench| bench.thermometer_on(today));
    let in_force = all.in_force(row.calibration.bench, today, thermometer);
    Ok(CalibrationDone {
        calibration: calibration_view(row, in_force.is_some_and(|found| found.id == id)),
        changes,
    })
}
