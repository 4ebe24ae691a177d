//! A pass as the screen at the bench shows it.

use super::qr;
use crate::problem::Problem;
use crate::state::AppState;
use axum::http::StatusCode;
use serde::Serialize;
use std::time::Instant;
use utoipa::ToSchema;

/// How a phone becomes the camera of a bench.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub(crate) struct PassMade {
    /// The bench.
    pub bench: String,
    /// Ways to the page, the likeliest first; one of them is to be opened on the phone.
    pub ways: Vec<PassWay>,
    /// SHA-256 of the certificate, to be compared with what the phone shows.
    pub fingerprint: String,
    /// How long the code can be used [s]; once.
    pub lasts_s: u64,
}

/// The page at one address of this machine.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub(crate) struct PassWay {
    /// With the code.
    pub url: String,
    /// The same as a picture (SVG) that phones read.
    pub qr_svg: String,
}

impl PassMade {
    /// Open the listener unless it is, and make a code.
    pub async fn make(state: &AppState, bench: String) -> Result<Self, Problem> {
        let shared = state
            .share()
            .open(state, false)
            .await
            .map_err(|error| Problem::internal(&error))?;
        let (code, span) = state
            .passes()
            .issue(&bench, Instant::now())
            .map_err(|error| {
                Problem::new(
                    StatusCode::CONFLICT,
                    "passes",
                    "Too many passes",
                    error.to_string(),
                )
            })?;
        let ways = shared
            .urls(&bench, &code)
            .into_iter()
            .map(|url| PassWay {
                qr_svg: qr::svg(&url),
                url,
            })
            .collect();
        Ok(Self {
            bench,
            ways,
            fingerprint: shared.fingerprint,
            lasts_s: span.as_secs(),
        })
    }
}
