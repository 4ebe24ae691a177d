//! Evidence pages and reports: what was measured in, text and documents out.
//!
//! Two things are made here. An *evidence page* ([`evidence_page`], [`curve_csv`]) shows one reading of one
//! recording. A *report* says what was determined of a sample, so that somebody else can check it: a
//! [`Report`] comes in, and out go a PDF for archives ([`report_pdf`]), one self-contained HTML file
//! ([`report_html`]), a curve as SVG or PNG ([`curve_svg`], [`curve_png`]) and [`sentences`] to paste.
//! Everything that renders asks [`Report::standing`] first: a report is shown as signed off only where a
//! second person signed and the lab book verifies.
//!
//! No clock and no network; the only files ever read are fonts, from folders that the caller names, and only
//! when a text has characters that the carried fonts lack ([`Fonts`]). [`numbers`] decides how temperatures
//! and uncertainties are written wherever a person reads them.
//!
//! # Example
//! ```
//! use meltrange_report::*;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let report: Report = serde_json::from_str(r#"{
//!     "number": "R-17", "made": "2026-11-25T19:30:00+01:00", "program": "meltrange", "book": "Evening practical",
//!     "sample": {"label": "Unknown 4"},
//!     "result": {
//!         "convention": {"kind": "thermodynamic"}, "range_text": "121.6–122.4 °C", "heating_rate_c_per_min": 1.02
//!     }
//! }"#)?;
//! let options = ReportOptions { language: Language::German, ..ReportOptions::default() };
//! let found = sentences(&report, &options)?;
//! assert_eq!(found.journal, "Schmp. 121,6–122,4\u{202f}°C (korr., thermodynamisch, 1,02\u{202f}°C/min)");
//! # Ok(())
//! # }
//! ```

mod axis;
mod csv_text;
mod curve_chart;
mod curves;
mod error;
mod evidence;
mod fonts;
mod html;
mod language;
pub mod model;
pub mod numbers;
mod options;
mod pdf;
mod pictures;
mod sentences;
mod svg;
mod view;
mod warnings;
pub mod words;

pub use csv_text::curve_csv;
pub use curve_chart::{curve_png, curve_svg, curves_csv, curves_png, curves_svg};
pub use error::{FontError, ReportError};
pub use evidence::{Evidence, EvidenceError, MomentPictures, Picture, TubePictures, evidence_page};
pub use fonts::{Fonts, USUAL_FONT_FOLDERS};
pub use html::{Html, report_html};
pub use language::{Dates, Language};
pub use model::{Report, Standing, StandingError};
pub use options::{Paper, ReportOptions};
pub use pdf::{Pdf, Standard, report_pdf};
pub use pictures::picture_size_px;
pub use sentences::{Sentences, sentences};
pub use warnings::Warning;
