//! The cookie that holds a session's secret.

use super::Guarded;
use axum::http::{HeaderMap, HeaderValue, header};
use meltrange_accounts::{SESSION_LONGEST_S, SIGN_IN_S};

/// Makes browsers insist on TLS, this host and the path `/` (RFC 6265bis, 4.1.3.2). Not to be had without
/// TLS, where a session never leaves the machine.
const PREFIX: &str = "__Host-";

/// What they are called, before the book's mark.
const SESSION: &str = "session";
const SIGN_IN: &str = "sign-in";

impl Guarded {
    fn name(&self, what: &str, is_secure: bool) -> String {
        let prefix = if is_secure { PREFIX } else { "" };
        format!("{prefix}{what}-{}", self.0.mark)
    }

    /// The secret that a request's cookies hold.
    pub(super) fn secret<'a>(&self, headers: &'a HeaderMap, is_secure: bool) -> Option<&'a str> {
        held(headers, &self.name(SESSION, is_secure))
    }
}

fn held<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|cookies| cookies.to_str().ok())
        .flat_map(|cookies| cookies.split(';'))
        .find_map(|cookie| cookie.trim().strip_prefix(name)?.strip_prefix('='))
}

/// The browser keeps this secret, hides it from scripts, and shows it to no other site and on no way in from
/// one.
pub(crate) fn kept(guarded: &Guarded, is_secure: bool, secret: &str) -> Option<HeaderValue> {
    let name = guarded.name(SESSION, is_secure);
    value(&name, is_secure, secret, SESSION_LONGEST_S, "Strict")
}

/// The browser forgets it.
pub(crate) fn forgotten(guarded: &Guarded, is_secure: bool) -> Option<HeaderValue> {
    let name = guarded.name(SESSION, is_secure);
    value(&name, is_secure, "", 0, "Strict")
}

/// While somebody signs in elsewhere the browser keeps this, and shows it when it comes back from there: on a way
/// in from another site, but with nothing that such a site sends by itself.
pub(crate) fn sign_in_kept(
    guarded: &Guarded,
    is_secure: bool,
    secret: &str,
) -> Option<HeaderValue> {
    let name = guarded.name(SIGN_IN, is_secure);
    value(&name, is_secure, secret, SIGN_IN_S, "Lax")
}

/// What it keeps meanwhile.
pub(crate) fn sign_in_cookie<'a>(
    guarded: &Guarded,
    headers: &'a HeaderMap,
    is_secure: bool,
) -> Option<&'a str> {
    held(headers, &guarded.name(SIGN_IN, is_secure))
}

/// It keeps it no more.
pub(crate) fn sign_in_over(guarded: &Guarded, is_secure: bool) -> Option<HeaderValue> {
    let name = guarded.name(SIGN_IN, is_secure);
    value(&name, is_secure, "", 0, "Lax")
}

fn value(
    name: &str,
    is_secure: bool,
    secret: &str,
    span_s: i64,
    to_whom: &str,
) -> Option<HeaderValue> {
    let secure = if is_secure { "; Secure" } else { "" };
    let text =
        format!("{name}={secret}; Path=/; Max-Age={span_s}{secure}; HttpOnly; SameSite={to_whom}");
    HeaderValue::from_str(&text).ok()
}
