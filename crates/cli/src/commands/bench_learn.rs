//! `meltrange bench learn`: how a bench heats and cools, from the logs of its runs.

use crate::args::BenchLearnArguments;
use crate::columns::{Columns, Row};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use crate::table::aligned;
use meltrange_bench::BenchFile;
use meltrange_planning::{
    ApproachStyle, LearnedBench, LearnedConstant, RunLog, RunSample, ScanEnd, doubts, learn,
};
use serde_json::{Value, json};
use std::path::Path;

const REQUIRED: [&str; 4] = ["time_s", "temperature_c", "setpoint_c", "fan"];

/// Learn, compare, write and print.
pub(crate) fn run(
    arguments: &BenchLearnArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let file = BenchFile::read(&arguments.bench).map_err(|error| Failure::of(&error))?;
    let logs: Vec<RunLog> = arguments
        .logs
        .iter()
        .map(|path| read(path))
        .collect::<Result<_, _>>()?;
    // What was learned before tells whether the bench still does the same.
    let doubted: Vec<String> = file
        .learned
        .iter()
        .flat_map(|before| {
            logs.iter().flat_map(move |log| {
                let found = doubts(before, log);
                found
                    .into_iter()
                    .map(|doubt| format!("{}: {doubt}", log.name()))
            })
        })
        .collect();
    let stretch = progress.begin("learning");
    let learned = learn(&logs, file.room_c, &mut |part| stretch.at(part));
    drop(stretch);
    let learned = learned.map_err(|error| {
        Failure::of(&error)
            .hint("nothing was written; docs/bench.md says what a log for learning holds")
    })?;
    if !arguments.dry_run {
        BenchFile::write_learned(&arguments.bench, &learned)
            .map_err(|error| Failure::of(&error))?;
    }
    if arguments.json {
        output.json(&as_json(
            &file.name,
            &learned,
            &doubted,
            !arguments.dry_run,
        )?)
    } else {
        let mut text = as_text(&file.name, &learned, &doubted);
        text.push_str(&match arguments.dry_run {
            true => "nothing was written\n".to_owned(),
            false => format!("written into {}\n", arguments.bench.display()),
        });
        output.text(&text)
    }
}

/// A log as CONTRACT has it: CSV with time, temperature, setpoint and fan.
fn read(path: &Path) -> Result<RunLog, Failure> {
    let table = Columns::read(path, &REQUIRED)?;
    let samples: Vec<RunSample> = table.rows().map(sample).collect::<Result<_, _>>()?;
    let mut before_s = f64::NEG_INFINITY;
    for (at, sample) in samples.iter().enumerate() {
        if sample.time_s <= before_s {
            return Err(Failure::new(format!(
                "{}: time_s is {}, not after {before_s}; expected times that rise",
                table.place(at),
                sample.time_s
            )));
        }
        before_s = sample.time_s;
    }
    RunLog::new(path.display().to_string(), samples).map_err(|error| Failure::of(&error))
}

fn sample(row: Row<'_>) -> Result<RunSample, Failure> {
    Ok(RunSample {
        time_s: row.number("time_s")?,
        temperature_c: row.number("temperature_c")?,
        setpoint_c: row.optional_number("setpoint_c")?,
        fan: match row.number("fan") {
            Ok(0.0) => false,
            Ok(1.0) => true,
            _ => return Err(row.refuse("fan", "0 or 1")),
        },
    })
}

/// Name, words and unit of each constant.
fn constants(learned: &LearnedBench) -> [(&'static str, LearnedConstant, &'static str); 7] {
    // A setpoint that is led moves too gently to tell the two delays apart.
    let delay = match learned.approach {
        ApproachStyle::Jump => "s",
        ApproachStyle::Led { .. } => "s; only their sum is told",
    };
    [
        (
            "heater limit",
            learned.full_power_rate_c_per_min,
            match learned.approach {
                ApproachStyle::Jump => "°C/min in a cold block",
                ApproachStyle::Led { .. } => "°C/min or more: full power was never asked for",
            },
        ),
        ("losses, fan off", learned.loss_time_constant_min, "min"),
        ("cooling, fan on", learned.fan_time_constant_min, "min"),
        ("dead time", learned.dead_time_s, delay),
        ("sensor lag", learned.sensor_time_constant_s, delay),
        ("room", learned.room_c, "°C, and how much it differs"),
        (
            "controller's gain",
            learned.gain_per_c,
            "of full power for each °C",
        ),
    ]
}

fn as_text(bench: &str, learned: &LearnedBench, doubted: &[String]) -> String {
    let mut rows = vec![[
        "bench ".to_owned() + bench,
        "learned".into(),
        "standard uncertainty".into(),
        String::new(),
    ]];
    for (name, constant, unit) in constants(learned) {
        rows.push([
            name.to_owned(),
            format!("{:.2}", constant.value),
            format!("{:.2}", constant.standard_uncertainty),
            unit.to_owned(),
        ]);
    }
    let mut text = aligned(&rows);
    text.push_str(&format!(
        "\nfrom {} logs up to {:.0} °C; readings differ from the model by {:.2} °C (root mean square)\n",
        learned.logs, learned.highest_seen_c, learned.left_c
    ));
    text.push_str(&match learned.approach {
        ApproachStyle::Jump => {
            "approaches: the setpoint jumps, the block follows at full power".to_owned()
        }
        ApproachStyle::Led { rate_c_per_min, .. } => {
            format!("approaches: the setpoint is led at {rate_c_per_min:.1} °C/min")
        }
    });
    text.push_str(&format!(
        "; arrived within {} °C{}\nscans end {}\n",
        learned.arrival.within_c,
        if learned.arrival.told { "" } else { ", which the logs do not tell" },
        match learned.scan_ends_at {
            ScanEnd::Setpoint => "when the setpoint is there",
            ScanEnd::Thermometer => "when the thermometer is there",
            ScanEnd::Unknown => "when setpoint or thermometer is there; the logs do not tell which, and half-way between is taken",
        }
    ));
    text.push_str("the lag of the sample behind the block does not show in a temperature log: take it from standards read at two rates\n");
    for doubt in doubted {
        text.push_str(&format!("note: {doubt}\n"));
    }
    text
}

fn as_json(
    bench: &str,
    learned: &LearnedBench,
    doubted: &[String],
    written: bool,
) -> Result<Value, Failure> {
    let learned = serde_json::to_value(learned).map_err(|error| Failure::of(&error))?;
    Ok(json!({"bench": bench, "written": written, "learned": learned, "doubts": doubted}))
}
