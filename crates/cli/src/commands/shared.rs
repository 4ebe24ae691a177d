//! Shared lab books: prepared, copied into and out of.

use crate::args::{BackupArguments, CopyArguments, PrepareArguments};
use crate::book_access::{failed, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use meltrange_labbook::{
    back_up_shared, copy_into_shared, copy_out_of_shared, is_shared, prepare_shared, shown_place,
};
use serde_json::json;

pub(crate) fn prepare(arguments: &PrepareArguments, output: &Output) -> Result<(), Failure> {
    wait(async {
        prepare_shared(&arguments.book, arguments.recordings.as_deref())
            .await
            .map_err(failed)
    })?;
    let place = shown_place(&arguments.book);
    if arguments.json {
        return output.json(&json!({"book": place, "recordings": arguments.recordings}));
    }
    output.text(&format!(
        "{place} is ready for a lab book\nnext: meltrange book new {place}, or meltrange book copy FOLDER {place}\n"
    ))
}

pub(crate) fn copy(
    arguments: &CopyArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let (from, to) = (&arguments.from, &arguments.to);
    let stretch = progress.begin("copying");
    let copied = match (is_shared(from), is_shared(to)) {
        (false, true) => wait(async {
            copy_into_shared(from, to, arguments.recordings.as_deref(), &mut |part| {
                stretch.at(part);
            })
            .await
            .map_err(failed)
        }),
        (true, false) => wait(async {
            copy_out_of_shared(from, to, &mut |part| stretch.at(part))
                .await
                .map_err(failed)
        }),
        (true, true) | (false, false) => Err(Failure::new(
            "a book is copied from a folder to the address of a database, or back; expected one of each",
        )
        .hint("a folder is copied as files are, with the book closed; \"meltrange book export\" makes an archive")),
    }?;
    drop(stretch);
    let place = shown_place(to);
    if arguments.json {
        return output.json(&json!({
            "from": shown_place(from),
            "to": place,
            "records": copied.records,
            "recordings": copied.recordings,
        }));
    }
    output.text(&format!(
        "{} records and {} recordings are in {place}, each the same as in {}\n",
        copied.records,
        copied.recordings,
        shown_place(from)
    ))
}

pub(crate) fn back_up(
    arguments: &BackupArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let stretch = progress.begin("backing up");
    let added = wait(async {
        back_up_shared(&arguments.book, &arguments.folder, &mut |part| {
            stretch.at(part);
        })
        .await
        .map_err(failed)
    })?;
    drop(stretch);
    let (place, folder) = (shown_place(&arguments.book), arguments.folder.display());
    if arguments.json {
        return output.json(&json!({
            "book": place,
            "folder": arguments.folder,
            "records": added.records,
            "recordings": added.recordings,
        }));
    }
    output.text(&format!(
        "{} records and {} recordings were added to the backup of {place} in {folder}\n",
        added.records, added.recordings
    ))
}
