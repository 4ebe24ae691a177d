//! `meltrange sample past`: results from before the book, looked through and taken in.

use crate::args::PastArguments;
use crate::book_access::{failed, person, to_look, to_write, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use meltrange_labbook::{
    CorrectionMark, PastFault, PastHeading, PastList, PastTaken, PlacedPast, Unit, parse_past,
};
use serde_json::{Value, json};

/// Rows that are shown to a person; `--json` has them all.
const MOST_SHOWN: usize = 40;

/// Look through a table, and record it where that is asked for.
pub(crate) fn run(arguments: &PastArguments, output: &Output) -> Result<(), Failure> {
    let place = arguments.table.display().to_string();
    let bytes = std::fs::read(&arguments.table)
        .map_err(|error| Failure::new(format!("{place} could not be read: {error}")))?;
    let list = parse_past(&place, &bytes)
        .map_err(|error| Failure::of(&error).hint("nothing was recorded"))?;
    let name = arguments
        .table
        .file_name()
        .map_or_else(|| place.clone(), |name| name.to_string_lossy().into_owned());
    let (placed, taken) = wait(async {
        if !arguments.record {
            let book = to_look(&arguments.book).await?;
            let placed = book
                .place_past(&name, list.rows.clone())
                .await
                .map_err(failed)?;
            book.close().await;
            return Ok((placed, None));
        }
        let book = to_write(&arguments.book).await?;
        let who = person(&book, arguments.by.as_deref()).await?;
        let placed = book
            .place_past(&name, list.rows.clone())
            .await
            .map_err(failed)?;
        let taken = book
            .take_past(who, &name, list.clone())
            .await
            .map_err(failed)?;
        book.close().await;
        Ok((placed, Some(taken)))
    })?;
    if arguments.json {
        return output.json(&as_json(&list, &placed, taken));
    }
    output.text(&as_text(&place, &list, &placed, taken))
}

fn as_json(list: &PastList, placed: &[PlacedPast], taken: Option<PastTaken>) -> Value {
    json!({
        "separator": list.separator.to_string(),
        "columns": list.columns.iter().map(|column| json!({
            "heading": column.heading,
            "taken_for": column.taken_for.map(|kind| kind.name()),
            "unit": column.unit.map(unit),
        })).collect::<Vec<_>>(),
        "rows": placed.iter().map(|one| json!({
            "line": one.row.line,
            "label": one.row.label,
            "sample": one.sample,
            "there_already": one.there_already,
            "substance": one.row.substance,
            "from_c": one.row.from_c,
            "to_c": one.row.to_c,
            "above": one.row.above,
            "decomposed": one.row.decomposed,
            "mark": one.row.mark,
            "heating_rate_c_per_min": one.row.heating_rate_c_per_min,
            "measured_on": one.row.measured_on,
            "by": one.row.by,
            "source": one.row.source,
            "remarks": one.row.remarks,
            "as_written": one.row.as_written,
            "notes": one.row.notes,
        })).collect::<Vec<_>>(),
        "faults": list.faults.iter().map(|fault| json!({
            "line": fault.line,
            "column": fault.column,
            "found": fault.found,
            "expected": fault.expected,
            "left_out": fault.left_out,
        })).collect::<Vec<_>>(),
        "remarks": list.remarks,
        "recorded": taken.map(|taken| json!({
            "past_results": taken.past_results,
            "samples_added": taken.samples_added,
            "there_already": taken.there_already,
        })),
    })
}

fn unit(unit: Unit) -> &'static str {
    match unit {
        Unit::Celsius => "°C",
        Unit::Fahrenheit => "°F",
        Unit::Kelvin => "K",
    }
}

fn as_text(
    place: &str,
    list: &PastList,
    placed: &[PlacedPast],
    taken: Option<PastTaken>,
) -> String {
    let mut text = String::from("columns\n");
    for column in &list.columns {
        text.push_str(&format!(
            "  \"{}\": {}\n",
            column.heading,
            taken_for(column)
        ));
    }
    let mut rows = vec![["line", "sample", "as written", "understood as", ""].map(str::to_owned)];
    rows.extend(placed.iter().take(MOST_SHOWN).map(row));
    text.push_str(&aligned(&rows));
    if placed.len() > MOST_SHOWN {
        text.push_str(&format!("and {} rows more\n", placed.len() - MOST_SHOWN));
    }
    for fault in list.faults.iter().take(MOST_SHOWN) {
        text.push_str(&fault_text(place, fault));
    }
    if list.faults.len() > MOST_SHOWN {
        text.push_str(&format!(
            "and {} faults more\n",
            list.faults.len() - MOST_SHOWN
        ));
    }
    for remark in &list.remarks {
        text.push_str(&format!("note: {remark}\n"));
    }
    text.push_str(&match taken {
        Some(taken) => format!(
            "{} results were recorded, {} samples added; {} rows were there already\n",
            taken.past_results, taken.samples_added, taken.there_already
        ),
        None => "nothing was recorded; --record takes in what was understood\n".into(),
    });
    text
}

fn taken_for(column: &PastHeading) -> String {
    let Some(kind) = column.taken_for else {
        return "left alone".into();
    };
    match column.unit {
        Some(found) => format!("{} in {}", kind.name().replace('_', " "), unit(found)),
        None => kind.name().replace('_', " "),
    }
}

fn row(one: &PlacedPast) -> [String; 5] {
    let end = |value: Option<f64>| value.map_or_else(|| "?".to_owned(), |value| value.to_string());
    let found = &one.row;
    let mut understood = match (found.above, found.from_c == found.to_c) {
        (true, _) => format!("above {} °C", end(found.from_c)),
        (false, true) => format!("{} °C", end(found.from_c)),
        (false, false) => format!("{}–{} °C", end(found.from_c), end(found.to_c)),
    };
    if found.decomposed {
        understood.push_str(", decomposed");
    }
    understood.push_str(match found.mark {
        CorrectionMark::Corrected => ", corrected",
        CorrectionMark::Uncorrected => ", uncorrected",
        CorrectionMark::NotStated => "",
    });
    if let Some(date) = found.measured_on {
        understood.push_str(&format!(", {date}"));
    }
    let note = match (one.there_already, one.sample) {
        (true, _) => "there already",
        (false, None) => "new sample",
        (false, Some(_)) => "",
    };
    [
        found.line.to_string(),
        found.label.clone(),
        found.as_written.clone(),
        understood,
        note.into(),
    ]
}

fn fault_text(place: &str, fault: &PastFault) -> String {
    let column = fault
        .column
        .as_ref()
        .map(|column| format!(", column \"{column}\""))
        .unwrap_or_default();
    format!(
        "{place}, line {}{column}: found {}; expected {}{}\n",
        fault.line,
        fault.found,
        fault.expected,
        if fault.left_out {
            "; the row is left out"
        } else {
            ""
        }
    )
}
