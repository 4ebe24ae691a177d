//! CSV files with named columns, some of which may be missing.

use crate::failure::Failure;
use std::path::Path;

/// Rows of one file; more are refused before they are read.
const MOST_ROWS: usize = 100_000;

/// Longest part of a cell or row shown in a message.
const SHOWN_CHARS: usize = 40;

/// A table: rows whose cells are found by column name.
#[derive(Debug)]
pub(crate) struct Columns {
    name: String,
    header: Vec<String>,
    rows: Vec<(u64, Vec<String>)>,
}

/// One row of a table.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row<'a> {
    table: &'a Columns,
    line: u64,
    cells: &'a [String],
}

impl Columns {
    /// Read a file. Columns are found by name, in any order; others than `required` may be missing
    /// and surplus ones are ignored. `#` begins a comment line.
    pub fn read(path: &Path, required: &[&str]) -> Result<Self, Failure> {
        let name = path.display().to_string();
        let bytes = std::fs::read(path)
            .map_err(|error| Failure::new(format!("{name} could not be read: {error}")))?;
        let text = String::from_utf8(bytes).map_err(|_| {
            Failure::new(format!(
                "{name} is not plain text in UTF-8; save it as CSV, UTF-8"
            ))
        })?;
        Self::parse(name, &text, required)
    }

    fn parse(name: String, text: &str, required: &[&str]) -> Result<Self, Failure> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut table = Self {
            name,
            header: Vec::new(),
            rows: Vec::new(),
        };
        for (line, content) in (1..).zip(text.lines().map(str::trim)) {
            if content.starts_with('#') {
                continue;
            }
            let cells = cells(content);
            if cells.iter().all(String::is_empty) {
                continue;
            }
            if table.header.is_empty() {
                table.take_header(line, content, cells, required)?;
            } else {
                table.take_row(line, content, cells)?;
            }
        }
        let wanted = required.join(",");
        if table.header.is_empty() {
            return Err(Failure::new(format!(
                "{} holds no table; expected a header line {wanted} and rows of values",
                table.name
            )));
        }
        if table.rows.is_empty() {
            let name = &table.name;
            return Err(Failure::new(format!(
                "{name} holds a header but no rows of values"
            )));
        }
        Ok(table)
    }

    fn take_header(
        &mut self,
        line: u64,
        content: &str,
        cells: Vec<String>,
        required: &[&str],
    ) -> Result<(), Failure> {
        let wanted = required.join(",");
        let other = [(';', "semicolons"), ('\t', "tabs"), ('|', "vertical bars")]
            .into_iter()
            .find(|&(separator, _)| {
                content
                    .split(separator)
                    .filter(|cell| required.contains(&cell.trim()))
                    .count()
                    > 1
            });
        if let Some((_, separator)) = other {
            return Err(self.at(
                line,
                format!("the columns are separated by {separator}; expected commas, with a decimal point in numbers"),
            ));
        }
        for column in required {
            match cells.iter().filter(|cell| cell == column).count() {
                1 => {}
                0 => {
                    let found = shortened(content);
                    return Err(self.at(
                        line,
                        format!("there is no column {column} in the header line \"{found}\"; expected {wanted}, named exactly so, in any order"),
                    ));
                }
                _ => return Err(self.named_twice(line, column)),
            }
        }
        for (place, cell) in cells.iter().enumerate() {
            if !cell.is_empty() && cells.iter().skip(place + 1).any(|other| other == cell) {
                return Err(self.named_twice(line, cell));
            }
        }
        self.header = cells;
        Ok(())
    }

    fn named_twice(&self, line: u64, column: &str) -> Failure {
        self.at(
            line,
            format!("the column {column} is named more than once; expected it once"),
        )
    }

    fn take_row(&mut self, line: u64, content: &str, cells: Vec<String>) -> Result<(), Failure> {
        let columns = self.header.len();
        if cells.iter().skip(columns).any(|cell| !cell.is_empty()) {
            return Err(self.at(
                line,
                format!(
                    "there are {} values in \"{}\" where the header names {columns} columns; a decimal comma may have split a number: expected numbers with a decimal point",
                    cells.len(),
                    shortened(content)
                ),
            ));
        }
        if self.rows.len() == MOST_ROWS {
            return Err(self.at(line, format!("there are more than {MOST_ROWS} rows")));
        }
        self.rows.push((line, cells));
        Ok(())
    }

    /// All rows, at least one.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|(line, cells)| Row {
            table: self,
            line: *line,
            cells,
        })
    }

    /// Place of a row in the file, as a message begins: `file, line 7`.
    pub fn place(&self, row: usize) -> String {
        match self.rows.get(row) {
            Some((line, _)) => format!("{}, line {line}", self.name),
            None => self.name.clone(),
        }
    }

    fn at(&self, line: u64, what: String) -> Failure {
        Failure::new(format!("{}, line {line}: {what}", self.name))
    }
}

