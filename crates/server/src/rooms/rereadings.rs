//! Recordings read again by workers, and what becomes of what they found.

use crate::extract::{Acting, Asked, Body, Looking, Named, Somebody};
use crate::problem::{Problem, Problems};
use crate::rereading::go_on_accepting;
use crate::state::AppState;
use crate::wire::{
    ChangeCount, LeaveOutRequest, RereadFailure, RereadRequest, RereadTubes, Rereading,
    RereadingDetail, Rereadings,
};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{LONGEST_PAGE, PROGRAM, RereadChange, RereadChoice, Role};
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;
use uuid::Uuid;

/// Failures that are told one by one.
const FAILURES: u32 = 50;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(rereadings, begin_rereading))
        .routes(routes!(rereading))
        .routes(routes!(reread_tubes))
        .routes(routes!(accept_rereading))
        .routes(routes!(drop_rereading))
        .routes(routes!(try_rereading_again))
        .routes(routes!(leave_out_of_rereading))
}

/// What many new readings do to a book is for supervisors.
fn supervises(who: Somebody) -> Result<(), Problem> {
    match who.role {
        Role::Supervisor => Ok(()),
        _ => Err(Problem::new(
            StatusCode::FORBIDDEN,
            "role",
            "Not in this role",
            "recordings are read again, and what was found is accepted, by a supervisor; ask one",
        )),
    }
}

/// Opinions of the engine are kept back from students until they have read for themselves.
fn may_look(looking: Looking) -> Result<(), Problem> {
    match looking.0 {
        Some(Somebody {
            role: Role::Student,
            ..
        }) => Err(crate::sight::decide_first()),
        _ => Ok(()),
    }
}

/// All re-readings, newest first
#[utoipa::path(get, path = "/api/rereadings", tag = "rereadings", security((), ("person" = [])), responses((status = 200, body = Rereadings), Problems))]
async fn rereadings(
    State(state): State<AppState>,
    looking: Looking,
) -> Result<Json<Rereadings>, Problem> {
    may_look(looking)?;
    let shared = state.book().shared_at().is_some();
    let rows = match shared {
        true => state.book().rereadings()?.all().await?,
        false => Vec::new(),
    };
    Ok(Json(Rereadings {
        shared,
        engine: PROGRAM.into(),
        rows: rows.into_iter().map(Into::into).collect(),
    }))
}

/// Have recordings read again by this version of the engine
///
/// For supervisors, in a shared book. They wait for workers (`meltrange reread work BOOK`); nothing is recorded before it is
/// accepted.
#[utoipa::path(post, path = "/api/rereadings", tag = "rereadings", security(("person" = [])), request_body = RereadRequest, responses((status = 201, body = Rereading), Problems))]
async fn begin_rereading(
    State(state): State<AppState>,
    Acting(who): Acting,
    Body(given): Body<RereadRequest>,
) -> Result<(StatusCode, Json<Rereading>), Problem> {
    supervises(who)?;
    let choice = match given.all {
        true => RereadChoice::All,
        false => RereadChoice::OtherVersions,
    };
    let (begun, _) = state
        .book()
        .rereadings()?
        .begin(who.id, PROGRAM, choice)
        .await?;
    Ok((StatusCode::CREATED, Json(begun.into())))
}

/// How far one is, and what it changes
#[utoipa::path(get, path = "/api/rereadings/{id}", tag = "rereadings", security((), ("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, body = RereadingDetail), Problems))]
async fn rereading(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<Uuid>,
) -> Result<Json<RereadingDetail>, Problem> {
    may_look(looking)?;
    let rereadings = state.book().rereadings()?;
    let found = rereadings.one(id).await?;
    let told = rereadings.told(id).await?;
    let failures = rereadings.failures(id, FAILURES).await?;
    Ok(Json(RereadingDetail {
        rereading: found.into(),
        counts: told.counts,
        changes: told
            .changes
            .into_iter()
            .map(|(change, tubes)| ChangeCount { change, tubes })
            .collect(),
        first_liquid: told.first_liquid,
        last_crystal: told.last_crystal,
        workers: told.workers,
        per_min: told.per_min,
        failures: failures
            .into_iter()
            .map(|failure| RereadFailure {
                recording: failure.recording,
                why: failure.why,
            })
            .collect(),
    }))
}

