//! `meltrange calibrate`: reference substances to a correction.

use crate::args::{CalibrateArguments, ConventionArgument};
use crate::columns::{Columns, Row};
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use jiff::civil::Date;
use meltrange_metrology::{
    CalibrationError, CalibrationFit, CalibrationOptions, Certificate, Convention, CorrectionAt,
    Remark, StandardPoint, UncertaintyFrom, calibrate, one_rate,
};
use meltrange_physics::Celsius;
use serde_json::{Value, json};

/// Columns that must be there.
const REQUIRED: [&str; 3] = ["substance", "reference_c", "indicated_c"];

/// Most decimals of a printed number.
const MOST_DECIMALS: i32 = 8;

/// Fit and print.
pub(crate) fn run(arguments: &CalibrateArguments, output: &Output) -> Result<(), Failure> {
    let table = Columns::read(&arguments.standards, &REQUIRED)?;
    let today = arguments
        .on
        .unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let points: Vec<StandardPoint> = table
        .rows()
        .map(|row| point(row, arguments, today))
        .collect::<Result<_, _>>()?;
    let options = CalibrationOptions {
        degree: arguments.degree.map(usize::from),
        origin: arguments.origin.map(Celsius),
    };
    let mut fit = calibrate(&points, options).map_err(|error| refused(&table, &error))?;
    fit.curve.read_at_c_per_min = read_at(&table)?;
    let at: Vec<CorrectionAt> = arguments
        .at
        .iter()
        .map(|&at| fit.curve.at(Celsius(at)))
        .collect();
    if arguments.json {
        output.json(&as_json(&points, &fit, &at)?)
    } else {
        output.text(&as_text(&points, &fit, &at))
    }
}

fn refused(table: &Columns, error: &CalibrationError) -> Failure {
    let place = match error.point() {
        Some(point) => table.place(point),
        None => table.place(usize::MAX),
    };
    Failure::new(format!("{place}: {error}"))
}

fn point(
    row: Row<'_>,
    arguments: &CalibrateArguments,
    today: Date,
) -> Result<StandardPoint, Failure> {
    Ok(StandardPoint {
        substance: row.text("substance")?,
        reference: Celsius(row.number("reference_c")?),
        indicated: Celsius(row.number("indicated_c")?),
        reference_u_c: row.optional_number("reference_u_c")?,
        indicated_u_c: row.optional_number("indicated_u_c")?,
        convention: convention(row, arguments.convention)?,
        certificate: certificate(row, today)?,
    })
}

fn convention(row: Row<'_>, of_all: Option<ConventionArgument>) -> Result<Convention, Failure> {
    let rate_c_per_min = row.optional_number("rate_c_per_min")?;
    if rate_c_per_min.is_some_and(|rate| rate <= 0.0) {
        return Err(row.refuse("rate_c_per_min", "a heating rate above 0, or an empty cell"));
    }
    let at_rate = Convention::AtRate { rate_c_per_min };
    match (row.cell("convention"), of_all) {
        ("thermodynamic", _) | ("", Some(ConventionArgument::Thermodynamic)) => {
            Ok(Convention::Thermodynamic)
        }
        ("at_rate" | "at rate" | "at-rate", _) | ("", Some(ConventionArgument::AtRate)) => {
            Ok(at_rate)
        }
        ("", None) if rate_c_per_min.is_some() => Ok(at_rate),
        ("", None) => Ok(Convention::NotStated),
        _ => Err(row.refuse("convention", "thermodynamic, at_rate or an empty cell")),
    }
}

/// Rate at which the standards were heated here; `None` where it is not known for all or not one.
fn read_at(table: &Columns) -> Result<Option<f64>, Failure> {
    let mut rates = Vec::new();
    for row in table.rows() {
        match row.optional_number("read_at_c_per_min")? {
            Some(rate) if rate <= 0.0 => {
                return Err(row.refuse(
                    "read_at_c_per_min",
                    "a heating rate above 0, or an empty cell",
                ));
            }
            Some(rate) => rates.push(rate),
            None => return Ok(None),
        }
    }
    Ok(one_rate(&rates))
}

fn certificate(row: Row<'_>, today: Date) -> Result<Certificate, Failure> {
    match row.cell("expires") {
        "" => Ok(Certificate::NotStated),
        text => match text.parse::<Date>() {
            Ok(last_day) if last_day < today => Ok(Certificate::Expired),
            Ok(_) => Ok(Certificate::InForce),
            Err(_) => Err(row.refuse("expires", "a date such as 2026-11-30, or an empty cell")),
        },
    }
}

