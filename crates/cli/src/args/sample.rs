//! What the commands on samples take.

use super::book::web_address;
use clap::{Args, Subcommand};
use std::path::PathBuf;

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
