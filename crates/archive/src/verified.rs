//! An archive whose every file is as it was written, or a sentence which is not.

use crate::crate_metadata::METADATA;
use crate::error::ArchiveError;
use crate::manifest::{ARCHIVE, ArchiveManifest};
use crate::recordings::ending;
use crate::source::Source;
use meltrange_labbook::{Digest, RecordLine};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Read};

/// Larger descriptions are not read: a million files are described in less.
const LARGEST_METADATA: u64 = 2 << 30;

/// Longest line of records: records of a thousand entries are far shorter.
const LONGEST_LINE: u64 = 64 << 20;

/// Largest list of pictures.
const LARGEST_LIST: u64 = 1 << 30;

/// What takes a picture: time [s] and bytes.
type KeepPicture<'a> = dyn FnMut(f64, &[u8]) -> Result<(), ArchiveError> + 'a;

/// An archive whose files, pictures aside, have the digests that its description gives.
pub(crate) struct Verified {
    pub source: Source,
    pub manifest: ArchiveManifest,
    /// Files that its description does not name.
    pub strangers: Vec<String>,
}

impl Verified {
    /// Look at every file that the description names. `progress` hears how many bytes were looked at.
    pub fn look(mut source: Source, progress: &mut dyn FnMut(u64)) -> Result<Self, ArchiveError> {
        let foreign = |found: &str| ArchiveError::NotAnArchive {
            path: source.path().into(),
            found: found.into(),
        };
        let described = source.files().contains_key(METADATA);
        match (described, source.files().contains_key(ARCHIVE)) {
            (_, true) => {}
            (true, false) => {
                return Err(foreign(
                    "it is an RO-Crate of something else: there is no archive.json in it",
                ));
            }
            (false, false) => {
                return Err(foreign(
                    "there is neither archive.json nor ro-crate-metadata.json in it",
                ));
            }
        }
        let bytes = source.bytes(METADATA, LARGEST_METADATA)?;
        let said = files_of(&bytes)?;
        for needed in [ARCHIVE, crate::RECORDS] {
            if !said.contains_key(needed) {
                return Err(ArchiveError::altered(
                    METADATA,
                    None,
                    format!("it does not describe {needed}"),
                    "each file of the archive with its sha256",
                ));
            }
        }
        let mut looked = 0;
        for (name, expected) in &said {
            let (found, bytes) = source.digest(name)?;
            if found.to_string() != expected.sha256 || bytes != expected.bytes {
                return Err(different(&mut source, name, found, bytes, expected));
            }
            looked += bytes;
            progress(looked);
        }
        let bytes = source.bytes(ARCHIVE, LARGEST_METADATA)?;
        let manifest = ArchiveManifest::parse(source.path(), &bytes)?;
        let strangers = source
            .files()
            .keys()
            .filter(|name| {
                !said.contains_key(*name) && *name != METADATA && !name.contains("/frames/")
            })
            .cloned()
            .collect();
        Ok(Self {
            source,
            manifest,
            strangers,
        })
    }

    /// The lines of its records, each with its number from 1.
    pub fn records(&mut self) -> Result<Vec<(u64, RecordLine)>, ArchiveError> {
        let mut lines = Vec::new();
        self.each_record(&mut |number, line| {
            lines.push((number, line));
            Ok(())
        })?;
        Ok(lines)
    }

    fn each_record(
        &mut self,
        work: &mut dyn FnMut(u64, RecordLine) -> Result<(), ArchiveError>,
    ) -> Result<(), ArchiveError> {
        let path = self.source.path().join(crate::RECORDS);
        self.source.read(crate::RECORDS, |from| {
            let mut from = BufReader::new(from);
            for number in 1.. {
                let mut line = Vec::new();
                let read = (&mut from)
                    .take(LONGEST_LINE)
                    .read_until(b'\n', &mut line)
                    .map_err(|error| crate::source::unreadable(&path, crate::RECORDS, error))?;
                if read == 0 {
                    break;
                }
                let parsed = serde_json::from_slice(&line).map_err(|error| {
                    ArchiveError::altered(
                        crate::RECORDS,
                        Some(number),
                        format!("it is no record ({error})"),
                        "a record with \"hash\" and \"content\"",
                    )
                })?;
                work(number, parsed)?;
            }
            Ok(())
        })
    }

    /// Names of the files whose path begins so.
    pub fn below(&self, folder: &str) -> Vec<String> {
        self.source
            .files()
            .range(folder.to_owned()..)
            .take_while(|(name, _)| name.starts_with(folder))
            .map(|(name, _)| name.clone())
            .collect()
    }

