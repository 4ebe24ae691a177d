//! Comma-separated tables with named columns: the common part of temperature logs and picture lists.

/// Longest part of a cell shown in a message.
const SHOWN_CHARS: usize = 40;

/// Why a table could not be used. `name` is the file as the person named it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum TableError {
    /// Nothing but blank lines and comments.
    #[error("{name} holds no table; expected a header line {expected} and rows of values")]
    Empty {
        /// The file.
        name: String,
        /// Columns wanted.
        expected: &'static str,
    },
    /// Not text.
    #[error("{name} is not plain text in UTF-8 ({found}); save it as CSV, UTF-8")]
    NotText {
        /// The file.
        name: String,
        /// What gave it away.
        found: &'static str,
    },
    /// The first line already holds values.
    #[error(
        "{name}, line {line}: the header line is missing (found \"{found}\"); expected {expected} as the first line"
    )]
    HeaderMissing {
        /// The file.
        name: String,
        /// Its first line with content.
        line: u64,
        /// What stands there.
        found: String,
        /// Columns wanted.
        expected: &'static str,
    },
    /// A wanted column is not named in the header.
    #[error(
        "{name}, line {line}: there is no column {missing} (columns found: {found}); expected {expected}, named exactly so, in any order"
    )]
    ColumnMissing {
        /// The file.
        name: String,
        /// Header line.
        line: u64,
        /// The column.
        missing: &'static str,
        /// All columns found.
        found: String,
        /// Columns wanted.
        expected: &'static str,
    },
    /// A wanted column is named twice.
    #[error("{name}, line {line}: the column {column} is named more than once; expected it once")]
    ColumnTwice {
        /// The file.
        name: String,
        /// Header line.
        line: u64,
        /// The column.
        column: &'static str,
    },
    /// Another separator than the comma.
    #[error(
        "{name}, line {line}: the columns are separated by {separator}; expected commas, with a decimal point in numbers (when exporting from a spreadsheet, choose comma as the separator and point as the decimal sign)"
    )]
    Separator {
        /// The file.
        name: String,
        /// Header line.
        line: u64,
        /// The separator found, in words.
        separator: &'static str,
    },
    /// A cell does not hold what its column should.
    #[error("{name}, line {line}: {column} is \"{found}\"; expected {expected}")]
    Cell {
        /// The file.
        name: String,
        /// Line in the file.
        line: u64,
        /// Column name.
        column: &'static str,
        /// The cell.
        found: String,
        /// In words.
        expected: &'static str,
    },
    /// A row with more cells than the header names.
    #[error(
        "{name}, line {line}: there are {found} values where the header names {expected} columns; a decimal comma may have split a number: expected numbers with a decimal point"
    )]
    TooManyCells {
        /// The file.
        name: String,
        /// Line in the file.
        line: u64,
        /// Cells.
        found: usize,
        /// Columns.
        expected: usize,
    },
    /// A header without rows.
    #[error("{name} holds a header but no rows of values")]
    NoRows {
        /// The file.
        name: String,
    },
}

/// One row: the wanted cells, in the order in which the columns were asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Row {
    /// Line in the file, from 1.
    pub line: u64,
    pub cells: Vec<String>,
}

/// A table being read.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Layout {
    /// Wanted columns.
    pub columns: &'static [&'static str],
    /// The same for messages, e.g. `time_s,temperature_c`.
    pub expected: &'static str,
}

/// Expected of a number, in words.
pub(crate) const A_NUMBER: &str = "a number with a decimal point";

/// Read all rows of the wanted columns.
///
/// Lines beginning with `#` and blank lines are skipped; a byte-order mark, any line ending and
/// quoted cells (within one line) are understood. Surplus columns are ignored, surplus empty cells
/// at the end of a row too.
///
/// # Errors
/// [`TableError`].
pub(crate) fn read(name: &str, bytes: &[u8], layout: Layout) -> Result<Vec<Row>, TableError> {
    check_text(name, bytes)?;
    let text = String::from_utf8_lossy(bytes);
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let mut header: Option<Header> = None;
    let mut rows = Vec::new();
    for (line, content) in lines(text) {
        if content.starts_with('#') {
            continue;
        }
        let cells = cells(content);
        if cells.iter().all(String::is_empty) {
            continue;
        }
        match &header {
            None => header = Some(Header::of(name, line, &cells, layout)?),
            Some(header) => rows.push(header.row(name, line, cells, layout)?),
        }
    }
    if header.is_none() {
        return Err(TableError::Empty {
            name: name.into(),
            expected: layout.expected,
        });
    }
    if rows.is_empty() {
        return Err(TableError::NoRows { name: name.into() });
    }
    Ok(rows)
}

/// Trimmed lines with their numbers from 1; ended by LF, CR LF or CR.
fn lines(text: &str) -> impl Iterator<Item = (u64, &str)> {
    text.split('\n')
        .flat_map(|line| line.strip_suffix('\r').unwrap_or(line).split('\r'))
        .map(str::trim)
        .zip(1..)
        .map(|(line, number)| (number, line))
}

/// Cells of one line, trimmed; a quoted cell may hold commas and doubled quotes (RFC 4180).
fn cells(line: &str) -> Vec<String> {
    let mut cells = Vec::new();
    let mut rest = line;
    loop {
        let (cell, after) = match rest.trim_start().strip_prefix('"') {
            Some(quoted) => quoted_cell(quoted),
            None => match rest.split_once(',') {
                Some((cell, after)) => (cell.trim().to_owned(), Some(after)),
                None => (rest.trim().to_owned(), None),
            },
        };
        cells.push(cell);
        match after {
            Some(after) => rest = after,
            None => return cells,
        }
    }
}

