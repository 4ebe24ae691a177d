//! `meltrange determine`: repeated readings to one result.

use crate::args::{DetermineArguments, LiquidArgument};
use crate::columns::{Columns, Row};
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use meltrange_metrology::{
    Calibration, Correction, CorrectionCurve, Decision, DecisionRule, Determination,
    DeterminationError, DeterminationOptions, EmergentStem, EndResult, Indicated, Repeatability,
    RequiredRange, ResultEnd, SpecificationCheck, StemError, Thermometer, ThermometricLiquid,
    TubeReading, check_specification, determine,
};
use meltrange_physics::Celsius;
use serde_json::{Value, json};
use std::path::Path;

/// Columns that must be there.
const REQUIRED: [&str; 4] = ["run", "tube", "first_liquid_c", "last_crystal_c"];

/// Largest standard uncertainty that is taken for one [°C].
const MOST_U_C: f64 = 1000.0;

/// Standard uncertainty of the mean temperature of an emergent column [°C]: it is told by a second
/// thermometer at its middle, or guessed; common practice, no source.
const STEM_MEAN_U_C: f64 = 5.0;

/// Combine and print.
pub(crate) fn run(arguments: &DetermineArguments, output: &Output) -> Result<(), Failure> {
    let table = Columns::read(&arguments.readings, &REQUIRED)?;
    let readings: Vec<TubeReading> = table.rows().map(reading).collect::<Result<_, _>>()?;
    let calibration = arguments
        .calibration
        .as_deref()
        .map(calibration)
        .transpose()?;
    let options = DeterminationOptions {
        agree_within_c: arguments.agree_within,
        correction: correction(arguments, calibration.as_ref())?,
        repeatability: arguments
            .repeatability
            .map(|standard_deviation_c| Repeatability {
                standard_deviation_c,
                degrees_of_freedom: arguments.repeatability_freedom.unwrap_or(f64::INFINITY),
            }),
        ..DeterminationOptions::default()
    };
    let found = determine(&readings, options).map_err(|error| refused(&table, &error))?;
    let required = required(arguments, &found)?;
    let notes: Vec<(String, String)> = found
        .remarks
        .iter()
        .map(|remark| (remark.kind.clone(), remark.text.clone()))
        .chain(calibration.into_iter().flat_map(|read| read.remarks))
        .collect();
    if arguments.json {
        output.json(&as_json(&found, required.as_ref(), &notes)?)
    } else {
        output.text(&as_text(&found, required.as_ref(), &notes))
    }
}

fn refused(table: &Columns, error: &DeterminationError) -> Failure {
    let place = match error.reading() {
        Some(reading) => table.place(reading),
        None => table.place(usize::MAX),
    };
    Failure::new(format!("{place}: {error}"))
}

fn reading(row: Row<'_>) -> Result<TubeReading, Failure> {
    Ok(TubeReading {
        run: row.text("run")?,
        tube: row.text("tube")?,
        first_liquid: indicated(row, "first_liquid_c", "u_first_c")?,
        last_crystal: indicated(row, "last_crystal_c", "u_last_c")?,
    })
}

fn indicated(row: Row<'_>, column: &str, u_column: &str) -> Result<Indicated, Failure> {
    let standard_uncertainty_c = match row.optional_number(u_column)? {
        Some(u) if !(u > 0.0 && u <= MOST_U_C) => {
            return Err(row.refuse(
                u_column,
                "a standard uncertainty above 0 and at most 1000, or an empty cell",
            ));
        }
        given => given.unwrap_or(0.0),
    };
    Indicated::new(Celsius(row.number(column)?), standard_uncertainty_c)
        .map_err(|_| row.refuse(column, "a temperature from -273.15 to 1000 °C"))
}

/// A calibration as read, with the doubts that came with it.
struct ReadCalibration {
    calibration: Calibration,
    remarks: Vec<(String, String)>,
}

