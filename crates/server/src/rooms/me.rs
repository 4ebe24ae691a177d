//! Coming in and going, and one's own account.

use crate::admission::{
    AsMyself, AtTheDoor, Guarded, How, forgotten, from_of, kept, no_accounts, now_s,
};
use crate::extract::{Body, Looking, nothing_named};
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{
    AcceptRequest, HowShown, LoginRequest, Me, MyPerson, MySession, MySessions, MyToken, MyTokens,
    PassphraseRequest, TokenMade, TokenRequest, at,
};
use axum::extract::{Path, State};
use axum::http::{Extensions, HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use axum::{Extension, Json};
use meltrange_accounts::{AccountError, CameIn, Knock, PASSPHRASE_CHARS, PROVED_S};
use meltrange_labbook::PersonRow;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(me))
        .routes(routes!(log_in))
        .routes(routes!(log_out))
        .routes(routes!(accept))
        .routes(routes!(change_passphrase))
        .routes(routes!(my_sessions, log_out_everywhere))
        .routes(routes!(end_session))
        .routes(routes!(tokens, make_token))
        .routes(routes!(revoke_token))
}

/// Until when a signature takes somebody's word for who they are, who showed it at `proved_s`.
fn signs_until(proved_s: i64) -> Option<String> {
    let until_s = proved_s + PROVED_S;
    (until_s > now_s()).then(|| at(until_s))
}

/// What went wrong with an account, as a problem.
pub(super) fn failed(error: &AccountError) -> Problem {
    let of = |status, kind, title| Problem::new(status, kind, title, error.to_string());
    match error {
        AccountError::Refused => of(StatusCode::FORBIDDEN, "refused-login", "Not let in"),
        AccountError::Locked => of(StatusCode::FORBIDDEN, "locked", "The account is locked"),
        AccountError::NotInvited => of(StatusCode::FORBIDDEN, "invitation", "No such invitation"),
        AccountError::Taken { .. } => of(StatusCode::CONFLICT, "taken", "The name is taken"),
        AccountError::Wait { wait_s } => Problem {
            wait_s: u64::try_from(*wait_s).ok(),
            ..of(
                StatusCode::TOO_MANY_REQUESTS,
                "wait",
                "Wait before the next try",
            )
        },
        AccountError::Busy => of(StatusCode::SERVICE_UNAVAILABLE, "busy", "Busy"),
        AccountError::Unfit(_) => of(
            StatusCode::UNPROCESSABLE_ENTITY,
            "passphrase",
            "This passphrase is not taken",
        ),
        AccountError::Field {
            field,
            found,
            expected,
        } => Problem::field(*field, found.clone(), expected.clone()),
        AccountError::TooMany { .. } => of(StatusCode::CONFLICT, "too-many", "Too many"),
        AccountError::Unknown { .. } => Problem::unknown(error.to_string()),
        other => Problem::internal(other),
    }
}

pub(super) fn guarded(state: &AppState) -> Result<Guarded, Problem> {
    state.guarded().cloned().ok_or_else(no_accounts)
}

pub(super) fn knock(extensions: &Extensions, headers: &HeaderMap) -> Knock {
    let agent = headers
        .get(header::USER_AGENT)
        .and_then(|agent| agent.to_str().ok());
    Knock {
        from: from_of(extensions),
        agent: agent.unwrap_or_default().to_owned(),
        now_s: now_s(),
    }
}

