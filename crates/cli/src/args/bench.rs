//! Arguments of `bench`.

use clap::{Args, Subcommand};
use std::path::PathBuf;

/// What `bench` takes.
#[derive(Debug, Args)]
pub(crate) struct BenchArguments {
    /// What to do.
    #[command(subcommand)]
    pub command: BenchCommand,
}

/// What to do with a bench.
#[derive(Debug, Subcommand)]
pub(crate) enum BenchCommand {
    /// Try each device for a few seconds, without heating
    Check(BenchCheckArguments),
    /// Learn how the bench heats and cools from the logs of its runs
    Learn(BenchLearnArguments),
}

/// What `bench check` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
The heater is only asked for its setpoint, or told off where it cannot be asked; it is not let heat.
Exit status: 0 all devices can be used, 1 one cannot, or the bench file cannot, 2 wrong usage.

Example: meltrange bench check north.toml")]
pub(crate) struct BenchCheckArguments {
    /// Bench file
    #[arg(value_name = "BENCH.toml")]
    pub bench: PathBuf,

    /// Print one JSON object instead of lines
    #[arg(long)]
    pub json: bool,
}

/// What `bench learn` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
LOG.csv: time_s,temperature_c,setpoint_c,fan; setpoint_c is what the controller was asked for at that moment, empty while
the heating is off; fan is 0 or 1. One log for each run, five or more, at different temperatures, each with its approach
and its cooling. What is learned goes into the table `learned` of the bench file; the rest of the file stays as it is.
Where something was learned before, the new logs are first compared with it: a failing heater or fan shows.
Exit status: 0 learned, 1 the logs leave something open or a file cannot be used, 2 wrong usage.

Example: meltrange bench learn north.toml monday.csv tuesday.csv wednesday.csv")]
pub(crate) struct BenchLearnArguments {
    /// Bench file; what is learned is written into it
    #[arg(value_name = "BENCH.toml")]
    pub bench: PathBuf,

    /// Logs of runs
    #[arg(value_name = "LOG.csv", required = true)]
    pub logs: Vec<PathBuf>,

    /// Compare and learn, but write nothing
    #[arg(long)]
    pub dry_run: bool,

    /// Print one JSON object instead of lines
    #[arg(long)]
    pub json: bool,
}
