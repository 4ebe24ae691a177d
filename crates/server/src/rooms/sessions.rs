//! Planning a session, and the sessions that are kept.

use super::programmes::cannot;
use crate::expected::screening;
use crate::extract::{Acting, Body};
use crate::limits::SESSION_TUBES;
use crate::problem::{Problem, Problems};
use crate::sessions::{KeptSessions, bench_pictures, from_toml, seconds, to_toml};
use crate::state::AppState;
use crate::wire::{
    KeepRequest, Relaxations, RetimeRequest, ReworkRequest, Savings, SessionDocument, SessionFile,
    SessionRequest, SessionShown, Sessions,
};
use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use meltrange_planning::{
    DraftFault, Screening, SessionDraft, SessionEffort, SessionError, SessionOrder, SessionPlan,
    SessionSoFar, better_of, explain, finished_in_time, plan_session, relaxations, replan, retime,
    screen_label, what_more_saves,
};
use std::time::Duration;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The same order gives the same plan.
const SEED: u64 = 1;

/// So many searches share the time when it is asked what one more of something saves.
const SAVINGS: f64 = 3.0;

/// And when it is asked what could give: each way is tried step by step.
const RELAXATIONS: f64 = 12.0;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(sessions))
        .routes(routes!(session, keep))
        .routes(routes!(plan))
        .routes(routes!(changed))
        .routes(routes!(rest_anew))
        .routes(routes!(savings))
        .routes(routes!(relax))
        .routes(routes!(read_file))
        .routes(routes!(write_file))
}

/// Sessions that are kept
#[utoipa::path(get, path = "/api/sessions", tag = "sessions", responses((status = 200, body = Sessions), Problems))]
async fn sessions(State(state): State<AppState>) -> Result<Json<Sessions>, Problem> {
    let sessions = on_disk(state, |kept| kept.all()).await?;
    Ok(Json(Sessions { sessions }))
}

/// One of them
#[utoipa::path(get, path = "/api/sessions/{name}", tag = "sessions", params(("name" = String, Path)), responses((status = 200, body = SessionDocument), Problems))]
async fn session(
    State(state): State<AppState>,
    Path(name): Path<String>,
) -> Result<Json<SessionDocument>, Problem> {
    on_disk(state, move |kept| kept.get(&name)).await.map(Json)
}

/// Keep a session
///
/// In place of the revision known, 0 for a new one; refused as stale where somebody else changed it meanwhile.
#[utoipa::path(put, path = "/api/sessions/{name}", tag = "sessions", security(("person" = [])), params(("name" = String, Path)), request_body = KeepRequest, responses((status = 200, body = SessionDocument), Problems))]
async fn keep(
    State(state): State<AppState>,
    Acting(who): Acting,
    Path(name): Path<String>,
    Body(given): Body<KeepRequest>,
) -> Result<Json<SessionDocument>, Problem> {
    if let Some(begun) = &given.session.begun {
        let _: jiff::Timestamp = begun.parse().map_err(|_| {
            let shown: String = begun.chars().take(40).collect();
            Problem::field(
                "begun",
                format!("\"{shown}\""),
                "a moment such as 2026-11-25T17:00:00Z",
            )
        })?;
    }
    let now_min = given.session.now_min;
    // A draft with faults is kept, one that cannot be timed is not: it could not be opened again.
    let draft = given.session.draft.as_ref();
    draft
        .unwrap_or(&SessionDraft::default())
        .check(now_min)
        .map_err(|error| match error {
            SessionError::Field {
                field,
                found,
                expected,
            } => Problem::field(&field, found, expected),
            error => cannot(&error),
        })?;
    let by = super::person_name(&state, who.id).await?;
    let put = move |kept: &KeptSessions| kept.put(&name, given.revision, by, given.session);
    on_disk(state, put).await.map(Json)
}

/// Reading and writing files is not for the threads that answer.
async fn on_disk<T: Send + 'static>(
    state: AppState,
    work: impl FnOnce(&KeptSessions) -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    tokio::task::spawn_blocking(move || work(state.sessions()))
        .await
        .map_err(|error| Problem::internal(&error))?
}

