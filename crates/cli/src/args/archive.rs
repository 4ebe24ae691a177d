//! Arguments of `recording` and `curve`.

use clap::{Args, Subcommand};
use std::path::PathBuf;

/// What `recording` takes.
#[derive(Debug, Args)]
pub(crate) struct RecordingArguments {
    /// What to do.
    #[command(subcommand)]
    pub command: RecordingCommand,
}

/// What to do with recordings.
#[derive(Debug, Subcommand)]
pub(crate) enum RecordingCommand {
    /// Write a recording as a film with the temperature as subtitles, nothing encoded anew
    Export(RecordingExportArguments),
}

/// What `recording export` takes.
#[derive(Debug, Args)]
#[command(after_help = "\\
Matroska; any player shows the temperature. The pictures are those captured, at the times they were taken.

Example: meltrange recording export practical --sample U-1 --out u-1.mkv")]
pub(crate) struct RecordingExportArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Id of a recording
    #[arg(value_name = "RECORDING", required_unless_present = "sample")]
    pub recording: Option<String>,

    /// The newest recording of this sample instead
    #[arg(long, value_name = "LABEL", conflicts_with = "recording")]
    pub sample: Option<String>,

    /// New file
    #[arg(long, value_name = "FILE.mkv")]
    pub out: PathBuf,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `curve` takes.
#[derive(Debug, Args)]
#[command(after_help = "\\
One drawing for each run of the newest result; with several runs the files are numbered. Temperatures are as logged.

Example: meltrange curve practical U-1 --out u-1.svg")]
pub(crate) struct CurveArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// What stands on the vial
    #[arg(value_name = "LABEL")]
    pub label: String,

    /// New file; its name ends in .svg, .png or .csv
    #[arg(long, value_name = "FILE.svg|.png|.csv")]
    pub out: PathBuf,

    /// Width of a PNG [px]
    #[arg(long, value_name = "PX", default_value_t = 1600, value_parser = clap::value_parser!(u32).range(100..=10_000))]
    pub width: u32,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}
