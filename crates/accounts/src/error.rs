//! Why somebody does not come in, or an account could not be kept.

use crate::passphrase::Unfit;
use std::path::PathBuf;

/// Why somebody does not come in, or an account could not be kept.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum AccountError {
    /// Name and passphrase do not belong together. Which of them is wrong is not said.
    #[error("name and passphrase do not belong together; check both and try again")]
    Refused,
    /// Too many failures; it is not said whether the name is known.
    #[error("too many tries failed; wait {wait_s} s and try again")]
    Wait {
        /// How long [s].
        wait_s: i64,
    },
    /// The passphrase was right, but a supervisor locked the account.
    #[error("this account is locked; ask a supervisor of the book")]
    Locked,
    /// The program is busy with other people's passphrases.
    #[error("many people come in just now; try again in a few seconds")]
    Busy,
    /// A passphrase that is not taken.
    #[error(transparent)]
    Unfit(#[from] Unfit),
    /// No such invitation.
    #[error(
        "this invitation was accepted already, is older than a week, or was never made; ask a supervisor for a new one"
    )]
    NotInvited,
    /// Nobody of this book is bound to this account elsewhere.
    #[error(
        "this account is nobody's in this book yet; ask a supervisor of the book for an invitation"
    )]
    NotBound,
    /// The account elsewhere lets another person of the book in.
    #[error(
        "this account lets somebody else of this book in already; sign in with your own, or ask a supervisor of the book"
    )]
    BoundToAnother,
    /// A name that is taken.
    #[error("there is a {what} of this name already")]
    Taken {
        /// Of what kind.
        what: &'static str,
    },
    /// A field that cannot be kept.
    #[error("{field} is {found}; expected {expected}")]
    Field {
        /// Which.
        field: &'static str,
        /// What was given, shortened.
        found: String,
        /// What would be kept.
        expected: String,
    },
    /// Too many of something.
    #[error("there are {most} {what} already; take one back first")]
    TooMany {
        /// Of what.
        what: &'static str,
        /// How many there can be.
        most: usize,
    },
    /// Nothing bears this id.
    #[error("there is no such {what}")]
    Unknown {
        /// Of what kind.
        what: &'static str,
    },
    /// The address of a database that is none.
    #[error(
        "accounts cannot be kept at {found}; expected postgres://USER@HOST/DATABASE, or nothing for the book's own folder"
    )]
    Address {
        /// Its beginning; what follows may hold a password.
        found: String,
    },
    /// The file cannot be made.
    #[error("{path} cannot be made or written; look at the folder's permissions")]
    File {
        /// Which.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// Written by a newer program.
    #[error(
        "the accounts at {place} were written by a newer version of the program (form {found}; this one knows up to {known}); use that version"
    )]
    Newer {
        /// Where.
        place: String,
        /// Form found.
        found: i64,
        /// Newest form known.
        known: i64,
    },
    /// Kept in a form from before this program, by somebody who may not bring it up to date.
    #[error(
        "the accounts at {place} are of form {found}, this program keeps form {known}, and this user of the database may not make tables; let its owner run \"meltrange person list\" with this version once"
    )]
    Older {
        /// Where.
        place: String,
        /// Form found.
        found: i64,
        /// Form that is needed.
        known: i64,
    },
    /// The database failed.
    #[error("the accounts at {place} cannot be read or written")]
    Database {
        /// Where.
        place: String,
        /// What it said.
        #[source]
        source: sqlx::Error,
    },
    /// A hash that is none, or no memory to work it out.
    #[error("a passphrase could not be hashed: {found}")]
    Hash {
        /// What the library said.
        found: String,
    },
    /// The system has no randomness to give.
    #[error("the system gives no random numbers")]
    NoChance,
}