/// A cell whose opening quote is gone already, and what follows its comma. Without a closing quote
/// the cell reaches to the end of the line; text between closing quote and comma belongs to it.
fn quoted_cell(quoted: &str) -> (String, Option<&str>) {
    let mut cell = String::new();
    let mut rest = quoted;
    while let Some((part, after)) = rest.split_once('"') {
        cell.push_str(part);
        if let Some(after) = after.strip_prefix('"') {
            cell.push('"');
            rest = after;
            continue;
        }
        let (tail, next) = match after.split_once(',') {
            Some((tail, next)) => (tail, Some(next)),
            None => (after, None),
        };
        cell.push_str(tail);
        return (cell.trim().to_owned(), next);
    }
    cell.push_str(rest);
    (cell.trim().to_owned(), None)
}

fn check_text(name: &str, bytes: &[u8]) -> Result<(), TableError> {
    let found = if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        "it begins with the mark of UTF-16"
    } else if bytes.starts_with(b"PK\x03\x04") {
        "it begins like a spreadsheet or zip file"
    } else if bytes.contains(&0) {
        "it contains zero bytes"
    } else {
        return Ok(());
    };
    Err(TableError::NotText {
        name: name.into(),
        found,
    })
}

struct Header {
    names: usize,
    /// Place of each wanted column.
    places: Vec<usize>,
}

impl Header {
    fn of(name: &str, line: u64, names: &[String], layout: Layout) -> Result<Self, TableError> {
        let shown: Vec<String> = names.iter().map(|cell| shortened(cell)).collect();
        let text = shown.join(",");
        let known = |cell: &str| layout.columns.contains(&cell);
        if let Some(separator) = other_separator(&names.join(","), layout) {
            return Err(TableError::Separator {
                name: name.into(),
                line,
                separator,
            });
        }
        if !names.iter().any(|cell| known(cell))
            && names.iter().any(|cell| cell.parse::<f64>().is_ok())
        {
            return Err(TableError::HeaderMissing {
                name: name.into(),
                line,
                found: text,
                expected: layout.expected,
            });
        }
        let mut places = Vec::with_capacity(layout.columns.len());
        for &column in layout.columns {
            let mut found = names.iter().enumerate().filter(|(_, cell)| *cell == column);
            let place = found.next().ok_or_else(|| TableError::ColumnMissing {
                name: name.into(),
                line,
                missing: column,
                found: shown.join(", "),
                expected: layout.expected,
            })?;
            if found.next().is_some() {
                return Err(TableError::ColumnTwice {
                    name: name.into(),
                    line,
                    column,
                });
            }
            places.push(place.0);
        }
        Ok(Self {
            names: names.len(),
            places,
        })
    }

    fn row(
        &self,
        name: &str,
        line: u64,
        mut cells: Vec<String>,
        layout: Layout,
    ) -> Result<Row, TableError> {
        if cells.iter().skip(self.names).any(|cell| !cell.is_empty()) {
            return Err(self.split_number(name, line, &cells, layout));
        }
        let cells = self
            .places
            .iter()
            .map(|&place| {
                cells
                    .get_mut(place)
                    .map_or_else(String::new, std::mem::take)
            })
            .collect();
        Ok(Row { line, cells })
    }

    /// A row with too many cells: show the number that a decimal comma has split, if there is one.
    fn split_number(&self, name: &str, line: u64, cells: &[String], layout: Layout) -> TableError {
        let surplus = cells.len() - self.names;
        let whole = |cell: Option<&String>| {
            cell.is_some_and(|cell| {
                let digits = cell.strip_prefix(['-', '+']).unwrap_or(cell);
                !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())
            })
        };
        let fraction = |cell: Option<&String>| {
            cell.is_some_and(|cell| {
                !cell.is_empty() && cell.bytes().all(|byte| byte.is_ascii_digit())
            })
        };
        // One split number, or every number split: in both cases the last wanted column tells.
        let candidates = self.places.iter().zip(layout.columns).rev();
        for (&place, &column) in candidates {
            let shift = if surplus == 1 {
                0
            } else {
                place.min(surplus - 1)
            };
            let at = place + shift;
            if whole(cells.get(at)) && fraction(cells.get(at + 1)) {
                return TableError::Cell {
                    name: name.into(),
                    line,
                    column,
                    found: shortened(&format!("{},{}", cells[at], cells[at + 1])),
                    expected: A_NUMBER,
                };
            }
        }
        TableError::TooManyCells {
            name: name.into(),
            line,
            found: cells.len(),
            expected: self.names,
        }
    }
}

/// A separator other than the comma that explains the header better, in words.
fn other_separator(text: &str, layout: Layout) -> Option<&'static str> {
    [(';', "semicolons"), ('\t', "tabs"), ('|', "vertical bars")]
        .into_iter()
        .find(|&(separator, _)| {
            text.split(separator)
                .map(|cell| cell.trim().trim_matches('"'))
                .filter(|cell| layout.columns.contains(cell))
                .count()
                >= 2
        })
        .map(|(_, words)| words)
}

/// At most [`SHOWN_CHARS`] characters, line breaks made visible.
pub(crate) fn shortened(cell: &str) -> String {
    let mut short: String = cell
        .chars()
        .take(SHOWN_CHARS)
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect();
    if cell.chars().nth(SHOWN_CHARS).is_some() {
        short.push('…');
    }
    short
}

/// A finite number, or the error that names its cell.
pub(crate) fn number(
    name: &str,
    line: u64,
    column: &'static str,
    cell: &str,
) -> Result<f64, TableError> {
    cell.parse::<f64>()
        .ok()
        .filter(|value| value.is_finite())
        .ok_or_else(|| TableError::Cell {
            name: name.into(),
            line,
            column,
            found: shortened(cell),
            expected: A_NUMBER,
        })
}
