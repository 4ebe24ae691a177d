//! Tables of sign-offs and of results from before the book.

use super::tables::{Table, all_samples, maybe, name_of};
use crate::book::Book;
use crate::error::BookError;
use std::path::Path;

pub(super) async fn sign_offs(book: &Book, path: &Path) -> Result<(), BookError> {
    let columns = [
        "sign_off",
        "sample",
        "label",
        "when",
        "who",
        "meaning",
        "range",
        "statement",
        "withdrawn",
        "reason",
        "holds",
    ];
    let people = book.store().people().await?;
    let mut table = Table::begin(path, &columns)?;
    for row in all_samples(book).await? {
        for signed in book.store().sample(row.id).await?.sign_offs {
            let meaning = serde_json::to_value(signed.sign_off.meaning)?;
            let holds = yes_no(signed.holds());
            table.row(vec![
                signed.id.to_string(),
                row.id.to_string(),
                row.label.clone(),
                signed.when.to_string(),
                name_of(&people, signed.who),
                meaning.as_str().unwrap_or_default().into(),
                signed.sign_off.range_text,
                signed.sign_off.statement.unwrap_or_default(),
                yes_no(signed.sign_off.withdrawn),
                signed.reason.unwrap_or_default(),
                holds,
            ])?;
        }
    }
    table.end()
}

pub(super) async fn past_results(book: &Book, path: &Path) -> Result<(), BookError> {
    let columns = [
        "past_result",
        "sample",
        "label",
        "substance",
        "from_c",
        "to_c",
        "above",
        "decomposed",
        "mark",
        "heating_rate_c_per_min",
        "measured_on",
        "by",
        "source",
        "remarks",
        "as_written",
        "file",
        "line",
        "void",
        "reason",
    ];
    let mut table = Table::begin(path, &columns)?;
    for row in all_samples(book).await? {
        for kept in book.store().sample(row.id).await?.past_results {
            let past = kept.past_result;
            let mark = serde_json::to_value(past.mark)?;
            table.row(vec![
                kept.id.to_string(),
                row.id.to_string(),
                row.label.clone(),
                past.substance.unwrap_or_default(),
                maybe(past.from_c.as_ref()),
                maybe(past.to_c.as_ref()),
                yes_no(past.above),
                yes_no(past.decomposed),
                mark.as_str().unwrap_or_default().into(),
                maybe(past.heating_rate_c_per_min.as_ref()),
                maybe(past.measured_on.as_ref()),
                past.by.unwrap_or_default(),
                past.source.unwrap_or_default(),
                past.remarks.unwrap_or_default(),
                past.as_written,
                past.file_name,
                past.line.to_string(),
                yes_no(past.void),
                kept.reason.unwrap_or_default(),
            ])?;
        }
    }
    table.end()
}

fn yes_no(what: bool) -> String {
    if what { "yes" } else { "no" }.into()
}
