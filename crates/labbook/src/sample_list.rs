//! Samples from a CSV file.

use crate::records::{Preparation, Sample};
use std::collections::HashMap;

/// Columns a list can have; only `label` must be there.
pub const SAMPLE_COLUMNS: [&str; 9] = [
    "label",
    "origin",
    "expected_substance",
    "hazards",
    "dried",
    "ground",
    "column_height_mm",
    "solvent",
    "remarks",
];

/// Rows of a list; more are refused before they are read.
const MOST_ROWS: usize = 100_000;

/// One thing that is wrong with a list.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{name}, line {line}{}: {what}", column.map(|column| format!(", column {column}")).unwrap_or_default())]
pub struct SampleListError {
    /// The list.
    pub name: String,
    /// Line in it, from 1.
    pub line: u64,
    /// Which column, if one.
    pub column: Option<&'static str>,
    /// What was found and what was expected.
    pub what: String,
}

/// A sample with the line it stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct ListedSample {
    /// Line in the list, from 1.
    pub line: u64,
    /// What it says.
    pub sample: Sample,
}

/// Read a list: a header line, columns by name in any order, `#` begins a comment line.
///
/// `name` stands for the list in messages.
///
/// # Errors
/// Everything that is wrong, in the order of the lines, so that a list is mended in one go.
pub fn parse_samples(name: &str, bytes: &[u8]) -> Result<Vec<ListedSample>, Vec<SampleListError>> {
    let error = |line, column, what: String| SampleListError {
        name: name.into(),
        line,
        column,
        what,
    };
    // Spreadsheets put a byte order mark first.
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(bytes);
    let header = match reader.headers() {
        Ok(header) => header.clone(),
        Err(fault) => return Err(vec![error(1, None, said(&fault))]),
    };
    let mut places: HashMap<&'static str, usize> = HashMap::new();
    let mut errors = Vec::new();
    for (place, found) in header.iter().enumerate() {
        let expected = || SAMPLE_COLUMNS.join(", ");
        match SAMPLE_COLUMNS.into_iter().find(|known| *known == found) {
            Some(known) if places.insert(known, place).is_none() => {}
            Some(known) => errors.push(error(1, Some(known), "stands there twice".into())),
            None => errors.push(error(
                1,
                None,
                format!(
                    "there is a column \"{}\"; expected {}",
                    found.escape_debug().take(40).collect::<String>(),
                    expected()
                ),
            )),
        }
    }
    if !places.contains_key("label") {
        errors.push(error(1, None, "there is no column label".into()));
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    let mut samples = Vec::new();
    let mut labels: HashMap<String, u64> = HashMap::new();
    for row in reader.records() {
        let row = match row {
            Ok(row) => row,
            Err(fault) => {
                let line = fault.position().map_or(0, csv::Position::line);
                errors.push(error(line, None, said(&fault)));
                continue;
            }
        };
        let line = row.position().map_or(0, csv::Position::line);
        if samples.len() == MOST_ROWS {
            errors.push(error(
                line,
                None,
                format!("more than {MOST_ROWS} samples; split the list"),
            ));
            break;
        }
        let cell = |column| {
            places
                .get(column)
                .and_then(|&place| row.get(place))
                .unwrap_or("")
        };
        match sample(&cell) {
            Ok(sample) => {
                if let Some(before) = labels.insert(crate::text::key(&sample.label), line) {
                    let what = format!("\"{}\" stands in line {before} already", sample.label);
                    errors.push(error(line, Some("label"), what));
                }
                samples.push(ListedSample { line, sample });
            }
            Err((column, what)) => errors.push(error(line, Some(column), what)),
        }
    }
    if errors.is_empty() {
        Ok(samples)
    } else {
        Err(errors)
    }
}

fn said(fault: &csv::Error) -> String {
    match fault.kind() {
        csv::ErrorKind::UnequalLengths {
            expected_len, len, ..
        } => format!("has {len} cells; expected {expected_len}, as in the header"),
        csv::ErrorKind::Utf8 { .. } => "is not UTF-8 text; save the list as UTF-8".into(),
        _ => fault.to_string(),
    }
}

fn sample<'a>(cell: &impl Fn(&'static str) -> &'a str) -> Result<Sample, (&'static str, String)> {
    let text = |column| {
        let found = cell(column);
        crate::text::long(column, found).map_err(|error| (column, error.to_string()))?;
        Ok((!found.is_empty()).then(|| found.to_owned()))
    };
    let label = cell("label");
    crate::text::name("label", label).map_err(|error| ("label", error.to_string()))?;
    let height = cell("column_height_mm");
    let column_height_mm = if height.is_empty() {
        None
    } else {
        let millimetres = height.parse::<f64>().ok().filter(|found| found.is_finite());
        Some(millimetres.ok_or_else(|| {
            (
                "column_height_mm",
                format!("\"{height}\"; expected millimetres with a decimal point"),
            )
        })?)
    };
    let sample = Sample {
        label: label.into(),
        origin: text("origin")?,
        expected_substance: text("expected_substance")?,
        hazards: text("hazards")?,
        preparation: Preparation {
            dried: yes_no("dried", cell("dried"))?,
            ground: yes_no("ground", cell("ground"))?,
            column_height_mm,
            solvent: text("solvent")?,
        },
        remarks: text("remarks")?,
    };
    crate::records::check::entry(&sample.clone().into())
        .map_err(|error| ("column_height_mm", error.to_string()))?;
    Ok(sample)
}

