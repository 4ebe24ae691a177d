//! Results kept by hand in a spreadsheet, as CSV: what of them can be understood, and how.
//!
//! Pure: a text in, rows and remarks out. Nothing is guessed silently: how each column was understood and each
//! cell that was not is part of the answer, which is what a person looks through before anything is recorded.

mod cells;
mod columns;

pub use columns::{ColumnUnderstood, Meaning};

use cells::{Date, DateOrder, Range, Unit};
use serde::Serialize;

/// Whether a past result was corrected for the thermometer.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// It was.
    Corrected,
    /// It was not.
    Uncorrected,
    /// Nobody said.
    #[default]
    NotStated,
}

/// One result as it was kept by hand.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct PastResult {
    /// Line in the file, from 1.
    pub line: u64,
    /// What stood on the vial.
    pub label: Option<String>,
    /// What it was or was thought to be.
    pub substance: Option<String>,
    /// Lower end, or the one value there is [°C].
    pub from_c: Option<f64>,
    /// Upper end [°C]; none where there is one value only.
    pub to_c: Option<f64>,
    /// Whether it had not melted at `from_c` and nothing more is said.
    pub above: bool,
    /// Whether the value was said to be rough.
    pub approximate: bool,
    /// Whether it decomposed.
    pub decomposed: bool,
    /// Whether it was corrected.
    pub mark: Mark,
    /// Heating rate [°C/min].
    pub rate_c_per_min: Option<f64>,
    /// On which day.
    pub on: Option<jiff::civil::Date>,
    /// By whom.
    pub by: Option<String>,
    /// Where it stands.
    pub source: Option<String>,
    /// Anything else.
    pub remarks: Option<String>,
}

/// A cell, row or table that was not understood, or not without a remark.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RowRemark {
    /// Line in the file, from 1.
    pub line: u64,
    /// The column as its header has it; none for the row or the table.
    pub column: Option<String>,
    /// What was found.
    pub found: String,
    /// What was expected, or how it was taken.
    pub said: String,
    /// Whether the cell was left out of the row.
    pub left_out: bool,
}

/// A file of past results, as far as it was understood.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct PastResults {
    /// What separates the columns.
    pub separator: Option<char>,
    /// How each column was understood.
    pub columns: Vec<ColumnUnderstood>,
    /// Every row with content.
    pub rows: Vec<PastResult>,
    /// What was not understood, in the order of the file.
    pub remarks: Vec<RowRemark>,
}

/// Understand a CSV file of past results: headers in English, German, French or Spanish in any order;
/// semicolons, tabs or commas; decimal points or commas; °C, and °F or K where the header or the cell says so.
///
/// Never fails: what is not understood is a remark, and its row is kept.
pub fn parse(text: &str) -> PastResults {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut results = PastResults::default();
    let Some((separator, header_line)) = columns::separator(text) else {
        results.remark(
            1,
            None,
            "no line with content",
            "a header line and rows",
            true,
        );
        return results;
    };
    results.separator = Some(separator);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator as u8)
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    for row in reader.records() {
        match row {
            Ok(row) => {
                let line = row.position().map_or(0, csv::Position::line);
                if row.iter().any(|cell| !cell.is_empty()) {
                    rows.push((line, row));
                }
            }
            Err(error) => {
                let line = error.position().map_or(0, csv::Position::line);
                results.remark(line, None, &error.to_string(), "a row of cells", true);
            }
        }
    }
    let mut rows = rows.into_iter();
    let header: Vec<String> = rows
        .next()
        .map(|(_, header)| header.iter().map(str::to_owned).collect())
        .unwrap_or_default();
    results.columns = columns::understand(&header);
    results.say_columns(header_line);
    let rows: Vec<_> = rows.collect();
    let order = results.date_order(&rows);
    for (line, row) in &rows {
        results.row(*line, row, order);
    }
    results
}

impl PastResults {
    fn remark(&mut self, line: u64, column: Option<&str>, found: &str, said: &str, left_out: bool) {
        self.remarks.push(RowRemark {
            line,
            column: column.map(str::to_owned),
            found: found.chars().take(80).collect(),
            said: said.into(),
            left_out,
        });
    }

    fn say_columns(&mut self, line: u64) {
        for column in self.columns.clone() {
            if column.meaning.is_none() {
                self.remark(
                    line,
                    Some(&column.header),
                    &column.header,
                    &format!("{}; the column is left out", column.how),
                    true,
                );
            }
        }
        let has = |meaning| {
            self.columns
                .iter()
                .any(|column| column.meaning == Some(meaning))
        };
        if !has(Meaning::Range) && !has(Meaning::From) {
            self.remark(
                line,
                None,
                "no column of melting ranges",
                "one named e.g. \"melting range\", or two named \"from\" and \"to\"",
                true,
            );
        }
    }

