//! Why somebody who came back is not let in.

use meltrange_accounts::{AccountError, ProviderError};

/// Why somebody who came back is not let in. Pages say it in their own words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Refusal {
    /// Not begun in this browser, too long ago, or come back already.
    NotBegun,
    /// They, or their organisation, said no.
    Denied,
    /// The organisation does not answer.
    Away,
    /// What came with them is not good.
    NotGood,
    /// Nobody of the book, and in no group that has a role.
    Unknown,
    /// A group of theirs has a role, but their name is somebody's in the book.
    NameTaken,
    /// The same, and there is no name that the book takes.
    NameUnfit,
    /// The account here is locked.
    Locked,
    /// The invitation is good no more.
    Invitation,
    /// This account elsewhere lets another person in.
    AnotherPerson,
    /// The program failed; its log says more.
    Failed,
}

impl Refusal {
    /// As pages and the access log have it.
    pub fn name(self) -> &'static str {
        match self {
            Self::NotBegun => "not-begun",
            Self::Denied => "denied",
            Self::Away => "away",
            Self::NotGood => "not-good",
            Self::Unknown => "unknown",
            Self::NameTaken => "name-taken",
            Self::NameUnfit => "name-unfit",
            Self::Locked => "locked",
            Self::Invitation => "invitation",
            Self::AnotherPerson => "another-person",
            Self::Failed => "failed",
        }
    }
}

impl From<&ProviderError> for Refusal {
    fn from(error: &ProviderError) -> Self {
        match error {
            ProviderError::Away { .. }
            | ProviderError::Unusable { .. }
            | ProviderError::Elsewhere { .. } => Self::Away,
            ProviderError::Refused { .. }
            | ProviderError::Token { .. }
            | ProviderError::KeyUnknown => Self::NotGood,
            _ => Self::Failed,
        }
    }
}

impl From<&AccountError> for Refusal {
    fn from(error: &AccountError) -> Self {
        match error {
            AccountError::Locked => Self::Locked,
            AccountError::NotInvited => Self::Invitation,
            AccountError::NotBound => Self::Unknown,
            AccountError::BoundToAnother => Self::AnotherPerson,
            _ => Self::Failed,
        }
    }
}
