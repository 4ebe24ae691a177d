//! `meltrange bench`: what is at a bench.

use crate::args::{BenchArguments, BenchCheckArguments, BenchCommand};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use meltrange_bench::{BenchFile, DeviceFinding, DeviceRole, DeviceState};
use serde_json::json;

/// Do what is asked of a bench.
pub(crate) fn run(
    arguments: &BenchArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    match &arguments.command {
        BenchCommand::Check(check) => run_check(check, output),
        BenchCommand::Learn(learn) => super::bench_learn::run(learn, output, progress),
    }
}

fn run_check(arguments: &BenchCheckArguments, output: &Output) -> Result<(), Failure> {
    let file = BenchFile::read(&arguments.bench).map_err(|error| {
        Failure::of(&error)
            .hint("docs/bench.md describes bench files; docs/bench-files has examples")
    })?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|error| Failure::new(format!("no devices can be tried: {error}")))?;
    let findings = runtime.block_on(meltrange_bench::check(&file));
    // A device that still waits for something does not hold up the answer.
    runtime.shutdown_background();
    let unusable: Vec<&str> = findings
        .iter()
        .filter(|finding| finding.is_unusable())
        .map(|finding| role_word(finding.device))
        .collect();
    if arguments.json {
        output.json(&json!({
            "bench": file.name, "usable": unusable.is_empty(), "devices": findings,
        }))?;
    } else {
        output.text(&as_text(&file.name, &findings))?;
    }
    if unusable.is_empty() {
        return Ok(());
    }
    Err(Failure::new(format!(
        "bench {}: cannot be used as it is: {}",
        file.name,
        unusable.join(", ")
    )))
}

fn role_word(role: DeviceRole) -> &'static str {
    match role {
        DeviceRole::Thermometer => "thermometer",
        DeviceRole::Heater => "heater",
        DeviceRole::Camera => "camera",
    }
}

fn state_words(state: DeviceState) -> &'static str {
    match state {
        DeviceState::Usable => "usable",
        DeviceState::Doubtful => "usable, with a doubt",
        DeviceState::NotTried => "not tried",
        DeviceState::NotUsable => "not usable",
    }
}

fn as_text(bench: &str, findings: &[DeviceFinding]) -> String {
    let mut text = format!("bench {bench}\n");
    for finding in findings {
        text.push_str(&format!(
            "{} ({}): {}: {}\n",
            role_word(finding.device),
            finding.kind,
            state_words(finding.state),
            finding.found
        ));
        if let Some(next) = &finding.next {
            text.push_str(&format!("  next: {next}\n"));
        }
    }
    text
}
