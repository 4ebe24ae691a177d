//! How a report is to look, whatever it says.

use crate::fonts::Fonts;
use crate::language::{Dates, Language};
use serde::{Deserialize, Serialize};

/// Size of the paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 210 mm × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

/// How a report is to look.
#[derive(Debug, Clone, Default)]
pub struct ReportOptions {
    /// In which language.
    pub language: Language,
    /// How dates are written.
    pub dates: Dates,
    /// On which paper; an HTML file is printed on it.
    pub paper: Paper,
    /// Set in which fonts; PDF alone.
    pub fonts: Fonts,
}
