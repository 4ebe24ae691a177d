//! Who may come in: passphrases, sessions, tokens, invitations, and a log of who came.
//!
//! In: ids of people of the book, what they typed, where they came from, what time it is. Out: who a
//! session's or a token's secret belongs to, or why somebody is refused. Nothing is kept that would let
//! anybody in: of passphrases an Argon2id hash, of every other secret a SHA-256. Which person may do what
//! is not decided here. `docs/people.md` describes it for those who run it.
//!
//! ```no_run
//! # async fn example() -> Result<(), meltrange_accounts::AccountError> {
//! use meltrange_accounts::{Accounts, Knock, Place};
//!
//! let accounts = Accounts::open(&Place::Folder("practical".into())).await?;
//! let invitation = accounts.invite("0199a0f4", "", "", 1_800_000_000).await?;
//! let knock = Knock { from: "192.0.2.7".into(), agent: String::new(), now_s: 1_800_000_060 };
//! let came = accounts.accept(&invitation.code, "R. Amsel", "three owls on a warm block", &knock).await?;
//! assert_eq!(accounts.visit(&came.secret, 1_800_000_061).await?.map(|visit| visit.person), Some("0199a0f4".into()));
//! # Ok(()) }
//! ```

mod access_log;
mod account;
mod attempts;
mod chance;
mod coming_in;
mod commonest;
mod error;
mod groups;
mod hashing;
mod invitations;
mod limits;
mod outside;
mod passphrase;
mod provider;
mod sessions;
mod sitting_down;
mod store;
mod tables;
mod tokens;

pub use access_log::{AccessEntry, AccessKind};
pub use account::Account;
pub use chance::{short_code, typed_code};
pub use coming_in::{CameIn, Knock};
pub use error::AccountError;
pub use groups::{Group, GroupLocked};
pub use hashing::Cost;
pub use invitations::Invitation;
pub use limits::*;
pub use outside::Outside;
pub use passphrase::{Unfit, fit};
pub use provider::{Begun, Provider, ProviderError, ProviderOptions, Returned, Secret};
pub use sessions::{Session, Visit};
pub use store::{Accounts, Place};
pub use tokens::{NewToken, Token};
