//! Past results out of a table that somebody kept by hand.
//!
//! Tables of this kind follow no rule: what each column and each cell was taken for is part of the answer, so that a
//! person looks at it before anything is recorded. Nothing is guessed silently, and no row is lost: one that cannot be
//! understood is named with its line.

mod cells;
mod columns;
mod taking_in;

pub use columns::{PastColumn, Unit};
pub use taking_in::{PastTaken, PlacedPast};

use crate::records::CorrectionMark;
use cells::{Day, day, number, range, yes};
use columns::{columns, separator};
use std::collections::BTreeSet;

/// Rows of a table; more are refused.
const MOST_ROWS: usize = 20_000;

/// Longest cell that is looked at [characters]; longer ones are a slip of quotation marks.
const LONGEST_CELL: usize = 4000;

/// A table as it was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct PastList {
    /// What stands between cells.
    pub separator: char,
    /// Each column, in order: its heading and what it was taken for.
    pub columns: Vec<PastHeading>,
    /// Rows that were understood.
    pub rows: Vec<ListedPast>,
    /// What was not, and what to look at.
    pub faults: Vec<PastFault>,
    /// Doubts about the whole.
    pub remarks: Vec<String>,
}

/// A column's heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PastHeading {
    /// As it stands there.
    pub heading: String,
    /// What it was taken for; none where it is left alone.
    pub taken_for: Option<PastColumn>,
    /// The unit of its temperatures, where it has some.
    pub unit: Option<Unit>,
}

/// A row that was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct ListedPast {
    /// Line in the file, from 1.
    pub line: u64,
    /// What stands on the vial.
    pub label: String,
    /// What it was thought to be.
    pub substance: Option<String>,
    /// Where the range begins [°C].
    pub from_c: Option<f64>,
    /// Where it ends [°C].
    pub to_c: Option<f64>,
    /// Whether not all was molten at the end that is named.
    pub above: bool,
    /// Whether it decomposed.
    pub decomposed: bool,
    /// Whether temperatures were corrected.
    pub mark: CorrectionMark,
    /// Heating rate [°C/min].
    pub heating_rate_c_per_min: Option<f64>,
    /// On which day.
    pub measured_on: Option<jiff::civil::Date>,
    /// By whom.
    pub by: Option<String>,
    /// Where it was written down.
    pub source: Option<String>,
    /// Anything else.
    pub remarks: Option<String>,
    /// The result as it was written.
    pub as_written: String,
    /// What was read otherwise than it was written, e.g. "converted from °F".
    pub notes: Vec<String>,
}

/// Something that was not understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PastFault {
    /// Line in the file, from 1.
    pub line: u64,
    /// Heading of the column, where it is about one.
    pub column: Option<String>,
    /// What stands there.
    pub found: String,
    /// What was expected.
    pub expected: String,
    /// Whether the row is left out because of it.
    pub left_out: bool,
}

/// Why nothing of a table can be understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{name}: {found}; expected {expected}")]
pub struct PastListError {
    /// The file.
    pub name: String,
    /// What was found.
    pub found: String,
    /// What was expected.
    pub expected: String,
}

