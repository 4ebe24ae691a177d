//! Groups of people: a practical's, all locked or unlocked at once.

use super::accounts::person;
use super::me::failed;
use crate::admission::{AsMyself, now_s};
use crate::extract::{Body, nothing_named};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{GroupLocked, GroupRequest, GroupUnlocked, PersonGroup, PersonGroups};
use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use meltrange_accounts::AccountError;
use meltrange_labbook::PersonId;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(groups, make))
        .routes(routes!(dissolve))
        .routes(routes!(enter, take_out))
        .routes(routes!(lock))
        .routes(routes!(unlock))
}

/// All groups of people
///
/// For supervisors.
#[utoipa::path(get, path = "/api/groups", tag = "people", responses((status = 200, body = PersonGroups), Problems))]
async fn groups(myself: AsMyself) -> Result<Json<PersonGroups>, Problem> {
    let found = myself.guarded.accounts().groups().await;
    let groups = found.map_err(|error| failed(&error))?;
    Ok(Json(PersonGroups {
        groups: groups.into_iter().map(PersonGroup::from).collect(),
    }))
}

/// Make a group
///
/// For supervisors. A group says who belongs together, not what they may do.
#[utoipa::path(post, path = "/api/groups", tag = "people", request_body = GroupRequest, responses((status = 201, body = PersonGroup), Problems))]
async fn make(
    myself: AsMyself,
    Body(given): Body<GroupRequest>,
) -> Result<(StatusCode, Json<PersonGroup>), Problem> {
    let by = myself.visitor.who.id.to_string();
    let made = myself
        .guarded
        .accounts()
        .make_group(&given.name, &by, &myself.from, now_s())
        .await
        .map_err(|error| failed(&error))?;
    Ok((StatusCode::CREATED, Json(made.into())))
}

/// Dissolve a group
///
/// For supervisors. Nothing else of its people changes.
#[utoipa::path(delete, path = "/api/groups/{id}", tag = "people", params(("id" = String, Path, format = "uuid")), responses((status = 204), Problems))]
async fn dissolve(myself: AsMyself, Path(id): Path<String>) -> Result<StatusCode, Problem> {
    let by = myself.visitor.who.id.to_string();
    myself
        .guarded
        .accounts()
        .dissolve_group(&id, &by, &myself.from, now_s())
        .await
        .map_err(|error| failed_on(&error, &id))?;
    Ok(StatusCode::NO_CONTENT)
}

/// Put somebody into a group
///
/// For supervisors.
#[utoipa::path(put, path = "/api/groups/{id}/members/{person}", tag = "people", params(("id" = String, Path, format = "uuid"), ("person" = String, Path, format = "uuid")), responses((status = 204), Problems))]
async fn enter(
    State(state): State<AppState>,
    myself: AsMyself,
    Path((id, who)): Path<(String, String)>,
) -> Result<StatusCode, Problem> {
    let who: PersonId = who.parse().map_err(|_| nothing_named(&who))?;
    let who = person(&state, who).await?;
    let by = myself.visitor.who.id.to_string();
    myself
        .guarded
        .accounts()
        .enter_group(&id, &who.id.to_string(), &by, &myself.from, now_s())
        .await
        .map_err(|error| failed_on(&error, &id))?;
    Ok(StatusCode::NO_CONTENT)
}

/// Take somebody out of a group
///
/// For supervisors.
#[utoipa::path(delete, path = "/api/groups/{id}/members/{person}", tag = "people", params(("id" = String, Path, format = "uuid"), ("person" = String, Path, format = "uuid")), responses((status = 204), Problems))]
async fn take_out(
    myself: AsMyself,
    Path((id, who)): Path<(String, String)>,
) -> Result<StatusCode, Problem> {
    let by = myself.visitor.who.id.to_string();
    myself
        .guarded
        .accounts()
        .leave_group(&id, &who, &by, &myself.from, now_s())
        .await
        .map_err(|error| failed(&error))?;
    Ok(StatusCode::NO_CONTENT)
}

/// Lock the accounts of all of a group
///
/// For supervisors, all or none. Sessions end, tokens and invitations are good no more. Whoever does it is left out.
#[utoipa::path(post, path = "/api/groups/{id}/lock", tag = "people", params(("id" = String, Path, format = "uuid")), responses((status = 200, body = GroupLocked), Problems))]
async fn lock(myself: AsMyself, Path(id): Path<String>) -> Result<Json<GroupLocked>, Problem> {
    let by = myself.visitor.who.id.to_string();
    let done = myself
        .guarded
        .accounts()
        .lock_group(&id, &by, &myself.from, now_s())
        .await
        .map_err(|error| failed_on(&error, &id))?;
    Ok(Json(GroupLocked {
        locked: done.locked.len(),
        left_out: done.left_out,
    }))
}

/// Unlock the accounts of all of a group
///
/// For supervisors, all or none. Failed tries in their names are forgotten as well.
#[utoipa::path(post, path = "/api/groups/{id}/unlock", tag = "people", params(("id" = String, Path, format = "uuid")), responses((status = 200, body = GroupUnlocked), Problems))]
async fn unlock(
    State(state): State<AppState>,
    myself: AsMyself,
    Path(id): Path<String>,
) -> Result<Json<GroupUnlocked>, Problem> {
    let people = state.book().store().people().await?;
    let people: Vec<(String, String)> = people
        .into_iter()
        .map(|person| (person.id.to_string(), person.name))
        .collect();
    let by = myself.visitor.who.id.to_string();
    let done = myself
        .guarded
        .accounts()
        .unlock_group(&id, &people, &by, &myself.from, now_s())
        .await
        .map_err(|error| failed_on(&error, &id))?;
    Ok(Json(GroupUnlocked {
        unlocked: done.len(),
    }))
}

/// What is not there is named as it was asked for.
fn failed_on(error: &AccountError, id: &str) -> Problem {
    match error {
        AccountError::Unknown { .. } => nothing_named(id),
        other => failed(other),
    }
}
