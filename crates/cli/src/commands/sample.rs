//! `meltrange sample`: samples of a lab book.

use super::archive;
use crate::args::{
    SampleAddArguments, SampleArguments, SampleCommand, SampleImportArguments, SampleListArguments,
    StandingArgument,
};
use crate::book_access::{add_one, failed, person, to_look, to_write, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use crate::table::aligned;
use meltrange_labbook::{
    Draft, ListedSample, Page, Preparation, Sample, SampleOrder, SampleQuery, SampleRow, Standing,
    parse_samples,
};
use serde_json::json;

/// Faults of a list that are shown; more of them say nothing new.
const MOST_SHOWN: usize = 20;

/// Run one of them.
pub(crate) fn run(
    arguments: &SampleArguments,
    output: &Output,
    quiet: bool,
) -> Result<(), Failure> {
    match &arguments.command {
        SampleCommand::Add(sample) => add(sample, output),
        SampleCommand::List(list) => show(list, output),
        SampleCommand::Import(import) => add_list(import, output),
        SampleCommand::Past(past) => super::past_results::run(past, output),
        SampleCommand::SignOff(sign_off) => super::sign_off::run(sign_off, output),
        SampleCommand::Export(export) => {
            archive::sample_out(export, output, &Progress::new(quiet || export.json))
        }
        SampleCommand::BringIn(sample) => {
            archive::sample_in(sample, output, &Progress::new(quiet || sample.json))
        }
    }
}

fn add(arguments: &SampleAddArguments, output: &Output) -> Result<(), Failure> {
    let sample = Sample {
        label: arguments.label.clone(),
        origin: arguments.origin.clone(),
        expected_substance: arguments.expected.clone(),
        hazards: arguments.hazards.clone(),
        preparation: Preparation {
            dried: arguments.dried,
            ground: arguments.ground,
            column_height_mm: arguments.column_height,
            solvent: arguments.solvent.clone(),
        },
        remarks: arguments.remarks.clone(),
    };
    let id = wait(add_one(
        &arguments.book,
        arguments.by.as_deref(),
        Draft::new(sample),
    ))?;
    if arguments.json {
        return output.json(&json!({"sample": {"id": id, "label": arguments.label}}));
    }
    output.text(&format!("sample {} was added\n", arguments.label))
}

fn show(arguments: &SampleListArguments, output: &Output) -> Result<(), Failure> {
    let query = SampleQuery {
        text: arguments.words.join(" "),
        standing: arguments.standing.map(|standing| match standing {
            StandingArgument::Unread => Standing::Unread,
            StandingArgument::Read => Standing::Read,
            StandingArgument::NotAgreed => Standing::NotAgreed,
            StandingArgument::Agreed => Standing::Agreed,
        }),
        order: SampleOrder::Label,
        offset: arguments.offset,
        limit: arguments.limit,
    };
    let page = wait(async {
        let book = to_look(&arguments.book).await?;
        let page = book.store().samples(&query).await.map_err(failed)?;
        book.close().await;
        Ok(page)
    })?;
    if arguments.json {
        return output.json(&json!({"total": page.total, "samples": page.rows}));
    }
    output.text(&page_text(&page, arguments))
}

fn page_text(page: &Page<SampleRow>, arguments: &SampleListArguments) -> String {
    if page.rows.is_empty() {
        return if page.total > 0 {
            format!("{} samples; --offset passes over all of them\n", page.total)
        } else if arguments.words.is_empty() && arguments.standing.is_none() {
            format!(
                "no samples yet\nnext: meltrange sample add {} LABEL\n",
                arguments.book.display()
            )
        } else {
            "no such sample\n".into()
        };
    }
    let mut rows =
        vec![["label", "expected", "standing", "range", "recordings"].map(str::to_owned)];
    rows.extend(page.rows.iter().map(|row| {
        [
            row.label.clone(),
            row.expected_substance.clone().unwrap_or_default(),
            standing_words(row.standing).into(),
            row.range_text.clone().unwrap_or_default(),
            row.recordings.to_string(),
        ]
    }));
    let mut text = aligned(&rows);
    if (page.rows.len() as u64) < page.total {
        text.push_str(&format!("{} of {}\n", page.rows.len(), page.total));
    }
    text
}

fn standing_words(standing: Standing) -> &'static str {
    match standing {
        Standing::Unread => "not read yet",
        Standing::Read => "read",
        Standing::NotAgreed => "not agreed yet",
        Standing::Agreed => "agreed",
    }
}

fn add_list(arguments: &SampleImportArguments, output: &Output) -> Result<(), Failure> {
    let name = arguments.list.display().to_string();
    let bytes = std::fs::read(&arguments.list)
        .map_err(|error| Failure::new(format!("{name} could not be read: {error}")))?;
    let listed = parse_samples(&name, &bytes).map_err(|errors| {
        let said: Vec<String> = errors.iter().map(ToString::to_string).collect();
        refused(&said)
    })?;
    let count = listed.len();
    wait(async {
        let book = to_write(&arguments.book).await?;
        let who = person(&book, arguments.by.as_deref()).await?;
        let mut taken = Vec::new();
        for ListedSample { line, sample } in &listed {
            let label = &sample.label;
            let there = book.store().sample_labelled(label).await.map_err(failed)?;
            if there.is_some() {
                taken.push(format!(
                    "{name}, line {line}, column label: \"{label}\" is a sample of the book already"
                ));
            }
        }
        if !taken.is_empty() {
            return Err(refused(&taken));
        }
        let drafts = listed.into_iter().map(|row| Draft::new(row.sample));
        book.append(who, drafts.collect()).await.map_err(failed)?;
        book.close().await;
        Ok(())
    })?;
    if arguments.json {
        return output.json(&json!({"added": count}));
    }
    output.text(&format!("{count} samples were added\n"))
}

/// All that is wrong with a list, so that it is mended in one go.
fn refused(said: &[String]) -> Failure {
    let mut text = said
        .iter()
        .take(MOST_SHOWN)
        .cloned()
        .collect::<Vec<_>>()
        .join("\n       ");
    if said.len() > MOST_SHOWN {
        text.push_str(&format!("\n       and {} more", said.len() - MOST_SHOWN));
    }
    Failure::new(text).hint("mend the list and import it again; no sample was added")
}