/// Read a table; `name` stands for it in messages.
///
/// # Errors
/// [`PastListError`] where there is no table, or none of its columns is known.
pub fn parse_past(name: &str, bytes: &[u8]) -> Result<PastList, PastListError> {
    let refused = |found: String, expected: &str| PastListError {
        name: name.into(),
        found,
        expected: expected.into(),
    };
    let (text, mut remarks) = text_of(bytes);
    let first = text.lines().find(|line| !line.trim().is_empty());
    let Some(first) = first else {
        return Err(refused(
            "it is empty".into(),
            "a table with a line of headings",
        ));
    };
    let separator = separator(first);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator as u8)
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let header = reader
        .headers()
        .map_err(|fault| refused(fault.to_string(), "a table with a line of headings"))?
        .clone();
    let columns = columns(&header);
    let has = |wanted: PastColumn| columns.iter().any(|one| one.taken_for == Some(wanted));
    if !has(PastColumn::Label) && !has(PastColumn::Substance) {
        return Err(refused(
            format!("none of the headings {} names the samples", shown(&header)),
            "a column such as \"sample\", \"label\", \"Probe\", \"échantillon\", \"muestra\" or \"substance\"",
        ));
    }
    if !has(PastColumn::Range) && !has(PastColumn::From) && !has(PastColumn::To) {
        return Err(refused(
            format!("none of the headings {} holds a result", shown(&header)),
            "a column such as \"melting range\", \"mp\", \"Schmelzbereich\", \"point de fusion\", or two: \"from\" and \"to\"",
        ));
    }
    let mut table = Table {
        columns: &columns,
        rows: Vec::new(),
        faults: Vec::new(),
        two_ways: BTreeSet::new(),
    };
    for row in reader.records() {
        match row {
            Ok(row) => table.row(&row),
            Err(fault) => {
                let line = fault.position().map_or(0, csv::Position::line);
                table.fault(line, None, &fault.to_string(), "a line of a table", true);
            }
        }
        if table.rows.len() > MOST_ROWS {
            return Err(refused(
                format!("it has more than {MOST_ROWS} lines"),
                "at most 20000; split it",
            ));
        }
    }
    if !table.two_ways.is_empty() {
        remarks.push(format!(
            "dates such as {} can be read in two ways; they were read day first. Write them as 2019-03-12 to be sure",
            table.two_ways.iter().take(3).cloned().collect::<Vec<_>>().join(", ")
        ));
    }
    let (rows, faults) = (table.rows, table.faults);
    Ok(PastList {
        separator,
        rows,
        faults,
        remarks,
        columns,
    })
}

/// Text out of a file as spreadsheets write them.
fn text_of(bytes: &[u8]) -> (String, Vec<String>) {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) => (text.to_owned(), Vec::new()),
        // ISO 8859-1: what spreadsheets wrote before UTF-8, each byte one character.
        Err(_) => (
            bytes.iter().map(|&byte| char::from(byte)).collect(),
            vec![
                "the file is not UTF-8; it was read as ISO 8859-1: look at letters with accents"
                    .into(),
            ],
        ),
    }
}

fn shown(header: &csv::StringRecord) -> String {
    let names: Vec<String> = header
        .iter()
        .take(12)
        .map(|name| format!("\"{}\"", name.escape_debug().take(40).collect::<String>()))
        .collect();
    names.join(", ")
}

struct Table<'a> {
    columns: &'a [PastHeading],
    rows: Vec<ListedPast>,
    faults: Vec<PastFault>,
    /// Dates that can be read in two ways.
    two_ways: BTreeSet<String>,
}

