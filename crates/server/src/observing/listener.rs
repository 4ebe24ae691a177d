//! The listener for whoever watches over servers: `/metrics`, `/health/live`, `/health/ready`.

use super::health::Health;
use crate::state::AppState;
use axum::Router;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use std::io;
use std::net::SocketAddr;
use tokio::net::TcpListener;

/// The media type of OpenMetrics 1.0.
const OPEN_METRICS: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";

/// Bound, not answering yet.
#[derive(Debug)]
pub(crate) struct Observer(TcpListener);

impl Observer {
    /// Take this address.
    pub async fn at(at: SocketAddr) -> io::Result<Self> {
        TcpListener::bind(at).await.map(Self)
    }

    /// Where it is.
    pub fn address(&self) -> io::Result<SocketAddr> {
        self.0.local_addr()
    }

    /// Answer until the state closes.
    pub fn answer(self, state: &AppState) {
        let router = observed(state.clone());
        let mut closing = state.closing();
        tokio::spawn(async move {
            tokio::select! {
                served = axum::serve(self.0, router) => {
                    if let Err(error) = served {
                        tracing::warn!(%error, "health and metrics are told no more");
                    }
                }
                _ = closing.wait_for(|closing| *closing) => {}
            }
        });
    }
}

fn observed(state: AppState) -> Router {
    Router::new()
        .route("/metrics", get(metrics))
        .route("/health/live", get(|| async { "live\n" }))
        .route("/health/ready", get(ready))
        .with_state(state)
}

async fn metrics(State(state): State<AppState>) -> Response {
    match state.meters().told(&state).await {
        Ok(text) => ([(header::CONTENT_TYPE, OPEN_METRICS)], text).into_response(),
        Err(error) => {
            tracing::warn!(%error, "the metrics could not be written");
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }
    }
}

async fn ready(State(state): State<AppState>) -> Response {
    let health = Health::of(&state).await;
    let status = match health.is_ready() {
        true => StatusCode::OK,
        false => StatusCode::SERVICE_UNAVAILABLE,
    };
    (status, axum::Json(health)).into_response()
}
