//! What the listener for phones answers: the camera page with its files, and the camera of one bench.
//! Nothing of the book can be reached through it.

use super::socket::{Showing, camera_socket};
use crate::extract::Body;
use crate::limits::PASS_BYTES;
use crate::problem::Problem;
use crate::rooms::pages;
use crate::router::with_headers;
use crate::state::AppState;
use axum::extract::ws::WebSocketUpgrade;
use axum::extract::ws::rejection::WebSocketUpgradeRejection;
use axum::extract::{DefaultBodyLimit, Path, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use serde::{Deserialize, Serialize};
use std::time::Instant;

/// The cookie that holds what a code was exchanged for. The prefix makes browsers insist on TLS, this
/// host and the path `/` (RFC 6265bis, 4.1.3.2).
const COOKIE: &str = "__Host-camera-pass";

/// Everything the listener answers.
pub(super) fn shared_app(state: AppState) -> Router {
    let router = Router::new()
        .route("/", get(page))
        .route("/assets/{name}", get(file))
        .route("/api/camera-pass", post(redeem).get(pass))
        .route("/api/live/{bench}/camera", get(camera))
        .fallback(|| async { nothing() })
        .method_not_allowed_fallback(|| async { nothing() })
        .layer(DefaultBodyLimit::max(PASS_BYTES));
    with_headers(router).with_state(state)
}

fn nothing() -> Problem {
    Problem::unknown("only the camera page is reached here")
}

fn no_pass() -> Problem {
    Problem::new(
        StatusCode::FORBIDDEN,
        "pass",
        "No pass for this camera",
        "the code was used already, is older than ten minutes, or is for another bench; ask for a new one at the bench's own screen",
    )
}

async fn page(request: Request) -> Response {
    pages::camera_page(&request)
}

async fn file(Path(name): Path<String>, request: Request) -> Response {
    pages::camera_file(&name, &request).unwrap_or_else(|| nothing().into_response())
}

/// A code.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Code {
    code: String,
}

/// For which bench this browser may show.
#[derive(Debug, Serialize)]
struct Pass {
    bench: String,
}

/// Exchange a code for a cookie.
async fn redeem(
    State(state): State<AppState>,
    headers: HeaderMap,
    Body(Code { code }): Body<Code>,
) -> Result<Response, Problem> {
    same_origin(&headers)?;
    let admitted = state
        .passes()
        .redeem(&code, Instant::now())
        .map_err(|error| Problem::internal(&error))?
        .ok_or_else(no_pass)?;
    let cookie = format!(
        "{COOKIE}={}; Path=/; Max-Age={}; Secure; HttpOnly; SameSite=Strict",
        admitted.secret,
        admitted.span.as_secs()
    );
    let pass = Pass {
        bench: admitted.bench,
    };
    Ok(([(header::SET_COOKIE, cookie)], Json(pass)).into_response())
}

/// For which bench the cookie is good.
async fn pass(State(state): State<AppState>, headers: HeaderMap) -> Result<Json<Pass>, Problem> {
    let bench = bench_of(&state, &headers).ok_or_else(no_pass)?;
    Ok(Json(Pass { bench }))
}

/// The camera's WebSocket.
async fn camera(
    State(state): State<AppState>,
    Path(bench): Path<String>,
    headers: HeaderMap,
    upgrade: Result<WebSocketUpgrade, WebSocketUpgradeRejection>,
) -> Result<Response, Problem> {
    same_origin(&headers)?;
    if bench_of(&state, &headers).as_deref() != Some(bench.as_str()) {
        return Err(no_pass());
    }
    let upgrade = upgrade.map_err(not_a_socket)?;
    let link = state
        .camera_links()
        .link(&bench)
        .ok_or_else(|| not_open(&bench))?;
    Ok(camera_socket(upgrade, state, link, Showing::ByPass))
}

/// The bench that the cookie of these headers is good for.
fn bench_of(state: &AppState, headers: &HeaderMap) -> Option<String> {
    let secret = headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|cookies| cookies.to_str().ok())
        .flat_map(|cookies| cookies.split(';'))
        .find_map(|cookie| cookie.trim().strip_prefix(COOKIE)?.strip_prefix('='))?;
    state.passes().bench_of(secret, Instant::now())
}

/// Refuse what another web page sent. Browsers name the origin in every WebSocket and every POST.
fn same_origin(headers: &HeaderMap) -> Result<(), Problem> {
    let text = |name| headers.get(name).and_then(|value| value.to_str().ok());
    let own = text(header::HOST).map(|host| format!("https://{host}"));
    match text(header::ORIGIN) {
        None => Ok(()),
        Some(origin) if own.is_some_and(|own| own.eq_ignore_ascii_case(origin)) => Ok(()),
        Some(_) => Err(Problem::new(
            StatusCode::FORBIDDEN,
            "elsewhere",
            "Not from this machine's own pages",
            "another web page sent this; it is taken from the camera page only",
        )),
    }
}

/// What to say when an address that is a WebSocket is asked for otherwise.
pub(crate) fn not_a_socket(rejection: WebSocketUpgradeRejection) -> Problem {
    Problem::new(
        StatusCode::UPGRADE_REQUIRED,
        "socket",
        "This address is a WebSocket",
        format!("{rejection}; docs/server.md describes its messages"),
    )
}

/// What to say of a bench that takes no pictures from pages.
pub(crate) fn not_open(bench: &str) -> Problem {
    let shown: String = bench.chars().take(100).collect();
    Problem::unknown(format!(
        "no open bench \"{shown}\" takes pictures from a browser; open it first, with the camera \"browser\" in its bench file"
    ))
}
