//! Every request in the log and in the numbers: what, by whom, how it ended, how long it took.

use crate::admission::from_of;
use crate::state::AppState;
use axum::extract::{MatchedPath, Request, State};
use axum::middleware::Next;
use axum::response::Response;
use meltrange_labbook::PersonId;
use std::time::Instant;

/// Who a request was let in as, noted on its answer.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ByWhom(pub PersonId);

/// What is no route of the interface: pages, their files, and what there is not.
const PAGES: &str = "pages";

/// Answer, and tell. The address is told without its query, which may hold what people look for.
pub(crate) async fn tell(State(state): State<AppState>, request: Request, next: Next) -> Response {
    let began = Instant::now();
    let method = request.method().clone();
    let route = request
        .extensions()
        .get::<MatchedPath>()
        .map_or(PAGES, MatchedPath::as_str)
        .to_owned();
    let path = request.uri().path().to_owned();
    let from = from_of(request.extensions());
    let answer = next.run(request).await;
    let (took, status) = (began.elapsed(), answer.status().as_u16());
    state
        .meters()
        .answered(known_method(method.as_str()), &route, status, took);
    let who = answer
        .extensions()
        .get::<ByWhom>()
        .map(|ByWhom(who)| who.to_string());
    tracing::info!(
        target: "meltrange::request",
        %method, path, route, status, who, from,
        took_ms = took.as_secs_f64() * 1e3,
        "answered"
    );
    answer
}

/// Others than those in RFC 9110 and RFC 5789 are one: whoever asks could make any number of them.
fn known_method(method: &str) -> &str {
    match method {
        "GET" | "HEAD" | "POST" | "PUT" | "DELETE" | "PATCH" | "OPTIONS" | "CONNECT" | "TRACE" => {
            method
        }
        _ => "_OTHER",
    }
}
