//! Why a report could not be made.

use crate::model::StandingError;

/// Why a report could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// It must not be shown as signed off.
    #[error(transparent)]
    Standing(#[from] StandingError),
    /// There is nothing to report.
    #[error("no report was given; expected at least one. Name a sample that is in the lab book")]
    Nothing,
    /// The typesetter refused: a fault of the program.
    #[error("the report could not be typeset: {found}")]
    Typesetter {
        /// In its words.
        found: String,
    },
    /// The page's template and its values do not fit: a fault of the program.
    #[error("the report page could not be filled in")]
    Template(#[from] minijinja::Error),
    /// The values could not be handed over: a fault of the program.
    #[error("the report's values could not be handed to its template")]
    Values(#[from] serde_json::Error),
}

/// A file that is no font.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{bytes} bytes were given as a font; expected an OpenType or TrueType file or collection")]
pub struct FontError {
    /// How many.
    pub bytes: usize,
}
