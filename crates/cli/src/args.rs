//! The command line as data.

mod archive;
mod bench;
mod book;
mod display;
mod identity;
mod metrology;
mod person;
mod plan;
mod record;
mod report;
mod reread;
mod sample;
mod serve;
mod session;
mod shared;

pub(crate) use archive::{
    CurveArguments, RecordingArguments, RecordingCommand, RecordingExportArguments,
};
pub(crate) use bench::{BenchArguments, BenchCheckArguments, BenchCommand, BenchLearnArguments};
pub(crate) use display::{DisplayArguments, LitArgument, StyleArgument};
pub(crate) use identity::{
    IdentifyArguments, LibraryArguments, LibraryCommand, LibraryShownArguments,
    MixedMeltingArguments, MixtureArguments, PurityArguments,
};
pub(crate) use metrology::{
    CalibrateArguments, ConventionArgument, DetermineArguments, DriftArguments, LiquidArgument,
    ReadersArguments, Target,
};
pub(crate) use person::{
    GroupArguments, GroupCommand, MemberArguments, PersonAccountArguments, PersonCommand,
    PersonLogArguments, PersonsArguments,
};
pub(crate) use plan::PlanArguments;
pub(crate) use record::RecordArguments;
pub(crate) use report::{LanguageArgument, PaperArgument, ReportArguments};
pub(crate) use reread::{
    RereadArguments, RereadBeginArguments, RereadCommand, RereadDecideArguments,
    RereadShowArguments, RereadWorkArguments,
};
pub(crate) use serve::{DemoArguments, LogArgument, LogFormatArgument, ServeArguments};
pub(crate) use session::SessionArguments;
pub(crate) use shared::{BackupArguments, CopyArguments, PrepareArguments};

pub(crate) use book::{
    BookArguments, BookCommand, ExportArguments, ImportArguments, NewBookArguments,
    PersonArguments, RestoreArguments, RoleArgument, TableArgument, TableArguments,
    VerifyArguments,
};
pub(crate) use sample::{
    PastArguments, SampleAddArguments, SampleArguments, SampleBringInArguments, SampleCommand,
    SampleExportArguments, SampleImportArguments, SampleListArguments, SignOffArguments,
    StandingArgument,
};

use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;

/// From a recording of capillaries and a temperature log to melting ranges.
#[derive(Debug, Parser)]
#[command(name = "meltrange", version, about, propagate_version = true)]
pub(crate) struct Arguments {
    /// Show no progress.
    #[arg(long, short, global = true)]
    pub quiet: bool,

    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Read the melting ranges of up to three tubes from a recording
    Read(ReadArguments),
    /// Fit the correction of a thermometer from reference substances
    Calibrate(CalibrateArguments),
    /// Combine the readings of several runs to one melting range with its uncertainty
    Determine(DetermineArguments),
    /// Chart what check standards showed over time and say whether a thermometer has drifted
    Drift(DriftArguments),
    /// Compare readers: bias and spread of each, repeatability and reproducibility, who stands out (ISO 5725-2)
    Readers(ReadersArguments),
    /// Plan the heating of one run: legs, time, curve
    Plan(PlanArguments),
    /// Plan a block of bench time: many samples, few places, few hands
    Session(SessionArguments),
    /// Rank what a solid could be from its melting range, and name the next test
    Identify(IdentifyArguments),
    /// Show how two solids melt together
    Mixture(MixtureArguments),
    /// Judge a mixed melting: sample, reference and both together
    MixedMelting(MixedMeltingArguments),
    /// Work out how pure a solid is from how it melts
    Purity(PurityArguments),
    /// Look up substances and what they melt at
    Library(LibraryArguments),
    /// Make, verify, export or restore a lab book
    Book(BookArguments),
    /// Add, list, import or export samples of a lab book
    Sample(SampleArguments),
    /// Write a recording as a film
    Recording(RecordingArguments),
    /// Draw the melting curves of a sample
    Curve(CurveArguments),
    /// Make a report of a sample, as PDF or HTML
    Report(ReportArguments),
    /// Try the devices of a bench
    Bench(BenchArguments),
    /// Import a recording into a lab book
    Import(ImportArguments),
    /// Read the temperatures off a film of the apparatus's display
    Display(DisplayArguments),
    /// Run a programme at a bench and keep it in a lab book, without a browser
    Record(RecordArguments),
    /// Invite people of a lab book, lock accounts, see who came
    Person(PersonsArguments),
    /// Have many recordings of a shared book read again by a new version of the engine
    Reread(RereadArguments),
    /// Serve the pages of a lab book on this machine, or to people with accounts
    Serve(ServeArguments),
    /// Print the OpenAPI description of what serve answers
    Openapi,
    /// Make a lab book of a simulated practical to look around in
    #[command(hide = true)]
    Demo(DemoArguments),
    /// Make a recording with known truth from a scene file
    Simulate(SimulateArguments),
}

/// What `read` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Temperatures are as logged, not corrected. Exit status: 0 done, 1 the data could not be used, 2 wrong usage.

Example: meltrange read unknown-1.mp4 --temperature unknown-1.csv --out unknown-1-evidence
From a lab book: meltrange read practical 0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081")]
pub(crate) struct ReadArguments {
    /// Video file, or folder of pictures with frames.csv (columns file,time_s); with RECORDING, a lab book
    #[arg(value_name = "MEDIA")]
    pub media: PathBuf,

    /// Id of a recording in the lab book named first; the reading is recorded there
    #[arg(value_name = "RECORDING", conflicts_with_all = ["temperature", "video_start"])]
    pub recording: Option<String>,

    /// Temperature log with the columns time_s and temperature_c, in seconds and °C
    #[arg(long, value_name = "LOG.csv", required_unless_present = "recording")]
    pub temperature: Option<PathBuf>,

    /// Whose record it is; needed when the book knows several people
    #[arg(
        long,
        value_name = "NAME",
        env = "MELTRANGE_PERSON",
        requires = "recording"
    )]
    pub by: Option<String>,

    /// Log time of video time 0 [s]; default 0, or what recording.json says in a recording folder
    #[arg(
        long,
        value_name = "S",
        value_parser = finite_seconds,
        allow_negative_numbers = true
    )]
    pub video_start: Option<f64>,

    /// How many tubes to expect, 1 to 3; found out if not given
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=3))]
    pub tubes: Option<u8>,

    /// Write evidence.html, reading.json and curve.csv into this folder, new or from an earlier reading
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,

    /// Print one JSON object instead of the table
    #[arg(long)]
    pub json: bool,

    /// Keep the melting curves in what --json prints
    #[arg(long, requires = "json")]
    pub curve: bool,
}

/// What `simulate` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: meltrange simulate scene.toml --out recording")]
pub(crate) struct SimulateArguments {
    /// Scene file
    #[arg(value_name = "SCENE.toml")]
    pub scene: PathBuf,

    /// New folder for the recording, its temperature.csv and its truth.json
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
}

pub(crate) fn finite_seconds(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(seconds) if seconds.is_finite() => Ok(seconds),
        _ => Err("expected a number of seconds with a decimal point, e.g. 12.5".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory as _;

    #[test]
    fn arguments_do_not_contradict_each_other() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn a_video_may_start_before_the_log() {
        let found = Arguments::try_parse_from([
            "meltrange",
            "read",
            "a.mp4",
            "--temperature",
            "a.csv",
            "--video-start",
            "-12.5",
        ])
        .expect("a negative start is legal");
        let Command::Read(read) = found.command else {
            panic!("read was asked for");
        };
        assert_eq!(read.video_start, Some(-12.5));
    }
}
