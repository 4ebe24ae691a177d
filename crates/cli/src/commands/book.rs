//! `meltrange book`: make and verify lab books; [`super::archive`] exports and restores them.

use super::{archive, shared};
use crate::args::{
    BookArguments, BookCommand, NewBookArguments, PersonArguments, RoleArgument, VerifyArguments,
};
use crate::book_access::{add_one, failed, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use meltrange_labbook::{
    Book, Draft, Person, Role, Verdict, is_shared, prepare_shared, shown_place,
};
use serde_json::json;
use std::path::Path;

/// Findings shown to a person; `--json` has them all.
const MOST_SHOWN: usize = 50;

/// Run one of them.
pub(crate) fn run(arguments: &BookArguments, output: &Output, quiet: bool) -> Result<(), Failure> {
    match &arguments.command {
        BookCommand::New(new) => make(new, output),
        BookCommand::Verify(verify) => check(verify, output, &Progress::new(quiet || verify.json)),
        BookCommand::Export(export) => {
            archive::export_book(export, output, &Progress::new(quiet || export.json))
        }
        BookCommand::Restore(restore) => {
            archive::restore(restore, output, &Progress::new(quiet || restore.json))
        }
        BookCommand::Table(table) => archive::table(table, output),
        BookCommand::Prepare(prepare) => shared::prepare(prepare, output),
        BookCommand::Copy(copy) => shared::copy(copy, output, &Progress::new(quiet || copy.json)),
        BookCommand::Backup(backup) => {
            shared::back_up(backup, output, &Progress::new(quiet || backup.json))
        }
        BookCommand::Person(person) => add_person(person, output),
    }
}

fn make(arguments: &NewBookArguments, output: &Output) -> Result<(), Failure> {
    let name = arguments.by.clone().or_else(logged_in).ok_or_else(|| {
        Failure::new("it is not known who you are; expected whose book it is")
            .hint("say it with --by NAME, or set MELTRANGE_PERSON")
    })?;
    let title = arguments
        .title
        .clone()
        .or_else(|| folder_name(&arguments.book))
        .unwrap_or_else(|| "Lab book".into());
    let first = Person {
        name: name.clone(),
        role: Role::Supervisor,
    };
    if arguments.recordings.is_some() && !is_shared(&arguments.book) {
        return Err(Failure::new(
            "a book in a folder keeps its recordings in that folder; expected no --recordings",
        ));
    }
    let who = wait(async {
        if arguments.recordings.is_some() {
            prepare_shared(&arguments.book, arguments.recordings.as_deref())
                .await
                .map_err(failed)?;
        }
        let (book, who) = Book::create(&arguments.book, &title, first)
            .await
            .map_err(failed)?;
        book.close().await;
        Ok(who)
    })?;
    let place = shown_place(&arguments.book);
    if arguments.json {
        return output.json(&json!({
            "book": place, "title": title, "person": {"id": who, "name": name},
        }));
    }
    output.text(&format!(
        "lab book \"{title}\" of {name} in {place}\n\
         next: meltrange sample add {place} LABEL\n"
    ))
}

fn logged_in() -> Option<String> {
    ["USER", "LOGNAME", "USERNAME"]
        .into_iter()
        .filter_map(|name| std::env::var(name).ok())
        .find(|name| !name.trim().is_empty())
}

fn folder_name(folder: &Path) -> Option<String> {
    let name = folder.file_name()?.to_string_lossy();
    let clean: String = name.chars().filter(|letter| !letter.is_control()).collect();
    let clean = clean.trim();
    (!clean.is_empty()).then(|| clean.chars().take(200).collect())
}

fn check(arguments: &VerifyArguments, output: &Output, progress: &Progress) -> Result<(), Failure> {
    let place = shown_place(&arguments.book);
    let stretch = progress.begin("verifying");
    let all = folder_bytes(&arguments.book.join("recordings")).max(1);
    let verdict = wait(async {
        meltrange_labbook::verify(&arguments.book, arguments.head, &mut |done| {
            stretch.at(done as f64 / all as f64);
        })
        .await
        .map_err(failed)
    })?;
    drop(stretch);
    if arguments.json {
        output.json(&json!({
            "book": place,
            "sound": verdict.sound(),
            "records": verdict.records,
            "attachments": verdict.attachments,
            "recordings": verdict.recordings,
            "recording_bytes": verdict.recording_bytes,
            "head": verdict.head,
            "findings": verdict.findings.iter().map(|finding| {
                let mut value = serde_json::to_value(finding).unwrap_or_default();
                value["text"] = finding.to_string().into();
                value
            }).collect::<Vec<_>>(),
        }))?;
    } else {
        output.text(&verdict_text(&verdict))?;
    }
    let Some(first) = verdict.findings.first() else {
        return Ok(());
    };
    Err(Failure::new(format!(
        "{place} is not as it was written; the first of {}: {first}",
        verdict.findings.len()
    ))
    .hint("keep this copy as it is, and compare it with an earlier one"))
}

fn verdict_text(verdict: &Verdict) -> String {
    let mut text = format!(
        "{} records, {} recordings ({:.1} MB), {} attachments\n",
        verdict.records,
        verdict.recordings,
        verdict.recording_bytes as f64 / 1e6,
        verdict.attachments
    );
    if let Some(hash) = verdict.head.hash {
        text.push_str(&format!(
            "the chain ends at record {} with {hash}\n",
            verdict.head.seq
        ));
    }
    if verdict.sound() {
        text.push_str("nothing was altered\n");
    }
    for finding in verdict.findings.iter().take(MOST_SHOWN) {
        text.push_str(&format!("altered: {finding}\n"));
    }
    let more = verdict.findings.len().saturating_sub(MOST_SHOWN);
    if more > 0 {
        text.push_str(&format!("and {more} more; --json lists all\n"));
    }
    text
}

pub(super) fn folder_bytes(folder: &Path) -> u64 {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return 0;
    };
    entries
        .flatten()
        .filter_map(|entry| {
            let kind = entry.metadata().ok()?;
            Some(if kind.is_dir() {
                folder_bytes(&entry.path())
            } else {
                kind.len()
            })
        })
        .sum()
}

fn add_person(arguments: &PersonArguments, output: &Output) -> Result<(), Failure> {
    let added = Person {
        name: arguments.name.clone(),
        role: match arguments.role {
            RoleArgument::Supervisor => Role::Supervisor,
            RoleArgument::Analyst => Role::Analyst,
            RoleArgument::Student => Role::Student,
            RoleArgument::Viewer => Role::Viewer,
        },
    };
    let id = wait(add_one(
        &arguments.book,
        arguments.by.as_deref(),
        Draft::new(added),
    ))?;
    if arguments.json {
        return output.json(&json!({"person": {"id": id, "name": arguments.name}}));
    }
    output.text(&format!("{} was added\n", arguments.name))
}
