//! Cameras in browsers: pictures from this machine's own pages, and passes for phones.

use crate::admission::{AtTheDoor, as_long_as};
use crate::cameras::{PassMade, Showing, camera_socket, not_a_socket, not_open};
use crate::extract::{Acting, no_student};
use crate::guard::own_page;
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use axum::extract::ws::WebSocketUpgrade;
use axum::extract::ws::rejection::WebSocketUpgradeRejection;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use axum::{Extension, Json};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(camera))
        .routes(routes!(make_pass, take_back_passes))
}

/// Show pictures
///
/// A WebSocket; docs/server.md describes its messages.
#[utoipa::path(get, path = "/api/live/{bench}/camera", tag = "camera", params(("bench" = String, Path, description = "Name of an open bench.")), responses((status = 101, description = "A WebSocket."), Problems))]
async fn camera(
    State(state): State<AppState>,
    Path(bench): Path<String>,
    headers: HeaderMap,
    door: Option<Extension<AtTheDoor>>,
    upgrade: Result<WebSocketUpgrade, WebSocketUpgradeRejection>,
) -> Result<Response, Problem> {
    // A WebSocket is begun by GET and carries pictures in: other pages must not.
    let seen = match state.guarded() {
        // The door looked already, and knows who it is.
        Some(guarded) => door
            .and_then(|Extension(door)| door.visitor)
            .map(|visitor| (guarded.clone(), visitor)),
        None => {
            own_page(&headers)?;
            None
        }
    };
    let link = state
        .camera_links()
        .link(&bench)
        .ok_or_else(|| not_open(&bench))?;
    let upgrade = upgrade.map_err(not_a_socket)?;
    let who = match seen {
        Some((guarded, visitor)) => Showing::LetIn {
            person: visitor.who.id,
            until: Box::pin(as_long_as(guarded, visitor.id)),
        },
        None => Showing::Here,
    };
    Ok(camera_socket(upgrade, state, link, who))
}

/// Let a phone be the camera
///
/// Opens a listener with TLS to the network unless there is one, which answers the camera page alone, and
/// makes a code for it that can be used once within ten minutes. Supervisors and analysts.
#[utoipa::path(post, path = "/api/live/{bench}/camera-pass", tag = "camera", security(("person" = [])), params(("bench" = String, Path, description = "Name of an open bench.")), responses((status = 201, body = PassMade), Problems))]
async fn make_pass(
    State(state): State<AppState>,
    Path(bench): Path<String>,
    Acting(who): Acting,
) -> Result<(StatusCode, Json<PassMade>), Problem> {
    no_student(who, "the program is opened to the network")?;
    if state.camera_links().link(&bench).is_none() {
        return Err(not_open(&bench));
    }
    let made = PassMade::make(&state, bench).await?;
    Ok((StatusCode::CREATED, Json(made)))
}

/// Take all passes of a bench back
///
/// Phones that show lose their connection, and the listener is closed when no pass is left.
#[utoipa::path(delete, path = "/api/live/{bench}/camera-pass", tag = "camera", security(("person" = [])), params(("bench" = String, Path, description = "Name of a bench.")), responses((status = 204), Problems))]
async fn take_back_passes(
    State(state): State<AppState>,
    Path(bench): Path<String>,
    Acting(who): Acting,
) -> Result<StatusCode, Problem> {
    no_student(who, "the program is opened to the network")?;
    state.take_back_passes(&bench).await;
    Ok(StatusCode::NO_CONTENT)
}
