//! Recordings of a shared book that were begun on this machine and have no recorded end yet: after a crash
//! these are put in order here, and nowhere else.

use crate::error::BookError;
use crate::ids::RecordingId;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

/// Its folder in the local folder of a shared book: an empty file for each.
const BEGUN: &str = "begun";

/// Which they are.
#[derive(Debug)]
pub(crate) struct Begun {
    folder: PathBuf,
}

impl Begun {
    /// Those of this folder.
    pub fn in_folder(local: &Path) -> Result<Self, BookError> {
        let folder = local.join(BEGUN);
        fs::create_dir_all(&folder).map_err(|error| BookError::file(&folder, "written", error))?;
        Ok(Self { folder })
    }

    /// One more.
    pub fn add(&self, id: RecordingId) -> Result<(), BookError> {
        let path = self.folder.join(id.to_string());
        File::create(&path)
            .and_then(|file| file.sync_all())
            .map_err(|error| BookError::file(&path, "written", error))
    }

    /// Its end is recorded, or waits to be.
    pub fn remove(&self, id: RecordingId) -> Result<(), BookError> {
        let path = self.folder.join(id.to_string());
        match fs::remove_file(&path) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                Err(BookError::file(&path, "written", error))
            }
            _ => Ok(()),
        }
    }

    /// All of them.
    pub fn ids(&self) -> Result<Vec<RecordingId>, BookError> {
        let entries = fs::read_dir(&self.folder)
            .map_err(|error| BookError::file(&self.folder, "read", error))?;
        Ok(entries
            .flatten()
            .filter_map(|entry| entry.file_name().to_str()?.parse().ok())
            .collect())
    }
}
