//! An archive to read from: a folder or a zip file, nothing of it trusted.

use crate::error::ArchiveError;
use meltrange_labbook::Digest;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{BufReader, Read};
use std::path::{Path, PathBuf};
use zip::ZipArchive;

/// Most files of an archive: far above any real one.
const MOST_FILES: usize = 5_000_000;

/// Where a zip file unpacks to more than this, it must not be more than so many times as large as it
/// is: pictures are stored, and tables rarely shrink to a fiftieth.
const UNPACKED_BYTES: u64 = 256 << 20;
const UNPACKED_TIMES: u64 = 100;

/// Deepest folder: ours has three.
const DEEPEST: usize = 16;

/// An archive to read from.
pub(crate) struct Source {
    path: PathBuf,
    files: BTreeMap<String, u64>,
    kind: Kind,
}

enum Kind {
    Folder,
    Zip(Box<ZipArchive<BufReader<File>>>),
}

impl Source {
    /// Open it. Every name in it is looked at; nothing is unpacked.
    pub fn open(path: &Path) -> Result<Self, ArchiveError> {
        let not_one = |found: String| ArchiveError::NotAnArchive {
            path: path.into(),
            found,
        };
        let there = path
            .metadata()
            .map_err(|error| ArchiveError::file(path, "read", error))?;
        if there.is_dir() {
            let mut files = BTreeMap::new();
            walk(path, "", 0, &mut files)?;
            return Ok(Self {
                path: path.into(),
                files,
                kind: Kind::Folder,
            });
        }
        let file = File::open(path).map_err(|error| ArchiveError::file(path, "read", error))?;
        let mut zip = ZipArchive::new(BufReader::new(file)).map_err(|error| {
            not_one(format!(
                "it cannot be read as a zip file: {error}; was it cut off?"
            ))
        })?;
        let files = look(path, there.len(), &mut zip)?;
        Ok(Self {
            path: path.into(),
            files,
            kind: Kind::Zip(Box::new(zip)),
        })
    }

    /// Its files and how many bytes each has.
    pub fn files(&self) -> &BTreeMap<String, u64> {
        &self.files
    }

    /// As it was named.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Read the file `name`. No more than it is said to have is read.
    pub fn read<T>(
        &mut self,
        name: &str,
        work: impl FnOnce(&mut dyn Read) -> Result<T, ArchiveError>,
    ) -> Result<T, ArchiveError> {
        let Some(&bytes) = self.files.get(name) else {
            return Err(missing(name));
        };
        let unreadable = |error| ArchiveError::file(&self.path.join(name), "read", error);
        match &mut self.kind {
            Kind::Folder => {
                let file = File::open(self.path.join(name)).map_err(unreadable)?;
                work(&mut BufReader::new(file))
            }
            Kind::Zip(zip) => {
                let file = zip
                    .by_name(name)
                    .map_err(|error| unreadable(error.into()))?;
                // One byte more shows that there is more than was said.
                work(&mut file.take(bytes.saturating_add(1)))
            }
        }
    }

    /// The whole of a small file.
    pub fn bytes(&mut self, name: &str, most: u64) -> Result<Vec<u8>, ArchiveError> {
        let path = self.path.join(name);
        let said = self.files.get(name).copied().ok_or_else(|| missing(name))?;
        if said > most {
            return Err(ArchiveError::altered(
                name,
                None,
                format!("has {said} bytes"),
                format!("at most {most}"),
            ));
        }
        self.read(name, |from| {
            let mut bytes = Vec::new();
            from.take(most)
                .read_to_end(&mut bytes)
                .map_err(|error| unreadable(&path, name, error))?;
            Ok(bytes)
        })
    }

    /// The digest of a file and how many bytes it has.
    pub fn digest(&mut self, name: &str) -> Result<(Digest, u64), ArchiveError> {
        let path = self.path.join(name);
        self.read(name, |from| {
            Digest::of_reader(from, &mut |_| ()).map_err(|error| unreadable(&path, name, error))
        })
    }
}

/// A zip file carries checksums of its own.
pub(crate) fn unreadable(path: &Path, name: &str, error: std::io::Error) -> ArchiveError {
    match error.kind() {
        std::io::ErrorKind::InvalidData | std::io::ErrorKind::UnexpectedEof => {
            ArchiveError::altered(
                name,
                None,
                format!("it cannot be unpacked ({error})"),
                "the file as it was packed",
            )
        }
        std::io::ErrorKind::Other if error.to_string().contains("checksum") => {
            ArchiveError::altered(
                name,
                None,
                format!("it cannot be unpacked ({error})"),
                "the file as it was packed",
            )
        }
        _ => ArchiveError::file(path, "read", error),
    }
}

