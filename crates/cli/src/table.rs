//! A reading as a table for somebody at a bench.

use meltrange_reading::{Reading, TubeReading};
use meltrange_report::{numbers, words};

/// The reading as lines of text; `notes` are doubts that belong to no tube and no flag.
pub(crate) fn reading_table(reading: &Reading, notes: &[String]) -> String {
    let mut text = format!("{}\n\n", words::AS_LOGGED);
    let mut rows = vec![
        [
            "tube",
            "outcome",
            "range",
            "first liquid, °C",
            "last crystal, °C",
            "°C/min",
        ]
        .map(str::to_owned),
    ];
    rows.extend(reading.tubes.iter().map(row));
    text.push_str(&aligned(&rows));
    text.push_str("\nu: standard uncertainty of reading and log, without the thermometer's\n");
    for tube in &reading.tubes {
        for remark in &tube.remarks {
            text.push_str(&format!(
                "\ntube {} at {}: {}: {}",
                tube.tube,
                numbers::clock(remark.time_s),
                words::remark(remark.kind),
                remark.text
            ));
        }
    }
    for flag in &reading.quality {
        text.push_str(&format!(
            "\nrun: {}: {}",
            words::quality(flag.kind),
            flag.text
        ));
    }
    for note in notes {
        text.push_str(&format!("\nrun: {note}"));
    }
    if !text.ends_with('\n') {
        text.push('\n');
    }
    text
}

fn row(tube: &TubeReading) -> [String; 6] {
    [
        tube.tube.to_string(),
        words::outcome(tube.outcome).to_owned(),
        numbers::range(tube),
        numbers::moment_cell(tube.first_liquid.as_ref()),
        numbers::moment_cell(tube.last_crystal.as_ref()),
        numbers::rate_cell(tube.heating_rate_c_per_min),
    ]
}

/// Columns as wide as their widest cell, two spaces apart.
pub(crate) fn aligned<const COLUMNS: usize>(rows: &[[String; COLUMNS]]) -> String {
    let width = |text: &str| text.chars().count();
    let mut widths = [0; COLUMNS];
    for row in rows {
        for (most, cell) in widths.iter_mut().zip(row) {
            *most = (*most).max(width(cell));
        }
    }
    let mut text = String::new();
    for row in rows {
        let mut line = String::new();
        for (wanted, cell) in widths.iter().zip(row) {
            line.push_str(cell);
            line.extend(std::iter::repeat_n(' ', wanted - width(cell) + 2));
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up_whatever_the_letters() {
        let rows = [["°C", "a"], ["113.4–114.3 °C", "b"]].map(|row| row.map(str::to_owned));
        let text = aligned(&rows);
        let columns: Vec<usize> = text
            .lines()
            .map(|line| line.chars().position(|letter| "ab".contains(letter)))
            .map(|place| place.expect("every line has its letter"))
            .collect();
        assert_eq!(columns, [16, 16]);
    }
}
