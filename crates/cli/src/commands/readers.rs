//! `meltrange readers`: readers compared with each other.

use crate::args::ReadersArguments;
use crate::columns::Columns;
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use meltrange_metrology::{
    EndComparison, ReaderStudy, StudyOutlier, StudyTest, StudyVerdict, compare_readers,
};

/// Columns that must be there.
const REQUIRED: [&str; 3] = ["reader", "level", "value_c"];

/// Compare and print.
pub(crate) fn run(arguments: &ReadersArguments, output: &Output) -> Result<(), Failure> {
    let table = Columns::read(&arguments.readings, &REQUIRED)?;
    let failed = |error: meltrange_metrology::ComparisonError| {
        Failure::new(format!("{}: {error}", table.place(usize::MAX)))
    };
    let (mut readers, mut levels): (Vec<String>, Vec<String>) = Default::default();
    let mut values = Vec::new();
    for row in table.rows() {
        let value_c = row.number("value_c")? - row.optional_number("reference_c")?.unwrap_or(0.0);
        let place = |all: &mut Vec<String>, name: String| {
            all.iter().position(|one| *one == name).unwrap_or_else(|| {
                all.push(name);
                all.len() - 1
            })
        };
        let reader = place(&mut readers, row.text("reader")?);
        let level = place(&mut levels, row.text("level")?);
        values.push((reader, level, value_c));
    }
    let mut study = ReaderStudy::new(readers, levels).map_err(failed)?;
    for (reader, level, value_c) in values {
        study.add(reader, level, value_c).map_err(failed)?;
    }
    let found = compare_readers(&study).map_err(failed)?;
    if arguments.json {
        let value = serde_json::to_value(&found)
            .map_err(|error| Failure::new(format!("the result cannot be written: {error}")))?;
        output.json(&value)
    } else {
        output.text(&as_text(&found))
    }
}

fn shown(value: Option<f64>) -> String {
    value.map_or_else(|| "-".to_owned(), |value| format!("{value:.3}"))
}

fn as_text(found: &EndComparison) -> String {
    let mut text = "Readers, all levels together, °C\n".to_owned();
    let mut rows =
        vec![["reader", "values", "bias", "standard error", "spread"].map(str::to_owned)];
    rows.extend(found.readers.iter().map(|reader| {
        [
            reader.reader.clone(),
            reader.n.to_string(),
            format!("{:+.3}", reader.bias_c),
            shown(reader.bias_standard_error_c),
            shown(reader.spread_c),
        ]
    }));
    text.push_str(&aligned(&rows));
    text.push_str("\nLevels (ISO 5725-2), standard deviations in °C\n");
    let head = [
        "level",
        "readers",
        "values",
        "mean",
        "repeatability",
        "between readers",
        "reproducibility",
    ];
    let mut rows = vec![head.map(str::to_owned)];
    rows.extend(found.by_level.iter().map(|level| {
        [
            level.level.clone(),
            level.readers.to_string(),
            level.n.to_string(),
            format!("{:.3}", level.mean_c),
            shown(level.repeatability_sd_c),
            shown(level.between_readers_sd_c),
            shown(level.reproducibility_sd_c),
        ]
    }));
    text.push_str(&aligned(&rows));
    text.push_str(&mandel("h", &found.h, found));
    text.push_str(&mandel("k", &found.k, found));
    if found.outliers.is_empty() {
        text.push_str("\nNobody stands out by Cochran's and Grubbs' tests.\n");
    }
    for outlier in &found.outliers {
        text.push_str(&sentence(outlier));
    }
    text
}

fn mandel(name: &str, values: &[Vec<Option<f64>>], found: &EndComparison) -> String {
    let mut head = vec![format!("Mandel's {name}")];
    head.extend(found.levels.iter().cloned());
    let mut rows = vec![head];
    for (reader, row) in found.readers.iter().zip(values) {
        let mut cells = vec![reader.reader.clone()];
        cells.extend(row.iter().map(|value| shown(*value)));
        rows.push(cells);
    }
    let critical = if name == "h" {
        &found.h_critical
    } else {
        &found.k_critical
    };
    let mut cells = vec!["critical at 5 %".to_owned()];
    cells.extend(critical.iter().map(|value| shown(value.five_percent)));
    rows.push(cells);
    format!("\n{}", aligned_rows(&rows))
}

/// As [`aligned`], for as many columns as there are levels.
fn aligned_rows(rows: &[Vec<String>]) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let mut line = String::new();
        for (cell, width) in row.iter().zip(&widths) {
            line.push_str(cell);
            line.extend(std::iter::repeat_n(' ', 2 + width - cell.chars().count()));
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

fn sentence(outlier: &StudyOutlier) -> String {
    let test = match outlier.test {
        StudyTest::Cochran => "Cochran's test",
        StudyTest::GrubbsOne => "Grubbs' test for one",
        StudyTest::GrubbsTwo => "Grubbs' test for two",
    };
    let verdict = match outlier.verdict {
        StudyVerdict::Straggler => "a straggler (5 %)",
        StudyVerdict::Outlier => "an outlier (1 %)",
    };
    format!(
        "\n{} at {}: {verdict} by {test}, {:.3} (critical {:.3} at 5 %, {:.3} at 1 %)\n",
        outlier.readers.join(" and "),
        outlier.level,
        outlier.statistic,
        outlier.five_percent,
        outlier.one_percent
    )
}
