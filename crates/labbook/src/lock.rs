//! One process to a book.

use crate::error::BookError;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read as _, Seek as _, Write as _};
use std::path::Path;

/// Beside the database. It stays when the process ends; the lock on it does not.
const NAME: &str = "book.lock";

/// The hold on a book; given up when dropped, and by the system when the process ends in any way.
#[derive(Debug)]
pub(crate) struct Lock {
    _file: File,
}

impl Lock {
    /// Take hold of the book in `folder`.
    pub fn take(folder: &Path) -> Result<Self, BookError> {
        let path = folder.join(NAME);
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(|error| BookError::file(&path, "written", error))?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                return Err(BookError::InUse {
                    path: folder.into(),
                    holder: holder(&mut file),
                });
            }
            Err(TryLockError::Error(error)) => {
                return Err(BookError::file(&path, "locked", error));
            }
        }
        // Only for the message that another process gives; a full disk is no reason to stop here.
        let _ = file
            .set_len(0)
            .and_then(|()| file.rewind())
            .and_then(|()| file.write_all(std::process::id().to_string().as_bytes()));
        Ok(Self { _file: file })
    }
}

fn holder(file: &mut File) -> String {
    let mut text = String::new();
    // Where locks are mandatory it cannot be read; then it is not named.
    let number = file
        .take(20)
        .read_to_string(&mut text)
        .ok()
        .and_then(|_| text.trim().parse::<u32>().ok());
    number.map_or_else(String::new, |number| format!(" (number {number})"))
}
