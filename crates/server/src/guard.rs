//! Which pages and programs may talk to a server: its own pages and programs on this machine, no other web
//! page. [`crate::admission`] stands here instead where people have accounts.

use crate::admission::is_loopback;
use crate::problem::Problem;
use axum::extract::Request;
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;

/// Refuse requests that came by another name (a page elsewhere whose name was bent to this
/// machine) and writes that another page sent.
pub(crate) async fn only_from_here(request: Request, next: Next) -> Result<Response, Problem> {
    let host = host(request.headers());
    if !is_loopback(&host) {
        return Err(not_this_machine());
    }
    let reads = matches!(*request.method(), Method::GET | Method::HEAD);
    if !reads {
        same_origin(request.headers(), "http", &host)?;
    }
    Ok(next.run(request).await)
}

pub(crate) fn refused(detail: String) -> Problem {
    Problem::new(
        StatusCode::FORBIDDEN,
        "elsewhere",
        "Not from this machine's own pages",
        detail,
    )
}

/// The host that a request names, in lower case; nothing where it names none or several.
pub(crate) fn host(headers: &HeaderMap) -> String {
    let mut given = headers.get_all(header::HOST).iter();
    match (given.next(), given.next()) {
        (Some(host), None) => host.to_str().unwrap_or_default().to_ascii_lowercase(),
        _ => String::new(),
    }
}

/// What to say where that is none of this machine's names.
pub(crate) fn not_this_machine() -> Problem {
    refused(
        "the request did not name this machine as its host; open the address that the program printed".into(),
    )
}

/// Refuse a request that another web page sent, also where it only reads; the host has been checked.
pub(crate) fn own_page(headers: &HeaderMap) -> Result<(), Problem> {
    same_origin(headers, "http", &host(headers))
}

/// Refuse a request that another page than this host's sent.
pub(crate) fn same_origin(headers: &HeaderMap, scheme: &str, host: &str) -> Result<(), Problem> {
    let refuse = || {
        Err(refused(
            "another web page sent this; changes are taken from the program's own pages only"
                .into(),
        ))
    };
    // Browsers say both of every page; other programs say neither.
    if let Some(origin) = headers.get(header::ORIGIN) {
        let own = format!("{scheme}://{host}");
        if !origin.as_bytes().eq_ignore_ascii_case(own.as_bytes()) {
            return refuse();
        }
    }
    match headers.get("sec-fetch-site").map(|site| site.as_bytes()) {
        None | Some(b"same-origin" | b"none") => Ok(()),
        Some(_) => refuse(),
    }
}
