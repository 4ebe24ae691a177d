//! Live changes, as server-sent events.

use crate::extract::Asked;
use crate::limits::EVENT_KEEP_ALIVE;
use crate::live::Listener;
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::Stream;
use serde::Deserialize;
use std::convert::Infallible;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new().routes(routes!(events))
}

/// From where on.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct EventsQuery {
    /// The last change that is known; the header Last-Event-ID says the same and counts first.
    after: Option<u64>,
}

/// Live changes
///
/// `begin` (its id is the number of the last record) comes first where nothing was known; then `change`
/// for every record, its id the record's number, and `work` for imports and readings. A connection that
/// names the last id it saw gets what it missed; when that is too much, `afresh` says to ask for
/// everything again.
#[utoipa::path(get, path = "/api/events", tag = "events", params(EventsQuery, ("last-event-id" = Option<String>, Header)), responses((status = 200, content_type = "text/event-stream", body = String), Problems))]
async fn events(
    State(state): State<AppState>,
    headers: HeaderMap,
    Asked(asked): Asked<EventsQuery>,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Problem> {
    let last = headers
        .get("last-event-id")
        .and_then(|id| id.to_str().ok()?.parse().ok())
        .or(asked.after);
    let listener = Listener::begin(state, last).await?;
    let stream = futures_util::stream::unfold(listener, |mut listener| async {
        let event = listener.next().await?;
        Some((Ok(event), listener))
    });
    Ok(Sse::new(stream).keep_alive(KeepAlive::new().interval(EVENT_KEEP_ALIVE)))
}
