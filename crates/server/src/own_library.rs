//! The compound library with a person's own list before it. The list is a plain file of the book's folder, no record.

use crate::own_list::read_own;
use crate::problem::Problem;
use crate::state::locked;
use crate::wire::OwnList;
use axum::http::StatusCode;
use meltrange_identity::{Library, OwnSubstance};
use meltrange_labbook::BookError;
use sha2::{Digest as _, Sha256};
use std::fs;
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// The file within the book's folder; people may edit it by hand, too.
const FILE: &str = "own-substances.csv";

/// The library as this book has it.
#[derive(Debug)]
pub(crate) struct OwnLibrary {
    path: PathBuf,
    /// What was made of the file as it was last.
    made: Mutex<Option<Arc<MadeLibrary>>>,
}

/// The library with one own list.
#[derive(Debug)]
pub(crate) struct MadeLibrary {
    csv: String,
    own: Vec<OwnSubstance>,
    /// With the own list's substances.
    pub library: Library,
}

impl MadeLibrary {
    fn of(csv: String) -> Result<Self, Problem> {
        let own = if csv.trim().is_empty() {
            Vec::new()
        } else {
            read_own(&csv).map_err(|error| {
                Problem::new(
                    StatusCode::UNPROCESSABLE_ENTITY,
                    "own-list",
                    "The own list cannot be used",
                    format!("{FILE}: {error}"),
                )
            })?
        };
        Ok(Self {
            library: Library::shipped().with_own(&own),
            own,
            csv,
        })
    }

    /// As it is told.
    pub fn told(&self) -> OwnList {
        OwnList {
            csv: self.csv.clone(),
            substances: self.own.len(),
            revision: revision(&self.csv),
            fault: None,
        }
    }
}

fn revision(csv: &str) -> String {
    let digest = Sha256::digest(csv.as_bytes());
    digest[..8]
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

impl OwnLibrary {
    /// Of the book in `folder`.
    pub fn in_book(folder: &Path) -> Self {
        Self {
            path: folder.join(FILE),
            made: Mutex::default(),
        }
    }

    fn text(&self) -> Result<String, Problem> {
        match fs::read_to_string(&self.path) {
            Ok(csv) => Ok(csv),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(String::new()),
            Err(error) => Err(BookError::file(&self.path, "read", error).into()),
        }
    }

    /// As the file stands now. Some milliseconds where it changed.
    pub fn now(&self) -> Result<Arc<MadeLibrary>, Problem> {
        let csv = self.text()?;
        let mut made = locked(&self.made);
        if let Some(made) = made.as_ref().filter(|made| made.csv == csv) {
            return Ok(made.clone());
        }
        let fresh = Arc::new(MadeLibrary::of(csv)?);
        *made = Some(fresh.clone());
        Ok(fresh)
    }

    /// The list as it stands, also where it does not read: to be mended.
    pub fn list(&self) -> Result<OwnList, Problem> {
        match self.now() {
            Ok(made) => Ok(made.told()),
            Err(problem) if problem.status == 422 => {
                let csv = self.text()?;
                Ok(OwnList {
                    substances: 0,
                    revision: revision(&csv),
                    fault: Some(problem.detail),
                    csv,
                })
            }
            Err(problem) => Err(problem),
        }
    }

    /// Another list in the place of the one known.
    pub fn put(&self, csv: String, known: &str) -> Result<Arc<MadeLibrary>, Problem> {
        let fresh = Arc::new(MadeLibrary::of(csv)?);
        // Held from comparing to writing.
        let mut made = locked(&self.made);
        let stands = self.text()?;
        if revision(&stands) != known {
            return Err(Problem::new(
                StatusCode::CONFLICT,
                "stale",
                "Somebody else changed it",
                "the own list was changed since it was read; read it again and change that"
                    .to_owned(),
            ));
        }
        self.write(&fresh.csv)
            .map_err(|error| BookError::file(&self.path, "write", error))?;
        *made = Some(fresh.clone());
        Ok(fresh)
    }

    fn write(&self, csv: &str) -> std::io::Result<()> {
        let beside = self.path.with_extension("csv.new");
        let mut file = fs::File::create(&beside)?;
        file.write_all(csv.as_bytes())?;
        file.sync_all()?;
        fs::rename(&beside, &self.path)
    }
}
