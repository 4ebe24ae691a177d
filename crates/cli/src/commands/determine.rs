//! `meltrange determine`: repeated readings to one result.

use crate::args::{DetermineArguments, LiquidArgument, Target};
use crate::calibration_file::CalibrationFile;
use crate::columns::{Columns, Row};
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use meltrange_metrology::{
    Convention, Converted, Correction, Decision, DecisionRule, Determination, DeterminationError,
    DeterminationOptions, EndResult, EndsAtZeroRate, Indicated, Lag, Repeatability, RequiredRange,
    SpecificationCheck, StatedStem, StemError, ThermometricLiquid, TubeReading,
    check_specification, determine, old_scale,
};
use meltrange_physics::Celsius;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Columns that must be there.
const REQUIRED: [&str; 4] = ["run", "tube", "first_liquid_c", "last_crystal_c"];

/// Largest standard uncertainty that is taken for one [°C].
const MOST_U_C: f64 = 1000.0;

/// Combine and print.
pub(crate) fn run(arguments: &DetermineArguments, output: &Output) -> Result<(), Failure> {
    let table = Columns::read(&arguments.readings, &REQUIRED)?;
    let readings: Vec<TubeReading> = table.rows().map(reading).collect::<Result<_, _>>()?;
    let calibration = arguments
        .calibration
        .as_deref()
        .map(CalibrationFile::read)
        .transpose()?;
    let rates = rates(&table)?;
    let rates: Vec<(&str, f64)> = rates
        .iter()
        .map(|(run, rate)| (run.as_str(), *rate))
        .collect();
    let options = DeterminationOptions {
        agree_within_c: arguments.agree_within,
        correction: correction(arguments, calibration.as_ref())?,
        rates: &rates,
        lag: arguments.lag.map(|seconds| Lag {
            seconds,
            standard_uncertainty_s: arguments.lag_u,
        }),
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
    let converted = arguments
        .convert_to
        .map(|target| converted(&found, target))
        .transpose()?;
    let mut found = found;
    found
        .remarks
        .extend(calibration.into_iter().flat_map(|read| read.remarks));
    if arguments.json {
        output.json(&as_json(&found, required.as_ref(), converted.as_ref())?)
    } else {
        output.text(&as_text(&found, required.as_ref(), converted.as_ref()))
    }
}

/// Mean heating rate of each run that has one.
fn rates(table: &Columns) -> Result<BTreeMap<String, f64>, Failure> {
    let mut all: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for row in table.rows() {
        if let Some(rate) = row.optional_number("rate_c_per_min")? {
            if rate <= 0.0 {
                return Err(
                    row.refuse("rate_c_per_min", "a heating rate above 0, or an empty cell")
                );
            }
            all.entry(row.text("run")?).or_default().push(rate);
        }
    }
    let mean = |rates: Vec<f64>| rates.iter().sum::<f64>() / rates.len() as f64;
    Ok(all
        .into_iter()
        .map(|(run, rates)| (run, mean(rates)))
        .collect())
}

/// Both ends in another convention.
fn converted(found: &Determination, target: Target) -> Result<[Converted; 2], Failure> {
    let to = match target {
        Target::Thermodynamic => Convention::Thermodynamic,
        Target::AtRate(rate) => Convention::AtRate {
            rate_c_per_min: Some(rate),
        },
    };
    found.converted(to).map_err(|error| Failure::of(&error))
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

fn correction<'a>(
    arguments: &DetermineArguments,
    calibration: Option<&'a CalibrationFile>,
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
            Ok(StatedStem {
                length_c,
                mean_c,
                liquid,
            }
            .correction())
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
    let rule = DecisionRule::Guarded {
        probability: arguments.guard,
    };
    check_specification(
        found.first_liquid.to_decide_on(),
        found.last_crystal.to_decide_on(),
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
    converted: Option<&[Converted; 2]>,
) -> Result<Value, Failure> {
    let mut value = serde_json::to_value(found)
        .map_err(|error| Failure::new(format!("the result could not be written: {error}")))?;
    value["converted"] = converted.map_or(Value::Null, |[first_liquid, last_crystal]| {
        let end = |end: &Converted| {
            json!({
                "value_c": end.temperature, "standard_uncertainty_c": end.standard_uncertainty_c,
                "shift_c": end.shift_c,
            })
        };
        json!({
            "convention": first_liquid.convention,
            "first_liquid": end(first_liquid), "last_crystal": end(last_crystal),
        })
    });
    let last_crystal = &found.last_crystal;
    value["scale_of_1968"] = old_scale(
        Celsius(last_crystal.value_c),
        last_crystal.standard_uncertainty_c,
    )
    .map_or(
        Value::Null,
        |old| json!({"t90_minus_t68_c": old.difference_c, "negligible": old.negligible}),
    );
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
    converted: Option<&[Converted; 2]>,
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
    if let Some(at_zero) = &found.zero_rate {
        text.push_str(&zero_rate_text(at_zero));
    }
    if let Some([first_liquid, last_crystal]) = converted {
        text.push_str(&format!(
            "\nconverted to {}: {:.2} (u = {:.2}) to {:.2} (u = {:.2}) °C\n",
            first_liquid.convention,
            first_liquid.temperature.0,
            first_liquid.standard_uncertainty_c,
            last_crystal.temperature.0,
            last_crystal.standard_uncertainty_c,
        ));
    }
    text.push_str(&format!("\nfor the notebook: {}\n", found.notebook_text));
    for outlier in &found.outliers {
        text.push_str(&format!("note: {}\n", outlier.text));
    }
    for remark in &found.remarks {
        text.push_str(&format!("note: {}\n", remark.text));
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

fn zero_rate_text(at_zero: &EndsAtZeroRate) -> String {
    let heads = [
        "at zero heating rate",
        "line, °C",
        "root, °C",
        "between, °C",
        "u, °C",
    ];
    let mut rows = vec![heads.map(str::to_owned)];
    for (name, end) in [
        ("first liquid", &at_zero.first_liquid),
        ("last crystal", &at_zero.last_crystal),
    ] {
        rows.push([
            name.to_owned(),
            format!("{:.2}", end.line.temperature.0),
            format!("{:.2}", end.root.temperature.0),
            format!("{:.2}", end.temperature.0),
            format!("{:.2}", end.standard_uncertainty_c),
        ]);
    }
    format!("\n{}note: {}\n", aligned(&rows), at_zero.note)
}