/// Plan a session
///
/// Looks for as long as asked for a plan that ends as early as it can, and gives the best.
#[utoipa::path(post, path = "/api/session-plans", tag = "sessions", request_body = SessionRequest, responses((status = 200, body = SessionShown), Problems))]
async fn plan(
    State(state): State<AppState>,
    Body(asked): Body<SessionRequest>,
) -> Result<Json<SessionShown>, Problem> {
    let seconds = seconds(asked.seconds)?;
    let order = asked.order;
    not_too_many(&order)?;
    nothing_refused(&state, &order).await?;
    let shown = state
        .searches()
        .run(Duration::from_secs_f64(seconds), move |going_on| {
            let effort = SessionEffort::for_seconds(seconds, &order, SEED);
            plan_session(&order, effort, going_on)
                .map(|plan| shown(&order, SessionDraft::from(&plan), plan, Vec::new(), 0.0))
        })
        .await?;
    shown.map(Json).map_err(|error| cannot(&error))
}

/// Check and re-time a plan that people changed
#[utoipa::path(post, path = "/api/session-plans/retime", tag = "sessions", request_body = RetimeRequest, responses((status = 200, body = SessionShown), Problems))]
async fn changed(Body(asked): Body<RetimeRequest>) -> Result<Json<SessionShown>, Problem> {
    not_too_many(&asked.order)?;
    let found =
        retime(&asked.order, &asked.draft, asked.now_min).map_err(|error| cannot(&error))?;
    Ok(Json(shown(
        &asked.order,
        asked.draft,
        found.plan,
        found.faults,
        asked.now_min,
    )))
}

/// Plan the rest anew
///
/// Loads that began or are locked stay, and so does every load before them on their bench.
#[utoipa::path(post, path = "/api/session-plans/replan", tag = "sessions", request_body = ReworkRequest, responses((status = 200, body = SessionShown), Problems))]
async fn rest_anew(
    State(state): State<AppState>,
    Body(asked): Body<ReworkRequest>,
) -> Result<Json<SessionShown>, Problem> {
    let ReworkRequest {
        order,
        draft,
        now_min,
        seconds: asked,
        ..
    } = asked;
    let seconds = seconds(asked)?;
    not_too_many(&order)?;
    nothing_refused(&state, &order).await?;
    let found = state
        .searches()
        .run(Duration::from_secs_f64(seconds), move |going_on| {
            let effort = SessionEffort::for_seconds(seconds, &order, SEED);
            let plan = replan(&order, &draft, now_min, effort, going_on)?;
            let mut anew = SessionDraft::from(&plan);
            anew.keep_marks(&draft);
            let faults = retime(&order, &anew, now_min)?.faults;
            let mut shown = shown(&order, anew, plan, faults, now_min);
            if let Some(in_time) = &mut shown.in_time {
                in_time.keep_marks(&draft);
            }
            Ok::<_, SessionError>(shown)
        })
        .await?;
    found.map(Json).map_err(|error| cannot(&error))
}

/// What one more bench, place or pair of hands would save
///
/// Each is planned anew, from the start of the session.
#[utoipa::path(post, path = "/api/session-plans/savings", tag = "sessions", request_body = ReworkRequest, responses((status = 200, body = Savings), Problems))]
async fn savings(
    State(state): State<AppState>,
    Body(asked): Body<ReworkRequest>,
) -> Result<Json<Savings>, Problem> {
    let savings = anew(
        &state,
        asked,
        SAVINGS,
        |order, so_far, _, effort, going_on| {
            let mut plan = plan_session(order, effort, going_on)?;
            // The plan of the page may be shorter, where it is a plan of the whole session as the model has it.
            let mut loads = so_far.draft.benches.iter().flat_map(|bench| &bench.loads);
            if loads.all(|load| load.actual.is_none()) {
                let whole = SessionSoFar {
                    draft: so_far.draft.clone(),
                    now_min: 0.0,
                };
                plan = better_of(order, plan, &whole, None)?;
            }
            what_more_saves(order, &plan, effort, going_on)
        },
    );
    let savings = savings.await?;
    Ok(Json(Savings { savings }))
}

/// What could give where a session does not fit
///
/// Each with its price, and the order with it relaxed; the rest of the session is planned anew.
#[utoipa::path(post, path = "/api/session-plans/relaxations", tag = "sessions", request_body = ReworkRequest, responses((status = 200, body = Relaxations), Problems))]
async fn relax(
    State(state): State<AppState>,
    Body(asked): Body<ReworkRequest>,
) -> Result<Json<Relaxations>, Problem> {
    let relaxations = anew(
        &state,
        asked,
        RELAXATIONS,
        |order, so_far, in_time, effort, going_on| {
            let plan = replan(order, &so_far.draft, so_far.now_min, effort, going_on)?;
            let plan = better_of(order, plan, so_far, in_time)?;
            relaxations(order, so_far, &plan, effort, going_on)
        },
    );
    let relaxations = relaxations.await?;
    Ok(Json(Relaxations { relaxations }))
}