/// Who asks
///
/// Answers whoever asks: where nobody is logged in, `person` is null.
#[utoipa::path(get, path = "/api/me", tag = "people", security((), ("person" = []), ("token" = [])), responses((status = 200, body = Me), Problems))]
async fn me(
    State(state): State<AppState>,
    door: Option<Extension<AtTheDoor>>,
    looking: Looking,
) -> Result<Json<Me>, Problem> {
    let visitor = door.and_then(|Extension(door)| door.visitor);
    let mut found = Me {
        guarded: state.guarded().is_some(),
        person: None,
        how: None,
        since: None,
        must_change: false,
        passphrase_chars: PASSPHRASE_CHARS,
        organisation: organisation(&state),
        has_passphrase: false,
        signs_until: None,
    };
    if let Some(visitor) = visitor {
        if let Some(guarded) = state.guarded() {
            let id = visitor.who.id.to_string();
            let has = guarded.accounts().has_passphrase(&id).await;
            found.has_passphrase = has.map_err(|error| failed(&error))?;
        }
        found.signs_until = signs_until(visitor.proved_s);
        found.person = Some(MyPerson {
            id: visitor.who.id,
            name: visitor.name,
            role: visitor.who.role.into(),
        });
        found.how = Some(match visitor.how {
            How::Session => HowShown::Session,
            How::Token => HowShown::Token,
        });
        found.since = Some(at(visitor.since_s));
        found.must_change = visitor.must_change;
    } else if let Some(who) = looking.0 {
        found.person = Some(MyPerson {
            id: who.id,
            name: super::person_name(&state, who.id).await?,
            role: who.role.into(),
        });
    }
    Ok(Json(found))
}

fn organisation(state: &AppState) -> Option<String> {
    let sign_in = state.guarded()?.sign_in()?;
    Some(sign_in.shown_name().to_owned())
}

/// The person who has this name, letters of either size.
async fn named(state: &AppState, name: &str) -> Result<Option<PersonRow>, Problem> {
    let name = name.trim().to_lowercase();
    let people = state.book().store().people().await?;
    Ok(people
        .into_iter()
        .find(|person| person.name.to_lowercase() == name))
}

/// Log in
///
/// Begins a session; its secret is in a cookie that scripts cannot read. After five failures for one name, or twenty from one
/// address, each further one makes the next try wait longer: 429, with how long.
#[utoipa::path(post, path = "/api/login", tag = "people", request_body = LoginRequest, responses((status = 200, body = Me), Problems))]
async fn log_in(
    State(state): State<AppState>,
    door: Option<Extension<AtTheDoor>>,
    headers: HeaderMap,
    extensions: Extensions,
    Body(given): Body<LoginRequest>,
) -> Result<Response, Problem> {
    let guarded = guarded(&state)?;
    let knock = knock(&extensions, &headers);
    let person = named(&state, &given.name).await?;
    let id = person.as_ref().map(|person| person.id.to_string());
    let came = guarded
        .accounts()
        .log_in(&given.name, id.as_deref(), &given.passphrase, &knock)
        .await
        .map_err(|error| failed(&error))?;
    let person = person.ok_or_else(|| failed(&AccountError::Refused))?;
    let_in(&guarded, door, person, &came, &knock).await
}

/// Accept an invitation
///
/// Chooses a passphrase with a one-time code, and logs in. Earlier sessions and tokens of this person end.
#[utoipa::path(post, path = "/api/invitations/accept", tag = "people", request_body = AcceptRequest, responses((status = 200, body = Me), Problems))]
async fn accept(
    State(state): State<AppState>,
    door: Option<Extension<AtTheDoor>>,
    headers: HeaderMap,
    extensions: Extensions,
    Body(given): Body<AcceptRequest>,
) -> Result<Response, Problem> {
    let guarded = guarded(&state)?;
    let knock = knock(&extensions, &headers);
    let accounts = guarded.accounts();
    let invited = accounts
        .invited(&given.code, &knock)
        .await
        .map_err(|error| failed(&error))?;
    let people = state.book().store().people().await?;
    let person = people
        .into_iter()
        .find(|person| person.id.to_string() == invited)
        .ok_or_else(|| failed(&AccountError::NotInvited))?;
    let came = accounts
        .accept(&given.code, &person.name, &given.passphrase, &knock)
        .await
        .map_err(|error| failed(&error))?;
    let_in(&guarded, door, person, &came, &knock).await
}

