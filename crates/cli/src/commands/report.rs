//! `meltrange report`: a determination as PDF or HTML, and sentences to paste.

use crate::args::{LanguageArgument, PaperArgument, ReportArguments};
use crate::book_access::{failed, samples, to_look, wait};
use crate::failure::Failure;
use crate::new_file::put_file;
use crate::output::Output;
use crate::progress::Progress;
use meltrange_labbook::SampleId;
use meltrange_report::model::{Chain, Letterhead, SignOff};
use meltrange_report::{
    Dates, Fonts, Language, Paper, Report, ReportOptions, report_html, report_pdf, sentences,
};
use meltrange_server::{ReportRequest, Settings, chain_of, holds_any, report_of};
use serde_json::json;
use std::path::Path;

/// What the file is, by its ending.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shape {
    Pdf,
    Html,
}

/// Make it, and say what it says.
pub(crate) fn run(
    arguments: &ReportArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let shape = shape(&arguments.out)?;
    if arguments.out.exists() && !arguments.replace {
        return Err(
            Failure::new(format!("{} is there already", arguments.out.display()))
                .hint("name another file, or write over it with --replace"),
        );
    }
    let settings = Settings::in_book(&arguments.book)
        .map_err(|error| Failure::of(&error).hint("mend it, or take it away for plain reports"))?;
    let options = options(arguments, &settings);
    let letterhead = letterhead(arguments, settings.letterhead)?;
    let reports = filled(arguments, letterhead, progress)?;
    let could_not = |error: &dyn std::error::Error| Failure::of(error);
    let stretch = progress.begin("setting");
    let (bytes, pages, warnings) = match shape {
        Shape::Pdf => {
            let pdf = report_pdf(&reports, &options).map_err(|error| could_not(&error))?;
            (pdf.bytes, Some(pdf.pages), pdf.warnings)
        }
        Shape::Html => {
            let html = report_html(&reports, &options).map_err(|error| could_not(&error))?;
            (html.text.into_bytes(), None, html.warnings)
        }
    };
    drop(stretch);
    put_file(&arguments.out, &bytes, arguments.replace)?;
    let place = arguments.out.display();
    let warnings: Vec<String> = warnings.iter().map(ToString::to_string).collect();
    let pasted = reports
        .iter()
        .map(|report| sentences(report, &options).map_err(|error| could_not(&error)))
        .collect::<Result<Vec<_>, _>>()?;
    if arguments.json {
        return output.json(&json!({
            "file": place.to_string(),
            "pages": pages,
            "reports": reports.iter().zip(&pasted).map(|(report, pasted)| json!({
                "number": report.number,
                "sample": report.sample.label,
                "has_result": report.result.is_some(),
                "signed_off": matches!(report.sign_off, SignOff::Reviewed { .. }),
                "journal": pasted.journal,
                "notebook": pasted.notebook,
                "certificate": pasted.certificate,
            })).collect::<Vec<_>>(),
            "warnings": warnings,
        }));
    }
    let drafts = reports
        .iter()
        .filter(|report| !matches!(report.sign_off, SignOff::Reviewed { .. }))
        .count();
    let standing = match (drafts, reports.len()) {
        (0, _) => "signed off".to_owned(),
        (drafts, all) if drafts == all => "a draft until a second person signs it off".to_owned(),
        (drafts, all) => {
            format!("{drafts} of {all} are drafts until a second person signs them off")
        }
    };
    let mut text = match pages {
        Some(1) => format!("{place}: 1 page, {standing}\n"),
        Some(pages) => format!("{place}: {pages} pages, {standing}\n"),
        None => format!("{place}: {standing}\n"),
    };
    if arguments.sentences {
        for (report, pasted) in reports.iter().zip(&pasted) {
            text.push_str(&format!(
                "\n{}\njournal:     {}\nnotebook:    {}\ncertificate: {}\n",
                report.sample.label, pasted.journal, pasted.notebook, pasted.certificate
            ));
        }
    }
    for warning in &warnings {
        text.push_str(&format!("note: {warning}\n"));
    }
    output.text(&text)
}

fn shape(out: &Path) -> Result<Shape, Failure> {
    let ending = out.extension().map(|ending| ending.to_ascii_lowercase());
    match ending.as_ref().and_then(|ending| ending.to_str()) {
        Some("pdf") => Ok(Shape::Pdf),
        Some("html" | "htm") => Ok(Shape::Html),
        _ => Err(Failure::new(format!(
            "{} does not say what it is to be; expected a name that ends in .pdf or .html",
            out.display()
        ))),
    }
}

fn options(arguments: &ReportArguments, settings: &Settings) -> ReportOptions {
    ReportOptions {
        language: match arguments.language {
            None => settings.language,
            Some(LanguageArgument::En) => Language::English,
            Some(LanguageArgument::De) => Language::German,
            Some(LanguageArgument::Fr) => Language::French,
            Some(LanguageArgument::Es) => Language::Spanish,
        },
        dates: if arguments.local_dates {
            Dates::Local
        } else {
            settings.dates
        },
        paper: match arguments.paper {
            None => settings.paper,
            Some(PaperArgument::A4) => Paper::A4,
            Some(PaperArgument::Letter) => Paper::Letter,
        },
        fonts: Fonts::with_usual_folders(),
    }
}

/// What is said here goes before what the book says.
fn letterhead(arguments: &ReportArguments, of_book: Letterhead) -> Result<Letterhead, Failure> {
    let logo = match &arguments.logo {
        None => of_book.logo,
        Some(path) => Some(std::fs::read(path).map_err(|error| {
            Failure::new(format!("{} cannot be read: {error}", path.display()))
                .hint("name a JPEG or PNG file with --logo, or leave it out")
        })?),
    };
    Ok(Letterhead {
        name: arguments.laboratory.clone().unwrap_or(of_book.name),
        lines: if arguments.line.is_empty() {
            of_book.lines
        } else {
            arguments.line.clone()
        },
        logo,
    })
}

fn filled(
    arguments: &ReportArguments,
    letterhead: Letterhead,
    progress: &Progress,
) -> Result<Vec<Report>, Failure> {
    wait(async {
        let book = to_look(&arguments.book).await?;
        let named: Vec<SampleId> = samples(&book, &arguments.samples)
            .await?
            .into_iter()
            .collect::<Option<_>>()
            .ok_or_else(|| Failure::new("\"-\" is no sample; expected the label of one"))?;
        let signed = holds_any(&book, &named).await.map_err(failed)?;
        let chain = if signed || arguments.verify {
            let stretch = progress.begin("verifying");
            let found = chain_of(&book, &named).await.map_err(failed)?;
            drop(stretch);
            found
        } else {
            Chain::NotVerified
        };
        let request = ReportRequest { letterhead, chain };
        let stretch = progress.begin("gathering");
        let mut reports = Vec::with_capacity(named.len());
        for (at, &sample) in named.iter().enumerate() {
            reports.push(report_of(&book, sample, &request).await.map_err(failed)?);
            stretch.at((at + 1) as f64 / named.len() as f64);
        }
        book.close().await;
        Ok(reports)
    })
}