fn calibration(path: &Path) -> Result<ReadCalibration, Failure> {
    let name = path.display();
    let unusable = |what: &dyn std::fmt::Display| {
        Failure::new(format!("{name} is not a calibration: {what}"))
            .hint("expected what meltrange calibrate STANDARDS.csv --json prints")
    };
    let bytes = std::fs::read(path)
        .map_err(|error| Failure::new(format!("{name} could not be read: {error}")))?;
    let value: Value = serde_json::from_slice(&bytes).map_err(|error| unusable(&error))?;
    let remarks = remarks(&value);
    let curve: CorrectionCurve = serde_json::from_value(value).map_err(|error| unusable(&error))?;
    let calibration =
        Calibration::new(curve).map_err(|error| Failure::new(format!("{name}: {error}")))?;
    Ok(ReadCalibration {
        calibration,
        remarks,
    })
}

/// Doubts about the calibration that are doubts about every result made with it.
fn remarks(calibration: &Value) -> Vec<(String, String)> {
    let listed = calibration.get("remarks").and_then(Value::as_array);
    listed
        .into_iter()
        .flatten()
        .filter_map(|remark| {
            let kind = remark.get("kind")?.as_str()?;
            let text = remark.get("text")?.as_str()?;
            let matters = [
                "suspect_standard",
                "certificate_expired",
                "scatter_beyond_stated",
            ];
            matters
                .contains(&kind)
                .then(|| (kind.to_owned(), format!("calibration: {text}")))
        })
        .collect()
}

fn correction<'a>(
    arguments: &DetermineArguments,
    calibration: Option<&'a ReadCalibration>,
) -> Result<Correction<'a>, Failure> {
    let stem = arguments.stem_length.zip(arguments.stem_temperature);
    match (calibration, stem) {
        (Some(_), Some(_)) => Err(Failure::of(&StemError::ContainedInCalibration)
            .hint("leave out --stem-length and --stem-temperature")),
        (Some(read), None) => Ok(Correction::Calibration(&read.calibration)),
        (None, Some((length_c, mean_c))) => {
            let liquid = match arguments.stem_liquid {
                LiquidArgument::Mercury => ThermometricLiquid::Mercury,
                LiquidArgument::Organic => ThermometricLiquid::Organic,
            };
            let stem = EmergentStem {
                length_c,
                mean: Celsius(mean_c),
                mean_u_c: STEM_MEAN_U_C,
            };
            Ok(Correction::Stem(Thermometer::TotalImmersion(liquid), stem))
        }
        (None, None) => Ok(Correction::None),
    }
}

/// The check against a required range, if one was given.
fn required(
    arguments: &DetermineArguments,
    found: &Determination,
) -> Result<Option<(RequiredRange, SpecificationCheck)>, Failure> {
    let Some((lower_c, upper_c)) = arguments.required_from.zip(arguments.required_to) else {
        return Ok(None);
    };
    let range = RequiredRange { lower_c, upper_c };
    let end = |end: &EndResult| ResultEnd {
        value_c: end.value_c,
        standard_uncertainty_c: end.standard_uncertainty_c,
        degrees_of_freedom: end.effective_degrees_of_freedom.unwrap_or(f64::INFINITY),
    };
    let rule = DecisionRule::Guarded {
        probability: arguments.guard,
    };
    check_specification(
        end(&found.first_liquid),
        end(&found.last_crystal),
        range,
        rule,
    )
    .map(|check| Some((range, check)))
    .map_err(|error| Failure::of(&error))
}

fn decision_words(decision: Decision) -> (&'static str, &'static str) {
    match decision {
        Decision::Meets => ("meets", "meets the required range"),
        Decision::DoesNotMeet => ("does_not_meet", "does not meet the required range"),
        Decision::CannotBeDecided => ("cannot_be_decided", "cannot be decided at this uncertainty"),
    }
}

