//! What the commands on shared lab books take.

use clap::Args;
use std::path::PathBuf;

/// What `book prepare` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Run it as the owner of the database: it makes tables, rules and the role meltrange_writer, which may add records and
nothing else. Grant that role to the users that benches and commands log in as. \"book new\" prepares by itself.

Example: meltrange book prepare postgres://owner@db.example/practical --recordings s3://melting/practical")]
pub(crate) struct PrepareArguments {
    /// Address of the database: postgres://USER@HOST:PORT/DATABASE
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Where recordings are kept: s3://BUCKET/FOLDER, or file:///FOLDER for one that every machine sees
    #[arg(long, value_name = "ADDRESS")]
    pub recordings: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `book backup` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
The first time everything is fetched, later what was added since. The backup is an ordinary lab book: \"book verify\" looks
at all of it, \"serve\" shows it, \"book copy\" brings it into an empty database again. Accounts are not in it.
Do not work in it: a backup with records of its own is refused the next time.

Example: meltrange book backup postgres://bench@db.example/practical /backup/practical")]
pub(crate) struct BackupArguments {
    /// Address of the shared lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// New folder, or one that an earlier backup made
    #[arg(value_name = "FOLDER")]
    pub folder: PathBuf,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// What `book copy` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
One of the two is a folder, the other the address of a database. The original stays as it is, and every record of the copy
is compared with it. Work on in one of them only: two books that go on apart cannot be joined again.

Examples:
  meltrange book copy practical postgres://owner@db.example/practical --recordings s3://melting/practical
  meltrange book copy postgres://bench@db.example/practical practical-again")]
pub(crate) struct CopyArguments {
    /// Lab book
    #[arg(value_name = "FROM")]
    pub from: PathBuf,

    /// New or empty folder, or an empty database
    #[arg(value_name = "TO")]
    pub to: PathBuf,

    /// Where recordings of a database are to be kept: s3://BUCKET/FOLDER, or file:///FOLDER
    #[arg(long, value_name = "ADDRESS")]
    pub recordings: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}
