//! A whole book into an archive.

use crate::crate_metadata::{Described, Graph, METADATA};
use crate::error::ArchiveError;
use crate::manifest::{ARCHIVE, ArchiveManifest, ArchiveOf, FORM, Incomplete, numbers};
use crate::out::{Out, Written};
use crate::readme::readme;
use crate::recordings;
use crate::tables::{TableForms, shape};
use meltrange_labbook::{Book, BookError, Entry, Head, PersonRow, RecordingDetail};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// What is to be exported, and where to.
#[derive(Debug, Clone)]
pub struct ExportOrder {
    /// A new or empty folder, or a new file whose name ends in `.zip`.
    pub out: PathBuf,
    /// When it is made: the same book and time give the same archive, byte for byte.
    pub made: jiff::Timestamp,
    /// Address of the licence that is stated for it.
    pub licence: Option<String>,
    /// Which tables.
    pub tables: TableForms,
}

impl ExportOrder {
    /// To `out`, now, no licence stated.
    pub fn to(out: impl Into<PathBuf>) -> Self {
        Self {
            out: out.into(),
            made: jiff::Timestamp::now(),
            licence: None,
            tables: TableForms::default(),
        }
    }
}

/// What was exported.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Exported {
    /// Records.
    pub records: u64,
    /// Recordings.
    pub recordings: u64,
    /// Pictures, as files of their own.
    pub pictures: u64,
    /// Where the chain stood.
    pub head: Head,
    /// What could not be read, or is not as it was recorded; the rest was exported.
    pub incomplete: Vec<Incomplete>,
}

/// Write a whole book into an archive; it appears whole or not at all. `progress` hears the part done,
/// 0..=1.
///
/// # Errors
/// [`ArchiveError`]; nothing is left then. A recording that cannot be read is no error: see
/// [`Exported::incomplete`].
pub async fn export_book(
    book: &Book,
    order: &ExportOrder,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<Exported, ArchiveError> {
    let mut out = Out::begin(&order.out, order.made)?;
    let scratch = out.scratch().join("book");
    let tables = book.export_tables(&scratch).await?;
    let head = tables.head;
    let people = book.store().people().await?;
    let title = title(book).await?;
    shape(&scratch, order.tables)?;
    let files = tables_in(&mut out, &scratch)?;
    let put = Filling {
        out: &mut out,
        book,
        files,
    }
    .recordings(&tables.recordings, progress)
    .await?;
    let manifest = ArchiveManifest {
        form: FORM,
        of: ArchiveOf::Book,
        title,
        head: head.into(),
        records: head.seq,
        numbers: numbers(1..=head.seq),
        program: crate::PROGRAM.into(),
        incomplete: put.incomplete.clone(),
    };
    let exported = Exported {
        records: head.seq,
        recordings: tables.recordings.len() as u64,
        pictures: put.pictures,
        head,
        incomplete: put.incomplete.clone(),
    };
    put.end(out, &manifest, order, &people)?;
    Ok(exported)
}

/// What a book is called.
pub(crate) async fn title(book: &Book) -> Result<String, BookError> {
    let first = book.store().after(0, 1).await?;
    Ok(match first.first().map(|record| &record.entry) {
        Some(Entry::Opening(opening)) => opening.title.clone(),
        _ => String::new(),
    })
}

/// Records, curves and tables that were made in `scratch`.
pub(crate) fn tables_in(out: &mut Out, scratch: &Path) -> Result<Vec<Written>, ArchiveError> {
    let mut files = Vec::new();
    for path in files_below(scratch, "")? {
        files.push(out.put_file(&path, &scratch.join(&path))?);
    }
    Ok(files)
}

/// Paths of the files below `folder`, in order.
fn files_below(folder: &Path, inside: &str) -> Result<Vec<String>, ArchiveError> {
    let read = |error| ArchiveError::file(folder, "read", error);
    let mut names = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(read)? {
        let entry = entry.map_err(read)?;
        let name = entry.file_name().to_string_lossy().into_owned();
        names.push((name, entry.file_type().map_err(read)?.is_dir()));
    }
    names.sort();
    let mut paths = Vec::new();
    for (name, is_folder) in names {
        let path = format!("{inside}{name}");
        if is_folder {
            paths.extend(files_below(&folder.join(&name), &format!("{path}/"))?);
        } else {
            paths.push(path);
        }
    }
    Ok(paths)
}

/// An archive whose tables are in and whose recordings are to come.
pub(crate) struct Filling<'a> {
    pub out: &'a mut Out,
    pub book: &'a Book,
    pub files: Vec<Written>,
}

/// What was put in, for the description at the end.
pub(crate) struct Filled {
    pub files: Vec<Written>,
    pub graph: Graph,
    pub pictures: u64,
    pub incomplete: Vec<Incomplete>,
}

impl Filling<'_> {
    /// Put the recordings in.
    pub async fn recordings(
        self,
        all: &[RecordingDetail],
        progress: &mut (dyn FnMut(f64) + Send),
    ) -> Result<Filled, ArchiveError> {
        let mut filled = Filled {
            files: self.files,
            graph: Graph::begin(&self.out.scratch().join(METADATA))?,
            pictures: 0,
            incomplete: Vec::new(),
        };
        for (number, detail) in (1_u64..).zip(all) {
            let put = recordings::put(self.out, self.book, detail).await?;
            filled.graph.recording(detail, &put)?;
            filled.pictures += put.pictures;
            filled.incomplete.extend(put.incomplete);
            progress(number as f64 / all.len() as f64);
        }
        Ok(filled)
    }
}

impl Filled {
    /// Describe what was put in and end the archive.
    pub fn end(
        mut self,
        mut out: Out,
        manifest: &ArchiveManifest,
        order: &ExportOrder,
        people: &[PersonRow],
    ) -> Result<(), ArchiveError> {
        self.files.push(out.put_bytes(ARCHIVE, &manifest.text()?)?);
        let text = readme(manifest, self.graph.recordings(), self.pictures, order);
        self.files
            .push(out.put_bytes("README.md", text.as_bytes())?);
        self.graph.end(&Described {
            manifest,
            made: order.made,
            licence: order.licence.as_deref(),
            people,
            files: &self.files,
        })?;
        let described = out.scratch().join(METADATA);
        out.put_file(METADATA, &described)?;
        out.finish()
    }
}
