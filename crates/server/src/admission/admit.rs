//! The door of a guarded book: one look at every request, before anything else does.

use super::hosts::is_loopback;
use super::permissions::{May, Rule, knows, rule};
use super::staying::while_let_in;
use super::visitor::{AtTheDoor, How, Visitor};
use super::{Guarded, Wire, now_s};
use crate::extract::{PERSON, Somebody};
use crate::guard;
use crate::observing::ByWhom;
use crate::problem::Problem;
use crate::state::AppState;
use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Response};
use meltrange_accounts::AccountError;
use meltrange_labbook::{BookError, Entry, PersonId};

/// What the pages say with every change. No other page can: it would have to be asked for first (CORS), and
/// nobody here answers that.
pub(crate) const OWN_PAGE: &str = "x-own-page";

/// For a year browsers come over TLS alone (RFC 6797).
const HSTS: HeaderValue = HeaderValue::from_static("max-age=31536000");

/// The description, which says nothing of the book.
const DESCRIPTION: &str = "/openapi.json";

/// What somebody may do before they changed a passphrase that was given to them.
const BEFORE_CHANGING: [(&str, &str); 3] = [
    ("GET", "/api/me"),
    ("POST", "/api/me/passphrase"),
    ("POST", "/api/logout"),
];

/// Let a request in, or say why not.
pub(crate) async fn admit(State(state): State<AppState>, request: Request, next: Next) -> Response {
    let Some(guarded) = state.guarded().cloned() else {
        return Problem::internal(&std::io::Error::other("no accounts at a guarded door"))
            .into_response();
    };
    let host = match host(&guarded, request.headers()) {
        Ok(host) => host,
        Err(problem) => return problem.into_response(),
    };
    let is_secure = guarded.0.wire == Wire::Tls || !is_loopback(&host);
    let answer = at_the_door(state, &guarded, &host, is_secure, request, next).await;
    let mut answer = answer.unwrap_or_else(Problem::into_response);
    if is_secure {
        answer
            .headers_mut()
            .insert(header::STRICT_TRANSPORT_SECURITY, HSTS);
    }
    answer
}

/// The host that a request names, once it is one of this machine's.
fn host(guarded: &Guarded, headers: &HeaderMap) -> Result<String, Problem> {
    let host = guard::host(headers);
    if guarded.0.hosts.knows(&host) {
        return Ok(host);
    }
    Err(guard::not_this_machine())
}

async fn at_the_door(
    state: AppState,
    guarded: &Guarded,
    host: &str,
    is_secure: bool,
    mut request: Request,
    next: Next,
) -> Result<Response, Problem> {
    let method = request.method().clone();
    let reads = matches!(method, Method::GET | Method::HEAD);
    let path = request
        .extensions()
        .get::<MatchedPath>()
        .map(|path| path.as_str().to_owned());
    let is_socket = request.headers().contains_key(header::UPGRADE);
    if !reads || is_socket {
        let scheme = if is_secure { "https" } else { "http" };
        guard::same_origin(request.headers(), scheme, host)?;
    }
    let path = match path.as_deref() {
        // Pages, their files, and addresses that there are not.
        None if is_page(request.uri().path()) => return Ok(next.run(request).await),
        Some(DESCRIPTION) => return Ok(next.run(request).await),
        None => "",
        Some(path) => path,
    };
    let (visitor, named) = visitor(&state, guarded, request.headers(), is_secure).await?;
    if !reads && named != Some(How::Token) {
        from_own_page(request.headers())?;
    }
    match rule(&method, path) {
        Some(Rule::Anybody) => {}
        found => {
            let visitor = visitor.as_ref().ok_or_else(nobody)?;
            let found = found.ok_or_else(|| undecided(path))?;
            may_pass(found, visitor, &method, path)?;
        }
    }
    is_who_they_say(request.headers_mut(), visitor.as_ref())?;
    let id = visitor.as_ref().map(|visitor| visitor.id.clone());
    let who = visitor.as_ref().map(|visitor| visitor.who.id);
    request
        .extensions_mut()
        .insert(AtTheDoor { visitor, is_secure });
    let mut answer = next.run(request).await;
    if let Some(who) = who {
        answer.extensions_mut().insert(ByWhom(who));
    }
    Ok(match id {
        Some(id) => while_let_in(answer, guarded, &id),
        None => answer,
    })
}

fn is_page(path: &str) -> bool {
    path != "/api" && !path.starts_with("/api/")
}

/// Whether this person may do this, in this way.
fn may_pass(found: Rule, visitor: &Visitor, method: &Method, path: &str) -> Result<(), Problem> {
    if found.may(visitor.who.role) == May::Never {
        return Err(Problem::new(
            StatusCode::FORBIDDEN,
            "role",
            "Not in this role",
            "this is not for people of your role in this book; ask a supervisor",
        ));
    }
    if matches!(found, Rule::InPerson(_)) && visitor.how == How::Token {
        return Err(Problem::new(
            StatusCode::FORBIDDEN,
            "in-person",
            "Not with a token",
            "accounts are changed and results signed by people, not by their programs; log in on a page of the book",
        ));
    }
    let before = BEFORE_CHANGING
        .iter()
        .any(|(one, route)| *one == method.as_str() && *route == path);
    if visitor.must_change && !before {
        return Err(Problem::new(
            StatusCode::FORBIDDEN,
            "passphrase-first",
            "Choose a passphrase first",
            "your passphrase was given to you; choose one of your own before anything else",
        ));
    }
    Ok(())
}

