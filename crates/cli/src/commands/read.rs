//! `meltrange read`: a recording to melting ranges.

use super::{PROGRAM_NAME, PROGRAM_VERSION};
use crate::args::ReadArguments;
use crate::failure::Failure;
use crate::out_folder::OutFolder;
use crate::output::Output;
use crate::pictures;
use crate::progress::Progress;
use crate::table::reading_table;
use meltrange_media::{LogRead, LogRemark, MediaError, MediaRemark, Opened};
use meltrange_reading::{
    FrameSource as _, Quality, QualityKind, ReadError, ReadOptions, Reading, read_recording,
};
use meltrange_report::{Evidence, curve_csv, evidence_page};
use serde::Serialize;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Read a recording, write the evidence where asked and print the ranges.
pub(crate) fn run(
    arguments: &ReadArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    // Looked at first, so that a long reading is not lost to a bad place.
    let out = arguments.out.as_deref().map(OutFolder::at).transpose()?;
    let log =
        meltrange_media::read_log(&arguments.temperature).map_err(|error| Failure::of(&error))?;
    let video_start_s = match arguments.video_start {
        Some(given_s) => given_s,
        None => recorded_start_s(&arguments.media)?.unwrap_or(0.0),
    };
    let source = meltrange_media::open(&arguments.media, video_start_s)
        .map_err(|error| Failure::of(&error))?;
    let mut run = Run {
        arguments,
        video_start_s,
        source,
        log,
    };
    let mut reading = run.read_tubes(progress, out.as_ref())?;
    let notes = run.take_remarks(&mut reading);
    let document = document(&reading, &notes)?;
    if let Some(out) = &out {
        let page = run.evidence(&reading, &notes, progress)?;
        let json = serde_json::to_vec_pretty(&document).map_err(|error| Failure::of(&error))?;
        let curves = curve_csv(&reading);
        out.write(&[
            ("evidence.html", page.as_bytes()),
            ("reading.json", &json),
            ("curve.csv", curves.as_bytes()),
        ])?;
    }
    let page = out.map(|out| out.path().join("evidence.html"));
    if arguments.json {
        output.json(&printed(document, arguments.curve, page.as_deref()))
    } else {
        let mut text = reading_table(&reading, &notes);
        if let Some(page) = page {
            text.push_str(&format!("\nevidence: {}\n", page.display()));
        }
        output.text(&text)
    }
}

/// The inputs of one reading.
struct Run<'a> {
    arguments: &'a ReadArguments,
    video_start_s: f64,
    source: Opened,
    log: LogRead,
}

impl Run<'_> {
    fn read_tubes(
        &mut self,
        progress: &Progress,
        out: Option<&OutFolder>,
    ) -> Result<Reading, Failure> {
        let options = ReadOptions {
            tubes: self.arguments.tubes.map(usize::from),
        };
        let stretch = progress.begin("reading");
        read_recording(&mut self.source, &self.log.log, &options, &mut |fraction| {
            stretch.at(fraction)
        })
        .map_err(|error| self.failure(&error, out))
    }

    fn failure(&self, error: &ReadError<MediaError>, out: Option<&OutFolder>) -> Failure {
        match error {
            // The source's own words name the file already.
            ReadError::Source(error) => Failure::of(error),
            ReadError::NoTubes {
                luma,
                width,
                height,
                time_s,
                ..
            } => {
                let failure = self.named(error).hint(
                    "the tubes must stand upright and in focus, with their glass edges in view",
                );
                failure.hint(match save_view(luma, (*width, *height), out) {
                    Ok(place) => format!(
                        "the picture at {time_s:.1} s, as it was looked at, is in {}",
                        place.display()
                    ),
                    Err(reason) => {
                        format!("the picture at {time_s:.1} s could not be saved: {reason}")
                    }
                })
            }
            ReadError::NoOverlap { .. } => self.named(error).hint(
                "say with --video-start at which log time the video begins, or check that both belong together",
            ),
            ReadError::Falling { .. } => self.named(error).hint(
                "check that the log belongs to this recording, and that its columns are what their names say",
            ),
            ReadError::TooFewFrames { .. } => self.named(error).hint(
                "take a picture at least every few seconds from before the first liquid until after the last crystal",
            ),
            _ => self.named(error),
        }
    }

    /// An error of the engine, which does not know the names of the files.
    fn named(&self, error: &ReadError<MediaError>) -> Failure {
        match Failure::of(error) {
            Failure::Unusable { message, .. } => Failure::new(format!(
                "{} with {}: {message}",
                self.arguments.media.display(),
                self.arguments.temperature.display()
            )),
            closed @ Failure::PipeClosed => closed,
        }
    }

    /// Turn doubts about the files into flags of the run; those without a flag are returned.
    fn take_remarks(&self, reading: &mut Reading) -> Vec<String> {
        let mut notes = Vec::new();
        let mut take = |kind: Option<QualityKind>, text: String| match kind {
            Some(kind) => reading.quality.push(Quality { kind, text }),
            None => notes.push(text),
        };
        for remark in &self.log.remarks {
            take(log_flag(remark), remark.to_string());
        }
        for remark in self.source.remarks() {
            take(media_flag(&remark), remark.to_string());
        }
        notes
    }

    fn evidence(
        &mut self,
        reading: &Reading,
        notes: &[String],
        progress: &Progress,
    ) -> Result<String, Failure> {
        let stretch = progress.begin("evidence");
        let pictures = pictures::fetch(&mut self.source, reading, &mut |fraction| {
            stretch.at(fraction);
        })
        .map_err(|error| Failure::of(&error))?;
        let info = self.source.info();
        evidence_page(&Evidence {
            recording: &name_of(&self.arguments.media),
            log_name: &name_of(&self.arguments.temperature),
            video_start_s: self.video_start_s,
            program: &format!("{PROGRAM_NAME} {PROGRAM_VERSION}"),
            reading,
            notes,
            log: &self.log.log,
            view_width_px: info.width as f64 * info.source_px_per_px,
            view_height_px: info.height as f64 * info.source_px_per_px,
            at_start: pictures.at_start,
            at_end: pictures.at_end,
            pictures: &pictures.tubes,
        })
        .map_err(|error| Failure::of(&error))
    }
}

