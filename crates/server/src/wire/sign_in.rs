//! Coming in with an account of one's organisation, over the wire.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A sign-in that is wanted.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignInRequest {
    /// The code of an invitation that is to be accepted by it, instead of choosing a passphrase.
    #[serde(default)]
    pub invitation: Option<String>,
    /// Whether the organisation is to ask who it is, even if it remembers; e.g. before a signature.
    #[serde(default)]
    pub anew: bool,
    /// The page that is shown afterwards, as a fragment of this program's address: `#/today`.
    #[serde(default)]
    #[schema(max_length = 500)]
    pub to: Option<String>,
}

/// A sign-in that was begun.
#[derive(Serialize, ToSchema)]
pub struct SignInBegun {
    /// Where the browser is to go now; it comes back by itself.
    pub address: String,
}