fn as_json(
    points: &[StandardPoint],
    fit: &CalibrationFit,
    at: &[CorrectionAt],
) -> Result<Value, Failure> {
    let mut value = serde_json::to_value(&fit.curve)
        .map_err(|error| Failure::new(format!("the correction could not be written: {error}")))?;
    value["at"] = json!(at);
    value["points"] = points
        .iter()
        .zip(&fit.points)
        .map(|(point, verdict)| {
            json!({
                "substance": verdict.substance, "residual_c": verdict.residual_c, "suspect": verdict.suspect,
                "reference_c": point.reference, "indicated_c": point.indicated,
                "deleted_residual": verdict.deleted_residual, "leverage": verdict.leverage,
            })
        })
        .collect();
    value["degree_because"] = json!(fit.choice.in_words(fit.curve.degree));
    value["remarks"] = fit
        .remarks
        .iter()
        .map(|remark| json!(Remark::from(remark)))
        .collect();
    Ok(value)
}

fn as_text(points: &[StandardPoint], fit: &CalibrationFit, at: &[CorrectionAt]) -> String {
    let curve = &fit.curve;
    let mut text = format!(
        "correction = reference − indicated, to be added to what the thermometer shows\n{}\nconvention of the references: {}\n\n",
        fit.choice.in_words(curve.degree),
        curve.convention
    );
    let names = ["constant, °C", "slope", "bend, 1/°C"];
    let mut rows = vec![["term", "value", "standard uncertainty"].map(str::to_owned)];
    for (index, (&value, name)) in curve.coefficients.iter().zip(names).enumerate() {
        let u = curve
            .standard_uncertainties
            .as_ref()
            .and_then(|all| all.get(index))
            .copied();
        rows.push([name.to_owned(), with_digits_of(value, u), uncertainty(u)]);
    }
    text.push_str(&aligned(&rows));
    text.push_str(&format!(
        "\nin powers of (indicated − {} °C), from {} to {} °C\n",
        curve.origin_c, curve.valid_from_c, curve.valid_to_c
    ));
    let source = match curve.uncertainty_from {
        Some(UncertaintyFrom::Stated) => "from the stated uncertainties of the standards",
        Some(UncertaintyFrom::Nothing) | None => "unknown",
        _ => "from the scatter of the standards",
    };
    text.push_str(&format!(
        "scatter about the fit: {} °C, {} degrees of freedom; uncertainties are {source}\n\n",
        uncertainty(curve.residual_sd_c),
        curve.degrees_of_freedom
    ));
    let mut rows = vec![
        [
            "standard",
            "reference, °C",
            "indicated, °C",
            "residual, °C",
            "",
        ]
        .map(str::to_owned),
    ];
    for (point, verdict) in points.iter().zip(&fit.points) {
        rows.push([
            verdict.substance.clone(),
            point.reference.0.to_string(),
            point.indicated.0.to_string(),
            with_digits_of(verdict.residual_c, curve.residual_sd_c),
            if verdict.suspect { "suspect" } else { "" }.to_owned(),
        ]);
    }
    text.push_str(&aligned(&rows));
    if !at.is_empty() {
        let heads = [
            "indicated, °C",
            "correction, °C",
            "standard uncertainty, °C",
            "",
        ];
        let mut rows = vec![heads.map(str::to_owned)];
        for at in at {
            rows.push([
                at.indicated_c.to_string(),
                with_digits_of(at.correction_c, at.standard_uncertainty_c),
                uncertainty(at.standard_uncertainty_c),
                if at.extrapolated { "extrapolated" } else { "" }.to_owned(),
            ]);
        }
        text.push('\n');
        text.push_str(&aligned(&rows));
    }
    for remark in &fit.remarks {
        text.push_str(&format!("\nnote: {remark}"));
    }
    if !fit.remarks.is_empty() {
        text.push('\n');
    }
    text
}

/// Decimals that show two significant digits of an uncertainty (JCGM 100:2008, 7.2.6).
fn decimals(uncertainty: Option<f64>) -> usize {
    match uncertainty {
        Some(u) if u > 0.0 => (1 - u.log10().floor() as i32).clamp(0, MOST_DECIMALS) as usize,
        _ => 3,
    }
}

fn with_digits_of(value: f64, of: Option<f64>) -> String {
    let decimals = decimals(of);
    format!("{value:.decimals$}")
}

fn uncertainty(u: Option<f64>) -> String {
    u.map_or_else(|| "unknown".to_owned(), |u| with_digits_of(u, Some(u)))
}
