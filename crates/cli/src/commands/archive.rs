//! Archives: books and samples out in open formats, and in again.

use crate::args::{
    ExportArguments, RestoreArguments, SampleBringInArguments, SampleExportArguments,
    TableArgument, TableArguments,
};
use crate::book_access::{failed, person, sample, to_look, to_write, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use meltrange_archive::{
    ArchiveError, ExportOrder, Exported, TableForms, bring_in, export_sample, export_table,
};
use serde_json::json;
use std::path::Path;

/// Damaged files shown to a person; `--json` has them all.
const MOST_SHOWN: usize = 20;

/// An archive's error with advice.
pub(crate) fn archive_failed(error: ArchiveError) -> Failure {
    match error {
        ArchiveError::Book(error) => failed(error),
        ArchiveError::NotTaken { .. } => Failure::of(&error)
            .hint("rename what bears the name in this book, or bring it into another book"),
        ArchiveError::AlreadyThere { .. } => Failure::of(&error).hint("nothing there was touched"),
        error => Failure::of(&error),
    }
}

fn order(out: &Path, licence: Option<&str>) -> ExportOrder {
    ExportOrder {
        licence: licence.map(str::to_owned),
        ..ExportOrder::to(out)
    }
}

pub(crate) fn export_book(
    arguments: &ExportArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let stretch = progress.begin("exporting");
    let order = ExportOrder {
        tables: TableForms {
            csv: arguments.tables.contains(&TableArgument::Csv),
            parquet: arguments.tables.contains(&TableArgument::Parquet),
        },
        ..order(&arguments.out, arguments.licence.as_deref())
    };
    let exported = wait(async {
        let book = to_look(&arguments.book).await?;
        let exported = meltrange_archive::export_book(&book, &order, &mut |done| stretch.at(done))
            .await
            .map_err(archive_failed)?;
        book.close().await;
        Ok(exported)
    })?;
    drop(stretch);
    said(&exported, &arguments.out, arguments.json, output)
}

/// Write one sample.
pub(crate) fn sample_out(
    arguments: &SampleExportArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let stretch = progress.begin("exporting");
    let order = order(&arguments.out, arguments.licence.as_deref());
    let exported = wait(async {
        let book = to_look(&arguments.book).await?;
        let sample = sample(&book, &arguments.label).await?;
        let exported = export_sample(&book, sample, &order, &mut |done| stretch.at(done))
            .await
            .map_err(archive_failed)?;
        book.close().await;
        Ok(exported)
    })?;
    drop(stretch);
    said(&exported, &arguments.out, arguments.json, output)
}

fn said(exported: &Exported, out: &Path, json: bool, output: &Output) -> Result<(), Failure> {
    let place = out.display();
    if json {
        return output.json(&json!({"out": place.to_string(), "exported": exported}));
    }
    let mut text = format!(
        "{} records, {} recordings and {} pictures in {place}\n",
        exported.records, exported.recordings, exported.pictures,
    );
    for lack in exported.incomplete.iter().take(MOST_SHOWN) {
        text.push_str(&format!(
            "not whole: recording {}: {} {}\n",
            lack.recording, lack.file, lack.found
        ));
    }
    let more = exported.incomplete.len().saturating_sub(MOST_SHOWN);
    if more > 0 {
        text.push_str(&format!("and {more} more; --json lists all\n"));
    }
    output.text(&text)
}

pub(crate) fn restore(
    arguments: &RestoreArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let stretch = progress.begin("restoring");
    let restored = wait(async {
        meltrange_archive::restore(&arguments.archive, &arguments.out, &mut |done| {
            stretch.at(done);
        })
        .await
        .map_err(archive_failed)
    })?;
    drop(stretch);
    let place = arguments.out.display();
    if arguments.json {
        return output.json(&json!({"book": place.to_string(), "restored": restored}));
    }
    let mut text = format!(
        "lab book \"{}\" in {place}: {} records, {} recordings; verified, nothing was altered\n",
        restored.title, restored.records, restored.recordings
    );
    if let Some(hash) = restored.head.hash {
        text.push_str(&format!(
            "the chain ends at record {} with {hash}, as when it was exported\n",
            restored.head.seq
        ));
    }
    for id in restored.without_pictures.iter().take(MOST_SHOWN) {
        text.push_str(&format!(
            "no pictures to look through could be made of the video of recording {id}\n"
        ));
    }
    for name in restored.strangers.iter().take(MOST_SHOWN) {
        text.push_str(&format!("left alone, not of the archive: {name}\n"));
    }
    output.text(&text)
}

/// Bring one sample in.
pub(crate) fn sample_in(
    arguments: &SampleBringInArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let stretch = progress.begin("bringing in");
    let done = wait(async {
        let book = to_write(&arguments.book).await?;
        let by = person(&book, arguments.by.as_deref()).await?;
        let done = bring_in(&book, &arguments.archive, by, &mut |done| stretch.at(done))
            .await
            .map_err(archive_failed)?;
        book.close().await;
        Ok(done)
    })?;
    drop(stretch);
    if arguments.json {
        return output.json(&done);
    }
    output.text(&format!(
        "sample {} of \"{}\": {} records and {} recordings were brought in, {} records were there already\n",
        done.label, done.title, done.records, done.recordings, done.already_there
    ))
}

/// Write one table.
pub(crate) fn table(arguments: &TableArguments, output: &Output) -> Result<(), Failure> {
    let place = arguments.out.display();
    let known = arguments.out.extension().is_some_and(|ending| {
        ending.eq_ignore_ascii_case("csv") || ending.eq_ignore_ascii_case("parquet")
    });
    if !known {
        return Err(Failure::new(format!(
            "{place} does not say what it is to be; expected a name that ends in .csv or .parquet"
        )));
    }
    wait(async {
        let book = to_look(&arguments.book).await?;
        export_table(&book, &arguments.name, &arguments.out)
            .await
            .map_err(archive_failed)?;
        book.close().await;
        Ok(())
    })?;
    if arguments.json {
        return output.json(&json!({"table": arguments.name, "file": place.to_string()}));
    }
    output.text(&format!("{} in {place}\n", arguments.name))
}