impl<'a> Row<'a> {
    /// A cell, empty where the column or the cell is missing.
    pub fn cell(self, column: &str) -> &'a str {
        let place = self.table.header.iter().position(|name| name == column);
        place
            .and_then(|place| self.cells.get(place))
            .map_or("", String::as_str)
    }

    /// A cell that must not be empty.
    pub fn text(self, column: &str) -> Result<String, Failure> {
        match self.cell(column) {
            "" => Err(self.refuse(column, "a name")),
            text => Ok(text.to_owned()),
        }
    }

    /// A cell that must be a number.
    pub fn number(self, column: &str) -> Result<f64, Failure> {
        let number = self
            .cell(column)
            .parse::<f64>()
            .ok()
            .filter(|number| number.is_finite());
        number.ok_or_else(|| self.refuse(column, "a number with a decimal point"))
    }

    /// A cell that is a number or empty.
    pub fn optional_number(self, column: &str) -> Result<Option<f64>, Failure> {
        if self.cell(column).is_empty() {
            Ok(None)
        } else {
            self.number(column).map(Some)
        }
    }

    /// Say what is wrong with a cell.
    pub fn refuse(self, column: &str, expected: &str) -> Failure {
        let found = shortened(self.cell(column));
        self.table.at(
            self.line,
            format!("{column} is \"{found}\"; expected {expected}"),
        )
    }
}

/// Cells of one line, trimmed.
fn cells(line: &str) -> Vec<String> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(line.as_bytes());
    // A line of valid UTF-8 is at most one record and cannot fail.
    reader
        .records()
        .next()
        .and_then(Result::ok)
        .map(|record| record.iter().map(str::to_owned).collect())
        .unwrap_or_default()
}

fn shortened(text: &str) -> String {
    let mut short: String = text.chars().take(SHOWN_CHARS).collect();
    if text.chars().nth(SHOWN_CHARS).is_some() {
        short.push('…');
    }
    short
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        match Columns::parse("t.csv".into(), text, &["run", "first_liquid_c"]) {
            Err(Failure::Unusable { message, .. }) => message,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn order_comments_quotes_and_surplus_columns() {
        let text = "\u{feff}# notes\r\nfirst_liquid_c, remarks ,run\r\n\r\n121.5,\"dry, ground\",3\r\n# gone\r\n122,,4\r\n";
        let table =
            Columns::parse("t.csv".into(), text, &["run", "first_liquid_c"]).expect("sound");
        let rows: Vec<_> = table.rows().collect();
        assert_eq!(rows.len(), 2);
        assert_eq!(rows[0].cell("remarks"), "dry, ground");
        assert!((rows[1].number("first_liquid_c").expect("a number") - 122.0).abs() < 1e-12);
        assert_eq!(table.place(1), "t.csv, line 6");
        assert_eq!(rows[0].cell("u_first_c"), "");
    }

    #[test]
    fn what_is_refused_names_its_line() {
        for (text, words) in [
            ("", "holds no table"),
            ("run,first_liquid_c\n", "no rows"),
            ("run,first\n1,2\n", "no column first_liquid_c"),
            ("run;first_liquid_c\n1;121,5\n", "semicolons"),
            (
                "run,first_liquid_c\n1,121,5\n",
                "line 2: there are 3 values",
            ),
            ("run,first_liquid_c,run\n1,2,3\n", "more than once"),
        ] {
            let message = refused(text);
            assert!(message.contains(words), "{message}");
        }
    }
}
