//! Arguments of `record`.

use super::finite_seconds;
use clap::Args;
use std::path::PathBuf;

/// What `record` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
While it runs, type a word and Enter: hold, pause, resume, skip, stop; Enter alone begins the scan when
it waits for you; \"first 2\" and \"last 2\" mark what you see in place 2; a number is a temperature that
you read off, where the bench has no thermometer of its own.

A hot block burns, glass breaks, powders fume, and some decompose violently: eye protection, fresh tubes,
and the rules of your laboratory and its responsible person come first.

Example: meltrange record north.toml --book practical --first-liquid 121.5 --last-crystal 122.5 --tubes U-1 U-1 U-4")]
pub(crate) struct RecordArguments {
    /// The bench file
    #[arg(value_name = "BENCH.toml")]
    pub bench: PathBuf,

    /// The lab book's folder that keeps the run
    #[arg(long, value_name = "BOOK")]
    pub book: PathBuf,

    /// Whose record it is; needed when the book knows several people
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Labels of the samples from left to right; - for an empty or unknown place
    #[arg(long, value_name = "LABEL", num_args = 1..=3)]
    pub tubes: Vec<String>,

    /// Expected first liquid [°C]
    #[arg(long, value_name = "C", value_parser = finite_seconds, allow_negative_numbers = true, required_unless_present = "scouting", conflicts_with = "scouting", requires = "last_crystal")]
    pub first_liquid: Option<f64>,

    /// Expected last crystal [°C]
    #[arg(long, value_name = "C", value_parser = finite_seconds, allow_negative_numbers = true, requires = "first_liquid")]
    pub last_crystal: Option<f64>,

    /// Heating rate [°C/min]; default 1, scouting 10
    #[arg(long, value_name = "C_PER_MIN", value_parser = finite_seconds)]
    pub rate: Option<f64>,

    /// Soak before the scan [min]; default 3
    #[arg(long, value_name = "MIN", value_parser = finite_seconds)]
    pub soak: Option<f64>,

    /// One fast ramp to find out roughly where it melts
    #[arg(long)]
    pub scouting: bool,

    /// As far as a scouting run may go [°C]; default the bench's limit
    #[arg(long, value_name = "C", value_parser = finite_seconds, requires = "scouting")]
    pub up_to: Option<f64>,

    /// Begin the scan without waiting for a person
    #[arg(long)]
    pub unattended: bool,

    /// Scan to the end even when every tube is clear
    #[arg(long)]
    pub to_the_end: bool,

    /// Clock of a simulated bench, 1 to 60 times as fast
    #[arg(long, value_name = "N", default_value_t = 1.0, value_parser = finite_seconds)]
    pub speed: f64,

    /// Write what was asked of the block and what it did into a file, for bench learn
    #[arg(long, value_name = "LOG.csv")]
    pub run_log: Option<PathBuf>,

    /// Do not read the recording afterwards
    #[arg(long)]
    pub no_reading: bool,

    /// Print one JSON object at the end
    #[arg(long)]
    pub json: bool,
}
