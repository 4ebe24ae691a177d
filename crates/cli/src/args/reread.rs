//! What `reread` takes.

use clap::{Args, Subcommand};
use std::path::PathBuf;
use uuid::Uuid;

/// What `reread` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Begun once for a shared book; then any number of workers on any machines read, each one recording at a time. What they
find is compared with what the engine said before, and recorded when a supervisor accepts it, on the pages or here.

Examples:
  meltrange reread begin postgres://bench@db.example/practical --by \"R. Amsel\"
  meltrange reread work postgres://bench@db.example/practical
  meltrange reread show postgres://bench@db.example/practical")]
pub(crate) struct RereadArguments {
    /// What to do.
    #[command(subcommand)]
    pub command: RereadCommand,
}

/// What to do with recordings that are read again.
#[derive(Debug, Subcommand)]
pub(crate) enum RereadCommand {
    /// Have recordings wait for workers: those that this version of the engine has not read
    Begin(RereadBeginArguments),
    /// Read what waits for this version of the engine, until nothing does; Ctrl-C gives back what was taken
    Work(RereadWorkArguments),
    /// Show how far it is and what it changes
    Show(RereadShowArguments),
    /// Record what was found, in the name of a supervisor
    Accept(RereadDecideArguments),
    /// Record nothing of what was found
    Drop(RereadDecideArguments),
}

/// What `reread begin` takes.
#[derive(Debug, Args)]
pub(crate) struct RereadBeginArguments {
    /// Shared lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// All ended recordings, also those that this version has read
    #[arg(long)]
    pub all: bool,

    /// Who begins it, a supervisor; needed when the book knows several people
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `reread work` takes.
#[derive(Debug, Args)]
pub(crate) struct RereadWorkArguments {
    /// Shared lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Wait for more when nothing waits, instead of ending
    #[arg(long)]
    pub wait: bool,

    /// What this worker is called; if not given, machine and process
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `reread show` takes.
#[derive(Debug, Args)]
pub(crate) struct RereadShowArguments {
    /// Shared lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Which; if not given, the last one
    #[arg(long, value_name = "ID")]
    pub id: Option<Uuid>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `reread accept` and `reread drop` take.
#[derive(Debug, Args)]
pub(crate) struct RereadDecideArguments {
    /// Shared lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Which; if not given, the last one
    #[arg(long, value_name = "ID")]
    pub id: Option<Uuid>,

    /// Who decides, a supervisor; needed when the book knows several people
    #[arg(long, value_name = "NAME", env = "MELTRANGE_PERSON")]
    pub by: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}
