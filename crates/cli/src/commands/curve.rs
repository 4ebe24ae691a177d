//! `meltrange curve`: the melting curves of a sample as drawings or numbers.

use crate::args::CurveArguments;
use crate::book_access::{failed, sample, to_look, wait};
use crate::failure::Failure;
use crate::new_file::new_file;
use crate::output::Output;
use meltrange_report::model::{Chain, Letterhead, Run};
use meltrange_report::{Language, curve_png, curve_svg, curves_csv};
use meltrange_server::{ReportRequest, report_of};
use serde_json::json;
use std::path::{Path, PathBuf};

/// What the files are, by their ending.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shape {
    Svg,
    Png,
    Csv,
}

/// Write them.
pub(crate) fn run(arguments: &CurveArguments, output: &Output) -> Result<(), Failure> {
    let shape = shape(&arguments.out)?;
    let request = ReportRequest {
        letterhead: Letterhead {
            name: String::new(),
            lines: Vec::new(),
            logo: None,
        },
        chain: Chain::NotVerified,
    };
    let runs = wait(async {
        let book = to_look(&arguments.book).await?;
        let sample = sample(&book, &arguments.label).await?;
        let report = report_of(&book, sample, &request).await.map_err(failed)?;
        book.close().await;
        Ok(report.runs)
    })?;
    let runs: Vec<&Run> = runs.iter().filter(|run| run.curve.len() > 1).collect();
    if runs.is_empty() {
        return Err(Failure::new(format!(
            "there is no melting curve of {}; expected a recording that the engine has read",
            arguments.label
        ))
        .hint("\"meltrange read BOOK RECORDING\" reads one"));
    }
    let files = files(arguments, shape, &runs)?;
    // All or none: nothing is written where one is in the way.
    if let Some((taken, _)) = files
        .iter()
        .find(|(path, _)| path.symlink_metadata().is_ok())
    {
        return Err(
            Failure::new(format!("{} is there already", taken.display())).hint("name another file"),
        );
    }
    for (path, bytes) in &files {
        new_file(path, bytes)?;
    }
    let names: Vec<String> = files
        .iter()
        .map(|(path, _)| path.display().to_string())
        .collect();
    if arguments.json {
        return output
            .json(&json!({"sample": arguments.label, "files": names, "curves": runs.len()}));
    }
    output.text(&format!(
        "{} melting curves in {}\n",
        runs.len(),
        names.join(", ")
    ))
}

fn shape(out: &Path) -> Result<Shape, Failure> {
    let ending = out.extension().map(|ending| ending.to_ascii_lowercase());
    match ending.as_ref().and_then(|ending| ending.to_str()) {
        Some("svg") => Ok(Shape::Svg),
        Some("png") => Ok(Shape::Png),
        Some("csv") => Ok(Shape::Csv),
        _ => Err(Failure::new(format!(
            "{} does not say what it is to be; expected a name that ends in .svg, .png or .csv",
            out.display()
        ))),
    }
}

fn files(
    arguments: &CurveArguments,
    shape: Shape,
    runs: &[&Run],
) -> Result<Vec<(PathBuf, Vec<u8>)>, Failure> {
    if shape == Shape::Csv {
        return Ok(vec![(arguments.out.clone(), curves_csv(runs).into_bytes())]);
    }
    let mut files = Vec::new();
    for (at, run) in runs.iter().enumerate() {
        let number = at + 1;
        let drawn = match shape {
            Shape::Svg => curve_svg(run, number, Language::English).map(String::into_bytes),
            _ => curve_png(run, number, Language::English, arguments.width),
        };
        let bytes = drawn.ok_or_else(|| {
            Failure::new(format!(
                "the melting curve of run {number} of {} cannot be drawn; expected two different temperatures",
                arguments.label
            ))
        })?;
        files.push((numbered(&arguments.out, number, runs.len()), bytes));
    }
    Ok(files)
}

fn numbered(out: &Path, number: usize, of: usize) -> PathBuf {
    if of == 1 {
        return out.to_path_buf();
    }
    let part =
        |part: Option<&std::ffi::OsStr>| part.unwrap_or_default().to_string_lossy().into_owned();
    out.with_file_name(format!(
        "{}-{number}.{}",
        part(out.file_stem()),
        part(out.extension())
    ))
}
