//! Sessions that are kept: one document each in the folder `sessions` of the book, with a revision.
//!
//! They are plans, not records: they change, and nothing of them is in the chain.

use crate::limits::{SESSION_NAME_CHARS, SESSIONS};
use crate::problem::Problem;
use crate::state::locked;
use crate::wire::{SessionContent, SessionDocument, SessionRow};
use axum::http::StatusCode;
use meltrange_labbook::BookError;
use serde::{Deserialize, Serialize};
use std::fs::{self, File};
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// The folder within the book's.
const FOLDER: &str = "sessions";

/// How a document is written.
const FORMAT: u32 = 1;

/// All of them.
#[derive(Debug)]
pub(crate) struct KeptSessions {
    folder: PathBuf,
    /// Held from comparing a revision to writing the next.
    writing: Mutex<()>,
}

/// As it lies on the disk.
#[derive(Debug, Serialize, Deserialize)]
struct Written {
    format: u32,
    revision: u64,
    /// RFC 3339.
    saved: String,
    /// Name of the person.
    by: String,
    session: SessionContent,
}

/// What every format says.
#[derive(Debug, Deserialize)]
struct Form {
    format: u32,
}

impl KeptSessions {
    /// Of the book in `folder`.
    pub fn in_book(folder: &Path) -> Self {
        Self {
            folder: folder.join(FOLDER),
            writing: Mutex::default(),
        }
    }

    /// By name; those that cannot be read are left out and told in the log.
    pub fn all(&self) -> Result<Vec<SessionRow>, Problem> {
        let entries = match fs::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(BookError::file(&self.folder, "read", error).into()),
        };
        let mut rows = Vec::new();
        for path in entries.flatten().map(|entry| entry.path()) {
            let name = path.file_stem().and_then(|stem| stem.to_str());
            let is_ours = path.extension().is_some_and(|ending| ending == "json");
            let Some(name) = name.filter(|name| is_ours && is_name(name)) else {
                continue;
            };
            match self.read(name) {
                Ok(found) => rows.push(SessionRow {
                    name: name.to_owned(),
                    revision: found.revision,
                    saved: found.saved,
                    by: found.by,
                    length_min: found.session.order.length_min,
                    benches: found.session.order.benches.len(),
                    samples: found.session.order.samples.len() + found.session.without_range.len(),
                }),
                Err(problem) => {
                    tracing::warn!(name, detail = %problem.detail, "a session is left out")
                }
            }
        }
        rows.sort_by(|a, b| b.saved.cmp(&a.saved).then(a.name.cmp(&b.name)));
        Ok(rows)
    }

    /// One of them.
    pub fn get(&self, name: &str) -> Result<SessionDocument, Problem> {
        checked(name)?;
        let found = self.read(name)?;
        Ok(document(name, found))
    }

    /// Keep it in place of the revision known, 0 for a new one.
    pub fn put(
        &self,
        name: &str,
        revision: u64,
        by: String,
        session: SessionContent,
    ) -> Result<SessionDocument, Problem> {
        checked(name)?;
        let _writing = locked(&self.writing);
        let kept = match self.read(name) {
            Ok(found) => found.revision,
            Err(problem) if problem.status == 404 => 0,
            Err(problem) => return Err(problem),
        };
        if kept != revision {
            return Err(stale(name, kept));
        }
        if kept == 0 && self.all()?.len() >= SESSIONS {
            return Err(Problem::new(
                StatusCode::CONFLICT,
                "too-many-sessions",
                "Too many sessions",
                format!(
                    "{SESSIONS} sessions are kept already; remove some from the folder {FOLDER} of the book"
                ),
            ));
        }
        let written = Written {
            format: FORMAT,
            revision: revision + 1,
            saved: jiff::Timestamp::now().to_string(),
            by,
            session,
        };
        self.write(name, &written)
            .map_err(|error| BookError::file(&self.path(name), "written", error))?;
        Ok(document(name, written))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.join(format!("{name}.json"))
    }

    fn read(&self, name: &str) -> Result<Written, Problem> {
        let path = self.path(name);
        let text = fs::read_to_string(&path).map_err(|error| match error.kind() {
            ErrorKind::NotFound => {
                Problem::unknown(format!("there is no session \"{name}\" in this book"))
            }
            _ => BookError::file(&path, "read", error).into(),
        })?;
        let cannot = |why: String| {
            Problem::new(
                StatusCode::CONFLICT,
                "session-file",
                "The session file cannot be used",
                format!("{FOLDER}/{name}.json {why}"),
            )
        };
        // Its format first: what a later one holds may be no fault of this file.
        let Form { format } = serde_json::from_str(&text).map_err(|error| {
            cannot(format!(
                "is not as it was written: {error}; mend it or take it out of the folder"
            ))
        })?;
        if format != FORMAT {
            return Err(cannot(format!(
                "has format {format}; expected {FORMAT}: open it with the version of the program that wrote it"
            )));
        }
        serde_json::from_str(&text).map_err(|error| {
            cannot(format!(
                "is not as it was written: {error}; mend it or take it out of the folder"
            ))
        })
    }

    /// Beside, flushed, renamed: whole or not at all.
    fn write(&self, name: &str, written: &Written) -> std::io::Result<()> {
        fs::create_dir_all(&self.folder)?;
        let mut text = serde_json::to_string_pretty(written)?;
        text.push('\n');
        let beside = self.folder.join(format!("{name}.json.unfinished"));
        let mut file = File::create(&beside)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        fs::rename(&beside, self.path(name))?;
        // Elsewhere folders cannot be opened to be flushed, nor need they be.
        #[cfg(unix)]
        File::open(&self.folder)?.sync_all()?;
        Ok(())
    }
}

