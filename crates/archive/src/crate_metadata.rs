//! `ro-crate-metadata.json`: the archive described as an RO-Crate 1.2
//! (<https://w3id.org/ro/crate/1.2>), so that programs that know nothing of this one can tell what is in it.

use crate::error::ArchiveError;
use crate::manifest::ArchiveManifest;
use crate::out::Written;
use crate::recordings::PutRecording;
use meltrange_labbook::{PersonRow, RecordingDetail};
use serde_json::{Value, json};
use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};

/// Its name.
pub(crate) const METADATA: &str = "ro-crate-metadata.json";

/// The version of the specification that is followed.
const SPECIFICATION: &str = "https://w3id.org/ro/crate/1.2";

/// Said where nobody stated a licence.
const NO_LICENCE: &str = "Ask the people named here before you use, change or pass on what \
                          is in this archive.";

/// What is put into words at the end.
pub(crate) struct Described<'a> {
    pub manifest: &'a ArchiveManifest,
    pub made: jiff::Timestamp,
    pub licence: Option<&'a str>,
    pub people: &'a [PersonRow],
    /// Files outside recordings.
    pub files: &'a [Written],
}

/// The graph under way: an entity a line, written as it comes, so that an archive of any size is described
/// in little memory. Entities may stand in any order.
pub(crate) struct Graph {
    path: PathBuf,
    out: BufWriter<File>,
    /// Folders of the recordings.
    recordings: Vec<String>,
}

impl Graph {
    /// Begin it in the file `path`.
    pub fn begin(path: &Path) -> Result<Self, ArchiveError> {
        let file =
            File::create_new(path).map_err(|error| ArchiveError::file(path, "written", error))?;
        let mut graph = Self {
            path: path.into(),
            out: BufWriter::new(file),
            recordings: Vec::new(),
        };
        graph.write(&format!(
            "{{\"@context\": \"{SPECIFICATION}/context\",\n\"@graph\": [\n"
        ))?;
        let descriptor = json!({
            "@id": METADATA,
            "@type": "CreativeWork",
            "conformsTo": id(SPECIFICATION),
            "about": id("./"),
            "description": "What is in this archive",
        });
        graph.write(&serde_json::to_string(&descriptor)?)?;
        Ok(graph)
    }

    fn write(&mut self, text: &str) -> Result<(), ArchiveError> {
        self.out
            .write_all(text.as_bytes())
            .map_err(|error| ArchiveError::file(&self.path, "written", error))
    }

    fn entity(&mut self, entity: &Value) -> Result<(), ArchiveError> {
        let text = format!(",\n{}", serde_json::to_string(entity)?);
        self.write(&text)
    }

    /// How many recordings are described.
    pub fn recordings(&self) -> usize {
        self.recordings.len()
    }

    /// A recording as a dataset, and its parts.
    pub fn recording(
        &mut self,
        detail: &RecordingDetail,
        put: &PutRecording,
    ) -> Result<(), ArchiveError> {
        let (dataset, parts) = recording(detail, put);
        self.entity(&dataset)?;
        parts.iter().try_for_each(|part| self.entity(part))?;
        self.recordings.push(put.folder.clone());
        Ok(())
    }

    /// Describe the rest and end it.
    pub fn end(mut self, of: &Described<'_>) -> Result<(), ArchiveError> {
        let root = root(of, &self.recordings);
        self.entity(&root)?;
        of.files
            .iter()
            .try_for_each(|one| self.entity(&file(one)))?;
        others(of).iter().try_for_each(|one| self.entity(one))?;
        self.write("\n]}\n")?;
        self.out
            .flush()
            .map_err(|error| ArchiveError::file(&self.path, "written", error))
    }
}

fn id(id: impl Into<String>) -> Value {
    json!({"@id": id.into()})
}

fn person_id(row: &PersonRow) -> String {
    format!("urn:uuid:{}", row.id)
}

