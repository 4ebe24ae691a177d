//! `meltrange book past-results`: how a spreadsheet of past results would be understood.

use crate::args::PastResultsArguments;
use crate::book_access::{to_look, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use meltrange_archive::past_results::{Mark, PastResult, PastResults, parse};

/// Remarks shown to a person; `--json` has them all.
const MOST_SHOWN: usize = 50;

/// Show it. Writing the rows as records waits for a kind of record for them: it goes here, behind the same
/// preview.
pub(crate) fn run(arguments: &PastResultsArguments, output: &Output) -> Result<(), Failure> {
    let name = arguments.file.display();
    if !arguments.preview {
        return Err(Failure::new(
            "past results cannot be recorded yet; expected --preview",
        )
        .hint(format!(
            "meltrange book past-results {} {name} --preview shows how they would be understood",
            arguments.book.display()
        )));
    }
    wait(async {
        let book = to_look(&arguments.book).await?;
        book.close().await;
        Ok(())
    })?;
    let text = std::fs::read_to_string(&arguments.file).map_err(|error| {
        Failure::new(format!("{name} could not be read: {error}"))
            .hint("expected a CSV file in UTF-8, as spreadsheets save it")
    })?;
    let found = parse(&text);
    if arguments.json {
        return output.json(&found);
    }
    output.text(&as_text(&name.to_string(), &found))
}

fn as_text(name: &str, found: &PastResults) -> String {
    let mut text = String::from("columns\n");
    for column in &found.columns {
        let meaning = column
            .meaning
            .and_then(|meaning| serde_json::to_value(meaning).ok())
            .and_then(|value| value.as_str().map(str::to_owned))
            .unwrap_or_else(|| "left out".into());
        text.push_str(&format!(
            "  {}: {meaning} ({})\n",
            column.header, column.how
        ));
    }
    let mut rows = vec![
        [
            "line",
            "label",
            "substance",
            "range, °C",
            "mark",
            "rate",
            "date",
            "by",
        ]
        .map(str::to_owned),
    ];
    rows.extend(found.rows.iter().map(row));
    text.push_str(&format!("\n{} rows\n", found.rows.len()));
    text.push_str(&aligned(&rows));
    let left_out = found
        .remarks
        .iter()
        .filter(|remark| remark.left_out)
        .count();
    text.push_str(&format!(
        "\n{left_out} cells, rows or columns were left out, {} were taken with a remark\n",
        found.remarks.len() - left_out
    ));
    for remark in found.remarks.iter().take(MOST_SHOWN) {
        let column = remark
            .column
            .as_ref()
            .map_or_else(String::new, |column| format!(", column {column}"));
        let said = if remark.left_out { "expected " } else { "" };
        text.push_str(&format!(
            "{name}, line {}{column}: found \"{}\"; {said}{}\n",
            remark.line, remark.found, remark.said
        ));
    }
    let more = found.remarks.len().saturating_sub(MOST_SHOWN);
    if more > 0 {
        text.push_str(&format!("and {more} more; --json lists all\n"));
    }
    text.push_str("nothing was recorded\n");
    text
}

fn row(result: &PastResult) -> [String; 8] {
    let mut range = String::new();
    if result.above {
        range.push_str("> ");
    }
    if result.approximate {
        range.push_str("about ");
    }
    if let Some(from_c) = result.from_c {
        range.push_str(&from_c.to_string());
    }
    if let Some(to_c) = result.to_c {
        range.push_str(&format!("–{to_c}"));
    }
    if result.decomposed {
        range.push_str(" decomposed");
    }
    [
        result.line.to_string(),
        result.label.clone().unwrap_or_default(),
        result.substance.clone().unwrap_or_default(),
        range,
        match result.mark {
            Mark::Corrected => "corrected",
            Mark::Uncorrected => "uncorrected",
            Mark::NotStated => "not stated",
        }
        .into(),
        result
            .rate_c_per_min
            .map(|rate| rate.to_string())
            .unwrap_or_default(),
        result.on.map(|on| on.to_string()).unwrap_or_default(),
        result.by.clone().unwrap_or_default(),
    ]
}
