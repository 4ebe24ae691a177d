//! Thermometers and their checks.

use crate::extract::{Acting, Body, Named, no_student};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::thermometers::{self as shown, Standings};
use crate::wire::{
    CheckContent, CheckRevision, Thermometer, ThermometerRevision, Thermometers, TubeRef,
};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use jiff::civil::Date;
use meltrange_labbook::{self as kept, Bench, BenchHistory, BenchId, Check, CheckId, Draft, When};
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
async fn thermometers(State(state): State<AppState>) -> Result<Json<Thermometers>, Problem> {
    let all = state.book().store().thermometers().await?;
    let today = When::now().date();
    let mut standings = Standings::of(&all);
    let rows = all
        .benches
        .iter()
        .map(|bench| shown::row(&all, &mut standings, bench, today))
        .collect();
    Ok(Json(Thermometers { rows }))
}

/// The thermometer of a bench with its checks, its drift and its calibrations
#[utoipa::path(get, path = "/api/thermometers/{bench}", tag = "thermometers", params(("bench" = String, Path, format = "uuid")), responses((status = 200, body = Thermometer), Problems))]
async fn thermometer(
    State(state): State<AppState>,
    Named(bench): Named<BenchId>,
) -> Result<Json<Thermometer>, Problem> {
    Ok(Json(one(&state, bench).await?))
}

async fn one(state: &AppState, bench: BenchId) -> Result<Thermometer, Problem> {
    let all = state.book().store().thermometers().await?;
    let bench = on(&all, bench)?;
    Ok(shown::thermometer(&all, bench, When::now().date()))
}

/// A bench of the book.
pub(super) fn on(all: &kept::Thermometers, bench: BenchId) -> Result<&BenchHistory, Problem> {
    all.bench(bench)
        .ok_or_else(|| Problem::unknown(format!("there is no bench {bench} in this book")))
}

/// Say anew which thermometer a bench has, how often it is to be checked, and how hot the bench may become
///
/// For analysts and supervisors. Another thermometer begins without a calibration; runs that were begun
/// before keep theirs.
#[utoipa::path(post, path = "/api/thermometers/{bench}", tag = "thermometers", security(("person" = [])), params(("bench" = String, Path, format = "uuid")), request_body = ThermometerRevision, responses((status = 200, body = Thermometer), Problems))]
async fn revise_thermometer(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(bench): Named<BenchId>,
    Body(given): Body<ThermometerRevision>,
) -> Result<Json<Thermometer>, Problem> {
    let all = state.book().store().thermometers().await?;
    let before = &on(&all, bench)?.row.bench;
    no_student(who, "a bench's thermometer is changed")?;
    let same = before.thermometer == given.thermometer;
    let bench_now = Bench {
        thermometer: given.thermometer,
        check_every_days: given.check_every_days,
        max_c: given.max_c,
        // What was noted of one thermometer is not true of another.
        thermometer_due: before.thermometer_due.filter(|_| same),
        ..before.clone()
    };
    let mut draft = Draft::revision(bench, given.supersedes, bench_now);
    if let Some(reason) = given.reason {
        draft = draft.because(reason);
    }
    super::append_one(&state, who.id, draft).await?;
    Ok(Json(one(&state, bench).await?))
}

/// Record what a reference substance showed
///
/// Students may, too.
#[utoipa::path(post, path = "/api/thermometers/{bench}/checks", tag = "thermometers", security(("person" = [])), params(("bench" = String, Path, format = "uuid")), request_body = CheckContent, responses((status = 201, body = Thermometer), Problems))]
async fn add_check(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(bench): Named<BenchId>,
    Body(given): Body<CheckContent>,
) -> Result<(StatusCode, Json<Thermometer>), Problem> {
    let all = state.book().store().thermometers().await?;
    let history = on(&all, bench)?;
    let made_on = day(&given.made_on)?;
    let thermometer = history.thermometer_on(made_on).map(str::to_owned);
    let check = content(&state, &all, bench, made_on, thermometer, given).await?;
    super::append_one(&state, who.id, Draft::new(check)).await?;
    Ok((StatusCode::CREATED, Json(one(&state, bench).await?)))
}

