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
