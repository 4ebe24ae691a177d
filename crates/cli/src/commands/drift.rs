//! `meltrange drift`: check standards over time.

use crate::args::DriftArguments;
use crate::calibration_file::CalibrationFile;
use crate::columns::{Columns, Row};
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use jiff::civil::Date;
use meltrange_metrology::{
    ChartOptions, ControlChart, Indicated, Schedule, chart_rules, control_chart, resolution_of,
    schedule,
};
use meltrange_physics::Celsius;
use serde_json::{Value, json};

/// Columns that must be there.
const REQUIRED: [&str; 2] = ["reference_c", "indicated_c"];

/// One check as read.
struct Check {
    substance: String,
    date: Option<Date>,
    indicated_c: f64,
    /// Indicated, corrected, less reference [°C].
    value_c: f64,
}

/// Chart and print.
pub(crate) fn run(arguments: &DriftArguments, output: &Output) -> Result<(), Failure> {
    let table = Columns::read(&arguments.checks, &REQUIRED)?;
    let calibration = arguments
        .calibration
        .as_deref()
        .map(CalibrationFile::read)
        .transpose()?;
    let checks: Vec<Check> = table
        .rows()
        .map(|row| check(row, calibration.as_ref()))
        .collect::<Result<_, _>>()?;
    in_order(&table, &checks)?;
    let values: Vec<f64> = checks.iter().map(|check| check.value_c).collect();
    let indicated: Vec<f64> = checks.iter().map(|check| check.indicated_c).collect();
    let of_checks = ChartOptions::of_checks(checks.len(), resolution_of(&indicated));
    let options = ChartOptions {
        baseline: arguments.baseline.map(usize::from).or(of_checks.baseline),
        centre_c: arguments.centre,
        lambda: arguments.weight,
        ..of_checks
    };
    let chart = control_chart(&values, options)
        .map_err(|error| Failure::new(format!("{}: {error}", table.place(usize::MAX))))?;
    let due = due(arguments, &table, &checks)?;
    if arguments.json {
        output.json(&as_json(&checks, &chart, due)?)
    } else {
        output.text(&as_text(&checks, &chart, due))
    }
}

fn check(row: Row<'_>, calibration: Option<&CalibrationFile>) -> Result<Check, Failure> {
    let temperature = |column: &str| {
        Indicated::new(Celsius(row.number(column)?), 0.0)
            .map_err(|_| row.refuse(column, "a temperature from -273.15 to 1000 °C"))
    };
    let (reference, indicated) = (temperature("reference_c")?, temperature("indicated_c")?);
    let corrected_c = calibration.map_or(indicated.value().0, |read| {
        read.calibration.correct(indicated).value().0
    });
    let date = match row.cell("date") {
        "" => None,
        text => Some(
            text.parse()
                .map_err(|_| row.refuse("date", "a date such as 2026-11-30, or an empty cell"))?,
        ),
    };
    Ok(Check {
        substance: row.cell("substance").to_owned(),
        date,
        indicated_c: indicated.value().0,
        value_c: corrected_c - reference.value().0,
    })
}

/// A chart of checks out of order says nothing.
fn in_order(table: &Columns, checks: &[Check]) -> Result<(), Failure> {
    let mut latest: Option<Date> = None;
    for (place, check) in checks.iter().enumerate() {
        if let Some((before, date)) = latest
            .zip(check.date)
            .filter(|(before, date)| date < before)
        {
            return Err(Failure::new(format!(
                "{}: date is {date}, after {before} in a row before; expected checks in the order in which they were made",
                table.place(place)
            )));
        }
        latest = check.date.or(latest);
    }
    Ok(())
}

fn due(
    arguments: &DriftArguments,
    table: &Columns,
    checks: &[Check],
) -> Result<Option<Schedule>, Failure> {
    let Some(every) = arguments.every else {
        return Ok(None);
    };
    let last = checks.iter().rev().find_map(|check| check.date).ok_or_else(|| {
        Failure::new(format!(
            "{}: no check has a date; expected a column date (YYYY-MM-DD) to say whether one is due",
            table.place(usize::MAX)
        ))
    })?;
    let today = arguments
        .on
        .unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    Ok(Some(schedule(Some(days(last, today)), every)))
}

fn days(from: Date, to: Date) -> i64 {
    from.duration_until(to).as_hours() / 24
}

fn as_json(
    checks: &[Check],
    chart: &ControlChart,
    due: Option<Schedule>,
) -> Result<Value, Failure> {
    let mut value = serde_json::to_value(chart)
        .map_err(|error| Failure::new(format!("the chart could not be written: {error}")))?;
    value["in_control"] = json!(chart.latest_alarms().is_empty());
    value["schedule"] = json!(due);
    value["checks"] = checks
        .iter()
        .map(|check| json!({"substance": check.substance, "date": check.date.map(|date| date.to_string())}))
        .collect();
    value["rules"] = chart_rules()
        .iter()
        .map(|rule| json!({"rule": rule, "text": rule.in_words(), "source": rule.source()}))
        .collect();
    Ok(value)
}

fn as_text(checks: &[Check], chart: &ControlChart, due: Option<Schedule>) -> String {
    let mut rows = vec![
        [
            "",
            "standard",
            "difference, °C",
            "moving range, °C",
            "weighted average, °C",
            "",
        ]
        .map(str::to_owned),
    ];
    let average = &chart.weighted_average.values_c;
    for (((check, point), range), average) in checks
        .iter()
        .zip(&chart.points)
        .zip(&chart.moving_range.values_c)
        .zip(average)
    {
        let alarms: Vec<&str> = point
            .alarms
            .iter()
            .map(|alarm| alarm.text.as_str())
            .collect();
        rows.push([
            check.date.map(|date| date.to_string()).unwrap_or_default(),
            check.substance.clone(),
            format!("{:+.2}", point.value_c),
            range.map(|range| format!("{range:.2}")).unwrap_or_default(),
            format!("{average:+.2}"),
            alarms.join("; "),
        ]);
    }
    let mut text = format!(
        "corrected less reference; centre {:+.3} °C, limits {:+.2} to {:+.2} °C, moving range up to {:.2} °C{}\n\n",
        chart.centre_c,
        chart.limits.low_c,
        chart.limits.high_c,
        chart.moving_range.high_c,
        if chart.provisional {
            " (provisional: fewer than 20 checks)"
        } else {
            ""
        }
    );
    text.push_str(&aligned(&rows));
    text.push_str(if chart.latest_alarms().is_empty() {
        "\nin control\n"
    } else {
        "\nout of control: check again with a fresh tube, and find the cause before the next result\n"
    });
    text.push_str(match due {
        None => "",
        Some(Schedule::Due) => "the next check is due\n",
        Some(Schedule::Overdue) => "the next check is overdue\n",
        Some(_) => "no check is due yet\n",
    });
    for rule in chart_rules() {
        text.push_str(&format!("rule: {} ({})\n", rule.in_words(), rule.source()));
    }
    text
}
