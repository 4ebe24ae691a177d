//! What the commands on a lab book take.

use super::finite_seconds;
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
    /// Add a person to a lab book
    Person(PersonArguments),
}

/// What `book new` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: meltrange book new practical --title \"Evening practical\" --by \"R. Amsel\"")]
pub(crate) struct NewBookArguments {
    /// New or empty folder
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

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

/// What `sample` takes.
#[derive(Debug, Args)]
pub(crate) struct SampleArguments {
    /// What to do.
    #[command(subcommand)]
    pub command: SampleCommand,
}

/// What to do with samples.
#[derive(Debug, Subcommand)]
pub(crate) enum SampleCommand {
    /// Add a sample
    Add(SampleAddArguments),
    /// List samples, all or those that words are found in
    List(SampleListArguments),
    /// Add all samples of a CSV file, or none
    Import(SampleImportArguments),
    /// Look through a table of results from before the book; with --record take them in
    Past(PastArguments),
    /// Sign a result off as a second person, or take that back
    SignOff(SignOffArguments),
    /// Write one sample with all that concerns it in open formats, to look at or to bring into another lab book
    Export(SampleExportArguments),
    /// Bring a sample that was exported from another lab book into this one
    BringIn(SampleBringInArguments),
}

/// What `sample add` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
What is not noted is not thereby harmless: look into the safety data sheet and ask the responsible person.

Example: meltrange sample add practical U-1 --expected acetanilide --dried yes --column-height 2.5")]
pub(crate) struct SampleAddArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// What stands on the vial
    #[arg(value_name = "LABEL")]
    pub label: String,

    /// Where it comes from
    #[arg(long, value_name = "TEXT")]
    pub origin: Option<String>,

    /// What it is thought to be
    #[arg(long, value_name = "SUBSTANCE")]
    pub expected: Option<String>,

    /// Hazards
    #[arg(long, value_name = "TEXT")]
    pub hazards: Option<String>,

    /// Whether it was dried: yes or no; not noted if not given
    #[arg(long, value_name = "YES|NO", value_parser = yes_no)]
    pub dried: Option<bool>,

    /// Whether it was ground: yes or no; not noted if not given
    #[arg(long, value_name = "YES|NO", value_parser = yes_no)]
    pub ground: Option<bool>,

    /// Height of the packed column [mm]; 2 to 3 is common practice
    #[arg(long, value_name = "MM")]
    pub column_height: Option<f64>,

    /// Solvent it was crystallised from or may still hold
    #[arg(long, value_name = "TEXT")]
    pub solvent: Option<String>,

    /// Anything else
    #[arg(long, value_name = "TEXT")]
    pub remarks: Option<String>,

    /// Whose record it is; needed when the book knows several people
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `sample list` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: meltrange sample list practical benzil --standing not-agreed")]
pub(crate) struct SampleListArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Words that all stand in label, origin or expected substance
    #[arg(value_name = "WORD")]
    pub words: Vec<String>,

    /// Only samples that are this far
    #[arg(long, value_enum)]
    pub standing: Option<StandingArgument>,

    /// At most this many
    #[arg(long, value_name = "N", default_value_t = 50, value_parser = clap::value_parser!(u32).range(1..=500))]
    pub limit: u32,

    /// Pass over this many
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub offset: u64,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// How far a sample is.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub(crate) enum StandingArgument {
    /// No reading yet
    Unread,
    /// Read, no result yet
    Read,
    /// Its runs do not agree yet
    NotAgreed,
    /// There is a result from agreeing runs
    Agreed,
}

/// What `sample import` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Columns, by name in any order: label, and any of origin, expected_substance, hazards, dried, ground (yes or no),
column_height_mm, solvent, remarks. Lines that begin with # are comments.

Example: meltrange sample import practical unknowns.csv")]
pub(crate) struct SampleImportArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// List of samples
    #[arg(value_name = "LIST.csv")]
    pub list: PathBuf,

    /// Whose records they are; needed when the book knows several people
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `sample export` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
With the sample go its runs, recordings, readings, decisions, results and verdicts, and the people, bench, standards,
checks and calibrations that these speak of; samples that stood beside it are named.

Example: meltrange sample export practical U-1 --out u-1.zip")]
pub(crate) struct SampleExportArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// What stands on the vial
    #[arg(value_name = "LABEL")]
    pub label: String,

    /// New or empty folder, or a new file whose name ends in .zip
    #[arg(long, value_name = "DIR|FILE.zip")]
    pub out: PathBuf,

    /// Address of the licence under which it may be used
    #[arg(long, value_name = "URL", value_parser = web_address)]
    pub licence: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `sample bring-in` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Records keep their ids, people, times and reasons. What is there already is passed over; where the book says otherwise
nothing is written.

Example: meltrange sample bring-in practical u-1.zip --by \"R. Amsel\"")]
pub(crate) struct SampleBringInArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Folder or zip file that sample export wrote
    #[arg(value_name = "ARCHIVE")]
    pub archive: PathBuf,

    /// Who brings it in; needed when the book knows several people
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
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

/// What `sample past` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
A table as spreadsheets write it, with a line of headings in English, German, French or Spanish: what each column and each row was
taken for is shown, and what was not understood; with --record the rows that were understood are kept beside the samples, marked as
results from before the book. Samples that are not there are added. A second time nothing is doubled.

Example: meltrange sample past practical notebook-12.csv")]
pub(crate) struct PastArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// The table: CSV with commas, semicolons or tabs
    #[arg(value_name = "TABLE.csv")]
    pub table: PathBuf,

    /// Record what was understood
    #[arg(long)]
    pub record: bool,

    /// Whose record it is; needed when the book knows several people
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `sample sign-off` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
A supervisor or an analyst who neither measured nor read nor stated the result looks through pictures, readings and computation, and
stands behind it. Reports are drafts until then, and again after any change.

Example: meltrange sample sign-off practical U-1 --by \"S. Drossel\" --statement \"pictures compared with the moments\"")]
pub(crate) struct SignOffArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Label of the sample
    #[arg(value_name = "SAMPLE")]
    pub sample: String,

    /// Who signs
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Reviewed only, without approving it for use
    #[arg(long)]
    pub reviewed_only: bool,

    /// Anything else to be said
    #[arg(long, value_name = "TEXT")]
    pub statement: Option<String>,

    /// Take the newest signature back; says why
    #[arg(long, value_name = "REASON", conflicts_with_all = ["reviewed_only", "statement"])]
    pub withdraw: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

fn yes_no(text: &str) -> Result<bool, String> {
    match text.to_lowercase().as_str() {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err("expected yes or no".to_owned()),
    }
}

fn web_address(text: &str) -> Result<String, String> {
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