fn document(name: &str, found: Written) -> SessionDocument {
    SessionDocument {
        name: name.to_owned(),
        revision: found.revision,
        saved: found.saved,
        by: found.by,
        session: found.session,
    }
}

fn stale(name: &str, kept: u64) -> Problem {
    let detail = match kept {
        0 => format!("the session \"{name}\" is not kept any more; keep it under another name"),
        _ => format!(
            "the session \"{name}\" was changed in the meantime and is at revision {kept}; take over what is kept, then change it again"
        ),
    };
    Problem::new(
        StatusCode::CONFLICT,
        "stale",
        "It was changed in the meantime",
        detail,
    )
}

/// Letters, digits, spaces, `-`, `_` and `.`, beginning with a letter or digit and not ending with a space
/// or dot: never a way out of the folder, and a file name on any disk that tells capitals apart.
fn is_name(name: &str) -> bool {
    name.chars().count() <= SESSION_NAME_CHARS
        && name.starts_with(|c: char| c.is_ascii_alphanumeric())
        && name.ends_with(|c: char| !matches!(c, ' ' | '.'))
        && name
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '-' | '_' | '.'))
}

fn checked(name: &str) -> Result<(), Problem> {
    if is_name(name) {
        return Ok(());
    }
    let shown: String = name.chars().take(SESSION_NAME_CHARS).collect();
    Err(Problem::field(
        "name",
        format!("\"{shown}\""),
        format!(
            "1 to {SESSION_NAME_CHARS} letters a to z, digits, spaces, -, _ and ., beginning with a letter or digit"
        ),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_format_is_refused_by_its_number() {
        let folder = tempfile::tempdir().expect("a folder");
        let kept = KeptSessions::in_book(folder.path());
        fs::create_dir(folder.path().join(FOLDER)).expect("a folder");
        for (text, said) in [
            (
                r#"{ "format": 2, "pages": [] }"#,
                "has format 2; expected 1",
            ),
            (r#"{ "format": 1 }"#, "is not as it was written"),
        ] {
            fs::write(folder.path().join(FOLDER).join("Later.json"), text).expect("a file");
            let refused = kept.get("Later").expect_err("no session");
            assert_eq!(refused.status, 409);
            assert!(refused.detail.contains(said), "{}", refused.detail);
        }
    }

    #[test]
    fn names_stay_within_their_folder() {
        for good in ["a", "Evening practical 3", "2026-11-25", "A_b.c-d"] {
            assert!(is_name(good), "{good}");
        }
        let long = "a".repeat(SESSION_NAME_CHARS + 1);
        for bad in [
            "", ".", "..", "../x", "a/b", "a\\b", ".hidden", " a", "a ", "a.", "a\0b", "a:b", "ä",
            "-a", &long,
        ] {
            assert!(!is_name(bad), "{bad}");
        }
    }
}
