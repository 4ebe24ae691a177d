//! The cookie that holds a session's secret.

use super::Guarded;
use axum::http::{HeaderMap, HeaderValue, header};
use meltrange_accounts::SESSION_LONGEST_S;

/// Makes browsers insist on TLS, this host and the path `/` (RFC 6265bis, 4.1.3.2). Not to be had without
/// TLS, where a session never leaves the machine.
const PREFIX: &str = "__Host-";

impl Guarded {
    fn name(&self, is_secure: bool) -> String {
        let prefix = if is_secure { PREFIX } else { "" };
        format!("{prefix}session-{}", self.0.mark)
    }

    /// The secret that a request's cookies hold.
    pub(super) fn secret<'a>(&self, headers: &'a HeaderMap, is_secure: bool) -> Option<&'a str> {
        let name = self.name(is_secure);
        headers
            .get_all(header::COOKIE)
            .iter()
            .filter_map(|cookies| cookies.to_str().ok())
            .flat_map(|cookies| cookies.split(';'))
            .find_map(|cookie| cookie.trim().strip_prefix(name.as_str())?.strip_prefix('='))
    }
}

/// The browser keeps this secret, hides it from scripts, and shows it to no other site and on no way in from
/// one.
pub(crate) fn kept(guarded: &Guarded, is_secure: bool, secret: &str) -> Option<HeaderValue> {
    value(guarded, is_secure, secret, SESSION_LONGEST_S)
}

/// The browser forgets it.
pub(crate) fn forgotten(guarded: &Guarded, is_secure: bool) -> Option<HeaderValue> {
    value(guarded, is_secure, "", 0)
}

fn value(guarded: &Guarded, is_secure: bool, secret: &str, span_s: i64) -> Option<HeaderValue> {
    let secure = if is_secure { "; Secure" } else { "" };
    let name = guarded.name(is_secure);
    let text =
        format!("{name}={secret}; Path=/; Max-Age={span_s}{secure}; HttpOnly; SameSite=Strict");
    HeaderValue::from_str(&text).ok()
}