/// Nobody is there, and somebody has to be.
pub(super) fn nobody() -> Problem {
    Problem::new(
        StatusCode::UNAUTHORIZED,
        "log-in",
        "Log in first",
        "nobody is logged in, or the session is over; log in on a page of the book, or send a token",
    )
}

/// A route that nobody decided on is for nobody.
fn undecided(path: &str) -> Problem {
    if path.is_empty() {
        return Problem::unknown(
            "there is nothing at this address; /openapi.json describes what there is",
        );
    }
    if knows(path) {
        return crate::router::not_in_this_way();
    }
    tracing::error!(path, "no decision who may use this route");
    Problem::new(
        StatusCode::FORBIDDEN,
        "role",
        "Not in this role",
        "nobody decided yet who may do this; tell whoever looks after the program",
    )
}

/// Changes come from this program's own pages, or with a token.
fn from_own_page(headers: &HeaderMap) -> Result<(), Problem> {
    if headers.contains_key(OWN_PAGE) {
        return Ok(());
    }
    Err(guard::refused(
        "the header x-own-page is missing; changes are taken from the program's own pages, and from programs that send a token".into(),
    ))
}

/// Who shows what, if anybody does. A token that is none is refused, a session that is over is nobody.
async fn visitor(
    state: &AppState,
    guarded: &Guarded,
    headers: &HeaderMap,
    is_secure: bool,
) -> Result<(Option<Visitor>, Option<How>), Problem> {
    let bearer = bearer(headers)?;
    let secret = guarded.secret(headers, is_secure);
    let (how, found) = match (bearer, secret) {
        (Some(token), _) => {
            let found = guarded.accounts().visit_by_token(token, now_s()).await;
            (How::Token, found)
        }
        (None, Some(secret)) => {
            let found = guarded.accounts().visit(secret, now_s()).await;
            (How::Session, found)
        }
        (None, None) => return Ok((None, None)),
    };
    let visit = match (how, found.map_err(|error| failed(&error))?) {
        (_, Some(visit)) => visit,
        (How::Token, None) => return Err(no_token()),
        (How::Session, None) => return Ok((None, Some(how))),
    };
    // Who they are is asked of the book each time: roles are the book's.
    let Some((who, name)) = known(state, &visit.person).await? else {
        return Ok((None, Some(how)));
    };
    let visitor = Visitor {
        who,
        name,
        how,
        id: visit.id,
        since_s: visit.since_s,
        proved_s: visit.proved_s,
        must_change: visit.must_change,
    };
    Ok((Some(visitor), Some(how)))
}

fn failed(error: &AccountError) -> Problem {
    Problem::internal(error)
}

/// RFC 6750, 2.1: the scheme in either case, then the token.
fn bearer(headers: &HeaderMap) -> Result<Option<&str>, Problem> {
    let Some(given) = headers.get(header::AUTHORIZATION) else {
        return Ok(None);
    };
    let given = given.to_str().unwrap_or_default();
    match given.split_once(' ') {
        Some((scheme, token)) if scheme.eq_ignore_ascii_case("bearer") => Ok(Some(token.trim())),
        _ => Err(no_token()),
    }
}

fn no_token() -> Problem {
    Problem::new(
        StatusCode::UNAUTHORIZED,
        "token",
        "No such token",
        "the token is unknown, is over, was taken back, or belongs to a locked account; expected \"Authorization: Bearer\" and a token from one's own page",
    )
}

/// The person of the book with this id, and their name.
async fn known(state: &AppState, id: &str) -> Result<Option<(Somebody, String)>, Problem> {
    let Ok(id) = id.parse::<PersonId>() else {
        return Ok(None);
    };
    match state.book().store().latest(id.into()).await {
        Ok(record) => Ok(match record.entry {
            Entry::Person(person) => {
                let who = Somebody {
                    id,
                    role: person.role,
                };
                Some((who, person.name))
            }
            _ => None,
        }),
        Err(BookError::Unknown { .. }) => Ok(None),
        Err(other) => Err(other.into()),
    }
}

/// What the rest of the program takes for whoever acts is whoever was let in, and nobody else.
fn is_who_they_say(headers: &mut HeaderMap, visitor: Option<&Visitor>) -> Result<(), Problem> {
    let person = HeaderName::from_static(PERSON);
    let id = visitor.map(|visitor| visitor.who.id.to_string());
    let mut said = headers.get_all(&person).iter();
    if said.any(|said| Some(said.as_bytes()) != id.as_deref().map(str::as_bytes)) {
        return Err(Problem::new(
            StatusCode::FORBIDDEN,
            "person-other",
            "Somebody else is logged in",
            "the header x-person names somebody else than is logged in; leave it out, or log in as that person",
        ));
    }
    headers.remove(&person);
    if let Some(id) = id {
        let id = HeaderValue::from_str(&id).map_err(|error| Problem::internal(&error))?;
        headers.insert(person, id);
    }
    Ok(())
}
