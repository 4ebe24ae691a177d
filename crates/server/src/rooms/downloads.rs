//! Files that leave the book: made beside it, sent piece by piece, gone afterwards.

use crate::problem::Problem;
use crate::state::AppState;
use axum::body::Body;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use futures_util::StreamExt as _;
use meltrange_archive::ArchiveError;
use meltrange_labbook::BookError;
use std::path::PathBuf;
use tempfile::TempDir;
use tokio::runtime::Handle;
use tokio_util::io::ReaderStream;

/// How folders of what is on its way out begin.
const LEAVING: &str = ".leaving-";

/// Remove what a program that was stopped left on its way out of the book in `folder`.
pub(crate) fn sweep(folder: &std::path::Path) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        if entry.file_name().to_string_lossy().starts_with(LEAVING) {
            // What cannot be removed now goes the next time.
            let _ = std::fs::remove_dir_all(entry.path());
        }
    }
}

/// A folder for what is on its way out; it goes once that was sent.
#[derive(Debug)]
pub(crate) struct Leaving(TempDir);

impl Leaving {
    /// In the book's folder, where there is room for recordings.
    pub fn of(state: &AppState) -> Result<Self, Problem> {
        let folder = state.folder();
        tempfile::Builder::new()
            .prefix(LEAVING)
            .tempdir_in(folder)
            .map(Self)
            .map_err(|error| BookError::file(folder, "written", error).into())
    }

    /// A file in it.
    pub fn file(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// Send a file of it under a name.
    pub async fn sent(
        self,
        file: &str,
        name: &str,
        kind: &'static str,
    ) -> Result<Response, Problem> {
        let path = self.file(file);
        let failed = |error| Problem::from(BookError::file(&path, "read", error));
        let opened = tokio::fs::File::open(&path).await.map_err(failed)?;
        let bytes = opened.metadata().await.map_err(failed)?.len();
        // The folder is held until the last piece was sent.
        let pieces = ReaderStream::with_capacity(opened, 1 << 16).map(move |piece| {
            let _held = &self;
            piece
        });
        let mut response = attached(Body::from_stream(pieces), kind, name);
        let headers = response.headers_mut();
        headers.insert(header::CONTENT_LENGTH, HeaderValue::from(bytes));
        Ok(response)
    }
}

/// A file to be saved under a name.
pub(crate) fn attached(body: Body, kind: &'static str, name: &str) -> Response {
    file("attachment", body, kind, name)
}

/// A file to be shown, and saved under a name where somebody saves it.
pub(crate) fn shown(body: Body, kind: &'static str, name: &str) -> Response {
    file("inline", body, kind, name)
}

fn file(how: &'static str, body: Body, kind: &'static str, name: &str) -> Response {
    let disposition = HeaderValue::from_str(&format!("{how}; filename=\"{name}\""))
        .unwrap_or(HeaderValue::from_static(how));
    let headers = [
        (header::CONTENT_TYPE, HeaderValue::from_static(kind)),
        (header::CONTENT_DISPOSITION, disposition),
        (header::CACHE_CONTROL, HeaderValue::from_static("no-store")),
    ];
    (headers, body).into_response()
}

/// Work on archives away from the threads that answer.
pub(crate) async fn worked<T: Send + 'static>(
    state: AppState,
    work: impl FnOnce(&AppState, &Handle) -> Result<T, ArchiveError> + Send + 'static,
) -> Result<T, Problem> {
    let here = Handle::current();
    tokio::task::spawn_blocking(move || work(&state, &here))
        .await
        .map_err(|error| Problem::internal(&error))?
        .map_err(Problem::from)
}

impl From<ArchiveError> for Problem {
    fn from(error: ArchiveError) -> Self {
        let detail = crate::problem::in_full(&error);
        let of = |status, name, title| Self::new(status, name, title, detail.clone());
        match error {
            ArchiveError::Book(error) => error.into(),
            ArchiveError::NoTable { .. } => Self::unknown(detail),
            ArchiveError::DiskFull { .. } => of(
                StatusCode::INSUFFICIENT_STORAGE,
                "disk-full",
                "There is no room left on the disk",
            ),
            ArchiveError::Conflict { .. } => of(
                StatusCode::CONFLICT,
                "other-history",
                "The book says otherwise",
            ),
            ArchiveError::File { .. } => Self::internal(&error),
            _ => of(
                StatusCode::UNPROCESSABLE_ENTITY,
                "archive",
                "The archive cannot be made or used",
            ),
        }
    }
}

/// From a text that somebody wrote, in letters that every system takes.
pub(crate) fn named(stem: &str, ending: &str) -> String {
    let safe: String = stem
        .chars()
        .map(|letter| match letter {
            'a'..='z' | 'A'..='Z' | '0'..='9' | '.' | '_' | '-' => letter,
            _ => '-',
        })
        .take(80)
        .collect();
    let safe = safe.trim_matches(['-', '.']);
    if safe.is_empty() {
        format!("sample.{ending}")
    } else {
        format!("{safe}.{ending}")
    }
}

#[cfg(test)]
mod tests {
    use super::named;

    #[test]
    fn names_hold_nothing_that_leads_elsewhere() {
        assert_eq!(named("U-1", "pdf"), "U-1.pdf");
        assert_eq!(named("../../etc/passwd", "pdf"), "etc-passwd.pdf");
        assert_eq!(named("\"\r\nX: y", "pdf"), "X--y.pdf");
        assert_eq!(named("日本", "html"), "sample.html");
    }
}