/// The answer to somebody who came in.
async fn let_in(
    guarded: &Guarded,
    door: Option<Extension<AtTheDoor>>,
    person: PersonRow,
    came: &CameIn,
    knock: &Knock,
) -> Result<Response, Problem> {
    let is_secure = door.as_ref().is_none_or(|door| door.is_secure);
    // Whoever sat here before sits here no more.
    if let Some(before) = door.and_then(|Extension(door)| door.visitor)
        && before.how == How::Session
    {
        leave(guarded, &before.who.id.to_string(), &before.id, knock).await?;
    }
    let me = Me {
        guarded: true,
        person: Some(MyPerson {
            id: person.id,
            name: person.name,
            role: person.role.into(),
        }),
        how: Some(HowShown::Session),
        since: Some(at(knock.now_s)),
        must_change: came.must_change,
        passphrase_chars: PASSPHRASE_CHARS,
        organisation: guarded
            .sign_in()
            .map(|sign_in| sign_in.shown_name().to_owned()),
        has_passphrase: true,
        signs_until: signs_until(knock.now_s),
    };
    let mut answer = Json(me).into_response();
    let cookie = kept(guarded, is_secure, &came.secret)
        .ok_or_else(|| Problem::internal(&std::io::Error::other("a cookie that is none")))?;
    answer.headers_mut().insert(header::SET_COOKIE, cookie);
    Ok(answer)
}

/// End a session, if it lasts.
pub(super) async fn leave(
    guarded: &Guarded,
    who: &str,
    session: &str,
    knock: &Knock,
) -> Result<(), Problem> {
    let left = guarded
        .accounts()
        .log_out(who, session, &knock.from, knock.now_s)
        .await;
    match left {
        Ok(()) | Err(AccountError::Unknown { .. }) => Ok(()),
        Err(other) => Err(failed(&other)),
    }
}

/// Nothing more, and the browser forgets the session and what it kept of the book.
fn gone(myself: &AsMyself) -> Response {
    let mut answer = StatusCode::NO_CONTENT.into_response();
    let headers = answer.headers_mut();
    if let Some(cookie) = forgotten(&myself.guarded, myself.is_secure) {
        headers.insert(header::SET_COOKIE, cookie);
    }
    headers.insert("clear-site-data", HeaderValue::from_static("\"cache\""));
    answer
}

/// Log out
#[utoipa::path(post, path = "/api/logout", tag = "people", responses((status = 204), Problems))]
async fn log_out(myself: AsMyself) -> Result<Response, Problem> {
    let id = myself.visitor.who.id.to_string();
    myself
        .guarded
        .accounts()
        .log_out(&id, &myself.visitor.id, &myself.from, now_s())
        .await
        .map_err(|error| failed(&error))?;
    Ok(gone(&myself))
}

/// Change one's passphrase
///
/// All other sessions of this person end; tokens stay.
#[utoipa::path(post, path = "/api/me/passphrase", tag = "people", request_body = PassphraseRequest, responses((status = 204), Problems))]
async fn change_passphrase(
    myself: AsMyself,
    headers: HeaderMap,
    extensions: Extensions,
    Body(given): Body<PassphraseRequest>,
) -> Result<StatusCode, Problem> {
    let id = myself.visitor.who.id.to_string();
    let knock = knock(&extensions, &headers);
    myself
        .guarded
        .accounts()
        .change_passphrase(
            &id,
            &myself.visitor.name,
            [&given.current, &given.passphrase],
            &myself.visitor.id,
            &knock,
        )
        .await
        .map_err(|error| failed(&error))?;
    Ok(StatusCode::NO_CONTENT)
}

