//! Coming in with an account of one's organisation.

use super::me::{failed, guarded, knock, leave};
use crate::admission::{AtTheDoor, Guarded, How, kept, sign_in_cookie, sign_in_kept, sign_in_over};
use crate::extract::{Asked, Body};
use crate::guard;
use crate::limits::PAGE_BYTES;
use crate::problem::{Problem, Problems, in_full};
use crate::sign_in::{self, Journey, Refusal, SignIn};
use crate::state::AppState;
use crate::wire::{SignInBegun, SignInRequest};
use axum::extract::State;
use axum::http::{Extensions, HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use axum::{Extension, Json};
use meltrange_accounts::{CameIn, Knock, ProviderError, Secret};
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Where browsers come back to; the organisation has to know it.
const BACK: &str = "/api/sign-in/return";

/// The page that is shown where none is asked for, and the one that says why somebody is not let in.
const FIRST_PAGE: &str = "#/today";
const TROUBLE_PAGE: &str = "#/sign-in?trouble=";

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(begin))
        .routes(routes!(come_back))
}

/// Begin to sign in with an account of one's organisation
///
/// Where the server knows one (`organisation` of `/api/me`). The answer is where the browser is to go; a cookie ties what comes
/// back to this browser.
#[utoipa::path(post, path = "/api/sign-in", tag = "people", request_body = SignInRequest, responses((status = 200, body = SignInBegun), Problems))]
async fn begin(
    State(state): State<AppState>,
    door: Option<Extension<AtTheDoor>>,
    headers: HeaderMap,
    extensions: Extensions,
    Body(given): Body<SignInRequest>,
) -> Result<Response, Problem> {
    let guarded = guarded(&state)?;
    let sign_in = guarded.sign_in().ok_or_else(no_organisation)?;
    let knock = knock(&extensions, &headers);
    let is_secure = door.as_ref().is_none_or(|door| door.is_secure);
    let to = page(given.to)?;
    if let Some(code) = &given.invitation {
        // Who has none is told before they go.
        let invited = guarded.accounts().invited(code, &knock).await;
        invited.map_err(|error| failed(&error))?;
    }
    let scheme = if is_secure { "https" } else { "http" };
    let back_to = format!("{scheme}://{}{BACK}", guard::host(&headers));
    let begun = sign_in.provider().begin(&back_to, given.anew).await;
    let begun = begun.map_err(|error| away(sign_in, &error))?;
    let cookie = sign_in_kept(&guarded, is_secure, begun.browser.shown());
    let answer = SignInBegun {
        address: begun.address.clone(),
    };
    let before = door
        .and_then(|Extension(door)| door.visitor)
        .filter(|visitor| visitor.how == How::Session)
        .map(|visitor| (visitor.who.id.to_string(), visitor.id));
    sign_in.journeys().add(Journey {
        begun,
        back_to,
        to,
        invitation: given.invitation.map(Secret::new),
        before,
        from: knock.from,
        at_s: knock.now_s,
    });
    let mut answer = Json(answer).into_response();
    answer
        .headers_mut()
        .insert(header::SET_COOKIE, cookie.ok_or_else(no_cookie)?);
    Ok(answer)
}

/// What the organisation sends the browser back with (OpenID Connect Core 1.0, 3.1.2.5 and 3.1.2.6).
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct ReturnQuery {
    /// What the sign-in was begun with.
    state: Option<String>,
    /// What shows that somebody said yes, once.
    code: Option<String>,
    /// Who says so (RFC 9207), where it is said.
    iss: Option<String>,
    /// That it came to nothing.
    error: Option<String>,
}

