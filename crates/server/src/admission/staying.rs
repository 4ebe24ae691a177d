//! Answers that go on for long: they end when whoever asked is let in no more.

use super::{Guarded, now_s};
use crate::limits::STAY_CHECKED;
use axum::body::Body;
use axum::http::header;
use axum::response::Response;
use futures_util::StreamExt as _;

/// Returns once the session or token with this id lets nobody in any more.
pub(crate) async fn as_long_as(guarded: Guarded, id: String) {
    loop {
        tokio::time::sleep(STAY_CHECKED).await;
        // A database that is away for a moment ends nothing.
        if let Ok(false) = guarded.accounts().still_lets_in(&id, now_s()).await {
            return;
        }
    }
}

/// An answer that is a stream of events ends with the session it was given to.
pub(super) fn while_let_in(answer: Response, guarded: &Guarded, id: &str) -> Response {
    let is_stream = answer
        .headers()
        .get(header::CONTENT_TYPE)
        .is_some_and(|kind| kind.as_bytes().starts_with(b"text/event-stream"));
    if !is_stream {
        return answer;
    }
    let over = as_long_as(guarded.clone(), id.to_owned());
    answer.map(|body| Body::from_stream(body.into_data_stream().take_until(Box::pin(over))))
}
