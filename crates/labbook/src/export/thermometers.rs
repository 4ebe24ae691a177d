//! Tables of standards, checks and calibrations.

use super::tables::{Table, maybe, name_of};
use crate::book::Book;
use crate::error::BookError;
use std::path::Path;

fn yes_no(says: bool) -> String {
    if says { "yes" } else { "no" }.into()
}

/// `standards.csv`, `checks.csv` and `calibrations.csv` in `folder`. Withdrawn and void ones are in
/// them, and say so.
pub(super) async fn write(book: &Book, folder: &Path) -> Result<(), BookError> {
    let all = book.store().thermometers().await?;
    let people = book.store().people().await?;
    let path = folder.join("standards.csv");
    let columns = [
        "standard",
        "substance",
        "cas",
        "reference_c",
        "u_reference_c",
        "convention",
        "end",
        "lot",
        "expires",
        "source",
        "cautions",
        "remarks",
        "retired",
    ];
    let mut table = Table::begin(&path, &columns)?;
    for row in &all.standards {
        let one = &row.standard;
        table.row(vec![
            row.id.to_string(),
            one.substance.clone(),
            maybe(one.cas.as_ref()),
            one.reference_c.to_string(),
            maybe(one.standard_uncertainty_c.as_ref()),
            one.convention.to_string(),
            one.end.name().into(),
            maybe(one.lot.as_ref()),
            maybe(one.expires.as_ref()),
            maybe(one.source.as_ref()),
            maybe(one.cautions.as_ref()),
            maybe(one.remarks.as_ref()),
            yes_no(one.retired),
        ])?;
    }
    table.end()?;
    let bench_name = |id| {
        all.bench(id)
            .map_or_else(String::new, |bench| bench.row.bench.name.clone())
    };
    let path = folder.join("checks.csv");
    let columns = [
        "check",
        "bench",
        "thermometer",
        "made_on",
        "standard",
        "substance",
        "reference_c",
        "indicated_c",
        "u_indicated_c",
        "heating_rate_c_per_min",
        "remarks",
        "void",
        "reason",
        "person",
        "when",
    ];
    let mut table = Table::begin(&path, &columns)?;
    for row in &all.checks {
        let one = &row.check;
        let standard = all.standard(one.standard).map(|found| &found.standard);
        table.row(vec![
            row.id.to_string(),
            bench_name(one.bench),
            maybe(one.thermometer.as_ref()),
            one.made_on.to_string(),
            one.standard.to_string(),
            maybe(standard.map(|found| &found.substance)),
            maybe(standard.map(|found| found.reference_c).as_ref()),
            one.indicated_c.to_string(),
            maybe(one.standard_uncertainty_c.as_ref()),
            maybe(one.heating_rate_c_per_min.as_ref()),
            maybe(one.remarks.as_ref()),
            yes_no(one.void),
            maybe(row.reason.as_ref()),
            name_of(&people, row.who),
            row.when.to_string(),
        ])?;
    }
    table.end()?;
    let path = folder.join("calibrations.csv");
    let columns = [
        "calibration",
        "bench",
        "thermometer",
        "in_force_from",
        "degree",
        "origin_c",
        "coefficients",
        "valid_from_c",
        "valid_to_c",
        "convention",
        "checks",
        "withdrawn",
        "reason",
        "person",
        "when",
    ];
    let mut table = Table::begin(&path, &columns)?;
    for row in &all.calibrations {
        let one = &row.calibration;
        let curve = &one.curve;
        let coefficients: Vec<String> = curve.coefficients.iter().map(f64::to_string).collect();
        let checks: Vec<String> = one
            .points
            .iter()
            .filter(|point| point.used)
            .map(|point| point.check.to_string())
            .collect();
        table.row(vec![
            row.id.to_string(),
            bench_name(one.bench),
            maybe(one.thermometer.as_ref()),
            one.in_force_from.to_string(),
            curve.degree.to_string(),
            curve.origin_c.to_string(),
            coefficients.join(" "),
            curve.valid_from_c.to_string(),
            curve.valid_to_c.to_string(),
            curve.convention.to_string(),
            checks.join(" "),
            yes_no(one.withdrawn),
            maybe(row.reason.as_ref()),
            name_of(&people, row.who),
            row.when.to_string(),
        ])?;
    }
    table.end()
}