fn as_json(
    found: &Determination,
    required: Option<&(RequiredRange, SpecificationCheck)>,
    notes: &[(String, String)],
) -> Result<Value, Failure> {
    let mut value = serde_json::to_value(found)
        .map_err(|error| Failure::new(format!("the result could not be written: {error}")))?;
    value["remarks"] = notes
        .iter()
        .map(|(kind, text)| json!({"kind": kind, "text": text}))
        .collect();
    value["specification"] = required.map_or(Value::Null, |(range, check)| {
        json!({
            "required_from_c": range.lower_c, "required_to_c": range.upper_c,
            "decision": decision_words(check.decision).0,
            "guard_first_liquid_c": check.guard_lower_c, "guard_last_crystal_c": check.guard_upper_c,
            "probability_first_liquid": check.probability_lower,
            "probability_last_crystal": check.probability_upper,
        })
    });
    Ok(value)
}

fn as_text(
    found: &Determination,
    required: Option<&(RequiredRange, SpecificationCheck)>,
    notes: &[(String, String)],
) -> String {
    let agreed = if found.agreed {
        format!("agreed within {} °C", found.agree_within_c)
    } else {
        format!(
            "not agreed within {} °C; further runs likely to be needed: {}",
            found.agree_within_c, found.further_runs_needed
        )
    };
    let mut text = format!(
        "{}\n{agreed}; runs used: {}; largest difference {:.2} °C\n\n",
        found.range_text,
        found.runs_used.join(", "),
        found.spread_c
    );
    let ends = [
        ("first liquid", &found.first_liquid),
        ("last crystal", &found.last_crystal),
    ];
    let heads = [
        "",
        "value, °C",
        "u, °C",
        "k",
        "U (95 %), °C",
        "indicated, °C",
        "correction, °C",
    ];
    let mut rows = vec![heads.map(str::to_owned)];
    for (name, end) in ends {
        rows.push([
            name.to_owned(),
            format!("{:.2}", end.value_c),
            format!("{:.2}", end.standard_uncertainty_c),
            format!("{:.2}", end.coverage_factor),
            format!("{:.2}", end.expanded_uncertainty_c),
            format!("{:.2}", end.indicated_c),
            if found.corrected {
                format!("{:+.2}", end.correction_c)
            } else {
                "none".to_owned()
            },
        ]);
    }
    text.push_str(&aligned(&rows));
    for (name, end) in ends {
        text.push_str(&format!("\nuncertainty of the {name}\n{}", budget(end)));
    }
    if let Some((range, check)) = required {
        let words = decision_words(check.decision).1;
        text.push_str(&format!(
            "\nrequired {} to {} °C: {words} (guard bands {:.2} and {:.2} °C; probabilities of keeping the limits {:.3} and {:.3})\n",
            range.lower_c,
            range.upper_c,
            check.guard_lower_c,
            check.guard_upper_c,
            check.probability_lower,
            check.probability_upper
        ));
    }
    text.push_str(&format!("\nfor the notebook: {}\n", found.notebook_text));
    for outlier in &found.outliers {
        text.push_str(&format!("note: {}\n", outlier.text));
    }
    for (_, note) in notes {
        text.push_str(&format!("note: {note}\n"));
    }
    text
}

fn budget(end: &EndResult) -> String {
    let mut rows = vec![["component", "u, °C", "degrees of freedom"].map(str::to_owned)];
    for component in &end.budget {
        let freedom = component.degrees_of_freedom;
        rows.push([
            component.text.clone(),
            format!("{:.3}", component.contribution()),
            if freedom.is_finite() {
                format!("{freedom:.0}")
            } else {
                "∞".to_owned()
            },
        ]);
    }
    if let Some(check) = end.monte_carlo.filter(|check| check.differs) {
        rows.push([
            format!("Monte Carlo, {} draws: 95 % within", check.draws),
            format!("{:.2}–{:.2}", check.low_c, check.high_c),
            String::new(),
        ]);
    }
    aligned(&rows)
}
