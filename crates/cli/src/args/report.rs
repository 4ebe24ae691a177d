//! What `report` takes.

use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// What `report` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
The newest result of each sample with all that it rests on: uncertainty, runs with curves and pictures, calibration, requirement,
verdict. A draft, until a second person signs it off (\"meltrange sample sign-off\"); one that is signed off is made only where the
book verifies. Several samples make one document with an overview. A file report.toml in the book's folder says how reports look
unless something else is said here: laboratory, lines, logo, language, paper, local_dates. Exit status: 0 made, 1 it could not be
made, 2 wrong usage.

Example: meltrange report practical U-1 --out u-1.pdf --language de --laboratory \"Imaginary College, evening practical\"")]
pub(crate) struct ReportArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Labels of samples
    #[arg(value_name = "SAMPLE", required = true)]
    pub samples: Vec<String>,

    /// Where to; the ending says what: .pdf (PDF/A) or .html (one file that needs no other)
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,

    /// Write over a file that is there
    #[arg(long)]
    pub replace: bool,

    /// Language of the report; English if nothing says otherwise
    #[arg(long, value_enum)]
    pub language: Option<LanguageArgument>,

    /// Dates as usual in the language instead of 2026-11-26
    #[arg(long)]
    pub local_dates: bool,

    /// Size of the paper; A4 if nothing says otherwise
    #[arg(long, value_enum)]
    pub paper: Option<PaperArgument>,

    /// Whose paper it is: name of the laboratory
    #[arg(long, value_name = "TEXT")]
    pub laboratory: Option<String>,

    /// A line below it, such as the address; can be given several times
    #[arg(long, value_name = "TEXT")]
    pub line: Vec<String>,

    /// A picture on the letterhead, JPEG or PNG
    #[arg(long, value_name = "FILE")]
    pub logo: Option<PathBuf>,

    /// Verify the records and these samples' recordings first and say in the report what was found, also for a draft
    #[arg(long)]
    pub verify: bool,

    /// Print sentences to paste: journal, notebook, certificate
    #[arg(long)]
    pub sentences: bool,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// Languages of reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum LanguageArgument {
    /// English
    En,
    /// German
    De,
    /// French
    Fr,
    /// Spanish
    Es,
}

/// Sizes of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperArgument {
    /// 210 mm × 297 mm
    A4,
    /// 8.5 in × 11 in
    Letter,
}
