//! One sample into an archive, with all that concerns it.

use crate::book_out::{ExportOrder, Exported, Filling, tables_in, title};
use crate::error::ArchiveError;
use crate::manifest::{ArchiveManifest, ArchiveOf, FORM, numbers};
use crate::out::Out;
use crate::selection::{Selection, each_record, select};
use crate::tables::shape;
use meltrange_labbook::{
    Book, BookError, Digest, Entry, PersonRow, RecordLine, SampleId, SubjectId, attachment_of,
};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::Path;

/// Write one sample into an archive with its runs, recordings, readings, decisions, results and verdicts, and
/// the people, bench and thermometer's history that these speak of: each record with its own text and hash. The
/// archive appears whole or not at all. `progress` hears the part done, 0..=1.
///
/// # Errors
/// [`ArchiveError`]; nothing is left then.
pub async fn export_sample(
    book: &Book,
    sample: SampleId,
    order: &ExportOrder,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<Exported, ArchiveError> {
    let Entry::Sample(said) = book.store().latest(sample.into()).await?.entry else {
        return Err(BookError::Unknown {
            what: "sample",
            name: sample.to_string(),
        }
        .into());
    };
    let selection = select(book, sample).await?;
    let mut out = Out::begin(&order.out, order.made)?;
    let scratch = out.scratch().join("sample");
    let all = book.export_tables(&out.scratch().join("book")).await?;
    std::fs::create_dir_all(&scratch)
        .map_err(|error| ArchiveError::file(&scratch, "written", error))?;
    let numbered = records(book, &selection, &scratch).await?;
    rows(&out.scratch().join("book"), &scratch, &selection, sample)?;
    let mut people = book.store().people().await?;
    people.retain(|row: &PersonRow| selection.subjects.contains(&row.id.into()));
    shape(&scratch, order.tables)?;
    let files = tables_in(&mut out, &scratch)?;
    let wanted: BTreeSet<_> = selection.recordings.iter().copied().collect();
    let recordings: Vec<_> = all
        .recordings
        .into_iter()
        .filter(|detail| wanted.contains(&detail.row.id))
        .collect();
    let filled = Filling {
        out: &mut out,
        book,
        files,
    }
    .recordings(&recordings, progress)
    .await?;
    let manifest = ArchiveManifest {
        form: FORM,
        of: ArchiveOf::Sample {
            id: sample,
            label: said.label,
        },
        title: title(book).await?,
        head: all.head.into(),
        records: numbered.len() as u64,
        numbers: numbers(numbered.iter().copied()),
        program: crate::PROGRAM.into(),
        incomplete: filled.incomplete.clone(),
    };
    let exported = Exported {
        records: numbered.len() as u64,
        recordings: recordings.len() as u64,
        pictures: filled.pictures,
        head: all.head,
        incomplete: filled.incomplete.clone(),
    };
    filled.end(out, &manifest, order, &people)?;
    Ok(exported)
}

/// `records.jsonl` and `curves/`; the numbers of the records.
async fn records(
    book: &Book,
    selection: &Selection,
    folder: &Path,
) -> Result<Vec<u64>, ArchiveError> {
    let path = folder.join(crate::RECORDS);
    let written = |error| ArchiveError::file(&path, "written", error);
    let mut lines = BufWriter::new(File::create(&path).map_err(written)?);
    let mut numbers = Vec::new();
    let mut curves: BTreeMap<String, Digest> = BTreeMap::new();
    each_record(book, &mut |record| {
        if !selection.subjects.contains(&record.subject) {
            return Ok(());
        }
        lines
            .write_all(RecordLine::of(&record)?.text()?.as_bytes())
            .map_err(written)?;
        numbers.push(record.seq);
        if let Some(digest) = attachment_of(&record.entry) {
            let plain = format!("{}.json", record.subject);
            let name = if curves.contains_key(&plain) {
                format!("{}-{}.json", record.subject, record.id)
            } else {
                plain
            };
            curves.insert(name, digest);
        }
        Ok(())
    })
    .await?;
    lines.flush().map_err(written)?;
    let place = folder.join("curves");
    for (name, digest) in curves {
        let bytes = book.store().attachment(digest).await?;
        std::fs::create_dir_all(&place)
            .and_then(|()| std::fs::write(place.join(&name), bytes))
            .map_err(|error| ArchiveError::file(&place.join(&name), "written", error))?;
    }
    Ok(numbers)
}

/// The rows of the tables in `from` whose first cell is a subject that concerns the sample.
fn rows(
    from: &Path,
    to: &Path,
    selection: &Selection,
    sample: SampleId,
) -> Result<(), ArchiveError> {
    let read = |error| ArchiveError::file(from, "read", error);
    let mut names: Vec<_> = std::fs::read_dir(from)
        .map_err(read)?
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".csv"))
        .collect();
    names.sort();
    for name in names {
        let path = from.join(&name);
        let target = to.join(&name);
        let failed = |error: csv::Error| ArchiveError::file(&path, "read", error.into());
        let written = |error: csv::Error| ArchiveError::file(&target, "written", error.into());
        let mut table = csv::Reader::from_path(&path).map_err(failed)?;
        let mut kept = csv::Writer::from_path(&target).map_err(written)?;
        kept.write_record(table.headers().map_err(failed)?)
            .map_err(written)?;
        for row in table.records() {
            let row = row.map_err(failed)?;
            let id = row.get(0).unwrap_or_default();
            let concerns = if name == "samples.csv" {
                // Those that stood beside it are in the records; how far they are is not its concern.
                id == sample.to_string()
            } else {
                id.parse()
                    .is_ok_and(|id: SubjectId| selection.subjects.contains(&id))
            };
            if concerns {
                kept.write_record(&row).map_err(written)?;
            }
        }
        kept.flush()
            .map_err(|error| ArchiveError::file(&target, "written", error))?;
    }
    Ok(())
}
