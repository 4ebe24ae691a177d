//! `meltrange report`: a determination as PDF or HTML, and sentences to paste.

use crate::args::{LanguageArgument, PaperArgument, ReportArguments};
use crate::book_access::{failed, samples, to_look, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use meltrange_report::model::{Chain, Letterhead};
use meltrange_report::{
    Dates, Fonts, Language, Paper, Report, ReportOptions, report_html, report_pdf, sentences,
};
use meltrange_server::{ReportRequest, report_of};
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
    let request = ReportRequest {
        letterhead: letterhead(arguments)?,
        chain: if arguments.verify {
            verified(&arguments.book, progress)?
        } else {
            Chain::NotVerified
        },
    };
    let reports = filled(arguments, &request, progress)?;
    let options = ReportOptions {
        language: match arguments.language {
            LanguageArgument::En => Language::English,
            LanguageArgument::De => Language::German,
            LanguageArgument::Fr => Language::French,
            LanguageArgument::Es => Language::Spanish,
        },
        dates: if arguments.local_dates {
            Dates::Local
        } else {
            Dates::Iso
        },
        paper: match arguments.paper {
            PaperArgument::A4 => Paper::A4,
            PaperArgument::Letter => Paper::Letter,
        },
        fonts: Fonts::with_usual_folders(),
    };
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
    write(&arguments.out, &bytes)?;
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
                "journal": pasted.journal,
                "notebook": pasted.notebook,
                "certificate": pasted.certificate,
            })).collect::<Vec<_>>(),
            "warnings": warnings,
        }));
    }
    let mut text = match pages {
        Some(1) => format!("{place}: 1 page, a draft until a second person signs it off\n"),
        Some(pages) => {
            format!("{place}: {pages} pages, a draft until a second person signs it off\n")
        }
        None => format!("{place}: a draft until a second person signs it off\n"),
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

fn letterhead(arguments: &ReportArguments) -> Result<Letterhead, Failure> {
    let logo = match &arguments.logo {
        None => None,
        Some(path) => Some(std::fs::read(path).map_err(|error| {
            Failure::new(format!("{} cannot be read: {error}", path.display()))
                .hint("name a JPEG or PNG file with --logo, or leave it out")
        })?),
    };
    Ok(Letterhead {
        name: arguments.laboratory.clone().unwrap_or_default(),
        lines: arguments.line.clone(),
        logo,
    })
}

fn verified(book: &Path, progress: &Progress) -> Result<Chain, Failure> {
    let stretch = progress.begin("verifying");
    let all = super::book::folder_bytes(&book.join("recordings")).max(1);
    let found = wait(async {
        meltrange_labbook::verify(book, None, &mut |done| stretch.at(done as f64 / all as f64))
            .await
            .map_err(failed)
    })?;
    Ok(match found.findings.first() {
        Some(first) => Chain::Broken {
            found: first.to_string(),
        },
        None => Chain::Verified {
            when: meltrange_labbook::When::now()
                .to_string()
                .parse()
                .map_err(|error| Failure::of(&error))?,
            records: found.records,
            head: found
                .head
                .hash
                .map(|hash| hash.to_string())
                .unwrap_or_default(),
        },
    })
}

fn filled(
    arguments: &ReportArguments,
    request: &ReportRequest,
    progress: &Progress,
) -> Result<Vec<Report>, Failure> {
    let stretch = progress.begin("gathering");
    let count = arguments.samples.len();
    wait(async {
        let book = to_look(&arguments.book).await?;
        let named = samples(&book, &arguments.samples).await?;
        let mut reports = Vec::with_capacity(count);
        for (at, sample) in named.into_iter().enumerate() {
            let sample = sample
                .ok_or_else(|| Failure::new("\"-\" is no sample; expected the label of one"))?;
            reports.push(report_of(&book, sample, request).await.map_err(failed)?);
            stretch.at((at + 1) as f64 / count as f64);
        }
        book.close().await;
        Ok(reports)
    })
}

/// Beside its place first, so that no half of a report is left.
fn write(out: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let written = |error: std::io::Error| {
        Failure::new(format!("{} cannot be written: {error}", out.display()))
            .hint("is there such a folder, and room in it?")
    };
    let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty());
    let beside =
        tempfile::NamedTempFile::new_in(folder.unwrap_or(Path::new("."))).map_err(written)?;
    std::fs::write(beside.path(), bytes).map_err(written)?;
    beside.persist(out).map_err(|error| written(error.error))?;
    Ok(())
}
