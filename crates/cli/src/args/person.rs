//! What `person` takes.

use clap::{Args, Subcommand};
use std::path::PathBuf;

/// What `person` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
Accounts are asked for where a book is served with --listen or --guarded; docs/people.md describes them.
While it is served, supervisors do the same on its pages. \"meltrange book person\" adds somebody to a book.")]
pub(crate) struct PersonsArguments {
    /// What to do.
    #[command(subcommand)]
    pub command: PersonCommand,
}

/// What to do with accounts.
#[derive(Debug, Subcommand)]
pub(crate) enum PersonCommand {
    /// Show everybody's account
    List(PersonLogArguments),
    /// Make a code, good once and for a week, with which somebody chooses their passphrase
    Invite(PersonAccountArguments),
    /// Give somebody a passphrase, read from standard input, that they have to change when they first log in
    Passphrase(PersonAccountArguments),
    /// Lock an account: sessions end, tokens and invitations are good no more
    Lock(PersonAccountArguments),
    /// Unlock an account, and forget failed tries in its name
    Unlock(PersonAccountArguments),
    /// End all sessions of somebody
    LogOut(PersonAccountArguments),
    /// Show who came, was refused, or changed what of accounts; the newest last
    AccessLog(PersonLogArguments),
    /// Groups of people: who is in them, and locking or unlocking all of one
    Group(GroupsArguments),
}

/// What `person group` takes.
#[derive(Debug, Args)]
pub(crate) struct GroupsArguments {
    /// What to do.
    #[command(subcommand)]
    pub command: GroupCommand,
}

/// What to do with groups.
#[derive(Debug, Subcommand)]
pub(crate) enum GroupCommand {
    /// Show all groups and who is in them
    List(PersonLogArguments),
    /// Make a group
    New(GroupArguments),
    /// Dissolve a group; nothing else of its people changes
    Dissolve(GroupArguments),
    /// Put somebody into a group
    Add(MemberArguments),
    /// Take somebody out of a group
    TakeOut(MemberArguments),
    /// Lock the accounts of all of a group
    Lock(GroupArguments),
    /// Unlock the accounts of all of a group, and forget failed tries in their names
    Unlock(GroupArguments),
}

/// A group of a book.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: meltrange person group new practical \"evening practical 2026\"")]
pub(crate) struct GroupArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// The group's name
    #[arg(value_name = "GROUP")]
    pub group: String,

    /// Where accounts are kept, if not in the book's folder
    #[arg(
        long,
        value_name = "postgres://…",
        env = "MELTRANGE_ACCOUNTS",
        hide_env_values = true
    )]
    pub accounts: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// Somebody, and a group.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: meltrange person group add practical \"evening practical 2026\" \"S. Drossel\"")]
pub(crate) struct MemberArguments {
    /// The group.
    #[command(flatten)]
    pub of: GroupArguments,

    /// Who, as the book has it
    #[arg(value_name = "NAME")]
    pub name: String,
}

/// Somebody of a book.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: meltrange person invite practical \"R. Amsel\"
With a passphrase: meltrange person passphrase practical \"R. Amsel\" < passphrase.txt")]
pub(crate) struct PersonAccountArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Who, as the book has it
    #[arg(value_name = "NAME")]
    pub name: String,

    /// Where accounts are kept, if not in the book's folder
    #[arg(
        long,
        value_name = "postgres://…",
        env = "MELTRANGE_ACCOUNTS",
        hide_env_values = true
    )]
    pub accounts: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// A book.
#[derive(Debug, Args)]
#[command(after_help = "\
Example: meltrange person list practical")]
pub(crate) struct PersonLogArguments {
    /// Lab book
    #[arg(value_name = "BOOK")]
    pub book: PathBuf,

    /// Where accounts are kept, if not in the book's folder
    #[arg(
        long,
        value_name = "postgres://…",
        env = "MELTRANGE_ACCOUNTS",
        hide_env_values = true
    )]
    pub accounts: Option<String>,

    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}
