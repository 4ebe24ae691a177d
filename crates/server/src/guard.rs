//! Who may talk to a server on this machine: its own pages and programs here, no other web page.

use crate::problem::Problem;
use axum::extract::Request;
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;

/// Names of this machine.
const LOOPBACK: [&str; 3] = ["127.0.0.1", "localhost", "[::1]"];

/// Refuse requests that came by another name (a page elsewhere whose name was bent to this
/// machine) and writes that another page sent.
pub(crate) async fn only_from_here(request: Request, next: Next) -> Result<Response, Problem> {
    let host = host_of(&request)?;
    let reads = matches!(*request.method(), Method::GET | Method::HEAD);
    if !reads {
        same_origin(request.headers(), &host)?;
    }
    Ok(next.run(request).await)
}

fn refused(detail: String) -> Problem {
    Problem::new(
        StatusCode::FORBIDDEN,
        "elsewhere",
        "Not from this machine's own pages",
        detail,
    )
}

/// The host the request came by, once it is one of this machine.
fn host_of(request: &Request) -> Result<String, Problem> {
    let mut given = request.headers().get_all(header::HOST).iter();
    let host = match (given.next(), given.next()) {
        (Some(host), None) => host.to_str().unwrap_or_default().to_ascii_lowercase(),
        _ => String::new(),
    };
    let known = LOOPBACK.into_iter().any(|name| {
        host.strip_prefix(name).is_some_and(|rest| {
            rest.is_empty()
                || rest
                    .strip_prefix(':')
                    .is_some_and(|port| port.parse::<u16>().is_ok())
        })
    });
    if known {
        return Ok(host);
    }
    Err(refused(
        "the request did not name this machine as its host; open the address that the program printed".into(),
    ))
}

/// Refuse a request that another web page sent, also where it only reads; the host has been checked.
pub(crate) fn own_page(headers: &HeaderMap) -> Result<(), Problem> {
    let host = headers
        .get(header::HOST)
        .and_then(|host| host.to_str().ok());
    same_origin(headers, &host.unwrap_or_default().to_ascii_lowercase())
}

fn same_origin(headers: &HeaderMap, host: &str) -> Result<(), Problem> {
    let refuse = || {
        Err(refused(
            "another web page sent this; changes are taken from the program's own pages only"
                .into(),
        ))
    };
    // Browsers say both of every page; other programs say neither.
    if let Some(origin) = headers.get(header::ORIGIN) {
        let own = format!("http://{host}");
        if !origin.as_bytes().eq_ignore_ascii_case(own.as_bytes()) {
            return refuse();
        }
    }
    match headers.get("sec-fetch-site").map(|site| site.as_bytes()) {
        None | Some(b"same-origin" | b"none") => Ok(()),
        Some(_) => refuse(),
    }
}
