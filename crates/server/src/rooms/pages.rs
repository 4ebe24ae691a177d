//! The pages, out of the program itself.

use axum::extract::Request;
use axum::http::{HeaderValue, Method, StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_embed::{EmbeddedFile, RustEmbed};
use std::collections::{BTreeMap, BTreeSet};

use crate::problem::Problem;

/// The front end as it was built; in a debug build it is read anew each time.
#[derive(RustEmbed)]
#[folder = "../../ui/dist"]
struct Built;

/// The one page there is; its address says what it shows.
const FIRST: &str = "index.html";

/// The page of a camera, for phones.
const CAMERA: &str = "camera.html";

/// What the build says of its files.
const MANIFEST: &str = ".vite/manifest.json";

/// Files whose names carry a digest of their content.
const HASHED: &str = "assets/";

/// Only what comes from this program runs or is shown; nothing is sent elsewhere, and no other
/// page may put these into a frame.
pub(crate) const CONTENT_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
    img-src 'self' blob: data:; media-src 'self' blob:; font-src 'self'; connect-src 'self'; \
    manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// A file of the pages, or the first page for any other address that is none of the interface.
pub(crate) async fn page(request: Request) -> Response {
    let path = request.uri().path().trim_start_matches('/').to_owned();
    if path == "api" || path.starts_with("api/") {
        return Problem::unknown(
            "there is nothing at this address; /openapi.json describes what there is",
        )
        .into_response();
    }
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        return Problem::new(
            StatusCode::METHOD_NOT_ALLOWED,
            "method",
            "Pages are only fetched",
            "expected GET",
        )
        .into_response();
    }
    let name = if path.is_empty() { FIRST } else { &path };
    match Built::get(name) {
        Some(file) => found(name, &file, &request),
        // What looks like a file and is none must not come back as a page.
        None if path.starts_with(HASHED) => {
            Problem::unknown("there is no such file among the pages").into_response()
        }
        None => match Built::get(FIRST) {
            Some(file) => found(FIRST, &file, &request),
            None => Problem::unknown("the pages were not built into this program").into_response(),
        },
    }
}

/// The camera page.
pub(crate) fn camera_page(request: &Request) -> Response {
    match Built::get(CAMERA) {
        Some(file) => found(CAMERA, &file, request),
        None => Problem::unknown("the pages were not built into this program").into_response(),
    }
}

/// A file of the camera page's own; none for any other.
pub(crate) fn camera_file(name: &str, request: &Request) -> Option<Response> {
    let name = format!("{HASHED}{name}");
    if !camera_files().contains(&name) {
        return None;
    }
    Some(found(&name, &Built::get(&name)?, request))
}

/// The files that the camera page loads, as the build says.
fn camera_files() -> BTreeSet<String> {
    let chunks: BTreeMap<String, Chunk> = Built::get(MANIFEST)
        .and_then(|file| serde_json::from_slice(&file.data).ok())
        .unwrap_or_default();
    let (mut files, mut seen) = (BTreeSet::new(), BTreeSet::new());
    let mut open = vec![CAMERA];
    while let Some(name) = open.pop() {
        if let Some(chunk) = chunks.get(name)
            && seen.insert(name)
        {
            files.insert(chunk.file.clone());
            files.extend(chunk.css.iter().chain(&chunk.assets).cloned());
            open.extend(
                chunk
                    .imports
                    .iter()
                    .chain(&chunk.dynamic_imports)
                    .map(String::as_str),
            );
        }
    }
    files
}

/// One file of the build and what it needs.
#[derive(Debug, Default, serde::Deserialize)]
#[serde(default, rename_all = "camelCase")]
struct Chunk {
    file: String,
    css: Vec<String>,
    assets: Vec<String>,
    imports: Vec<String>,
    dynamic_imports: Vec<String>,
}

fn found(name: &str, file: &EmbeddedFile, request: &Request) -> Response {
    let digest = file.metadata.sha256_hash();
    let tag: String = digest
        .iter()
        .take(16)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let tag = format!("W/\"{tag}\"");
    let keep = if name.starts_with(HASHED) {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    let known = request
        .headers()
        .get(header::IF_NONE_MATCH)
        .is_some_and(|given| given.as_bytes() == tag.as_bytes());
    let mut response = if known {
        StatusCode::NOT_MODIFIED.into_response()
    } else {
        file.data.clone().into_response()
    };
    let headers = response.headers_mut();
    headers.insert(
        header::CONTENT_TYPE,
        HeaderValue::from_static(media_type(name)),
    );
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static(keep));
    if let Ok(tag) = HeaderValue::from_str(&tag) {
        headers.insert(header::ETAG, tag);
    }
    response
}

fn media_type(name: &str) -> &'static str {
    match name.rsplit_once('.').map(|(_, ending)| ending) {
        Some("html") => "text/html; charset=utf-8",
        Some("js" | "mjs") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("json" | "map") => "application/json",
        Some("webmanifest") => "application/manifest+json",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("ico") => "image/x-icon",
        Some("woff2") => "font/woff2",
        Some("txt") => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}
