//! Why somebody could not be asked about elsewhere.

use crate::error::AccountError;
use openidconnect::core::CoreErrorResponseType;
use openidconnect::{IssuerUrl, RequestTokenError, StandardErrorResponse};
use std::error::Error;

/// Why an organisation did not say who somebody is.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ProviderError {
    /// The address of the issuer cannot be used.
    #[error(
        "the issuer is \"{found}\"; expected the address that the organisation gives, beginning with https:// and without ? and # (http:// only on this machine itself)"
    )]
    Issuer {
        /// What stood there.
        found: String,
    },
    /// Nothing that could be used came back.
    #[error("{place} cannot be reached, or does not answer as an OpenID Connect provider: {found}")]
    Away {
        /// Whose address.
        place: String,
        /// What happened.
        found: String,
    },
    /// Something of it points to where nobody may be sent.
    #[error("the provider sends browsers to {found}, which is not reached by https://")]
    Elsewhere {
        /// Which host.
        found: String,
    },
    /// It does not know the code, or not this program.
    #[error("{place} refused the sign-in: {found}")]
    Refused {
        /// Whose address.
        place: String,
        /// What it said.
        found: String,
    },
    /// An answer that is none.
    #[error("{place} answered what cannot be used: {found}")]
    Unusable {
        /// Whose address.
        place: String,
        /// What it was.
        found: String,
    },
    /// The token is not good.
    #[error("the ID token is not good: {found}")]
    Token {
        /// What is wrong with it.
        found: String,
    },
    /// The token is signed with no key that it publishes.
    #[error("the ID token is not signed with a key that the provider publishes")]
    KeyUnknown,
    /// This program cannot speak TLS.
    #[error("nobody can be asked over TLS: {found}")]
    Tls {
        /// What the library said.
        found: String,
    },
    /// Something of this program.
    #[error(transparent)]
    Account(#[from] AccountError),
}

impl ProviderError {
    /// Whether it is the organisation, or the way to it, that fails just now.
    pub fn is_away(&self) -> bool {
        matches!(self, Self::Away { .. } | Self::Unusable { .. })
    }

    pub(super) fn away(issuer: &IssuerUrl, error: &dyn Error) -> Self {
        Self::Away {
            place: issuer.to_string(),
            found: in_full(error),
        }
    }

    pub(super) fn unusable(issuer: &IssuerUrl, error: &dyn Error) -> Self {
        Self::Unusable {
            place: issuer.to_string(),
            found: in_full(error),
        }
    }

    pub(super) fn of_token<E: Error + 'static>(
        issuer: &IssuerUrl,
        error: &RequestTokenError<E, StandardErrorResponse<CoreErrorResponseType>>,
    ) -> Self {
        let place = issuer.to_string();
        match error {
            RequestTokenError::ServerResponse(said) => Self::Refused {
                place,
                found: said.to_string(),
            },
            RequestTokenError::Request(error) => Self::away(issuer, error),
            other => Self::unusable(issuer, other),
        }
    }
}

/// An error with everything that led to it.
pub(super) fn in_full(error: &dyn Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(deeper) = cause {
        text.push_str(": ");
        text.push_str(&deeper.to_string());
        cause = deeper.source();
    }
    text
}
