//! The meltrange program: arguments in, rooms called, answers and exit status out.

mod args;
mod book_access;
mod calibration_file;
mod columns;
mod commands;
mod failure;
mod new_file;
mod out_folder;
mod output;
mod pictures;
mod progress;
mod table;

use args::{Arguments, Command};
use clap::Parser as _;
use failure::Failure;
use output::Output;
use progress::Progress;
use std::process::ExitCode;

fn main() -> ExitCode {
    // Wrong usage, help and version end inside: 2, 0 and 0.
    let arguments = Arguments::parse();
    let output = Output::new();
    match run(&arguments, &output) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => output.end_with(&failure),
    }
}

fn run(arguments: &Arguments, output: &Output) -> Result<(), Failure> {
    match &arguments.command {
        Command::Read(read) => {
            let progress = Progress::new(arguments.quiet || read.json);
            commands::read::run(read, output, &progress)
        }
        Command::Calibrate(calibrate) => commands::calibrate::run(calibrate, output),
        Command::Determine(determine) => commands::determine::run(determine, output),
        Command::Drift(drift) => commands::drift::run(drift, output),
        Command::Readers(readers) => commands::readers::run(readers, output),
        Command::Plan(plan) => commands::plan::run(plan, output),
        Command::Session(session) => {
            let progress = Progress::new(arguments.quiet || session.json);
            commands::session::run(session, output, &progress)
        }
        Command::Identify(identify) => commands::identity::identify(identify, output),
        Command::Mixture(mixture) => commands::identity::mixture(mixture, output),
        Command::MixedMelting(three) => commands::identity::mixed_melting(three, output),
        Command::Purity(purity) => commands::identity::purity(purity, output),
        Command::Library(library) => commands::identity::library(library, output),
        Command::Book(book) => commands::book::run(book, output, arguments.quiet),
        Command::Sample(sample) => commands::sample::run(sample, output, arguments.quiet),
        Command::Recording(recording) => {
            commands::recording::run(recording, output, arguments.quiet)
        }
        Command::Curve(curve) => commands::curve::run(curve, output),
        Command::Report(report) => {
            let progress = Progress::new(arguments.quiet || report.json);
            commands::report::run(report, output, &progress)
        }
        Command::Bench(bench) => {
            let progress = Progress::new(arguments.quiet);
            commands::bench::run(bench, output, &progress)
        }
        Command::Import(import) => {
            let progress = Progress::new(arguments.quiet || import.json);
            commands::import::run(import, output, &progress)
        }
        Command::Display(display) => {
            let progress = Progress::new(arguments.quiet || display.json);
            commands::display::run(display, output, &progress)
        }
        Command::Record(record) => {
            let progress = Progress::new(arguments.quiet || record.json);
            commands::record::run(record, output, &progress)
        }
        Command::Person(person) => commands::person::run(person, output),
        Command::Reread(again) => commands::reread::run(again, output, arguments.quiet),
        Command::Serve(serve) => commands::serve::run(serve, output),
        Command::Openapi => commands::serve::describe(output),
        Command::Demo(demo) => {
            commands::demo::run(&demo.book, output, &Progress::new(arguments.quiet))
        }
        Command::Simulate(simulate) => {
            let stretch = Progress::new(arguments.quiet).begin("simulating");
            let made = commands::simulate::run(&simulate.scene, &simulate.out, &mut |done, all| {
                stretch.at(done as f64 / all.max(1) as f64);
            });
            drop(stretch);
            let made = made.map_err(|error| Failure::of(&error))?;
            output.text(&commands::simulate_text(&made))
        }
    }
}
