//! The files of every recording against its manifest, and that against the chain.

use super::database::Seen;
use super::{Findings, Place};
use crate::book::RECORDINGS;
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::RecordingId;
use crate::recording::{FRAMES, INDEX, MANIFEST, Manifest, PICTURES, STAGED, parse_index};
use crate::records::Recording;
use std::collections::BTreeSet;
use std::fs::File;
use std::io::{self, Read as _, Seek as _, SeekFrom};
use std::path::Path;

/// Look at all recordings, or at some of them only; how many bytes.
pub(super) fn look(
    book: &Path,
    seen: &Seen,
    only: Option<&BTreeSet<RecordingId>>,
    findings: &mut Findings,
    progress: &mut (dyn FnMut(u64) + Send),
) -> Result<u64, BookError> {
    let place = book.join(RECORDINGS);
    let mut bytes = 0;
    let wanted = |recording: &RecordingId| only.is_none_or(|only| only.contains(recording));
    for (&recording, entry) in &seen.recordings {
        if !wanted(&recording) {
            continue;
        }
        let mut folder = place.join(recording.to_string());
        let staged = place.join(format!("{STAGED}{recording}"));
        if !folder.exists() && staged.exists() {
            // Recorded, and cut off before it was put in its place: the next opening does that.
            folder = staged;
        }
        let mut one = One {
            recording,
            folder: &folder,
            findings,
        };
        bytes += one.look(entry, &mut |done| progress(bytes + done));
    }
    if only.is_some() {
        return Ok(bytes);
    }
    let entries = match std::fs::read_dir(&place) {
        Ok(entries) => entries,
        Err(error) => {
            findings.add(
                Place::Folder {
                    name: RECORDINGS.into(),
                },
                format!("cannot be looked into ({error})"),
            );
            return Ok(bytes);
        }
    };
    let mut names: Vec<String> = entries
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    for name in names {
        // What a crash left of an import is put in order when the book is opened.
        let known = name
            .parse()
            .is_ok_and(|id: RecordingId| seen.recordings.contains_key(&id));
        if !known && !name.starts_with(STAGED) {
            findings.add(
                Place::Folder {
                    name: format!("{RECORDINGS}/{name}"),
                },
                "no record speaks of it",
            );
        }
    }
    Ok(bytes)
}

struct One<'a> {
    recording: RecordingId,
    folder: &'a Path,
    findings: &'a mut Findings,
}

impl One<'_> {
    fn add(&mut self, file: Option<&str>, what: impl Into<String>) {
        let place = Place::Recording {
            recording: self.recording,
            file: file.map(str::to_owned),
        };
        self.findings.add(place, what);
    }

    fn look(&mut self, entry: &Recording, progress: &mut dyn FnMut(u64)) -> u64 {
        let Some(end) = &entry.end else {
            // Under way: there is no manifest yet, but each picture has its digest.
            return self.frames();
        };
        let manifest = match std::fs::read(self.folder.join(MANIFEST)) {
            Ok(bytes) => bytes,
            Err(error) => {
                self.add(Some(MANIFEST), missing(&error));
                return 0;
            }
        };
        let found = Digest::of(&manifest);
        if found != end.manifest {
            self.add(
                Some(MANIFEST),
                format!("has the digest {found}; its record says {}", end.manifest),
            );
        }
        let manifest: Manifest = match serde_json::from_slice(&manifest) {
            Ok(manifest) => manifest,
            Err(error) => {
                self.add(Some(MANIFEST), format!("is not a manifest ({error})"));
                return 0;
            }
        };
        let mut bytes = 0;
        for file in &manifest.files {
            // A name from a manifest that was tampered with must not lead elsewhere.
            if file.name.contains(['/', '\\']) || file.name == ".." {
                self.add(Some(MANIFEST), format!("names \"{}\"", file.name));
                continue;
            }
            let looked = File::open(self.folder.join(&file.name))
                .and_then(|open| Digest::of_reader(open, &mut |done| progress(bytes + done)));
            match looked {
                Err(error) => self.add(Some(&file.name), missing(&error)),
                Ok((sha256, len)) => {
                    bytes += len;
                    if sha256 != file.sha256 {
                        self.altered(&file.name, len, file.bytes);
                    }
                }
            }
        }
        let names: BTreeSet<&str> = manifest
            .files
            .iter()
            .map(|file| file.name.as_str())
            .collect();
        self.strangers(&names);
        bytes
    }

    /// Say where a file was altered as closely as can be told.
    fn altered(&mut self, name: &str, len: u64, expected: u64) {
        if len != expected {
            self.add(
                Some(name),
                format!("has {len} bytes; its manifest says {expected}"),
            );
        } else {
            self.add(Some(name), "was altered: its digest is not its manifest's");
        }
        if name == FRAMES {
            self.frames();
        }
    }

    /// Each picture against its digest; how many bytes.
    fn frames(&mut self) -> u64 {
        let index = match std::fs::read(self.folder.join(INDEX)) {
            Ok(bytes) => parse_index(&bytes),
            // Nothing was written yet.
            Err(_) => return 0,
        };
        let Ok(mut file) = File::open(self.folder.join(FRAMES)) else {
            return 0;
        };
        let mut bytes = 0;
        for (number, line) in (1_u64..).zip(&index.lines) {
            let mut picture = Vec::new();
            let read = file
                .seek(SeekFrom::Start(line.offset))
                .and_then(|_| (&mut file).take(line.bytes).read_to_end(&mut picture));
            bytes += line.bytes;
            if read.is_err() || Digest::of(&picture) != line.sha256 {
                self.add(
                    Some(FRAMES),
                    format!("picture {number}, taken at {} s, was altered", line.time_s),
                );
            }
        }
        bytes
    }

    fn strangers(&mut self, names: &BTreeSet<&str>) {
        let Ok(entries) = std::fs::read_dir(self.folder) else {
            return;
        };
        let mut others: Vec<String> = entries
            .flatten()
            .map(|entry| entry.file_name().to_string_lossy().into_owned())
            .filter(|name| {
                !names.contains(name.as_str())
                    && name != MANIFEST
                    // Made from the video, and made again at any time.
                    && !name.starts_with(PICTURES)
            })
            .collect();
        others.sort();
        for name in others {
            self.add(Some(&name), "is not in the manifest");
        }
    }
}

fn missing(error: &io::Error) -> String {
    if error.kind() == io::ErrorKind::NotFound {
        "is missing".into()
    } else {
        format!("cannot be read ({error})")
    }
}