/// One's sessions
#[utoipa::path(get, path = "/api/me/sessions", tag = "people", responses((status = 200, body = MySessions), Problems))]
async fn my_sessions(myself: AsMyself) -> Result<Json<MySessions>, Problem> {
    let id = myself.visitor.who.id.to_string();
    let found = myself.guarded.accounts().sessions(&id, now_s()).await;
    let sessions = found.map_err(|error| failed(&error))?;
    Ok(Json(MySessions {
        sessions: sessions
            .into_iter()
            .map(|session| MySession {
                this: session.id == myself.visitor.id,
                id: session.id,
                begun: at(session.begun_s),
                seen: at(session.seen_s),
                from: session.place,
                browser: session.agent,
            })
            .collect(),
    }))
}

/// Log out everywhere
///
/// All sessions of this person end, this one, too.
#[utoipa::path(delete, path = "/api/me/sessions", tag = "people", responses((status = 204), Problems))]
async fn log_out_everywhere(myself: AsMyself) -> Result<Response, Problem> {
    let id = myself.visitor.who.id.to_string();
    myself
        .guarded
        .accounts()
        .log_out_everywhere(&id, &id, &myself.from, now_s())
        .await
        .map_err(|error| failed(&error))?;
    Ok(gone(&myself))
}

/// End one of one's sessions
#[utoipa::path(delete, path = "/api/me/sessions/{id}", tag = "people", params(("id" = String, Path, format = "uuid")), responses((status = 204), Problems))]
async fn end_session(myself: AsMyself, Path(id): Path<String>) -> Result<StatusCode, Problem> {
    let who = myself.visitor.who.id.to_string();
    let ended = myself
        .guarded
        .accounts()
        .log_out(&who, &id, &myself.from, now_s())
        .await;
    ended.map_err(|error| failed_on(&error, &id))?;
    Ok(StatusCode::NO_CONTENT)
}

/// What is not there is named as it was asked for.
fn failed_on(error: &AccountError, id: &str) -> Problem {
    match error {
        AccountError::Unknown { .. } => nothing_named(id),
        other => failed(other),
    }
}

/// One's tokens
#[utoipa::path(get, path = "/api/me/tokens", tag = "people", responses((status = 200, body = MyTokens), Problems))]
async fn tokens(myself: AsMyself) -> Result<Json<MyTokens>, Problem> {
    let id = myself.visitor.who.id.to_string();
    let found = myself.guarded.accounts().tokens(&id, now_s()).await;
    let tokens = found.map_err(|error| failed(&error))?;
    Ok(Json(MyTokens {
        tokens: tokens.into_iter().map(MyToken::from).collect(),
    }))
}

/// Make a token
///
/// It lets a program in as this person, with what this person may, until its day or until it is taken back. It is shown this once.
#[utoipa::path(post, path = "/api/me/tokens", tag = "people", request_body = TokenRequest, responses((status = 201, body = TokenMade), Problems))]
async fn make_token(
    myself: AsMyself,
    Body(given): Body<TokenRequest>,
) -> Result<(StatusCode, Json<TokenMade>), Problem> {
    let id = myself.visitor.who.id.to_string();
    let made = myself
        .guarded
        .accounts()
        .make_token(&id, &given.name, given.days, &myself.from, now_s())
        .await
        .map_err(|error| failed(&error))?;
    let made = TokenMade {
        token: made.token.into(),
        secret: made.secret,
    };
    Ok((StatusCode::CREATED, Json(made)))
}

/// Take a token back
#[utoipa::path(delete, path = "/api/me/tokens/{id}", tag = "people", params(("id" = String, Path, format = "uuid")), responses((status = 204), Problems))]
async fn revoke_token(myself: AsMyself, Path(id): Path<String>) -> Result<StatusCode, Problem> {
    let who = myself.visitor.who.id.to_string();
    let revoked = myself
        .guarded
        .accounts()
        .revoke_token(&who, &id, &myself.from, now_s())
        .await;
    revoked.map_err(|error| failed_on(&error, &id))?;
    Ok(StatusCode::NO_CONTENT)
}