/// Log time of video time 0 [s] as the recording.json of a recording folder has it.
fn recorded_start_s(media: &Path) -> Result<Option<f64>, Failure> {
    const FIELD: &str = "video_start_s";
    let manifest = media.join("recording.json");
    // Above a video file there is no such path, and a folder of pictures need not have one.
    let Ok(bytes) = std::fs::read(&manifest) else {
        return Ok(None);
    };
    let value: Value = serde_json::from_slice(&bytes).map_err(|error| {
        Failure::new(format!(
            "{} is not JSON: {error}; expected an object with {FIELD}",
            manifest.display()
        ))
        .hint("mend it, or say the start with --video-start")
    })?;
    match &value[FIELD] {
        Value::Null => Ok(None),
        found => match found.as_f64() {
            Some(start_s) => Ok(Some(start_s)),
            None => Err(Failure::new(format!(
                "{}: {FIELD} is {found}; expected a number of seconds",
                manifest.display()
            ))),
        },
    }
}

/// What stands in reading.json.
#[derive(Serialize)]
struct Document<'a> {
    #[serde(flatten)]
    reading: &'a Reading,
    notes: &'a [String],
    temperatures: &'static str,
    convention: Option<&'static str>,
    program: Program,
}

#[derive(Serialize)]
struct Program {
    name: &'static str,
    version: &'static str,
}

fn document(reading: &Reading, notes: &[String]) -> Result<Value, Failure> {
    serde_json::to_value(Document {
        reading,
        notes,
        temperatures: "as_logged",
        convention: None,
        program: Program {
            name: PROGRAM_NAME,
            version: PROGRAM_VERSION,
        },
    })
    .map_err(|error| Failure::of(&error))
}

/// The document as printed: curves only when asked for, and where the evidence page is.
fn printed(mut document: Value, with_curves: bool, page: Option<&Path>) -> Value {
    if !with_curves && let Some(tubes) = document["tubes"].as_array_mut() {
        for tube in tubes.iter_mut().filter_map(Value::as_object_mut) {
            tube.shift_remove("curve");
        }
    }
    if let Some(page) = page {
        document["evidence"] = Value::from(page.display().to_string());
    }
    document
}

fn log_flag(remark: &LogRemark) -> Option<QualityKind> {
    match remark {
        LogRemark::RepeatedTimes { .. }
        | LogRemark::OutOfOrder { .. }
        | LogRemark::NoTemperature { .. } => Some(QualityKind::LogRepaired),
        // The engine flags gaps that matter: those at a moment.
        _ => None,
    }
}

fn media_flag(remark: &MediaRemark) -> Option<QualityKind> {
    match remark {
        MediaRemark::StartsAwayFromZero { .. } => None,
        _ => Some(QualityKind::VideoDamaged),
    }
}

/// Save the view in which no tube was found: with the results where there is a free place for
/// them, else among the temporary files.
fn save_view(
    luma: &[u8],
    (width, height): (usize, usize),
    out: Option<&OutFolder>,
) -> Result<PathBuf, String> {
    const NAME: &str = "no-tubes.jpg";
    let jpeg = pictures::grey_jpeg(luma, width, height).map_err(|error| error.to_string())?;
    if let Some(out) = out.filter(|out| !out.holds_results()) {
        return match out.write(&[(NAME, &jpeg)]) {
            Ok(()) => Ok(out.path().join(NAME)),
            Err(Failure::Unusable { message, .. }) => Err(message),
            Err(Failure::PipeClosed) => Err("the pipe was closed".to_owned()),
        };
    }
    let saved = tempfile::Builder::new()
        .prefix("meltrange-no-tubes-")
        .suffix(".jpg")
        .tempfile()
        .and_then(|mut file| {
            std::io::Write::write_all(&mut file, &jpeg)?;
            Ok(file.into_temp_path().keep()?)
        });
    saved.map_err(|error| error.to_string())
}

/// The last part of a path, as the person knows the file.
fn name_of(path: &Path) -> String {
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned()
}
