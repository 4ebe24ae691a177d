//! How the reports of a book look unless something else is said: `report.toml` in its folder.

use meltrange_report::model::Letterhead;
use meltrange_report::{Dates, Language, Paper};
use serde::Deserialize;
use std::path::{Path, PathBuf};

/// What the file is called.
pub const SETTINGS: &str = "report.toml";

/// Largest logo that is taken [bytes].
const LOGO_BYTES: u64 = 8 * 1024 * 1024;

/// How reports look.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Settings {
    /// Whose paper they are on.
    pub letterhead: Letterhead,
    /// In which language.
    pub language: Language,
    /// How dates are written.
    pub dates: Dates,
    /// On which paper.
    pub paper: Paper,
}

/// Why the file cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SettingsError {
    /// A file is there and cannot be read.
    #[error("{path} cannot be read: {source}")]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        #[source]
        source: std::io::Error,
    },
    /// It does not say what it should.
    #[error(
        "{path}: {found}; expected laboratory, lines, logo, language (en, de, fr, es), paper (a4, letter), local_dates (true, false)"
    )]
    Content {
        /// Which file.
        path: PathBuf,
        /// What the parser says, with the line.
        found: String,
    },
    /// A logo of this size is a slip.
    #[error("the logo {path} has {bytes} bytes; expected a picture of at most 8 MB")]
    Logo {
        /// Which.
        path: PathBuf,
        /// How large.
        bytes: u64,
    },
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Written {
    laboratory: String,
    lines: Vec<String>,
    logo: Option<PathBuf>,
    language: Language,
    paper: Paper,
    local_dates: bool,
}

impl Settings {
    /// Those of the book in this folder; plain ones where it has no such file.
    ///
    /// # Errors
    /// [`SettingsError`] where a file is there and cannot be used.
    pub fn in_book(folder: &Path) -> Result<Self, SettingsError> {
        let path = folder.join(SETTINGS);
        let text = match std::fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                return Ok(Self::default());
            }
            Err(source) => return Err(SettingsError::File { path, source }),
        };
        let written: Written = toml::from_str(&text).map_err(|error| SettingsError::Content {
            path: path.clone(),
            found: error.to_string().trim().replace('\n', " "),
        })?;
        let logo = match written.logo {
            None => None,
            Some(name) => Some(logo(&folder.join(name))?),
        };
        Ok(Self {
            letterhead: Letterhead {
                name: written.laboratory,
                lines: written.lines,
                logo,
            },
            language: written.language,
            dates: if written.local_dates {
                Dates::Local
            } else {
                Dates::Iso
            },
            paper: written.paper,
        })
    }
}

fn logo(path: &Path) -> Result<Vec<u8>, SettingsError> {
    let failed = |source| SettingsError::File {
        path: path.into(),
        source,
    };
    let bytes = std::fs::metadata(path).map_err(failed)?.len();
    if bytes > LOGO_BYTES {
        return Err(SettingsError::Logo {
            path: path.into(),
            bytes,
        });
    }
    std::fs::read(path).map_err(failed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_book_without_the_file_has_plain_reports() {
        let folder = tempfile::tempdir().expect("a folder");
        assert_eq!(
            Settings::in_book(folder.path()).expect("plain"),
            Settings::default()
        );
    }

    #[test]
    fn what_is_written_is_used_and_what_is_wrong_is_said() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join(SETTINGS);
        std::fs::write(
            &path,
            "laboratory = \"Imaginary College\"\nlines = [\"Room 3\"]\nlogo = \"logo.png\"\nlanguage = \"de\"\npaper = \"letter\"\nlocal_dates = true\n",
        )
        .expect("written");
        let missing = Settings::in_book(folder.path()).expect_err("there is no logo");
        assert!(missing.to_string().contains("logo.png"), "{missing}");
        std::fs::write(folder.path().join("logo.png"), b"picture").expect("written");
        let found = Settings::in_book(folder.path()).expect("sound");
        assert_eq!(found.language, Language::German);
        assert_eq!(found.paper, Paper::Letter);
        assert_eq!(
            found.letterhead.logo.as_deref(),
            Some(b"picture".as_slice())
        );
        std::fs::write(&path, "language = \"de\"\npapper = \"a4\"\n").expect("written");
        let wrong = Settings::in_book(folder.path())
            .expect_err("a slip")
            .to_string();
        assert!(
            wrong.contains("line 2") && wrong.contains("papper"),
            "{wrong}"
        );
    }
}