/// Void a check, or say anew what it was
///
/// With a reason; one that somebody else recorded only by analysts and supervisors. Calibrations keep the
/// numbers they were made with.
#[utoipa::path(post, path = "/api/checks/{id}", tag = "thermometers", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = CheckRevision, responses((status = 200, body = Thermometer), Problems))]
async fn revise_check(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<CheckId>,
    Body(given): Body<CheckRevision>,
) -> Result<Json<Thermometer>, Problem> {
    let all = state.book().store().thermometers().await?;
    let row = all.checks.iter().find(|row| row.id == id);
    let row =
        row.ok_or_else(|| Problem::unknown(format!("there is no check {id} in this book")))?;
    if row.who != who.id {
        no_student(who, "a check that somebody else recorded is changed")?;
    }
    let before = &row.check;
    let check = match (given.void, given.check) {
        (Some(void), None) => Check {
            void,
            ..before.clone()
        },
        (None, Some(content_now)) => {
            let made_on = day(&content_now.made_on)?;
            let thermometer = if made_on == before.made_on {
                before.thermometer.clone()
            } else {
                let history = on(&all, before.bench)?;
                history.thermometer_on(made_on).map(str::to_owned)
            };
            let said = content(
                &state,
                &all,
                before.bench,
                made_on,
                thermometer,
                content_now,
            )
            .await?;
            Check {
                void: before.void,
                ..said
            }
        }
        (void, _) => {
            let found = if void.is_some() {
                "given, and check too"
            } else {
                "missing, and check too"
            };
            return Err(Problem::field("void", found, "either void or check"));
        }
    };
    let draft = Draft::revision(id, given.supersedes, check).because(given.reason);
    let bench = before.bench;
    super::append_one(&state, who.id, draft).await?;
    Ok(Json(one(&state, bench).await?))
}

/// The day of a check; not one that is yet to come.
fn day(text: &str) -> Result<Date, Problem> {
    let made_on = super::date("made_on", text)?;
    let today = When::now().date();
    if made_on > today {
        return Err(Problem::field(
            "made_on",
            made_on.to_string(),
            format!("a day up to today, {today}"),
        ));
    }
    Ok(made_on)
}

async fn content(
    state: &AppState,
    all: &kept::Thermometers,
    bench: BenchId,
    made_on: Date,
    thermometer: Option<String>,
    given: CheckContent,
) -> Result<Check, Problem> {
    let standard = all.standard(given.standard);
    if standard.is_none_or(|found| found.standard.retired) {
        return Err(Problem::field(
            "standard",
            given.standard.to_string(),
            "a standard of this book that is not retired",
        ));
    }
    if let Some(from) = given.from {
        is_tube(state, from).await?;
    }
    Ok(Check {
        standard: given.standard,
        bench,
        made_on,
        indicated_c: given.indicated_c,
        standard_uncertainty_c: given.standard_uncertainty_c,
        heating_rate_c_per_min: given.heating_rate_c_per_min,
        thermometer,
        from: given.from.map(|from| kept::TubeRef {
            reading: from.reading,
            place: from.place,
        }),
        remarks: given.remarks,
        void: false,
    })
}

async fn is_tube(state: &AppState, from: TubeRef) -> Result<(), Problem> {
    let refused = || {
        Problem::field(
            "from",
            format!("place {} of reading {}", from.place, from.reading),
            "a tube of a reading of this book",
        )
    };
    match state.book().store().reading(from.reading).await {
        Ok(found) if found.tubes.iter().any(|tube| tube.place == from.place) => Ok(()),
        Ok(_) | Err(kept::BookError::Unknown { .. }) => Err(refused()),
        Err(other) => Err(other.into()),
    }
}