/// Come back from one's organisation
///
/// For browsers. Whoever is let in gets a session and the page they asked for, everybody else a page that says why not.
#[utoipa::path(get, path = "/api/sign-in/return", tag = "people", params(ReturnQuery), responses((status = 303), Problems))]
async fn come_back(
    State(state): State<AppState>,
    door: Option<Extension<AtTheDoor>>,
    headers: HeaderMap,
    extensions: Extensions,
    Asked(asked): Asked<ReturnQuery>,
) -> Result<Response, Problem> {
    let guarded = guarded(&state)?;
    let sign_in = guarded.sign_in().ok_or_else(no_organisation)?;
    let knock = knock(&extensions, &headers);
    let is_secure = door.is_none_or(|Extension(door)| door.is_secure);
    let browser = sign_in_cookie(&guarded, &headers, is_secure).unwrap_or_default();
    let over = sign_in_over(&guarded, is_secure).ok_or_else(no_cookie)?;
    let journey = asked
        .state
        .as_deref()
        .and_then(|state| sign_in.journeys().take(state, browser, knock.now_s));
    let came = match &journey {
        Some(journey) => came(&state, &guarded, sign_in, journey, &asked, &knock).await,
        None => Err((Refusal::NotBegun, String::new(), String::new())),
    };
    let (page, session) = match (came, journey) {
        (Ok(came), Some(journey)) => {
            // Whoever sat here before sits here no more.
            if let Some((who, session)) = &journey.before {
                leave(&guarded, who, session, &knock).await?;
            }
            (format!("/{}", journey.to), Some(came.secret))
        }
        (Ok(_), None) => return Err(no_cookie()),
        (Err((refusal, person, more)), _) => {
            let why = match more.as_str() {
                "" => refusal.name().to_owned(),
                more => format!("{}: {more}", refusal.name()),
            };
            if refusal != Refusal::NotBegun || sign_in.notes_one_more(knock.now_s) {
                let noted = guarded
                    .accounts()
                    .sign_in_refused(&person, &why, &knock)
                    .await;
                noted.map_err(|error| failed(&error))?;
            } else {
                tracing::warn!(
                    from = knock.from,
                    "a return from elsewhere that nobody began"
                );
            }
            (format!("/{TROUBLE_PAGE}{}", refusal.name()), None)
        }
    };
    // A page of this program loads next and asks by itself: only then does the browser show a cookie that it shows
    // to no other site and on no way in from one.
    let page = HeaderValue::from_str(&page).map_err(|error| Problem::internal(&error))?;
    let mut answer = StatusCode::SEE_OTHER.into_response();
    let to = answer.headers_mut();
    to.insert(header::LOCATION, page);
    if let Some(secret) = session {
        let cookie = kept(&guarded, is_secure, &secret).ok_or_else(no_cookie)?;
        to.append(header::SET_COOKIE, cookie);
        to.append(header::SET_COOKIE, over);
    }
    Ok(answer)
}

/// Who came back, or why they are not let in, who of the book that is about, and more for the log.
async fn came(
    state: &AppState,
    guarded: &Guarded,
    sign_in: &SignIn,
    journey: &Journey,
    asked: &ReturnQuery,
    knock: &Knock,
) -> Result<CameIn, (Refusal, String, String)> {
    let no = |refusal, more: &str| Err((refusal, String::new(), more.to_owned()));
    if let Some(error) = &asked.error {
        let more: String = error.chars().take(60).collect();
        return no(Refusal::Denied, &more);
    }
    if let Some(issuer) = &asked.iss
        && issuer != sign_in.provider().issuer()
    {
        return no(Refusal::NotGood, "another issuer");
    }
    let Some(code) = asked.code.as_deref().filter(|code| !code.is_empty()) else {
        return no(Refusal::NotGood, "no code");
    };
    let returned = sign_in
        .provider()
        .finish(code, &journey.back_to, &journey.begun, knock.now_s)
        .await;
    let returned = match returned {
        Ok(returned) => returned,
        Err(error) => {
            tracing::warn!(error = %in_full(&error), "a sign-in elsewhere came to nothing");
            return no(Refusal::from(&error), "");
        }
    };
    let invitation = journey.invitation.as_ref();
    let accounts = guarded.accounts();
    sign_in::let_in(state, accounts, sign_in, &returned, invitation, knock)
        .await
        .map_err(|(refusal, person)| {
            let more = format!("subject {}", returned.outside.subject);
            (refusal, person, more)
        })
}

/// A page of this program: what comes after `#` alone, so that nothing else is ever gone to.
fn page(asked: Option<String>) -> Result<String, Problem> {
    let Some(asked) = asked else {
        return Ok(FIRST_PAGE.into());
    };
    let is_page = asked.starts_with("#/")
        && asked.len() <= PAGE_BYTES
        && asked.bytes().all(|byte| byte.is_ascii_graphic());
    if is_page {
        return Ok(asked);
    }
    let shown: String = asked.chars().take(60).collect();
    Err(Problem::field(
        "to",
        format!("\"{shown}\""),
        "a page of this program, e.g. \"#/today\"",
    ))
}

fn no_organisation() -> Problem {
    Problem::new(
        StatusCode::CONFLICT,
        "no-organisation",
        "Only names and passphrases here",
        "this book knows no organisation whose accounts let people in; log in with name and passphrase",
    )
}

fn away(sign_in: &SignIn, error: &ProviderError) -> Problem {
    tracing::warn!(error = %in_full(error), "nobody can sign in elsewhere");
    Problem::new(
        StatusCode::SERVICE_UNAVAILABLE,
        "sign-in-away",
        "The organisation does not answer",
        format!(
            "{} cannot be asked just now; try again in a while, or log in with name and passphrase if you have one",
            sign_in.shown_name()
        ),
    )
}

fn no_cookie() -> Problem {
    Problem::internal(&std::io::Error::other("a cookie that is none"))
}