impl Table<'_> {
    fn fault(
        &mut self,
        line: u64,
        column: Option<&str>,
        found: &str,
        expected: &str,
        left_out: bool,
    ) {
        self.faults.push(PastFault {
            line,
            column: column.map(str::to_owned),
            found: found.chars().take(200).collect(),
            expected: expected.into(),
            left_out,
        });
    }

    fn row(&mut self, row: &csv::StringRecord) {
        let line = row.position().map_or(0, csv::Position::line);
        if row.iter().all(str::is_empty) {
            return;
        }
        if row.len() > self.columns.len() {
            let found = format!("{} cells under {} headings", row.len(), self.columns.len());
            self.fault(line, None, &found, "as many cells as headings; a decimal comma may have been taken for a separator: put such cells in quotation marks, or part them by semicolons", true);
            return;
        }
        if row.iter().any(|cell| cell.contains(['\n', '\r'])) {
            let lines = row
                .iter()
                .map(|cell| cell.matches('\n').count())
                .sum::<usize>();
            let found = format!("a cell over several lines, to line {}", line + lines as u64);
            self.fault(line, None, &found, "cells on one line; a quotation mark that is not closed takes the lines below it in", true);
            return;
        }
        if row.iter().any(|cell| cell.chars().count() > LONGEST_CELL) {
            self.fault(
                line,
                None,
                "a cell of more than 4000 characters",
                "shorter cells; a quotation mark may be missing",
                true,
            );
            return;
        }
        let columns = self.columns;
        let cell = |wanted: PastColumn| {
            let place = columns
                .iter()
                .position(|one| one.taken_for == Some(wanted))?;
            let text = row.get(place)?;
            (!text.is_empty()).then(|| (text.to_owned(), &columns[place]))
        };
        let text = |wanted| cell(wanted).map(|(text, _)| text);
        let substance = text(PastColumn::Substance);
        let Some(label) = text(PastColumn::Label).or_else(|| substance.clone()) else {
            self.fault(
                line,
                None,
                "no sample is named",
                "the label of a sample",
                true,
            );
            return;
        };
        let others = [
            PastColumn::Substance,
            PastColumn::By,
            PastColumn::Source,
            PastColumn::Remarks,
        ];
        let kept = crate::text::name("label", &label).and_then(|()| {
            others.into_iter().try_for_each(|column| {
                crate::text::optional(column.name(), text(column).as_deref())
            })
        });
        if let Err(error) = kept {
            let expected = "texts as a lab book keeps them";
            self.fault(line, None, &error.to_string(), expected, true);
            return;
        }
        let mut notes = Vec::new();
        let mut found = match self.result(line, &cell, &mut notes) {
            Some(found) => found,
            None => return,
        };
        if let Some((text, heading)) = cell(PastColumn::Decomposed) {
            match yes(&text) {
                Some(said) => found.decomposed |= said,
                None => self.fault(line, Some(&heading.heading), &text, "yes or no", false),
            }
        }
        let mut mark = found.mark;
        if let Some((text, heading)) = cell(PastColumn::Mark) {
            match cells::mark(&text) {
                Some(said) => mark = said,
                None => self.fault(
                    line,
                    Some(&heading.heading),
                    &text,
                    "corrected or uncorrected",
                    false,
                ),
            }
        }
        let rate = cell(PastColumn::Rate).and_then(|(text, heading)| {
            let read = number(&text);
            if read.is_none() {
                self.fault(
                    line,
                    Some(&heading.heading),
                    &text,
                    "a heating rate in °C/min",
                    false,
                );
            }
            read
        });
        let measured_on = cell(PastColumn::Day).and_then(|(text, heading)| match day(&text) {
            Some(Day::Sure(date)) => Some(date),
            Some(Day::TwoWays(date)) => {
                notes.push(format!("{text} was read as {date}, day first"));
                self.two_ways.insert(text);
                Some(date)
            }
            None => {
                self.fault(
                    line,
                    Some(&heading.heading),
                    &text,
                    "a date such as 2019-03-12",
                    false,
                );
                None
            }
        });
        self.rows.push(ListedPast {
            line,
            label,
            substance,
            from_c: found.from_c,
            to_c: found.to_c,
            above: found.above,
            decomposed: found.decomposed,
            mark,
            heating_rate_c_per_min: rate,
            measured_on,
            by: text(PastColumn::By),
            source: text(PastColumn::Source),
            remarks: text(PastColumn::Remarks),
            as_written: found.as_written,
            notes,
        });
    }

    /// The result of a row, out of one column or of two.
    fn result<'c>(
        &mut self,
        line: u64,
        cell: &dyn Fn(PastColumn) -> Option<(String, &'c PastHeading)>,
        notes: &mut Vec<String>,
    ) -> Option<cells::Range> {
        let expected = "a melting range such as 114-115, 114.0–115.5 °C, ca. 115 or > 300 dec.";
        let whole = cell(PastColumn::Range);
        let ends = (cell(PastColumn::From), cell(PastColumn::To));
        let (text, heading) = match (whole, ends) {
            (Some((text, heading)), _) => (text, heading),
            (None, (Some((from, heading)), Some((to, _)))) => (format!("{from} – {to}"), heading),
            (None, (Some((one, heading)), None) | (None, Some((one, heading)))) => {
                notes.push("only one end of the range is written".into());
                (one, heading)
            }
            (None, (None, None)) => {
                self.fault(line, None, "no result", expected, true);
                return None;
            }
        };
        let Some(read) = range(&text, heading.unit) else {
            self.fault(line, Some(&heading.heading), &text, expected, true);
            return None;
        };
        if let (Some(from), Some(to)) = (read.from_c, read.to_c)
            && from > to
        {
            self.fault(
                line,
                Some(&heading.heading),
                &text,
                "the lower end first",
                true,
            );
            return None;
        }
        let absurd = [read.from_c, read.to_c]
            .into_iter()
            .flatten()
            .any(|end_c| !(-150.0..=600.0).contains(&end_c));
        if absurd {
            self.fault(
                line,
                Some(&heading.heading),
                &text,
                "a melting range between -150 and 600 °C; a unit may be missing in the heading",
                true,
            );
            return None;
        }
        notes.extend(read.note.clone());
        Some(read)
    }
}

#[cfg(test)]
mod tests;