/// People, program, the making of it, the chain, the licence.
fn others(of: &Described<'_>) -> Vec<Value> {
    let mut others: Vec<Value> = of
        .people
        .iter()
        .map(|row| json!({"@id": person_id(row), "@type": "Person", "name": row.name}))
        .collect();
    others.push(json!({
        "@id": "#program",
        "@type": "SoftwareApplication",
        "name": of.manifest.program,
        "version": env!("CARGO_PKG_VERSION"),
        "softwareVersion": env!("CARGO_PKG_VERSION"),
        // Asked for, and the program has no page of its own: what it does stands there.
        "url": id("README.md"),
        "description": "Melting ranges from recordings of capillaries and temperature logs",
    }));
    others.push(json!({
        "@id": "#made",
        "@type": "CreateAction",
        "name": "Export",
        "endTime": of.made.to_string(),
        "instrument": id("#program"),
        "result": id("./"),
    }));
    others.push(json!({
        "@id": "#chain",
        "@type": "PropertyValue",
        "name": "End of the chain of records",
        "description": "SHA-256 of the last record of the lab book; each record holds that of the one before",
        "propertyID": "sha256",
        "value": of.manifest.head.hash,
    }));
    others.push(match of.licence {
        Some(licence) => json!({
            "@id": licence,
            "@type": "CreativeWork",
            "name": licence,
            "description": "The licence that was stated for this archive",
        }),
        None => json!({
            "@id": "#no-licence",
            "@type": "CreativeWork",
            "name": "No licence stated",
            "description": NO_LICENCE,
        }),
    });
    others
}

fn root(of: &Described<'_>, recordings: &[String]) -> Value {
    let manifest = of.manifest;
    let mut parts: Vec<Value> = of
        .files
        .iter()
        .map(|file| id(encoded(&file.path)))
        .collect();
    parts.extend(recordings.iter().map(|folder| id(folder.as_str())));
    let authors: Vec<Value> = of.people.iter().map(|row| id(person_id(row))).collect();
    let what = manifest.of.words();
    let lacks = match manifest.incomplete.len() {
        0 => String::new(),
        count => format!(" {count} files were missing or damaged; archive.json says which."),
    };
    let mut root = json!({
        "@id": "./",
        "@type": "Dataset",
        "name": match &manifest.of {
            crate::manifest::ArchiveOf::Book => manifest.title.clone(),
            crate::manifest::ArchiveOf::Sample { label, .. } => {
                format!("Sample {label} of \"{}\"", manifest.title)
            }
        },
        "description": format!(
            "A {what} of melting range measurements: {} records in the order they were written, each with its \
             SHA-256, {} recordings with pictures and temperature logs, and tables of what the records come to.{lacks}",
            manifest.records,
            recordings.len(),
        ),
        "datePublished": of.made.to_string(),
        "license": match of.licence {
            Some(licence) => id(licence),
            None => id("#no-licence"),
        },
        "author": one_or_many(authors),
        "identifier": id("#chain"),
        "mentions": id("#made"),
        "keywords": ["melting point", "capillary method"],
        "hasPart": parts,
    });
    if let (Some(root), Some(first)) = (root.as_object_mut(), of.people.first()) {
        let supervisor = of
            .people
            .iter()
            .find(|row| row.role == meltrange_labbook::Role::Supervisor)
            .unwrap_or(first);
        root.insert("publisher".into(), id(person_id(supervisor)));
    }
    root
}

/// The specification recommends that a single value stands by itself.
fn one_or_many(mut values: Vec<Value>) -> Value {
    match values.len() {
        1 => values.remove(0),
        _ => Value::Array(values),
    }
}

/// A path as a relative URI. Only what we named ourselves and plain endings of videos are in it.
fn encoded(path: &str) -> String {
    path.bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => {
                char::from(byte).to_string()
            }
            other => format!("%{other:02X}"),
        })
        .collect()
}