/// What plans an order again and again: the order, where the session stands, the page's plan within the time, and the effort
/// of each search.
type Work<T> = fn(
    &SessionOrder,
    &SessionSoFar,
    Option<&SessionDraft>,
    SessionEffort,
    &mut dyn FnMut() -> bool,
) -> Result<T, SessionError>;

/// Something that plans several times, within the seconds that were asked for.
async fn anew<T: Send + 'static>(
    state: &AppState,
    asked: ReworkRequest,
    searches: f64,
    work: Work<T>,
) -> Result<T, Problem> {
    let seconds = seconds(asked.seconds)?;
    not_too_many(&asked.order)?;
    let found = state
        .searches()
        .run(Duration::from_secs_f64(seconds), move |going_on| {
            let effort = SessionEffort::for_seconds(seconds / (searches + 1.0), &asked.order, SEED);
            let so_far = SessionSoFar {
                draft: asked.draft,
                now_min: asked.now_min,
            };
            work(
                &asked.order,
                &so_far,
                asked.in_time.as_ref(),
                effort,
                going_on,
            )
        })
        .await?;
    found.map_err(|error| cannot(&error))
}

/// A session's order out of a file
#[utoipa::path(post, path = "/api/session-files/read", tag = "sessions", request_body = SessionFile, responses((status = 200, body = SessionOrder), Problems))]
async fn read_file(Body(file): Body<SessionFile>) -> Result<Json<SessionOrder>, Problem> {
    from_toml(&file.toml).map(Json)
}

/// A session's order as a file
#[utoipa::path(post, path = "/api/session-files/write", tag = "sessions", request_body = SessionOrder, responses((status = 200, body = SessionFile), Problems))]
async fn write_file(Body(order): Body<SessionOrder>) -> Result<Json<SessionFile>, Problem> {
    Ok(Json(SessionFile {
        toml: to_toml(&order)?,
    }))
}

/// Refuse what would keep this machine busy for others' sake.
fn not_too_many(order: &SessionOrder) -> Result<(), Problem> {
    let tubes: u64 = order
        .samples
        .iter()
        .map(|sample| u64::from(order.replicates_of(sample)))
        .sum();
    if tubes <= SESSION_TUBES {
        return Ok(());
    }
    Err(Problem::field(
        "the number of tubes",
        tubes.to_string(),
        format!("at most {SESSION_TUBES}; the command line plans larger sessions"),
    ))
}

/// Refuse samples that the refuse list refuses, by their label here and by what the book notes of a sample with that label.
async fn nothing_refused(state: &AppState, order: &SessionOrder) -> Result<(), Problem> {
    for sample in &order.samples {
        let mut said = vec![screen_label(&sample.id)];
        if let Some(row) = state.book().store().sample_labelled(&sample.id).await? {
            said.extend(screening(&row.expected_substance, &row.hazards));
        }
        if let Some(Screening::Refused { why }) = said
            .into_iter()
            .find(|one| matches!(one, Screening::Refused { .. }))
        {
            return Err(Problem::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "refused",
                "A sample is not to be heated",
                format!("{}: {why}. Leave it out of the session", sample.id),
            ));
        }
    }
    Ok(())
}

fn shown(
    order: &SessionOrder,
    draft: SessionDraft,
    mut plan: SessionPlan,
    faults: Vec<DraftFault>,
    now_min: f64,
) -> SessionShown {
    let in_time_finished = plan.finished_in_time.len();
    // The counts are those of the plan shown; those of the other stand beside it.
    [plan.finished_in_time, plan.not_finished] = finished_in_time(order, &plan.benches, &draft);
    let in_time = plan.in_time_benches.as_ref().map(|benches| {
        SessionDraft::from(&SessionPlan {
            benches: benches.clone(),
            ..plan.clone()
        })
    });
    SessionShown {
        benches: bench_pictures(order, &plan.benches),
        words: explain(order, &plan, now_min),
        in_time_finished: plan.in_time_benches.as_ref().map(|_| in_time_finished),
        in_time,
        plan,
        draft,
        faults,
    }
}
