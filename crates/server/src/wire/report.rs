//! Reports over the wire.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Language of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum ReportLanguage {
    /// English.
    En,
    /// German.
    De,
    /// French.
    Fr,
    /// Spanish.
    Es,
}

impl From<ReportLanguage> for meltrange_report::Language {
    fn from(given: ReportLanguage) -> Self {
        match given {
            ReportLanguage::En => Self::English,
            ReportLanguage::De => Self::German,
            ReportLanguage::Fr => Self::French,
            ReportLanguage::Es => Self::Spanish,
        }
    }
}

/// Size of the paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 210 mm × 297 mm.
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

impl From<Paper> for meltrange_report::Paper {
    fn from(given: Paper) -> Self {
        match given {
            Paper::A4 => Self::A4,
            Paper::Letter => Self::Letter,
        }
    }
}

/// Sentences to paste, each complete in itself.
#[derive(Debug, Serialize, ToSchema)]
pub struct Sentences {
    /// For the experimental part of a paper.
    pub journal: String,
    /// For a notebook.
    pub notebook: String,
    /// For a certificate.
    pub certificate: String,
}