/// A file.
fn file(of: &Written) -> Value {
    let (name, description) = said_of(&of.path);
    json!({
        "@id": encoded(&of.path),
        "@type": "File",
        "name": name,
        "description": description,
        "encodingFormat": encoding(&of.path),
        "contentSize": of.bytes.to_string(),
        "sha256": of.sha256.to_string(),
    })
}

/// A recording as a dataset, and its parts.
fn recording(detail: &RecordingDetail, put: &PutRecording) -> (Value, Vec<Value>) {
    let labels: Vec<&str> = detail
        .row
        .labels
        .iter()
        .flatten()
        .map(String::as_str)
        .collect();
    let of = if labels.is_empty() {
        "of unknown samples".to_owned()
    } else {
        format!("of {}", labels.join(", "))
    };
    let lacks: Vec<String> = put
        .incomplete
        .iter()
        .map(|lack| format!(" {} {}.", lack.file, lack.found))
        .collect();
    let mut parts: Vec<Value> = put.files.iter().map(file).collect();
    let mut named: Vec<Value> = put
        .files
        .iter()
        .map(|file| id(encoded(&file.path)))
        .collect();
    if put.pictures > 0 {
        let folder = format!("{}frames/", put.folder);
        named.push(id(folder.clone()));
        parts.push(json!({
            "@id": folder,
            "@type": "Dataset",
            "name": "Pictures",
            "description": format!(
                "{} pictures as captured; when each was taken, and its SHA-256, stands in frames.csv beside",
                put.pictures
            ),
        }));
    }
    let dataset = json!({
        "@id": put.folder,
        "@type": "Dataset",
        "name": format!("Recording {of}"),
        "description": format!(
            "Pictures and temperature log of one heating, begun {}.{}",
            detail.row.begun,
            lacks.concat()
        ),
        "dateCreated": detail.row.begun.to_string(),
        "hasPart": named,
    });
    (dataset, parts)
}

/// Media types: those registered with IANA where there is one.
fn encoding(path: &str) -> &'static str {
    let ending = path.rsplit_once('.').map_or("", |(_, ending)| ending);
    match ending {
        "csv" => "text/csv",
        "json" => "application/json",
        "jsonl" => "application/x-ndjson",
        "md" => "text/markdown",
        "parquet" => "application/vnd.apache.parquet",
        "jpg" => "image/jpeg",
        "png" => "image/png",
        "mp4" | "m4v" => "video/mp4",
        "mkv" => "video/matroska",
        "webm" => "video/webm",
        "mov" => "video/quicktime",
        "avi" => "video/vnd.avi",
        "mpg" | "mpeg" => "video/mpeg",
        _ => "application/octet-stream",
    }
}

/// Name and description of a file, by its path.
fn said_of(path: &str) -> (String, String) {
    let last = path.rsplit('/').next().unwrap_or(path);
    let description = match (path, last) {
        (crate::RECORDS, _) => {
            "Every record: a line each with its SHA-256 and the very text that was hashed".into()
        }
        (crate::manifest::ARCHIVE, _) => {
            "What this archive is of, where the chain stood, what is missing".into()
        }
        ("README.md", _) => "What is in this archive, for people".into(),
        (_, "temperature.csv") if path.starts_with("recordings/") => {
            "Temperature log: time_s, temperature_c, as logged".into()
        }
        (_, "frames.csv") => "When each picture was taken, on the pictures' own clock".into(),
        (_, "manifest.json") => {
            "Digests of the recording's files as they are kept in the lab book".into()
        }
        (_, "recording.json") => {
            "What was recorded, when, and where the pictures' time 0 stands".into()
        }
        (_, name) if name.starts_with("video.") => "The video as it was imported".into(),
        _ if path.starts_with("curves/") => "Melting curves of one reading".into(),
        _ => match last.rsplit_once('.') {
            Some((table, "csv" | "parquet")) => format!("Table of {}", table.replace('_', " ")),
            _ => "Part of the archive".into(),
        },
    };
    (last.to_owned(), description)
}
