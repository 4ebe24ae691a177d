//! `README.md`: what is in an archive, for people.

use crate::book_out::ExportOrder;
use crate::manifest::{ArchiveManifest, ArchiveOf};
use std::fmt::Write as _;

/// A heading cannot be broken by what a person typed.
fn one_line(text: &str) -> String {
    text.chars()
        .map(|letter| match letter {
            '#' | '*' | '_' | '`' | '[' | ']' | '<' | '>' | '\\' => format!("\\{letter}"),
            letter if letter.is_control() => " ".into(),
            letter => letter.to_string(),
        })
        .collect()
}

pub(crate) fn readme(
    manifest: &ArchiveManifest,
    recordings: usize,
    pictures: u64,
    order: &ExportOrder,
) -> String {
    let title = one_line(&manifest.title);
    let (heading, back) = match &manifest.of {
        ArchiveOf::Book => (
            title.clone(),
            "`meltrange book restore ARCHIVE --out NEW_BOOK` makes the same lab book of it again, bit for bit.",
        ),
        ArchiveOf::Sample { label, .. } => (
            format!("Sample {} of \"{title}\"", one_line(label)),
            "`meltrange sample bring-in BOOK ARCHIVE` brings it into another lab book.",
        ),
    };
    let mut text = format!(
        "# {heading}\n\n\
         Melting range measurements: {} records, {recordings} recordings, {pictures} pictures. Made {} by {}.\n\n\
         | file | what |\n|---|---|\n\
         | `records.jsonl` | every record in the order it was written: a line each, with its SHA-256 and the very text that was hashed |\n\
         | `*.csv` | tables of what the records come to; temperatures are as logged unless a column `convention` says otherwise |\n\
         | `tables/*.parquet` | the same tables with types |\n\
         | `curves/` | melting curves of readings |\n\
         | `recordings/ID/` | a recording: pictures in `frames/` with `frames.csv`, or the video, as captured; `temperature.csv`; `recording.json` says where the pictures' time 0 stands on the log's clock |\n\
         | `archive.json` | what this archive is of |\n\
         | `ro-crate-metadata.json` | all of it described for programs (RO-Crate 1.2), each file with its SHA-256 |\n\n",
        manifest.records, order.made, manifest.program,
    );
    let _ = writeln!(
        text,
        "The chain of records ended at record {} with `{}`. Records in this archive: {}.\n",
        manifest.head.seq, manifest.head.hash, manifest.numbers
    );
    text.push_str(
        "Each `content` in `records.jsonl` has the SHA-256 that stands beside it, and holds that of the record before \
         as `previous`.\n",
    );
    let _ = writeln!(text, "{back}\n");
    match &order.licence {
        Some(licence) => {
            let _ = writeln!(text, "Licence: <{licence}>");
        }
        None => text.push_str("No licence was stated: ask the people named in `people.csv`.\n"),
    }
    if !manifest.incomplete.is_empty() {
        text.push_str("\n## What is missing or damaged\n\n");
        for lack in &manifest.incomplete {
            let _ = writeln!(
                text,
                "- recording {}: `{}` {}",
                lack.recording,
                lack.file,
                one_line(&lack.found)
            );
        }
    }
    text
}
