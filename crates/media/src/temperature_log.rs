//! `temperature.csv`: reading a temperature log, with its faults named.

use std::path::Path;

use meltrange_physics::{LogSample, TemperatureLog, TemperatureLogError};

use crate::order::{Order, RowTime};
use crate::table::{self, Layout, TableError};

const LAYOUT: Layout = Layout {
    columns: &["time_s", "temperature_c"],
    expected: "time_s,temperature_c",
};

/// Absolute zero [°C]; exact, SI definition of the Celsius scale.
const LOWEST_C: f64 = -273.15;

/// Above any capillary's use [°C]; fault codes of thermometers (1372, 2000, 9999) lie beyond.
/// Common practice, no source.
const HIGHEST_C: f64 = 1000.0;

/// Why a temperature log could not be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LogError {
    /// The file cannot be read.
    #[error("{path} could not be read")]
    Unreadable {
        /// As named by the person.
        path: String,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// The table is not as expected.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A temperature that nothing here can have.
    #[error(
        "{path}, line {line}: temperature_c is {found_c}; expected degrees Celsius between -273.15 and 1000 (a fault code of the thermometer, or another unit?)"
    )]
    OutOfRange {
        /// The file.
        path: String,
        /// Line in the file.
        line: u64,
        /// The value.
        found_c: f64,
    },
    /// Two logs in one file.
    #[error(
        "{path}, line {line}: the clock falls back from {before_s} s to {found_s} s and runs over the same time again; expected one log: split the file there"
    )]
    ClockRestarts {
        /// The file.
        path: String,
        /// Line in the file.
        line: u64,
        /// Time before [s].
        before_s: f64,
        /// Time found [s].
        found_s: f64,
    },
    /// Too little of it is usable.
    #[error("{path}: {source}")]
    TooLittle {
        /// The file.
        path: String,
        /// What is lacking.
        source: TemperatureLogError,
    },
}

/// What had to be mended in a log, or should be known of it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LogRemark {
    /// Rows at equal times; their mean was taken.
    #[error(
        "rows of the temperature log that repeat the time of another: {count} (first in line {first_line}); their mean was taken"
    )]
    RepeatedTimes {
        /// Surplus rows.
        count: usize,
        /// Line of the first.
        first_line: u64,
    },
    /// Rows out of order; they were sorted.
    #[error(
        "rows of the temperature log earlier than the row before: {count} (first in line {first_line}); the rows were sorted by time"
    )]
    OutOfOrder {
        /// How many.
        count: usize,
        /// Line of the first.
        first_line: u64,
    },
    /// Rows without a temperature; they were left out.
    #[error(
        "rows of the temperature log without a temperature: {count} (first in line {first_line}); left out"
    )]
    NoTemperature {
        /// How many.
        count: usize,
        /// Line of the first.
        first_line: u64,
    },
    /// Nothing was logged for a while.
    #[error("nothing was logged between {from_s:.1} s and {to_s:.1} s")]
    Gap {
        /// Last sample before [s].
        from_s: f64,
        /// First sample after [s].
        to_s: f64,
    },
}

/// A temperature log and what had to be mended in it.
#[derive(Debug, Clone, PartialEq)]
pub struct LogRead {
    /// The log.
    pub log: TemperatureLog,
    /// Doubts, in the order of the kinds.
    pub remarks: Vec<LogRemark>,
}

/// Read a temperature log from a file.
///
/// # Errors
/// [`LogError`]; see [`parse_temperature_log`].
pub fn read_log(path: &Path) -> Result<LogRead, LogError> {
    let name = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|source| LogError::Unreadable {
        path: name.clone(),
        source,
    })?;
    parse_temperature_log(&name, &bytes)
}