/// Which tubes of a re-reading.
#[derive(Debug, Deserialize, IntoParams)]
struct TubeQuery {
    /// Only those that changed in this way.
    change: Option<RereadChange>,
    /// Rows to pass over.
    #[serde(default)]
    offset: u32,
    /// Rows wanted; 50 where nothing is said.
    limit: Option<u32>,
}

/// Its tubes, before and now, those that moved furthest first
#[utoipa::path(get, path = "/api/rereadings/{id}/tubes", tag = "rereadings", security((), ("person" = [])), params(("id" = String, Path, format = "uuid"), TubeQuery), responses((status = 200, body = RereadTubes), Problems))]
async fn reread_tubes(
    State(state): State<AppState>,
    looking: Looking,
    Named(id): Named<Uuid>,
    Asked(query): Asked<TubeQuery>,
) -> Result<Json<RereadTubes>, Problem> {
    may_look(looking)?;
    let rereadings = state.book().rereadings()?;
    rereadings.one(id).await?;
    let limit = query.limit.unwrap_or(crate::limits::PAGE_ROWS);
    let rows = rereadings
        .tubes(
            id,
            query.change,
            query.offset.into(),
            limit.min(LONGEST_PAGE),
        )
        .await?;
    Ok(Json(RereadTubes {
        rows: rows.into_iter().map(Into::into).collect(),
    }))
}

/// Accept it: what was found is recorded, in the name of whoever accepts
///
/// For supervisors, once every recording was read. It goes on in the background, also after a restart.
#[utoipa::path(post, path = "/api/rereadings/{id}/accept", tag = "rereadings", security(("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, body = Rereading), Problems))]
async fn accept_rereading(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<Uuid>,
) -> Result<Json<Rereading>, Problem> {
    supervises(who)?;
    state.book().rereadings()?.accept(id, who.id).await?;
    go_on_accepting(&state);
    one(&state, id).await
}

/// Drop it: nothing of what was found is recorded
#[utoipa::path(post, path = "/api/rereadings/{id}/drop", tag = "rereadings", security(("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, body = Rereading), Problems))]
async fn drop_rereading(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<Uuid>,
) -> Result<Json<Rereading>, Problem> {
    supervises(who)?;
    state.book().rereadings()?.drop_it(id, who.id).await?;
    one(&state, id).await
}

/// Let recordings that could not be read wait for workers again
#[utoipa::path(post, path = "/api/rereadings/{id}/try-again", tag = "rereadings", security(("person" = [])), params(("id" = String, Path, format = "uuid")), responses((status = 200, body = Rereading), Problems))]
async fn try_rereading_again(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<Uuid>,
) -> Result<Json<Rereading>, Problem> {
    supervises(who)?;
    state.book().rereadings()?.try_again(id).await?;
    one(&state, id).await
}

/// Leave a recording out: its new reading is not recorded
#[utoipa::path(post, path = "/api/rereadings/{id}/left-out", tag = "rereadings", security(("person" = [])), params(("id" = String, Path, format = "uuid")), request_body = LeaveOutRequest, responses((status = 200, body = Rereading), Problems))]
async fn leave_out_of_rereading(
    State(state): State<AppState>,
    Acting(who): Acting,
    Named(id): Named<Uuid>,
    Body(given): Body<LeaveOutRequest>,
) -> Result<Json<Rereading>, Problem> {
    supervises(who)?;
    state
        .book()
        .rereadings()?
        .leave_out(id, given.recording, &given.why)
        .await?;
    one(&state, id).await
}

async fn one(state: &AppState, id: Uuid) -> Result<Json<Rereading>, Problem> {
    let found = state.book().rereadings()?.one(id).await?;
    Ok(Json(found.into()))
}
