//! Accounts of others: what a supervisor sees and does.

use super::me::failed;
use crate::admission::{AsMyself, now_s};
use crate::extract::{Asked, Named};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{
    AccessLog, AccessLogEntry, InvitationMade, Person, PersonAccount, PersonAccounts, at, ever,
};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_labbook::{PersonId, PersonRow};
use serde::Deserialize;
use std::collections::BTreeMap;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(accounts))
        .routes(routes!(invite))
        .routes(routes!(lock))
        .routes(routes!(unlock))
        .routes(routes!(access_log))
}

/// Accounts of everybody
///
/// For supervisors.
#[utoipa::path(get, path = "/api/accounts", tag = "people", responses((status = 200, body = PersonAccounts), Problems))]
async fn accounts(
    State(state): State<AppState>,
    myself: AsMyself,
) -> Result<Json<PersonAccounts>, Problem> {
    let found = myself.guarded.accounts().all().await;
    let found = found.map_err(|error| failed(&error))?;
    let mut by_person: BTreeMap<String, meltrange_accounts::Account> = found
        .into_iter()
        .map(|account| (account.person.clone(), account))
        .collect();
    let now_s = now_s();
    let people = state.book().store().people().await?;
    let accounts = people
        .into_iter()
        .map(|person| {
            let account = by_person.remove(&person.id.to_string());
            let account = account.as_ref();
            PersonAccount {
                has_passphrase: account.is_some_and(|one| one.has_passphrase),
                signs_in: account.is_some_and(|one| one.has_outside),
                must_change: account.is_some_and(|one| one.must_change),
                locked: account.is_some_and(|one| one.locked),
                last: account.and_then(|one| ever(one.last_s)),
                invited_until: account
                    .filter(|one| one.invited_until_s > now_s)
                    .map(|one| at(one.invited_until_s)),
                person: Person::from(person),
            }
        })
        .collect();
    Ok(Json(PersonAccounts { accounts }))
}

/// The person of the book with this id.
pub(super) async fn person(state: &AppState, id: PersonId) -> Result<PersonRow, Problem> {
    let people = state.book().store().people().await?;
    people
        .into_iter()
        .find(|person| person.id == id)
        .ok_or_else(|| Problem::unknown(format!("there is no person {id} in this book")))
}

/// Invite somebody to choose a passphrase
///
/// For supervisors: makes a code that is good once, for a week. The person chooses the passphrase themselves, their first or a new
/// one; nobody else knows it.
#[utoipa::path(post, path = "/api/people/{id}/invitation", tag = "people", params(("id" = String, Path, format = "uuid")), responses((status = 201, body = InvitationMade), Problems))]
async fn invite(
    State(state): State<AppState>,
    myself: AsMyself,
    Named(id): Named<PersonId>,
) -> Result<(StatusCode, Json<InvitationMade>), Problem> {
    let person = person(&state, id).await?;
    let by = myself.visitor.who.id.to_string();
    let made = myself
        .guarded
        .accounts()
        .invite(&person.id.to_string(), &by, &myself.from, now_s())
        .await;
    let made = made.map_err(|error| match error {
        meltrange_accounts::AccountError::Locked => Problem::new(
            StatusCode::CONFLICT,
            "locked",
            "The account is locked",
            "nobody can be invited to an account that is locked; unlock it first",
        ),
        other => failed(&other),
    })?;
    let made = InvitationMade {
        code: made.code,
        expires: at(made.expires_s),
    };
    Ok((StatusCode::CREATED, Json(made)))
}

/// Lock somebody's account
///
/// For supervisors: sessions end, tokens and invitations are good no more. Nobody locks their own.
#[utoipa::path(post, path = "/api/people/{id}/lock", tag = "people", params(("id" = String, Path, format = "uuid")), responses((status = 204), Problems))]
async fn lock(
    State(state): State<AppState>,
    myself: AsMyself,
    Named(id): Named<PersonId>,
) -> Result<StatusCode, Problem> {
    let person = person(&state, id).await?;
    if person.id == myself.visitor.who.id {
        return Err(Problem::new(
            StatusCode::CONFLICT,
            "own-account",
            "This is your own account",
            "nobody locks themselves out; another supervisor can, or \"meltrange person lock\" on the machine itself",
        ));
    }
    let by = myself.visitor.who.id.to_string();
    myself
        .guarded
        .accounts()
        .lock(&person.id.to_string(), &by, &myself.from, now_s())
        .await
        .map_err(|error| failed(&error))?;
    Ok(StatusCode::NO_CONTENT)
}

/// Unlock somebody's account
///
/// For supervisors. Failed tries in their name are forgotten as well.
#[utoipa::path(post, path = "/api/people/{id}/unlock", tag = "people", params(("id" = String, Path, format = "uuid")), responses((status = 204), Problems))]
async fn unlock(
    State(state): State<AppState>,
    myself: AsMyself,
    Named(id): Named<PersonId>,
) -> Result<StatusCode, Problem> {
    let person = person(&state, id).await?;
    let by = myself.visitor.who.id.to_string();
    let who = person.id.to_string();
    myself
        .guarded
        .accounts()
        .unlock(&who, &person.name, &by, &myself.from, now_s())
        .await
        .map_err(|error| failed(&error))?;
    Ok(StatusCode::NO_CONTENT)
}

/// Which entries.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct LogQuery {
    /// Those before the entry with this id.
    before: Option<String>,
    /// How many at the most; 100 if not said, never more than 500.
    limit: Option<u32>,
}

/// Who came, was refused, or changed what of accounts
///
/// For supervisors. The newest first.
#[utoipa::path(get, path = "/api/access-log", tag = "people", params(LogQuery), responses((status = 200, body = AccessLog), Problems))]
async fn access_log(
    State(state): State<AppState>,
    myself: AsMyself,
    Asked(asked): Asked<LogQuery>,
) -> Result<Json<AccessLog>, Problem> {
    let limit = asked.limit.unwrap_or(100);
    let found = myself
        .guarded
        .accounts()
        .access_log(asked.before.as_deref(), limit)
        .await
        .map_err(|error| failed(&error))?;
    let people = state.book().store().people().await?;
    let names: BTreeMap<String, String> = people
        .into_iter()
        .map(|person| (person.id.to_string(), person.name))
        .collect();
    // Somebody who is in no book any more stays an id.
    let name = |id: String| (!id.is_empty()).then(|| names.get(&id).cloned().unwrap_or(id));
    let entries = found
        .into_iter()
        .map(|entry| AccessLogEntry {
            id: entry.id,
            when: at(entry.at_s),
            what: entry.kind.into(),
            who: name(entry.person),
            about: name(entry.about),
            from: entry.place,
            detail: entry.detail,
        })
        .collect();
    Ok(Json(AccessLog { entries }))
}
