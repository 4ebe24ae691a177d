//! All rooms under one roof.

use crate::limits::{JSON_BYTES, SAID_WITHIN};
use crate::rooms::{self, pages};
use crate::state::AppState;
use crate::{admission, guard, observing, problem::Problem};
use axum::extract::DefaultBodyLimit;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::IntoResponse as _;
use axum::routing::get;
use axum::{Json, Router, middleware};
use tower_http::compression::CompressionLayer;
use tower_http::set_header::SetResponseHeaderLayer;
use tower_http::timeout::RequestBodyTimeoutLayer;
use utoipa::openapi::OpenApi;

/// Headers of every answer: what a browser may do with it.
const HEADERS: [(&str, &str); 5] = [
    ("content-security-policy", pages::CONTENT_POLICY),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
];

/// The interface's description.
pub fn description() -> OpenApi {
    let (_, description) = rooms::all().split_for_parts();
    description
}

/// Everything that is served: interface, description, events and pages.
pub fn app(state: AppState) -> Router {
    let (routes, description) = rooms::all().split_for_parts();
    let router = routes
        .route("/openapi.json", get(move || async { Json(description) }))
        .method_not_allowed_fallback(|| async { not_in_this_way().into_response() })
        .fallback(pages::page)
        .layer(DefaultBodyLimit::max(JSON_BYTES));
    let router = match state.guarded() {
        None => router.layer(middleware::from_fn(guard::only_from_here)),
        Some(_) => router.layer(middleware::from_fn_with_state(
            state.clone(),
            admission::admit,
        )),
    };
    let router = router
        .layer(RequestBodyTimeoutLayer::new(SAID_WITHIN))
        .layer(middleware::from_fn_with_state(
            state.clone(),
            observing::tell,
        ));
    with_headers(router).with_state(state)
}

/// What to say of a method that an address does not take.
pub(crate) fn not_in_this_way() -> Problem {
    Problem::new(
        StatusCode::METHOD_NOT_ALLOWED,
        "method",
        "Not in this way",
        "this address does not take this method; /openapi.json describes what it takes",
    )
}

/// With the headers that every answer carries, and compression.
pub(crate) fn with_headers(router: Router<AppState>) -> Router<AppState> {
    let mut router = router
        .layer(SetResponseHeaderLayer::if_not_present(
            header::CACHE_CONTROL,
            HeaderValue::from_static("no-store"),
        ))
        .layer(CompressionLayer::new());
    for (name, value) in HEADERS {
        router = router.layer(SetResponseHeaderLayer::overriding(
            HeaderName::from_static(name),
            HeaderValue::from_static(value),
        ));
    }
    router
}
