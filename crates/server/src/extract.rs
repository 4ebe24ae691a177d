//! Bodies, queries, ids and persons out of requests, with refusals as problems.

use crate::problem::Problem;
use crate::state::AppState;
use axum::body::Bytes;
use axum::extract::rejection::{JsonRejection, QueryRejection};
use axum::extract::{FromRequest, FromRequestParts, Path, Query, Request};
use axum::http::StatusCode;
use axum::http::request::Parts;
use meltrange_labbook::{BookError, Entry, PersonId, Role};
use serde::de::DeserializeOwned;
use std::str::FromStr;

/// The header that says who acts.
pub(crate) const PERSON: &str = "x-person";

/// A JSON body.
#[derive(Debug)]
pub(crate) struct Body<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Body<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        match axum::Json::<T>::from_request(request, state).await {
            Ok(axum::Json(body)) => Ok(Self(body)),
            Err(JsonRejection::JsonDataError(error)) => Err(Problem::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "body",
                "The request is not as described",
                error.body_text(),
            )),
            Err(error) => Err(unread(error.status(), error.body_text())),
        }
    }
}

/// A body as it is.
#[derive(Debug)]
pub(crate) struct Raw(pub Bytes);

impl<S: Send + Sync> FromRequest<S> for Raw {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        Bytes::from_request(request, state)
            .await
            .map(Self)
            .map_err(|error| unread(error.status(), error.body_text()))
    }
}

/// What to say of a body that could not be taken in.
fn unread(status: StatusCode, detail: String) -> Problem {
    let kind = match status {
        StatusCode::PAYLOAD_TOO_LARGE => "too-large",
        _ => "body",
    };
    Problem::new(status, kind, "The request cannot be read", detail)
}

/// A query.
#[derive(Debug)]
pub(crate) struct Asked<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequestParts<S> for Asked<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        Query::<T>::from_request_parts(parts, state)
            .await
            .map(|Query(query)| Self(query))
            .map_err(|error: QueryRejection| {
                Problem::new(
                    StatusCode::BAD_REQUEST,
                    "query",
                    "The query is not as described",
                    error.body_text(),
                )
            })
    }
}

/// One part of the path that names something. What is no id names nothing.
#[derive(Debug)]
pub(crate) struct Named<T>(pub T);

impl<T: FromStr, S: Send + Sync> FromRequestParts<S> for Named<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        let Path(text) = Path::<String>::from_request_parts(parts, state)
            .await
            .map_err(|error| Problem::unknown(error.body_text()))?;
        text.parse().map(Self).map_err(|_| nothing_named(&text))
    }
}

/// What to say of a name that nothing can bear.
pub(crate) fn nothing_named(text: &str) -> Problem {
    let shown: String = text.chars().take(60).collect();
    Problem::unknown(format!(
        "\"{shown}\" names nothing here; expected an id as the lists give it"
    ))
}

/// Somebody in the book.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Somebody {
    /// Their id.
    pub id: PersonId,
    /// What they may do.
    pub role: Role,
}

/// Who looks; nobody in particular where the header is missing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Looking(pub Option<Somebody>);

impl FromRequestParts<AppState> for Looking {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &AppState) -> Result<Self, Problem> {
        let Some(given) = parts.headers.get(PERSON) else {
            return Ok(Self(None));
        };
        let who = somebody(state, given.to_str().unwrap_or_default()).await?;
        Ok(Self(Some(who)))
    }
}

/// The person of the book that has this id.
pub(crate) async fn somebody(state: &AppState, id: &str) -> Result<Somebody, Problem> {
    let unknown = || {
        Problem::new(
            StatusCode::FORBIDDEN,
            "person-unknown",
            "Nobody of this book",
            "whoever the request names is nobody in this book; choose who you are again",
        )
    };
    let id: PersonId = id.parse().map_err(|_| unknown())?;
    match state.book().store().latest(id.into()).await {
        Ok(record) => match record.entry {
            Entry::Person(person) => Ok(Somebody {
                id,
                role: person.role,
            }),
            _ => Err(unknown()),
        },
        Err(BookError::Unknown { .. }) => Err(unknown()),
        Err(other) => Err(other.into()),
    }
}

/// Refuse what is not in a student's role; `what` says of it who does it.
pub(crate) fn no_student(who: Somebody, what: &'static str) -> Result<(), Problem> {
    match who.role {
        Role::Supervisor | Role::Analyst => Ok(()),
        Role::Student | Role::Viewer => Err(Problem::new(
            StatusCode::FORBIDDEN,
            "role",
            "Not in this role",
            format!("{what} by a supervisor or an analyst; ask one of them"),
        )),
    }
}

/// Who acts: somebody, and not one who only looks.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Acting(pub Somebody);

impl FromRequestParts<AppState> for Acting {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &AppState) -> Result<Self, Problem> {
        match Looking::from_request_parts(parts, state).await?.0 {
            None => Err(Problem::new(
                StatusCode::BAD_REQUEST,
                "person-missing",
                "Nobody acts",
                "the header x-person is missing; every record carries who made it: choose who you are",
            )),
            Some(Somebody {
                role: Role::Viewer, ..
            }) => Err(Problem::new(
                StatusCode::FORBIDDEN,
                "viewer",
                "Viewers only look",
                "this person is a viewer in this book and records nothing; choose another person, or ask the supervisor",
            )),
            Some(somebody) => Ok(Self(somebody)),
        }
    }
}
