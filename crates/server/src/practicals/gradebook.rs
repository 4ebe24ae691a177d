//! A class session as a table for the gradebook.

use super::board::called;
use super::kept::Secrets;
use super::marks::mark;
use super::standing::Standing;
use crate::problem::Problem;
use meltrange_labbook::PersonId;
use std::collections::HashMap;

/// The columns. Temperatures are as read, uncorrected.
const COLUMNS: [&str; 18] = [
    "seat",
    "vial",
    "pseudonym",
    "name",
    "unknown",
    "identified",
    "runs",
    "first_liquid_mean_c",
    "last_crystal_mean_c",
    "true_first_liquid_c",
    "true_last_crystal_c",
    "identity",
    "range",
    "agreement",
    "care",
    "total",
    "of",
    "set_by_instructor",
];

/// One line for each person, as CSV (RFC 4180).
pub(crate) fn gradebook(
    standing: &Standing,
    secrets: &Secrets,
    names: &HashMap<PersonId, String>,
) -> Result<Vec<u8>, Problem> {
    let mut table = csv::Writer::from_writer(Vec::new());
    let failed = |error: csv::Error| Problem::internal(&error);
    table.write_record(COLUMNS).map_err(failed)?;
    for (seat, number) in standing.seats.iter().zip(1u32..) {
        let Some(mark) = mark(standing, seat) else {
            continue;
        };
        let unknown = standing.set_up.unknowns.get(seat.unknown as usize);
        let count = seat.runs.len() as f64;
        let mean = |end: fn(&super::standing::SeatRun) -> f64| {
            if seat.runs.is_empty() {
                return String::new();
            }
            format!("{:.2}", seat.runs.iter().map(end).sum::<f64>() / count)
        };
        for one in &seat.people {
            let row = [
                number.to_string(),
                seat.vial.clone(),
                called(names, one.person),
                secrets.name_of(one.person).unwrap_or_default(),
                unknown.map_or_else(String::new, |unknown| unknown.name.clone()),
                seat.identified
                    .as_ref()
                    .map_or_else(String::new, |(name, _)| name.clone()),
                seat.runs_entered().to_string(),
                mean(|run| run.first_liquid_c),
                mean(|run| run.last_crystal_c),
                unknown.map_or_else(String::new, |unknown| unknown.first_liquid_c.to_string()),
                unknown.map_or_else(String::new, |unknown| unknown.last_crystal_c.to_string()),
                points(mark.identity),
                points(mark.range),
                points(mark.agreement),
                points(mark.care),
                points(mark.total),
                points(mark.of),
                mark.overridden.to_string(),
            ];
            table
                .write_record(row.map(|cell| harmless(&cell)))
                .map_err(failed)?;
        }
    }
    table
        .into_inner()
        .map_err(|error| Problem::internal(error.error()))
}

fn points(points: f64) -> String {
    let rounded = (points * 100.0).round() / 100.0;
    rounded.to_string()
}

/// What spreadsheets would take for a formula is made text (OWASP, "CSV injection"); numbers are ours and stay.
fn harmless(cell: &str) -> String {
    let is_formula =
        cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
    if is_formula {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_no_formula() {
        assert_eq!(harmless("=HYPERLINK(\"x\")"), "'=HYPERLINK(\"x\")");
        assert_eq!(harmless("-2.5"), "-2.5");
        assert_eq!(harmless("Mira"), "Mira");
        assert_eq!(points(1.0 / 3.0), "0.33");
    }
}
