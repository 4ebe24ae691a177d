//! Evidence pages and reports: a reading and its pictures in, text out.
//!
//! What comes in: a [`meltrange_reading::Reading`], the temperature log it was made with and a few
//! pictures as JPEG bytes. What goes out: one self-contained HTML page ([`evidence_page`]) and the
//! melting curves as CSV ([`curve_csv`]). No files, no clock, no network.
//! [`numbers`] decides how temperatures and uncertainties are written wherever a person reads them.

mod axis;
mod csv_text;
mod curves;
mod evidence;
pub mod numbers;
mod svg;
pub mod words;

pub use csv_text::curve_csv;
pub use evidence::{Evidence, EvidenceError, MomentPictures, Picture, TubePictures, evidence_page};
