//! The file that says whose accounts let people in.

use meltrange_accounts::{ProviderOptions, Secret};
use meltrange_labbook::Role;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

/// Longest name of an organisation [characters].
const SHOWN_CHARS: usize = 80;

/// Largest of these files, and of those of a secret [bytes].
const FILE_BYTES: u64 = 64 * 1024;

/// Whose accounts let people in, and as what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignInOptions {
    /// How it is asked.
    pub provider: ProviderOptions,
    /// What people call it.
    pub shown_name: String,
    /// Roles of those who are in its groups.
    pub roles: BTreeMap<String, Role>,
}

/// Why that cannot be read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SignInFileError {
    /// The file, or the one of the secret.
    #[error("{path} could not be read")]
    Unreadable {
        /// Which.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },
    /// Not as it has to be.
    #[error("{path} cannot be used: {found}")]
    Form {
        /// Which.
        path: PathBuf,
        /// What is wrong with it.
        found: String,
    },
}

/// As it is written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    issuer: String,
    client_id: String,
    secret_file: Option<PathBuf>,
    shown_name: String,
    #[serde(default = "groups")]
    groups_claim: String,
    #[serde(default = "scopes")]
    scopes: Vec<String>,
    #[serde(default)]
    roles: BTreeMap<String, Role>,
}

fn groups() -> String {
    "groups".into()
}

fn scopes() -> Vec<String> {
    vec!["profile".into()]
}

impl SignInOptions {
    /// Read such a file; `secret` goes before the file that it names for that.
    ///
    /// # Errors
    /// [`SignInFileError`] says which file, and what is wrong with it.
    pub fn read(path: &Path, secret: Option<String>) -> Result<Self, SignInFileError> {
        let text = text(path)?;
        let form = |found| SignInFileError::Form {
            path: path.into(),
            found,
        };
        let written: Written = toml::from_str(&text).map_err(|error| form(error.to_string()))?;
        let secret = match (secret, &written.secret_file) {
            (Some(secret), _) => Some(secret),
            (None, Some(name)) => {
                let beside = path.parent().unwrap_or(Path::new(""));
                Some(self::text(&beside.join(name))?)
            }
            (None, None) => None,
        };
        Self::of(written, secret).map_err(form)
    }

    #[cfg(test)]
    pub(super) fn of_text(text: &str, secret: Option<String>) -> Result<Self, String> {
        let written = toml::from_str(text).map_err(|error| error.to_string())?;
        Self::of(written, secret)
    }

    fn of(written: Written, secret: Option<String>) -> Result<Self, String> {
        let secret = secret.map(|secret| secret.trim().to_owned());
        let Some(secret) = secret.filter(|secret| !secret.is_empty()) else {
            return Err("there is no client secret; expected one in the variable MELTRANGE_OIDC_SECRET, or secret_file with the name of a file that holds it".into());
        };
        let shown_name = written.shown_name.trim().to_owned();
        if shown_name.is_empty() || shown_name.chars().count() > SHOWN_CHARS {
            return Err(format!(
                "shown_name is \"{shown_name}\"; expected what people call the organisation, at most {SHOWN_CHARS} characters"
            ));
        }
        if written.client_id.trim().is_empty() {
            return Err(
                "client_id is empty; expected what the organisation calls this program".into(),
            );
        }
        let is_word =
            |scope: &String| !scope.is_empty() && scope.bytes().all(|byte| byte.is_ascii_graphic());
        if !written.scopes.iter().all(is_word) {
            return Err("scopes holds what is none; expected words without spaces, e.g. [\"profile\", \"groups\"]".into());
        }
        Ok(Self {
            provider: ProviderOptions {
                issuer: written.issuer,
                client_id: written.client_id,
                client_secret: Secret::new(secret),
                scopes: written.scopes,
                groups_claim: written.groups_claim,
            },
            shown_name,
            roles: written.roles,
        })
    }
}

fn text(path: &Path) -> Result<String, SignInFileError> {
    let unreadable = |source| SignInFileError::Unreadable {
        path: path.into(),
        source,
    };
    let mut text = String::new();
    let file = std::fs::File::open(path).map_err(unreadable)?;
    io::Read::read_to_string(&mut io::Read::take(file, FILE_BYTES), &mut text)
        .map_err(unreadable)?;
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = r#"
        issuer = "https://login.example.edu"
        client_id = "meltrange"
        secret_file = "secret"
        shown_name = "Example College"
        [roles]
        "chem-staff" = "supervisor"
    "#;

    #[test]
    fn the_secret_is_in_a_file_beside_it_or_handed_in() {
        let room = tempfile::tempdir().expect("a temporary folder");
        let path = room.path().join("sign-in.toml");
        std::fs::write(&path, GOOD).expect("written");
        let missing = SignInOptions::read(&path, None).expect_err("no such file");
        assert!(missing.to_string().contains("secret"), "{missing}");
        std::fs::write(room.path().join("secret"), "three owls\n").expect("written");
        let read = SignInOptions::read(&path, None).expect("fits");
        assert_eq!(read.provider.client_secret.shown(), "three owls");
        assert_eq!(read.provider.groups_claim, "groups");
        assert_eq!(read.roles["chem-staff"], Role::Supervisor);
        let read = SignInOptions::read(&path, Some("another".into())).expect("fits");
        assert_eq!(read.provider.client_secret.shown(), "another");
        assert!(!format!("{read:?}").contains("another"));
    }

    #[test]
    fn what_is_wrong_is_named() {
        let of = |text: &str| SignInOptions::of_text(text, Some("x".into())).expect_err("refused");
        assert!(of(&GOOD.replace("supervisor", "boss")).contains("boss"));
        assert!(of(&GOOD.replace("client_id", "client")).contains("client"));
        assert!(of(&GOOD.replace("Example College", " ")).contains("shown_name"));
        let none = SignInOptions::of_text(GOOD, Some(" ".into())).expect_err("refused");
        assert!(none.contains("MELTRANGE_OIDC_SECRET"), "{none}");
    }
}
