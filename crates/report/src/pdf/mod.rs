//! Reports as PDF for archives.

mod characters;
mod world;

use crate::error::ReportError;
use crate::language::{Locale, fill};
use crate::model::{Report, Stamp};
use crate::options::{Paper, ReportOptions};
use crate::view::{Teller, View};
use crate::warnings::{Warning, code_point};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use typst::diag::SourceDiagnostic;
use typst::ecow::EcoString;
use typst::foundations::{Datetime, Smart};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};
use world::Desk;

/// How often a document is set anew because a font turned out to lack something.
const MOST_ROUNDS: usize = 4;

/// A document and what is to be known of it.
#[derive(Debug, Clone)]
pub struct Pdf {
    /// The file.
    pub bytes: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
    /// What it conforms to.
    pub standard: Standard,
    /// Doubts; the document says the same.
    pub warnings: Vec<Warning>,
}

/// A standard for PDF.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standard {
    /// PDF/A-2a (ISO 19005-2, level A) and PDF/UA-1 (ISO 14289-1): for archives, and read aloud in order.
    ArchiveAccessible,
    /// PDF/A-2b (ISO 19005-2, level B): for archives.
    Archive,
}

/// One report, or a batch in one document with an overview before it.
///
/// The same reports with the same options and fonts give the same bytes.
///
/// # Errors
/// [`ReportError`] where a report is signed off and must not be shown as such, or there is none.
pub fn report_pdf(reports: &[Report], options: &ReportOptions) -> Result<Pdf, ReportError> {
    let made = reports.first().ok_or(ReportError::Nothing)?.made;
    let locale = Locale::new(options.language, options.dates);
    let mut assets = Vec::new();
    let mut warnings = Vec::new();
    let mut views = Vec::with_capacity(reports.len());
    for (index, report) in reports.iter().enumerate() {
        let teller = Teller {
            report,
            locale: &locale,
            standing: report.standing()?,
            index,
            assets: &mut assets,
            warnings: &mut warnings,
        };
        views.push(teller.view());
    }
    let mut data = document(&views, &locale, options)?;
    characters::prepare(&mut data);
    let mut used = BTreeSet::new();
    characters::collect(&data, &mut used);
    let (fonts, mut missing) = options.fonts.for_characters(&used);
    missing.extend(used.iter().filter(|&&one| characters::is_private(one)));
    let mut desk = Desk::new(fonts, &assets, world::date(made));
    for _ in 0..MOST_ROUNDS {
        let mut shown = data.clone();
        if !missing.is_empty() {
            note_missing(&mut shown, &missing, &locale);
        }
        desk.put(serde_json::to_vec(&shown)?);
        let found = typst::compile::<PagedDocument>(&desk);
        let document = found.output.map_err(|errors| refused(&errors))?;
        let unset = characters::unset(&document);
        if unset.is_subset(&missing) {
            warnings.extend(found.warnings.iter().map(|warning| Warning::Typesetter {
                text: warning.message.to_string(),
            }));
            if !missing.is_empty() {
                warnings.push(Warning::MissingGlyphs {
                    characters: missing.into_iter().collect(),
                });
            }
            let exported = export(&document, reports, made)?;
            // What the typesetter remembers of other documents is let go after a while.
            typst::comemo::evict(4);
            return Ok(Pdf {
                bytes: exported.0,
                pages: document.pages().len(),
                standard: exported.1,
                warnings,
            });
        }
        missing.extend(unset);
    }
    Err(ReportError::Typesetter {
        found: "characters without a glyph remain".to_owned(),
    })
}

fn document(
    views: &[View],
    locale: &Locale,
    options: &ReportOptions,
) -> Result<Value, ReportError> {
    let words = locale.words;
    let title = match views {
        [one] => format!("{}: {} ({})", one.title, one.sample, one.number),
        _ => format!(
            "{}: {}",
            words.title,
            fill(words.overview_count, &[("count", &views.len().to_string())])
        ),
    };
    Ok(json!({
        "lang": locale.language.tag(),
        "paper": match options.paper { Paper::A4 => "a4", Paper::Letter => "us-letter" },
        "title": title,
        "words": {
            "page": words.page,
            "page_of": words.page_of,
            "batch_page": words.batch_page,
            "overview": words.overview,
            "overview_count": fill(words.overview_count, &[("count", &views.len().to_string())]),
            "sample": words.sample,
            "melting_range": words.melting_range,
            "report": words.report,
            "outcome": words.result,
        },
        "reports": serde_json::to_value(views)?,
    }))
}

/// Puts numbers in the place of characters without a glyph, and says so in each report that had some.
fn note_missing(data: &mut Value, missing: &BTreeSet<char>, locale: &Locale) {
    let reports = data.get_mut("reports").and_then(Value::as_array_mut);
    for report in reports.into_iter().flatten() {
        let mut used = BTreeSet::new();
        characters::collect(report, &mut used);
        let list: Vec<String> = used
            .intersection(missing)
            .map(|&one| code_point(one))
            .collect();
        let banners = report.get_mut("banners").and_then(Value::as_array_mut);
        if let (false, Some(banners)) = (list.is_empty(), banners) {
            let text = fill(locale.words.missing_glyphs, &[("list", &list.join(", "))]);
            banners.push(json!({ "kind": "caution", "text": text }));
        }
    }
    characters::replace(data, missing);
}

fn export(
    document: &PagedDocument,
    reports: &[Report],
    made: Stamp,
) -> Result<(Vec<u8>, Standard), ReportError> {
    let numbers: Vec<&str> = reports
        .iter()
        .map(|report| report.number.as_str())
        .collect();
    let program = reports.first().map(|report| report.program.clone());
    let mut refusal = None;
    for (standard, list) in [
        (
            Standard::ArchiveAccessible,
            [PdfStandard::A_2a, PdfStandard::Ua_1].as_slice(),
        ),
        (Standard::Archive, &[PdfStandard::A_2b]),
    ] {
        let standards = PdfStandards::new(list).map_err(|error| ReportError::Typesetter {
            found: error.message().to_string(),
        })?;
        let options = PdfOptions {
            ident: Smart::Custom(numbers.join("\n")),
            creator: Smart::Custom(program.clone()),
            timestamp: timestamp(made),
            standards,
            ..PdfOptions::default()
        };
        match typst_pdf::pdf(document, &options) {
            Ok(bytes) => return Ok((bytes, standard)),
            Err(errors) => refusal = Some(refused(&errors)),
        }
    }
    Err(refusal.unwrap_or(ReportError::Nothing))
}

fn timestamp(stamp: Stamp) -> Option<Timestamp> {
    let local = stamp.local();
    let part = |value: i8| u8::try_from(value).unwrap_or_default();
    let datetime = Datetime::from_ymd_hms(
        i32::from(local.year()),
        part(local.month()),
        part(local.day()),
        part(local.hour()),
        part(local.minute()),
        part(local.second()),
    )?;
    Timestamp::new_local(datetime, stamp.offset_minutes())
}

fn refused(errors: &[SourceDiagnostic]) -> ReportError {
    let found: Vec<EcoString> = errors.iter().map(|error| error.message.clone()).collect();
    ReportError::Typesetter {
        found: found.join("; "),
    }
}