    /// Which of day and month comes first, as dates that can only be read one way show.
    fn date_order(&mut self, rows: &[(u64, csv::StringRecord)]) -> DateOrder {
        let place = |column: &ColumnUnderstood| column.meaning == Some(Meaning::On);
        let Some(at) = self.columns.iter().position(place) else {
            return DateOrder::Unknown;
        };
        let shown: Vec<(u64, DateOrder)> = rows
            .iter()
            .filter_map(|(line, row)| Some((*line, cells::order_shown(row.get(at)?)?)))
            .collect();
        let (order, how) = match shown.first() {
            None => (DateOrder::Unknown, None),
            Some((line, first)) if shown.iter().all(|(_, order)| order == first) => (
                *first,
                Some(format!("{}, as line {line} shows", first.words())),
            ),
            Some(_) => (
                DateOrder::Unknown,
                Some("some dates have the day first, others the month".to_owned()),
            ),
        };
        if let (Some(how), Some(column)) = (how, self.columns.get_mut(at)) {
            column.how = format!("{}; {how}", column.how);
        }
        order
    }

    fn row(&mut self, line: u64, row: &csv::StringRecord, order: DateOrder) {
        let mut result = PastResult {
            line,
            ..PastResult::default()
        };
        if row.len() > self.columns.len() {
            self.remark(
                line,
                None,
                &format!("{} cells", row.len()),
                &format!(
                    "{} as in the header; those beyond are left out",
                    self.columns.len()
                ),
                true,
            );
        }
        for (column, cell) in self.columns.clone().iter().zip(row.iter()) {
            if let (Some(meaning), false) = (column.meaning, cell.is_empty()) {
                self.cell(&mut result, column, meaning, cell, order);
            }
        }
        if let (Some(from_c), Some(to_c)) = (result.from_c, result.to_c)
            && from_c > to_c
        {
            self.remark(
                line,
                None,
                &format!("from {from_c} to {to_c} °C"),
                "a rising range, both ends in full, e.g. 114-115",
                true,
            );
            (result.from_c, result.to_c) = (None, None);
        }
        let has_label_column = self
            .columns
            .iter()
            .any(|column| column.meaning == Some(Meaning::Label));
        if result.label.is_none() && (has_label_column || result.substance.is_none()) {
            self.remark(line, None, "no label", "what stood on the vial", false);
        }
        self.rows.push(result);
    }

    fn cell(
        &mut self,
        result: &mut PastResult,
        column: &ColumnUnderstood,
        meaning: Meaning,
        cell: &str,
        order: DateOrder,
    ) {
        let unit = column.unit.unwrap_or(Unit::Celsius);
        let header = Some(column.header.as_str());
        let line = result.line;
        let text = || Some(cell.to_owned());
        match meaning {
            Meaning::Label => result.label = text(),
            Meaning::Substance => result.substance = text(),
            Meaning::By => result.by = text(),
            Meaning::Source => result.source = text(),
            Meaning::Remarks => {
                // Two columns of remarks are both kept.
                result.remarks = match result.remarks.take() {
                    Some(before) => Some(format!("{before}; {cell}")),
                    None => text(),
                };
            }
            Meaning::Range | Meaning::From | Meaning::To => match cells::range(cell, unit) {
                Ok(range) => self.take_range(result, column, meaning, cell, &range),
                Err(expected) => self.remark(line, header, cell, expected, true),
            },
            Meaning::Mark => match cells::mark(cell) {
                Some(mark) => result.mark = mark,
                None => self.remark(
                    line,
                    header,
                    cell,
                    "yes or no, corrected or uncorrected",
                    true,
                ),
            },
            Meaning::Rate => match cells::rate(cell, unit) {
                Some(rate) => result.rate_c_per_min = Some(rate),
                None => self.remark(line, header, cell, "degrees a minute, e.g. 1.5", true),
            },
            Meaning::On => match cells::date(cell, order) {
                Date::Day(day) => result.on = Some(day),
                Date::Said(day, how) => {
                    result.on = Some(day);
                    self.remark(line, header, cell, &how, false);
                }
                Date::Ambiguous(one, other) => self.remark(
                    line,
                    header,
                    cell,
                    &format!("ambiguous: {one} or {other}; write it as 2026-11-26"),
                    true,
                ),
                Date::None => self.remark(
                    line,
                    header,
                    cell,
                    "a day such as 2026-11-26 or 26.11.2026",
                    true,
                ),
            },
        }
    }

    fn take_range(
        &mut self,
        result: &mut PastResult,
        column: &ColumnUnderstood,
        meaning: Meaning,
        cell: &str,
        range: &Range,
    ) {
        if meaning != Meaning::Range && range.to_c.is_some() {
            self.remark(
                result.line,
                Some(&column.header),
                cell,
                "one value, not a range",
                true,
            );
            return;
        }
        match meaning {
            Meaning::To => result.to_c = Some(range.from_c),
            _ => {
                result.from_c = Some(range.from_c);
                result.to_c = range.to_c.or(result.to_c);
            }
        }
        result.above |= range.above;
        result.approximate |= range.approximate;
        result.decomposed |= range.decomposed;
        if range.mark != Mark::NotStated {
            result.mark = range.mark;
        }
        if let Some(how) = &range.said {
            self.remark(result.line, Some(&column.header), cell, how, false);
        }
    }
}
