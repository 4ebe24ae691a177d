//! What the commands on a lab book take.

use super::finite_seconds;
use super::shared::{BackupArguments, CopyArguments, PrepareArguments};
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// What `book` takes.
#[derive(Debug, Args)]
pub(crate) struct BookArguments {
    /// What to do.
    #[command(subcommand)]
    pub command: BookCommand,
}

/// What to do with a lab book.
#[derive(Debug, Subcommand)]
pub(crate) enum BookCommand {
    /// Make a new lab book
    New(NewBookArguments),
    /// Look at every record, its chain and every recording; exit status 1 and a list where anything was altered
    Verify(VerifyArguments),
    /// Write everything in open formats: CSV, JSON, pictures and videos as captured
    Export(ExportArguments),
    /// Make a lab book again of what export wrote, bit for bit, and verify it
    Restore(RestoreArguments),
    /// Write one table as CSV or Parquet
    Table(TableArguments),
    /// Make a database ready for a shared lab book, or bring it to the form of this program
    Prepare(PrepareArguments),
    /// Copy a lab book from a folder into a database that many share, or back, and compare every record
    Copy(CopyArguments),
    /// Make a copy of a shared lab book in a folder, or bring an earlier one up to date
    Backup(BackupArguments),
    /// Add a person to a lab book
    Person(PersonArguments),
}

/// What `book new` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  meltrange book new practical --title \"Evening practical\" --by \"R. Amsel\"
  meltrange book new postgres://owner@db.example/practical --recordings s3://melting/practical")]
pub(crate) struct NewBookArguments {
    /// New or empty folder, or the address of an empty database: postgres://USER@HOST:PORT/DATABASE
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Of a shared book, where recordings are kept: s3://BUCKET/FOLDER, or file:///FOLDER
    #[arg(long, value_name = "ADDRESS")]
    pub recordings: Option<String>,

    /// What the book is called; default: the name of its folder
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,

    /// Its first person, as supervisor; default: the name you are logged in by
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `book verify` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Note down the end of the chain that it prints, away from the book: given with --head later, it shows
whether records were taken away. Exit status: 0 sound, 1 something was altered, 2 wrong usage.

Example: meltrange book verify practical")]
pub(crate) struct VerifyArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// The end of the chain as noted earlier; it must still be in it
    #[arg(long, value_name = "HASH", value_parser = str::parse::<meltrange_labbook::Digest>)]
    pub head: Option<meltrange_labbook::Digest>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `book export` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
The archive describes itself (RO-Crate 1.2) and can be looked at without this program. A recording that cannot be
read is said, and the rest exported.

Example: meltrange book export practical --out practical-2026.zip")]
pub(crate) struct ExportArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// New or empty folder, or a new file whose name ends in .zip
    #[arg(long, value_name = "DIR|FILE.zip")]
    pub out: PathBuf,

    /// Address of the licence under which it may be used, e.g. https://spdx.org/licenses/CC-BY-4.0
    #[arg(long, value_name = "URL", value_parser = web_address)]
    pub licence: Option<String>,

    /// Which tables: CSV at the top, Parquet with typed columns in tables/
    #[arg(long, value_enum, value_delimiter = ',', default_values = ["csv", "parquet"])]
    pub tables: Vec<TableArgument>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// A form of tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum TableArgument {
    /// Comma-separated text
    Csv,
    /// Apache Parquet
    Parquet,
}

/// What `book table` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Tables: calibrations, checks, determinations, events, people, readings, recordings, samples, standards, verdicts.
Units stand in the names of the columns.

Example: meltrange book table practical readings --out readings.parquet")]
pub(crate) struct TableArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Which table
    #[arg(value_name = "NAME")]
    pub name: String,

    /// New file; its name ends in .csv or .parquet
    #[arg(long, value_name = "FILE.csv|FILE.parquet")]
    pub out: PathBuf,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `book restore` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
An archive that was altered is refused, and nothing is left of the book then.

Example: meltrange book restore practical-2026.zip --out practical-again")]
pub(crate) struct RestoreArguments {
    /// Folder or zip file that export wrote
    #[arg(value_name = "ARCHIVE")]
    pub archive: PathBuf,

    /// New or empty folder for the lab book
    #[arg(long, value_name = "BOOK")]
    pub out: PathBuf,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `book person` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: meltrange book person practical \"S. Drossel\" --role student")]
pub(crate) struct PersonArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Who is added
    #[arg(value_name = "NAME")]
    pub name: String,

    /// What they may do
    #[arg(long, value_enum, default_value = "analyst")]
    pub role: RoleArgument,

    /// Whose record it is; needed when the book knows several people
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What a person may do.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub(crate) enum RoleArgument {
    /// Answers for the bench
    Supervisor,
    /// Measures and decides
    Analyst,
    /// Measures and reads
    Student,
    /// Looks
    Viewer,
}

/// What `import` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Video and log are kept byte for byte. From a video, pictures to look through are made as well.

Example: meltrange import practical run-3.mp4 --temperature run-3.csv --sample U-1 --sample U-1 --sample U-2")]
pub(crate) struct ImportArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Video file, or folder of pictures with frames.csv (columns file,time_s)
    #[arg(value_name = "MEDIA")]
    pub media: PathBuf,

    /// Temperature log with the columns time_s and temperature_c, in seconds and °C
    #[arg(long, value_name = "LOG.csv")]
    pub temperature: PathBuf,

    /// Log time of video time 0 [s]
    #[arg(long, value_name = "S", default_value_t = 0.0, value_parser = finite_seconds, allow_negative_numbers = true)]
    pub video_start: f64,

    /// Label of the sample in each tube, from left to right; once for each tube, "-" for one not known
    #[arg(long = "sample", value_name = "LABEL", allow_hyphen_values = true)]
    pub samples: Vec<String>,

    /// Make no pictures to look through; they can be made later
    #[arg(long)]
    pub no_pictures: bool,

    /// Whose record it is; needed when the book knows several people
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// An address of the web.
pub(super) fn web_address(text: &str) -> Result<String, String> {
    let rest = text
        .strip_prefix("https://")
        .or_else(|| text.strip_prefix("http://"));
    match rest {
        Some(rest)
            if !rest.is_empty()
                && !text.contains(|letter: char| letter.is_whitespace() || letter.is_control()) =>
        {
            Ok(text.to_owned())
        }
        _ => Err("expected an address that begins with https://".to_owned()),
    }
}
