//! A folder of results that appears whole or not at all.

use crate::failure::Failure;
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// Names that an earlier reading of ours can have left.
const OUR_FILES: [&str; 4] = ["evidence.html", "reading.json", "curve.csv", "no-tubes.jpg"];

/// A place for results, looked at before the work begins.
#[derive(Debug)]
pub(crate) struct OutFolder {
    place: PathBuf,
    parent: PathBuf,
    name: OsString,
}

/// Which of them says that meltrange wrote it.
const MARKED_FILE: &str = "reading.json";

/// What stands at the place now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Found {
    Nothing,
    EmptyFolder,
    EarlierReading,
}

impl OutFolder {
    /// Look at the place: nothing there, an empty folder and an earlier reading of ours are fine.
    pub fn at(place: &Path) -> Result<Self, Failure> {
        let Some(name) = place.file_name() else {
            return Err(Failure::new(format!(
                "{} does not end in the name of a folder; expected a folder of its own for the results",
                place.display()
            )));
        };
        let parent = match place.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
            _ => PathBuf::from("."),
        };
        let folder = Self {
            place: place.to_path_buf(),
            parent,
            name: name.to_owned(),
        };
        folder.found()?;
        Ok(folder)
    }

    /// The place as named by the person.
    pub fn path(&self) -> &Path {
        &self.place
    }

    /// Whether writing would replace the results of an earlier reading.
    pub fn holds_results(&self) -> bool {
        self.place.join(MARKED_FILE).exists()
    }

    /// Put the files there: written beside the place, flushed to the disk, then renamed into it.
    ///
    /// On failure the place is as it was before.
    pub fn write(&self, files: &[(&str, &[u8])]) -> Result<(), Failure> {
        let made = self.missing_parents();
        let outcome =
            fs::create_dir_all(&self.parent).and_then(|()| self.write_beside_and_rename(files));
        outcome.map_err(|error| {
            for folder in made {
                // Only folders that were made here, and only while they are empty.
                let _ = fs::remove_dir(folder);
            }
            Failure::new(format!(
                "the results could not be written to {}: {error}",
                self.place.display()
            ))
            .hint("nothing was left there; make room or name another folder with --out")
        })
    }

    fn write_beside_and_rename(&self, files: &[(&str, &[u8])]) -> io::Result<()> {
        let mut prefix = OsString::from(".");
        prefix.push(&self.name);
        prefix.push(".unfinished-");
        let mut builder = tempfile::Builder::new();
        builder.prefix(&prefix);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            // Cut down by the person's umask, unlike the 0700 of temporary folders.
            builder.permissions(fs::Permissions::from_mode(0o777));
        }
        let beside = builder.tempdir_in(&self.parent)?;
        for (name, bytes) in files {
            let mut file = File::create_new(beside.path().join(name))?;
            file.write_all(bytes)?;
            // A full disk may show only here.
            file.sync_all()?;
        }
        let old = match self.found() {
            Ok(Found::Nothing) => None,
            Ok(Found::EmptyFolder | Found::EarlierReading) => {
                let old = tempfile::Builder::new()
                    .prefix(&prefix)
                    .tempdir_in(&self.parent)?;
                fs::rename(&self.place, old.path().join("old"))?;
                Some(old)
            }
            Err(_) => {
                return Err(io::Error::other(
                    "something else was put there in the meantime",
                ));
            }
        };
        if let Err(error) = fs::rename(beside.path(), &self.place) {
            if let Some(old) = &old {
                fs::rename(old.path().join("old"), &self.place)?;
            }
            return Err(error);
        }
        // It bears its own name now and must not be removed under the old one.
        let _ = beside.keep();
        Ok(())
    }

    /// The folders above the place that are not there yet, innermost first.
    fn missing_parents(&self) -> Vec<PathBuf> {
        self.parent
            .ancestors()
            .take_while(|folder| !folder.as_os_str().is_empty() && !folder.exists())
            .map(Path::to_path_buf)
            .collect()
    }

    fn found(&self) -> Result<Found, Failure> {
        let unreadable = |error: io::Error| {
            Failure::new(format!(
                "{} could not be looked into: {error}; expected a folder or nothing",
                self.place.display()
            ))
        };
        let entries = match fs::read_dir(&self.place) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Found::Nothing),
            other => other.map_err(unreadable)?,
        };
        let mut found = Found::EmptyFolder;
        for entry in entries {
            let name = entry.map_err(unreadable)?.file_name();
            if !OUR_FILES.iter().any(|ours| name == *ours) {
                return Err(Failure::new(format!(
                    "{} holds {}, which is not from a reading; nothing there was touched",
                    self.place.display(),
                    name.to_string_lossy()
                ))
                .hint("name a new folder with --out, or an earlier one of meltrange to replace"));
            }
            found = Found::EarlierReading;
        }
        if found == Found::EarlierReading {
            self.check_mark()?;
        }
        Ok(found)
    }

    /// A reading.json that others wrote is not ours to replace.
    fn check_mark(&self) -> Result<(), Failure> {
        let file = self.place.join(MARKED_FILE);
        let ours = match fs::read(&file) {
            Ok(bytes) => serde_json::from_slice::<serde_json::Value>(&bytes)
                .is_ok_and(|value| value["program"]["name"] == crate::commands::PROGRAM_NAME),
            // A folder with only the picture of a view without tubes.
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                self.place.join("no-tubes.jpg").exists()
            }
            Err(_) => false,
        };
        if ours {
            return Ok(());
        }
        Err(Failure::new(format!(
            "{} holds files named like those of a reading, but meltrange did not write them; nothing there was touched",
            self.place.display()
        ))
        .hint("name a new folder with --out"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const OURS: &[u8] = br#"{"program":{"name":"meltrange","version":"0.1.0"}}"#;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .expect("the folder is there")
            .map(|entry| {
                let name = entry.expect("the entry can be read").file_name();
                name.to_string_lossy().into_owned()
            })
            .collect();
        names.sort();
        names
    }

    #[test]
    fn an_earlier_reading_is_replaced_whole() {
        let room = tempfile::tempdir().expect("a temporary folder");
        let place = room.path().join("deep/evidence");
        let folder = OutFolder::at(&place).expect("nothing is there yet");
        folder
            .write(&[("reading.json", OURS), ("curve.csv", b"old")])
            .expect("there is room");
        let again = OutFolder::at(&place).expect("it is ours");
        assert!(again.holds_results());
        again
            .write(&[("reading.json", OURS), ("evidence.html", b"new")])
            .expect("there is room");
        assert_eq!(names(&place), ["evidence.html", "reading.json"]);
        assert_eq!(names(&room.path().join("deep")), ["evidence"]);
    }

    #[test]
    fn what_others_put_there_is_refused_and_left_alone() {
        let room = tempfile::tempdir().expect("a temporary folder");
        for (name, bytes) in [
            ("thesis.txt", b"mine" as &[u8]),
            ("reading.json", b"{\"program\":\"another\"}"),
            ("curve.csv", b"a,b"),
        ] {
            let place = room.path().join(name.replace('.', "-"));
            fs::create_dir(&place).expect("there is room");
            fs::write(place.join(name), bytes).expect("there is room");
            assert!(OutFolder::at(&place).is_err(), "{name} would be lost");
            assert_eq!(fs::read(place.join(name)).expect("still there"), bytes);
        }
    }

    #[test]
    fn a_failed_write_leaves_nothing() {
        let room = tempfile::tempdir().expect("a temporary folder");
        let place = room.path().join("deep/evidence");
        let folder = OutFolder::at(&place).expect("nothing is there yet");
        // The second name cannot be made: its folder is not there.
        let failed = folder.write(&[("reading.json", OURS), ("missing/file", b"")]);
        assert!(failed.is_err());
        assert!(names(room.path()).is_empty());
    }
}