/// Read a temperature log: columns `time_s` and `temperature_c` by name, `#` begins a comment line.
///
/// `name` stands for the file in messages. Rows without a temperature (an empty cell) are left
/// out, rows at equal times averaged, rows out of order sorted; each is remarked.
///
/// # Errors
/// [`LogError`] for anything else that is not a finite number, NaN included, for impossible temperatures, for two logs
/// in one file and for fewer than two usable rows.
pub fn parse_temperature_log(name: &str, bytes: &[u8]) -> Result<LogRead, LogError> {
    let mut lines = Vec::new();
    let mut without = Vec::new();
    for row in table::read(name, bytes, LAYOUT)? {
        let [time, temperature] = <[String; 2]>::try_from(row.cells)
            .expect("a row has as many cells as the layout has columns");
        let time_s = table::number(name, row.line, "time_s", &time)?;
        if temperature.is_empty() {
            without.push(row.line);
            continue;
        }
        let temperature_c = table::number(name, row.line, "temperature_c", &temperature)
            .map_err(|error| if_not_a_number(error, &temperature))?;
        if !(LOWEST_C..=HIGHEST_C).contains(&temperature_c) {
            return Err(LogError::OutOfRange {
                path: name.into(),
                line: row.line,
                found_c: temperature_c,
            });
        }
        lines.push(Line {
            line: row.line,
            sample: LogSample {
                time_s,
                temperature_c,
            },
        });
    }
    let mut remarks = Vec::new();
    if let Some(&first_line) = without.first() {
        remarks.push(LogRemark::NoTemperature {
            count: without.len(),
            first_line,
        });
    }
    remarks.extend(sort(name, &mut lines)?);
    let (samples, repeated) = merge(&lines);
    remarks.extend(repeated);
    let log = TemperatureLog::new(samples).map_err(|source| LogError::TooLittle {
        path: name.into(),
        source,
    })?;
    remarks.extend(
        log.gaps()
            .map(|(from_s, to_s)| LogRemark::Gap { from_s, to_s }),
    );
    Ok(LogRead { log, remarks })
}

/// Say what to do about a NaN: nobody can tell a lost reading from a failed calculation.
fn if_not_a_number(mut error: TableError, cell: &str) -> TableError {
    if let TableError::Cell { expected, .. } = &mut error
        && cell
            .trim_start_matches(['-', '+'])
            .eq_ignore_ascii_case("nan")
    {
        *expected =
            "a number with a decimal point, or an empty cell where the thermometer gave no reading";
    }
    error
}

#[derive(Debug, Clone, Copy)]
struct Line {
    line: u64,
    sample: LogSample,
}

/// Sort by time, keeping the order of equal times.
fn sort(name: &str, lines: &mut [Line]) -> Result<Option<LogRemark>, LogError> {
    let times: Vec<RowTime> = lines
        .iter()
        .map(|line| (line.line, line.sample.time_s))
        .collect();
    match Order::of(&times) {
        Order::Rising => Ok(None),
        Order::Restarts {
            line,
            before_s,
            found_s,
        } => Err(LogError::ClockRestarts {
            path: name.into(),
            line,
            before_s,
            found_s,
        }),
        Order::Late { count, first_line } => {
            lines.sort_by(|a, b| a.sample.time_s.total_cmp(&b.sample.time_s));
            Ok(Some(LogRemark::OutOfOrder { count, first_line }))
        }
    }
}

/// Average rows at equal times; the rows are in order.
fn merge(lines: &[Line]) -> (Vec<LogSample>, Option<LogRemark>) {
    let mut samples = Vec::with_capacity(lines.len());
    let mut first_line = None;
    for equal in lines.chunk_by(|a, b| a.sample.time_s == b.sample.time_s) {
        let sum: f64 = equal.iter().map(|line| line.sample.temperature_c).sum();
        samples.push(LogSample {
            time_s: equal[0].sample.time_s,
            temperature_c: sum / equal.len() as f64,
        });
        if equal.len() > 1 && first_line.is_none() {
            first_line = Some(equal[1].line);
        }
    }
    let remark = first_line.map(|first_line| LogRemark::RepeatedTimes {
        count: lines.len() - samples.len(),
        first_line,
    });
    (samples, remark)
}
