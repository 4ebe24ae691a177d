//! Who is let in: everybody on this machine, or people with accounts.
//!
//! Open on this machine, [`crate::guard`] alone stands at the door and people say who they are. Guarded, a
//! session or a token says it, the table of [`permissions`] says what they may, and nothing else counts.
//! `docs/people.md` describes it.

mod admit;
mod cookie;
mod hosts;
mod permissions;
mod staying;
mod visitor;

pub(crate) use admit::admit;
pub(crate) use cookie::{forgotten, kept, sign_in_cookie, sign_in_kept, sign_in_over};
pub use permissions::{May, Rule, permissions};
pub(crate) use staying::as_long_as;
pub(crate) use visitor::{AsMyself, AtTheDoor, How, from_of, no_accounts};

use crate::sign_in::SignIn;
use hosts::Hosts;
pub(crate) use hosts::is_loopback;
use meltrange_accounts::Accounts;
use sha2::{Digest as _, Sha256};
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

/// What requests come through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wire {
    /// TLS, from the network.
    Tls,
    /// Plain, from this machine: its own pages, or a program that stands between it and the network and
    /// brings TLS along.
    Loopback,
}

/// People come in with accounts; cheap to clone.
#[derive(Debug, Clone)]
pub struct Guarded(Arc<Guard>);

#[derive(Debug)]
struct Guard {
    accounts: Accounts,
    hosts: Hosts,
    wire: Wire,
    /// What cookies of this book are called: another book served by the same machine has other sessions.
    mark: String,
    /// The organisation whose accounts let people in, too.
    sign_in: Option<SignIn>,
}

impl Guarded {
    /// The book in `folder` is served through `wire` to people with these accounts, under these names.
    pub fn new(accounts: Accounts, folder: &Path, wire: Wire, names: BTreeSet<String>) -> Self {
        Self::signing_in(accounts, folder, wire, names, None)
    }

    /// The same, and people can come in with accounts of an organisation.
    pub fn signing_in(
        accounts: Accounts,
        folder: &Path,
        wire: Wire,
        names: BTreeSet<String>,
        sign_in: Option<SignIn>,
    ) -> Self {
        let place = std::path::absolute(folder).unwrap_or_else(|_| folder.into());
        let digest = Sha256::digest(place.as_os_str().as_encoded_bytes());
        let mark = digest
            .iter()
            .take(4)
            .map(|byte| format!("{byte:02x}"))
            .collect();
        Self(Arc::new(Guard {
            accounts,
            hosts: Hosts::new(names),
            wire,
            mark,
            sign_in,
        }))
    }

    pub(crate) fn accounts(&self) -> &Accounts {
        &self.0.accounts
    }

    pub(crate) fn sign_in(&self) -> Option<&SignIn> {
        self.0.sign_in.as_ref()
    }
}

/// Now [s since 1970].
pub(crate) fn now_s() -> i64 {
    jiff::Timestamp::now().as_second()
}
