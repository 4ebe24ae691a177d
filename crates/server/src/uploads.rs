//! Files on their way into the book: streamed to the disk beside it, gone again unless imported.

use crate::limits::{LOG_BYTES, NAME_CHARS, UPLOAD_BYTES, UPLOADS};
use crate::problem::Problem;
use crate::state::locked;
use crate::wire::Upload;
use axum::body::BodyDataStream;
use axum::http::StatusCode;
use futures_util::StreamExt as _;
use meltrange_labbook::BookError;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use tokio::io::AsyncWriteExt as _;
use uuid::Uuid;

/// The folder in a book's folder. What is in it when the program begins is left over and goes.
const FOLDER: &str = "uploads";

/// A file that was sent.
#[derive(Debug, Clone)]
pub(crate) struct Held {
    pub upload: Upload,
    pub path: PathBuf,
}

/// All files that were sent and not imported yet.
#[derive(Debug)]
pub(crate) struct Uploads {
    folder: PathBuf,
    held: Mutex<BTreeMap<Uuid, Held>>,
    /// How many are on their way in.
    coming: AtomicUsize,
}

/// One place among those that can lie ready, until the file that comes does, or is given up.
struct Place<'a>(&'a Uploads);

impl Drop for Place<'_> {
    fn drop(&mut self) {
        self.0.coming.fetch_sub(1, Ordering::Relaxed);
    }
}

impl Uploads {
    /// For the book in `folder`.
    pub fn in_book(folder: &Path) -> Result<Self, BookError> {
        let folder = folder.join(FOLDER);
        match std::fs::remove_dir_all(&folder) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                return Err(BookError::file(&folder, "written", error));
            }
            _ => {}
        }
        Ok(Self {
            folder,
            held: Mutex::default(),
            coming: AtomicUsize::default(),
        })
    }

    /// A place for one more file, unless so many lie ready or are on their way.
    fn place(&self) -> Result<Place<'_>, Problem> {
        let ready = locked(&self.held);
        if ready.len() + self.coming.load(Ordering::Relaxed) >= UPLOADS {
            return Err(Problem::new(
                StatusCode::CONFLICT,
                "too-many-uploads",
                "Too many files lie ready",
                format!(
                    "{UPLOADS} files lie ready or are being sent already; import or remove some first"
                ),
            ));
        }
        // Counted while nobody else counts.
        self.coming.fetch_add(1, Ordering::Relaxed);
        drop(ready);
        Ok(Place(self))
    }

    /// Take a file in, piece by piece. What was taken of one that breaks off goes.
    pub async fn receive(&self, name: &str, mut body: BodyDataStream) -> Result<Upload, Problem> {
        let _place = self.place()?;
        let name = harmless(name);
        let id = Uuid::now_v7();
        let most = if ending(&name).as_deref() == Some("csv") {
            LOG_BYTES
        } else {
            UPLOAD_BYTES
        };
        let unfinished = Unfinished(Some(self.folder.join(format!("{id}.unfinished"))));
        let bytes = write(unfinished.path(), &mut body, most).await?;
        let place = self.folder.join(match ending(&name) {
            Some(ending) => format!("{id}.{ending}"),
            None => id.to_string(),
        });
        unfinished.keep_as(&place)?;
        let upload = Upload { id, name, bytes };
        locked(&self.held).insert(
            id,
            Held {
                upload: upload.clone(),
                path: place,
            },
        );
        Ok(upload)
    }

    /// One of them.
    pub fn get(&self, id: Uuid) -> Result<Held, Problem> {
        locked(&self.held).get(&id).cloned().ok_or_else(|| {
            Problem::unknown(format!(
                "no file {id} lies ready; it was imported or removed, or the program was started again: send it again"
            ))
        })
    }

    /// Remove one of them; whether it was there.
    pub fn remove(&self, id: Uuid) -> bool {
        let found = locked(&self.held).remove(&id);
        if let Some(held) = &found {
            // What cannot be removed now goes when the program begins again.
            let _ = std::fs::remove_file(&held.path);
        }
        found.is_some()
    }
}