fn yes_no(column: &'static str, found: &str) -> Result<Option<bool>, (&'static str, String)> {
    match found.to_lowercase().as_str() {
        "" => Ok(None),
        "yes" | "true" | "1" => Ok(Some(true)),
        "no" | "false" | "0" => Ok(Some(false)),
        _ => Err((column, format!("\"{found}\"; expected yes, no or nothing"))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn columns_are_found_by_name() {
        let list = "# our unknowns\ndried,label,column_height_mm\nyes,U-1,2.5\n,\"U-2, second\",\n";
        let found = parse_samples("list.csv", list.as_bytes()).expect("sound");
        assert_eq!(found.len(), 2);
        assert_eq!(
            (found[0].line, found[0].sample.preparation.dried),
            (3, Some(true))
        );
        assert_eq!(found[0].sample.preparation.column_height_mm, Some(2.5));
        assert_eq!(found[1].sample.label, "U-2, second");
    }

    #[test]
    fn everything_wrong_is_named_with_line_and_column() {
        let list = "label,dried,column_height_mm\nU-1,perhaps,\nU-2,,\"2,5\"\nu-2,,\n,,\nU-3\n";
        let said: Vec<String> = parse_samples("list.csv", list.as_bytes())
            .expect_err("much is wrong")
            .iter()
            .map(ToString::to_string)
            .collect();
        assert_eq!(
            said[0],
            "list.csv, line 2, column dried: \"perhaps\"; expected yes, no or nothing"
        );
        assert!(
            said[1].starts_with("list.csv, line 3, column column_height_mm: \"2,5\""),
            "{said:?}"
        );
        assert!(
            said[2].starts_with("list.csv, line 5, column label:"),
            "{said:?}"
        );
        assert!(
            said[3].starts_with("list.csv, line 6: has 1 cells"),
            "{said:?}"
        );
        assert_eq!(said.len(), 4);
        let columns = parse_samples("list.csv", b"name,origin\n").expect_err("no label");
        assert_eq!(columns.len(), 2);
    }

    proptest! {
        #[test]
        fn any_bytes_are_a_list_or_an_error(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
            let named = parse_samples("list.csv", &bytes);
            if let Ok(samples) = named {
                prop_assert!(samples.iter().all(|listed| !listed.sample.label.is_empty()));
            }
        }
    }
}
