//! `meltrange display`: a film of a temperature display to a temperature log.

use crate::args::{DisplayArguments, LitArgument, StyleArgument};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use meltrange_display::{
    Acceptance, DigitStyle, DisplayReader, DisplayRegion, DisplaySample, DisplaySpec, Lit, Picture,
};
use meltrange_reading::{Density, FrameRequest, FrameSource as _};
use serde_json::json;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::Write as _;
use std::ops::ControlFlow;
use std::path::Path;

/// Read the display in every picture and write the log.
pub(crate) fn run(
    arguments: &DisplayArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let mut source =
        meltrange_media::open(&arguments.media, 0.0).map_err(|error| Failure::of(&error))?;
    let info = source.info();
    let spec = DisplaySpec {
        digits_before: arguments.digits.into(),
        decimals: arguments.decimals.into(),
        style: match arguments.style {
            StyleArgument::SevenSegment => DigitStyle::SevenSegment,
            StyleArgument::DotMatrix => DigitStyle::DotMatrix,
            StyleArgument::Either => DigitStyle::Either,
        },
        lit: match arguments.lit {
            LitArgument::BrightOnDark => Lit::BrightOnDark,
            LitArgument::DarkOnBright => Lit::DarkOnBright,
            LitArgument::Either => Lit::Either,
        },
        ..DisplaySpec::default()
    };
    let acceptance = Acceptance {
        fastest_c_per_min: arguments.fastest,
        // Films of few pictures a second show a value in two of them all the same.
        pictures_within_s: Acceptance::default()
            .pictures_within_s
            .max(2.5 * info.frame_interval_s),
        ..Acceptance::default()
    };
    let region = region(arguments, info.source_px_per_px)?;
    let mut reader = DisplayReader::new(region, spec, acceptance);
    let mut samples: Vec<DisplaySample> = Vec::new();
    let mut refused: BTreeMap<String, u64> = BTreeMap::new();
    let mut pictures = 0_u64;
    let everything = FrameRequest {
        from_s: f64::NEG_INFINITY,
        to_s: f64::INFINITY,
        density: Density::Spaced { spacing_s: 0.0 },
    };
    let span_s = (info.end_s - info.start_s).max(1e-9);
    let stretch = progress.begin("reading the display");
    source
        .deliver(everything, &mut |frame| {
            pictures += 1;
            stretch.at((frame.time_s - info.start_s) / span_s);
            let read = Picture::new(frame.luma, frame.width, frame.height)
                .map_err(|error| error.to_string())
                .and_then(|picture| {
                    reader
                        .push(frame.time_s, &picture)
                        .map_err(|why| why.to_string())
                });
            match read {
                Ok(sample) => samples.push(sample),
                Err(why) => *refused.entry(why).or_default() += 1,
            }
            ControlFlow::Continue(())
        })
        .map_err(|error| Failure::of(&error))?;
    drop(stretch);
    let most = refused.iter().max_by_key(|(_, count)| **count);
    if samples.is_empty() {
        let why = most.map_or("there are no pictures", |(why, _)| why.as_str());
        return Err(Failure::new(format!(
            "{}: no value could be read from {pictures} pictures; most often: {why}",
            arguments.media.display()
        ))
        .hint("mark the digits with --corners, and say --style and --lit"));
    }
    write_log(&arguments.out, &samples)?;
    let unreadable = pictures - samples.len() as u64;
    if arguments.json {
        return output.json(&json!({
            "pictures": pictures,
            "values": samples.len(),
            "unreadable": unreadable,
            "lowest_c": samples.iter().map(|sample| sample.indicated_c).reduce(f64::min),
            "highest_c": samples.iter().map(|sample| sample.indicated_c).reduce(f64::max),
        }));
    }
    let mut text = format!(
        "{} values from {pictures} pictures, {} to {} °C: {}\n",
        samples.len(),
        samples.first().map_or("", |sample| &sample.text),
        samples.last().map_or("", |sample| &sample.text),
        arguments.out.display()
    );
    if let Some((why, count)) = most {
        let _ = writeln!(text, "{unreadable} unreadable; most often ({count}): {why}");
    }
    output.text(&text)
}

/// The corners in delivered pixels.
fn region(arguments: &DisplayArguments, scale: f64) -> Result<DisplayRegion, Failure> {
    let Some(corners) = &arguments.corners else {
        return Ok(DisplayRegion::WholePicture);
    };
    let [ax, ay, bx, by, cx, cy, dx, dy] = corners.as_slice() else {
        return Err(Failure::new(format!(
            "--corners has {} numbers; expected 8, x and y of four corners",
            corners.len()
        )));
    };
    let at = |x: &f64, y: &f64| [x / scale, y / scale];
    Ok(DisplayRegion::Corners([
        at(ax, ay),
        at(bx, by),
        at(cx, cy),
        at(dx, dy),
    ]))
}

/// Whole or not at all.
fn write_log(path: &Path, samples: &[DisplaySample]) -> Result<(), Failure> {
    let mut text = String::from("time_s,temperature_c\n");
    for sample in samples {
        let _ = writeln!(text, "{},{}", sample.time_s, sample.text.trim());
    }
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    let failed = |error: std::io::Error| {
        Failure::new(format!("{} cannot be written: {error}", path.display()))
    };
    let mut beside =
        tempfile::NamedTempFile::new_in(folder.unwrap_or(Path::new("."))).map_err(failed)?;
    beside.write_all(text.as_bytes()).map_err(failed)?;
    beside.as_file().sync_all().map_err(failed)?;
    beside
        .persist(path)
        .map_err(|error| failed(error.error))
        .map(|_| ())
}