async fn write(path: &Path, body: &mut BodyDataStream, most: u64) -> Result<u64, Problem> {
    let failed = |error| Problem::from(BookError::file(path, "written", error));
    if let Some(folder) = path.parent() {
        tokio::fs::create_dir_all(folder).await.map_err(failed)?;
    }
    let mut file = tokio::fs::File::create_new(path).await.map_err(failed)?;
    let mut bytes = 0_u64;
    while let Some(piece) = body.next().await {
        let piece = piece.map_err(|_| {
            Problem::new(
                StatusCode::BAD_REQUEST,
                "broken-off",
                "The file broke off",
                format!("the connection ended after {bytes} bytes; send the file again"),
            )
        })?;
        bytes += piece.len() as u64;
        if bytes > most {
            return Err(Problem::new(
                StatusCode::PAYLOAD_TOO_LARGE,
                "too-large",
                "The file is too large",
                format!(
                    "the file is longer than {most} bytes; cut it to the part with the melting"
                ),
            ));
        }
        file.write_all(&piece).await.map_err(failed)?;
    }
    file.flush().await.map_err(failed)?;
    if bytes == 0 {
        return Err(Problem::field("body", "empty", "the content of a file"));
    }
    Ok(bytes)
}

/// A file that goes when it is not kept, also when the request is given up in the middle.
struct Unfinished(Option<PathBuf>);

impl Unfinished {
    fn path(&self) -> &Path {
        self.0.as_deref().unwrap_or(Path::new(""))
    }

    fn keep_as(mut self, place: &Path) -> Result<(), Problem> {
        std::fs::rename(self.path(), place)
            .map_err(|error| BookError::file(place, "written", error))?;
        self.0 = None;
        Ok(())
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        if let Some(path) = &self.0 {
            // What cannot be removed now goes when the program begins again.
            let _ = std::fs::remove_file(path);
        }
    }
}

/// A name that can be shown and kept: its last part, without control characters, not too long.
fn harmless(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let clean: String = last
        .chars()
        .filter(|letter| !letter.is_control() && !is_direction(*letter))
        .collect();
    let clean = clean.trim().trim_start_matches('.');
    let count = clean.chars().count();
    // The end is kept: it has the ending.
    let kept: String = clean
        .chars()
        .skip(count.saturating_sub(NAME_CHARS))
        .collect();
    if kept.is_empty() { "file".into() } else { kept }
}

/// Letters that turn the direction of writing, with which "gpj.exe" shows as "exe.jpg".
fn is_direction(letter: char) -> bool {
    matches!(letter, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The ending, if it is a plain one; nothing else of a name becomes part of a path.
fn ending(name: &str) -> Option<String> {
    let (_, ending) = name.rsplit_once('.')?;
    let plain =
        (1..=5).contains(&ending.len()) && ending.bytes().all(|byte| byte.is_ascii_alphanumeric());
    plain.then(|| ending.to_ascii_lowercase())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_become_harmless() {
        for (given, kept) in [
            ("run 1.mp4", "run 1.mp4"),
            ("../../etc/passwd", "passwd"),
            ("C:\\videos\\run.mp4", "run.mp4"),
            ("a\0b\n.csv", "ab.csv"),
            ("..", "file"),
            ("", "file"),
            (".hidden", "hidden"),
            ("video\u{202e}4pm.exe", "video4pm.exe"),
            (
                "<img src=x onerror=alert(1)>.mp4",
                "<img src=x onerror=alert(1)>.mp4",
            ),
        ] {
            assert_eq!(harmless(given), kept, "{given:?}");
        }
        let long = format!("{}.mp4", "x".repeat(1000));
        assert_eq!(harmless(&long).chars().count(), NAME_CHARS);
        assert!(harmless(&long).ends_with(".mp4"));
    }

    #[test]
    fn only_plain_endings_reach_a_path() {
        assert_eq!(ending("run.MP4").as_deref(), Some("mp4"));
        for name in ["run", "run.", "run.m p4", "run.\u{fc}", "run.toolong"] {
            assert_eq!(ending(name), None, "{name}");
        }
    }
}
