//! What went wrong, as RFC 9457 has it: `application/problem+json` with a stable `type`.

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use meltrange_labbook::BookError;
use serde::Serialize;
use utoipa::ToSchema;

/// Why a request was not done.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Problem {
    /// Which kind of problem; stable, e.g. `/problems/stale`. docs/server.md lists them.
    #[serde(rename = "type")]
    pub kind: String,
    /// The same in a few words.
    pub title: String,
    /// The HTTP status.
    pub status: u16,
    /// What was found, where, what was expected, what to do.
    pub detail: String,
    /// How long to wait before trying again [s].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wait_s: Option<u64>,
    /// Faults by field or by place in a file.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(required = false)]
    pub faults: Vec<Fault>,
}

/// One fault of several.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Fault {
    /// Line in the file, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<u64>,
    /// Column of the file, or field of the request.
    pub field: String,
    /// What was given, shortened.
    pub found: String,
    /// What would be taken.
    pub expected: String,
}

impl Problem {
    /// A problem of the kind `name`.
    pub(crate) fn new(
        status: StatusCode,
        name: &'static str,
        title: &'static str,
        detail: impl Into<String>,
    ) -> Self {
        Self {
            kind: format!("/problems/{name}"),
            title: title.into(),
            status: status.as_u16(),
            detail: detail.into(),
            wait_s: None,
            faults: Vec::new(),
        }
    }

    /// A field that cannot be taken.
    pub(crate) fn field(
        field: impl Into<String>,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) -> Self {
        let fault = Fault {
            line: None,
            field: field.into(),
            found: found.into(),
            expected: expected.into(),
        };
        let detail = format!(
            "{} is {}; expected {}",
            fault.field, fault.found, fault.expected
        );
        Self {
            faults: vec![fault],
            ..Self::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "field",
                "A field cannot be taken",
                detail,
            )
        }
    }

    /// Nothing bears this name.
    pub(crate) fn unknown(detail: impl Into<String>) -> Self {
        Self::new(
            StatusCode::NOT_FOUND,
            "unknown",
            "There is no such thing",
            detail,
        )
    }

    /// A fault of ours; what it is stands in the log, not here.
    pub(crate) fn internal(error: &dyn std::error::Error) -> Self {
        tracing::error!(error = %in_full(error), "a request failed");
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "internal",
            "The program failed",
            "something failed that should not have; nothing was recorded. Try again; the program's log says more",
        )
    }

    /// With a word replaced in what it says: a path on this machine by the name the person knows.
    pub(crate) fn naming(mut self, path: &std::path::Path, name: &str) -> Self {
        self.detail = self.detail.replace(&path.display().to_string(), name);
        self
    }
}

/// An error with everything that led to it.
pub(crate) fn in_full(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(deeper) = cause {
        let words = deeper.to_string();
        // Some errors already say their cause.
        if !text.contains(&words) {
            text.push_str(": ");
            text.push_str(&words);
        }
        cause = deeper.source();
    }
    text
}

impl From<BookError> for Problem {
    fn from(error: BookError) -> Self {
        let detail = in_full(&error);
        let of = |status, name, title| Self::new(status, name, title, detail.clone());
        match &error {
            BookError::Field {
                field,
                found,
                expected,
            } => Self::field(*field, found.clone(), *expected),
            BookError::Taken { .. } => of(StatusCode::CONFLICT, "taken", "The name is taken"),
            BookError::Stale { .. } => of(
                StatusCode::CONFLICT,
                "stale",
                "It was changed in the meantime",
            ),
            BookError::Unknown { .. } | BookError::NoPicture { .. } => Self::unknown(detail),
            BookError::ReasonMissing { .. } => of(
                StatusCode::UNPROCESSABLE_ENTITY,
                "reason-missing",
                "A reason is needed",
            ),
            BookError::Media(_) | BookError::Picture { .. } | BookError::NotRising { .. } => of(
                StatusCode::UNPROCESSABLE_ENTITY,
                "media",
                "The pictures cannot be used",
            ),
            BookError::Log(_) => of(
                StatusCode::UNPROCESSABLE_ENTITY,
                "log",
                "The temperature log cannot be used",
            ),
            BookError::DiskFull { .. } => of(
                StatusCode::INSUFFICIENT_STORAGE,
                "disk-full",
                "There is no room left on the disk",
            ),
            BookError::ReadOnly { .. } => of(
                StatusCode::INTERNAL_SERVER_ERROR,
                "read-only",
                "The book cannot be written",
            ),
            BookError::OutOfReach { .. }
            | BookError::Unanswered { .. }
            | BookError::Depot { .. } => of(
                StatusCode::SERVICE_UNAVAILABLE,
                "out-of-reach",
                "The shared book is out of reach",
            ),
            BookError::NotShared { .. } => {
                of(StatusCode::CONFLICT, "not-shared", "Only in a shared book")
            }
            BookError::Elsewhere { .. } => of(
                StatusCode::SERVICE_UNAVAILABLE,
                "on-another-machine",
                "The pictures are on another machine",
            ),
            BookError::Altered { .. } | BookError::Damaged { .. } => of(
                StatusCode::INTERNAL_SERVER_ERROR,
                "damaged",
                "The book was altered or is damaged",
            ),
            _ => Self::internal(&error),
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        // Texts and numbers only: it can always be written.
        let body = serde_json::to_vec(&self).unwrap_or_default();
        let mut response = (status, body).into_response();
        let headers = response.headers_mut();
        headers.insert(
            header::CONTENT_TYPE,
            HeaderValue::from_static("application/problem+json"),
        );
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
        if status == StatusCode::UNAUTHORIZED {
            // RFC 9110, 15.5.2, and RFC 6750, 3.
            let told = match self.kind.as_str() {
                "/problems/token" => "Bearer error=\"invalid_token\"",
                _ => "Bearer",
            };
            headers.insert(header::WWW_AUTHENTICATE, HeaderValue::from_static(told));
        }
        if let Some(wait_s) = self.wait_s {
            headers.insert(header::RETRY_AFTER, HeaderValue::from(wait_s));
        }
        if status == StatusCode::SERVICE_UNAVAILABLE {
            headers.insert(header::RETRY_AFTER, HeaderValue::from_static("5"));
        }
        response
    }
}

/// The problems of an operation, for the description.
#[derive(utoipa::IntoResponses)]
#[expect(dead_code, reason = "describes answers, is never made")]
pub(crate) enum Problems {
    /// The request cannot be done; `type` says why.
    #[response(status = "4XX", content_type = "application/problem+json")]
    Asked(Problem),
    /// The program or the machine failed.
    #[response(status = "5XX", content_type = "application/problem+json")]
    Failed(Problem),
}