    /// The pictures of a recording, in order, each checked against the list; `keep` takes time [s] and
    /// bytes.
    pub fn pictures(
        &mut self,
        folder: &str,
        keep: &mut KeepPicture<'_>,
    ) -> Result<u64, ArchiveError> {
        let list_name = format!("{folder}frames.csv");
        let list = self.source.bytes(&list_name, LARGEST_LIST)?;
        let list = String::from_utf8_lossy(&list).into_owned();
        let mut lines = (1_u64..).zip(list.lines());
        if lines.next().map(|(_, header)| header) != Some("file,time_s,sha256") {
            return Err(ArchiveError::altered(
                &list_name,
                Some(1),
                "is not the header",
                "file,time_s,sha256",
            ));
        }
        let mut names = BTreeSet::new();
        for (line, row) in lines {
            let wrong = || {
                ArchiveError::altered(
                    &list_name,
                    Some(line),
                    format!("is \"{}\"", row.escape_debug().take(80).collect::<String>()),
                    "file, time_s and sha256 of a picture",
                )
            };
            let cells: Vec<&str> = row.split(',').collect();
            let [file, time_s, sha256] = cells.as_slice() else {
                return Err(wrong());
            };
            let time_s: f64 = time_s.parse().map_err(|_| wrong())?;
            if file.contains('/') || !time_s.is_finite() {
                return Err(wrong());
            }
            let name = format!("{folder}frames/{file}");
            let picture = self.source.bytes(&name, LARGEST_PICTURE)?;
            let found = Digest::of(&picture).to_string();
            if found != *sha256 {
                return Err(ArchiveError::altered(
                    &name,
                    None,
                    format!("has the digest {found}"),
                    format!("{sha256} (line {line} of {list_name})"),
                ));
            }
            debug_assert!(file.ends_with(ending(&picture)) || picture.is_empty());
            keep(time_s, &picture)?;
            names.insert(name);
        }
        let there = self.below(&format!("{folder}frames/"));
        match there.iter().find(|name| !names.contains(*name)) {
            None => Ok(names.len() as u64),
            Some(stranger) => Err(ArchiveError::altered(
                stranger,
                None,
                "it is a picture too many",
                format!("only those in {list_name}"),
            )),
        }
    }
}

/// Largest picture that is kept anywhere.
pub(crate) const LARGEST_PICTURE: u64 = 64 << 20;

/// What a description says of a file.
struct Said {
    bytes: u64,
    sha256: String,
}

fn files_of(metadata: &[u8]) -> Result<BTreeMap<String, Said>, ArchiveError> {
    let wrong = |line, found: String| {
        ArchiveError::altered(METADATA, line, found, "an RO-Crate as it was written")
    };
    let parsed: Value = serde_json::from_slice(metadata).map_err(|error| {
        wrong(
            Some(error.line() as u64),
            format!("it cannot be read ({error})"),
        )
    })?;
    let graph = parsed["@graph"]
        .as_array()
        .ok_or_else(|| wrong(None, "it has no @graph".into()))?;
    let mut files = BTreeMap::new();
    for entity in graph {
        if entity["@type"] != "File" {
            continue;
        }
        let text = |key: &str| entity[key].as_str().unwrap_or_default().to_owned();
        let name = text("@id");
        let bytes = text("contentSize")
            .parse()
            .map_err(|_| wrong(None, format!("{name} has no contentSize")))?;
        files.insert(
            name,
            Said {
                bytes,
                sha256: text("sha256"),
            },
        );
    }
    Ok(files)
}

/// Say as closely as can be told what is different.
fn different(
    source: &mut Source,
    name: &str,
    found: Digest,
    bytes: u64,
    expected: &Said,
) -> ArchiveError {
    if name == crate::RECORDS
        && let Some(error) = altered_record(source)
    {
        return error;
    }
    ArchiveError::altered(
        name,
        None,
        format!("has {bytes} bytes with the digest {found}"),
        format!("{} bytes with {}", expected.bytes, expected.sha256),
    )
}

/// The first line of the records that does not have its hash.
fn altered_record(source: &mut Source) -> Option<ArchiveError> {
    let looked = source.read(crate::RECORDS, |from| {
        let mut previous: Option<Digest> = None;
        let mut number = 0;
        for line in BufReader::new(from).lines() {
            number += 1;
            let line = line.unwrap_or_default();
            let wrong = |found: String, expected: &str| {
                ArchiveError::altered(crate::RECORDS, Some(number), found, expected)
            };
            let parsed: RecordLine = serde_json::from_str(&line).map_err(|error| {
                wrong(
                    format!("it is no record ({error})"),
                    "a record as it was written",
                )
            })?;
            let record = parsed
                .record()
                .map_err(|error| wrong(error.to_string(), "the record as it was written"))?;
            if previous.is_some() && record.previous != previous && record.seq != number {
                return Err(wrong(
                    format!("it is record {}", record.seq),
                    "the record that follows",
                ));
            }
            previous = Some(record.hash);
        }
        Ok(())
    });
    looked.err()
}
