//! Working on a book as its pages do, without a socket in between.

use crate::failure::Failure;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::Request;
use meltrange_labbook::{Book, BookError, PersonId};
use meltrange_server::AppState;
use serde_json::Value;
use std::path::Path;
use std::time::Duration;
use tower::ServiceExt as _;

/// Largest answer taken in [bytes].
const LARGEST: usize = 1 << 24;

/// A book and who works on it.
#[derive(Debug)]
pub(super) struct Desk {
    state: AppState,
    app: Router,
    who: String,
}

impl Desk {
    pub fn open(book: Book, who: PersonId) -> Result<Self, BookError> {
        let state = AppState::new(book)?;
        Ok(Self {
            app: meltrange_server::app(state.clone()),
            state,
            who: who.to_string(),
        })
    }

    pub async fn get(&self, path: &str) -> Result<Value, Failure> {
        self.send("GET", path, &self.who, Body::empty()).await
    }

    pub async fn post(&self, path: &str, body: Value) -> Result<Value, Failure> {
        self.post_as(&self.who, path, body).await
    }

    pub async fn post_as(&self, who: &str, path: &str, body: Value) -> Result<Value, Failure> {
        self.send("POST", path, who, Body::from(body.to_string()))
            .await
    }

    /// Send a file under a name; its id.
    pub async fn upload(&self, file: &Path, name: &str) -> Result<Value, Failure> {
        let bytes = std::fs::read(file)
            .map_err(|error| Failure::of(&BookError::file(file, "read", error)))?;
        let path = format!("/api/uploads?name={name}");
        let sent = self
            .send("POST", &path, &self.who, Body::from(bytes))
            .await?;
        Ok(sent["id"].clone())
    }

    /// Wait until some work is over; an error when it failed.
    pub async fn finished(&self, work: &str) -> Result<Value, Failure> {
        loop {
            let found = self.get(&format!("/api/work/{work}")).await?;
            match found["state"].as_str() {
                Some("done") => return Ok(found),
                Some("failed") => return Err(said(&found["problem"])),
                _ => tokio::time::sleep(Duration::from_millis(20)).await,
            }
        }
    }

    async fn send(
        &self,
        method: &str,
        path: &str,
        who: &str,
        body: Body,
    ) -> Result<Value, Failure> {
        let request = Request::builder()
            .method(method)
            .uri(path)
            .header("host", "127.0.0.1")
            .header("x-person", who)
            .header("content-type", "application/json")
            .body(body)
            .map_err(|error| Failure::of(&error))?;
        let answer = match self.app.clone().oneshot(request).await {
            Ok(answer) => answer,
            Err(never) => match never {},
        };
        let good = answer.status().is_success();
        let bytes = to_bytes(answer.into_body(), LARGEST)
            .await
            .map_err(|error| Failure::of(&error))?;
        let value = serde_json::from_slice(&bytes).map_err(|error| Failure::of(&error))?;
        if good { Ok(value) } else { Err(said(&value)) }
    }

    /// Put everything on the disk.
    pub async fn close(self) {
        drop(self.app);
        self.state.close();
        self.state.close_book().await;
    }
}

/// A problem in its own words.
fn said(problem: &Value) -> Failure {
    Failure::new(problem["detail"].as_str().unwrap_or("the request failed"))
}
