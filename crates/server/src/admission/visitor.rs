//! Who a request comes from.

use super::Guarded;
use crate::extract::Somebody;
use crate::problem::Problem;
use axum::extract::{ConnectInfo, FromRequestParts};
use axum::http::request::Parts;
use axum::http::{Extensions, StatusCode};
use std::net::SocketAddr;

/// How they showed who they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum How {
    /// A browser's session.
    Session,
    /// A token of theirs.
    Token,
}

/// Somebody who was let in, and how.
#[derive(Debug, Clone)]
pub(crate) struct Visitor {
    /// Who.
    pub who: Somebody,
    /// What the book calls them.
    pub name: String,
    /// How they showed it.
    pub how: How,
    /// The session's or the token's id.
    pub id: String,
    /// Since when [s since 1970].
    pub since_s: i64,
    /// When they last showed who they are, by passphrase or elsewhere [s since 1970]; 0 never.
    pub proved_s: i64,
    /// Whether they have to change their passphrase first.
    pub must_change: bool,
}

/// What the door noted on a request to a guarded book.
#[derive(Debug, Clone)]
pub(crate) struct AtTheDoor {
    /// Whoever was let in; nobody where nobody needs to be.
    pub visitor: Option<Visitor>,
    /// Whether the browser came over TLS.
    pub is_secure: bool,
}

/// The address that a request came from; empty where it is not known.
pub(crate) fn from_of(extensions: &Extensions) -> String {
    extensions
        .get::<ConnectInfo<SocketAddr>>()
        .map_or_else(String::new, |ConnectInfo(address)| {
            address.ip().to_canonical().to_string()
        })
}

/// Somebody at the door of a guarded book, about their own account.
#[derive(Debug)]
pub(crate) struct AsMyself {
    /// The accounts.
    pub guarded: Guarded,
    /// Who.
    pub visitor: Visitor,
    /// Whether the browser came over TLS.
    pub is_secure: bool,
    /// From where.
    pub from: String,
}

impl FromRequestParts<crate::state::AppState> for AsMyself {
    type Rejection = Problem;

    async fn from_request_parts(
        parts: &mut Parts,
        state: &crate::state::AppState,
    ) -> Result<Self, Problem> {
        let guarded = state.guarded().ok_or_else(no_accounts)?.clone();
        let door = parts.extensions.get::<AtTheDoor>().cloned();
        let Some(AtTheDoor {
            visitor: Some(visitor),
            is_secure,
        }) = door
        else {
            return Err(super::admit::nobody());
        };
        Ok(Self {
            guarded,
            visitor,
            is_secure,
            from: from_of(&parts.extensions),
        })
    }
}

/// What to say of accounts where there are none.
pub(crate) fn no_accounts() -> Problem {
    Problem::new(
        StatusCode::CONFLICT,
        "no-accounts",
        "Nobody logs in here",
        "the book is served on this machine alone, and whoever sits here says who they are; \"meltrange serve BOOK --listen\" serves it to people with accounts",
    )
}