fn missing(name: &str) -> ArchiveError {
    ArchiveError::altered(name, None, "it is missing", "a file of the archive")
}

fn walk(
    folder: &Path,
    inside: &str,
    depth: usize,
    files: &mut BTreeMap<String, u64>,
) -> Result<(), ArchiveError> {
    let read = |error| ArchiveError::file(folder, "read", error);
    let refused = |found: &str| ArchiveError::Refused {
        path: folder.into(),
        found: found.into(),
        expected: "an archive as it was written",
    };
    if depth > DEEPEST {
        return Err(refused("it holds folders in folders without end"));
    }
    for entry in fs::read_dir(folder).map_err(read)? {
        let entry = entry.map_err(read)?;
        let name = format!("{inside}{}", entry.file_name().to_string_lossy());
        // Not followed: an archive holds no links, and they lead anywhere.
        let kind = entry.file_type().map_err(read)?;
        if kind.is_dir() {
            walk(&entry.path(), &format!("{name}/"), depth + 1, files)?;
        } else if kind.is_file() {
            files.insert(name, entry.metadata().map_err(read)?.len());
        } else {
            return Err(refused(&format!("{name} is a link or a device")));
        }
        if files.len() > MOST_FILES {
            return Err(refused("it holds more than five million files"));
        }
    }
    Ok(())
}

/// Look at every name and size of a zip file before anything is unpacked.
fn look(
    path: &Path,
    packed_bytes: u64,
    zip: &mut ZipArchive<BufReader<File>>,
) -> Result<BTreeMap<String, u64>, ArchiveError> {
    let refused = |found: String, expected| ArchiveError::Refused {
        path: path.into(),
        found,
        expected,
    };
    if zip.len() > MOST_FILES {
        return Err(refused(
            format!("it holds {} files", zip.len()),
            "at most five million",
        ));
    }
    if zip.has_duplicate_names() {
        return Err(refused("it holds a name twice".into(), "each file once"));
    }
    let mut files = BTreeMap::new();
    let mut unpacked: u64 = 0;
    for number in 0..zip.len() {
        let entry = zip
            .by_index_raw(number)
            .map_err(|error| ArchiveError::file(path, "read", error.into()))?;
        let name = entry
            .name()
            .map_err(|error| ArchiveError::file(path, "read", error.into()))?
            .into_owned();
        if !plain(&name) {
            return Err(refused(
                format!("it names \"{}\"", name.escape_debug()),
                "paths below the archive, with / and without ..",
            ));
        }
        if entry.is_symlink() || entry.encrypted() {
            return Err(refused(
                format!("{name} is a link or encrypted"),
                "plain files",
            ));
        }
        if entry.is_dir() {
            continue;
        }
        unpacked = unpacked.saturating_add(entry.size());
        let bytes = entry.size();
        drop(entry);
        if files.insert(name.clone(), bytes).is_some() {
            return Err(refused(format!("it holds {name} twice"), "each file once"));
        }
    }
    if unpacked > UNPACKED_BYTES && unpacked / UNPACKED_TIMES > packed_bytes {
        return Err(refused(
            format!("its {packed_bytes} bytes would unpack to {unpacked}"),
            "no more than a hundred times its size",
        ));
    }
    Ok(files)
}

/// Whether a name stays below the folder it is unpacked into, on every system.
fn plain(name: &str) -> bool {
    let path = name.strip_suffix('/').unwrap_or(name);
    !path.is_empty()
        && !path.contains(['\\', ':', '\0'])
        && path
            .split('/')
            .all(|part| !part.is_empty() && part != "." && part != "..")
}

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn only_paths_below_the_archive_are_taken() {
        for good in ["records.jsonl", "recordings/0199/frames/000001.jpg", "a/"] {
            assert!(plain(good), "{good}");
        }
        for bad in [
            "../records.jsonl",
            "/etc/passwd",
            "a/../../b",
            "a//b",
            "C:\\x",
            "c:x",
            "a\\..\\b",
            "./a",
            "",
            "/",
            "a\0b",
        ] {
            assert!(!plain(bad), "{bad:?}");
        }
    }
}
