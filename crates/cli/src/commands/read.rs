//! `meltrange read`: a recording to melting ranges.

use super::{PROGRAM_NAME, PROGRAM_VERSION};
use crate::args::ReadArguments;
use crate::book_access::{failed, person, to_write, wait};
use crate::failure::Failure;
use crate::out_folder::OutFolder;
use crate::output::Output;
use crate::pictures;
use crate::progress::Progress;
use crate::table::reading_table;
use meltrange_labbook::{ReadingId, RecordingId, RecordingSource};
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
    if let Some(recording) = &arguments.recording {
        return from_book(arguments, recording, out.as_ref(), output, progress);
    }
    let Some(temperature) = &arguments.temperature else {
        return Err(Failure::new(
            "the temperature log is missing; expected --temperature LOG.csv",
        ));
    };
    let log = meltrange_media::read_log(temperature).map_err(|error| Failure::of(&error))?;
    let video_start_s = match arguments.video_start {
        Some(given_s) => given_s,
        None => recorded_start_s(&arguments.media)?.unwrap_or(0.0),
    };
    let source = meltrange_media::open(&arguments.media, video_start_s)
        .map_err(|error| Failure::of(&error))?;
    let run = Run {
        arguments,
        media_name: name_of(&arguments.media),
        log_name: name_of(temperature),
        video_start_s,
        source,
        log,
    };
    let (finished, _) = run.finish(out.as_ref(), progress)?;
    show(arguments, finished, output, None)
}

/// Read a recording of a lab book and record the reading there.
fn from_book(
    arguments: &ReadArguments,
    recording: &str,
    out: Option<&OutFolder>,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let id: RecordingId = recording.parse().map_err(|error| Failure::of(&error))?;
    wait(async {
        let book = to_write(&arguments.media).await?;
        let who = person(&book, arguments.by.as_deref()).await?;
        let detail = book.store().recording(id).await.map_err(failed)?;
        let run = Run {
            arguments,
            media_name: match &detail.row.recording.source {
                RecordingSource::Video { file_name, .. } => file_name.clone(),
                RecordingSource::Pictures { folder_name, .. } => folder_name.clone(),
                RecordingSource::Camera => format!("recording {id}"),
            },
            log_name: "temperature.csv".into(),
            video_start_s: detail.row.recording.source.video_start_s(),
            source: book.source(id).await.map_err(failed)?,
            log: book.log(id).await.map_err(failed)?,
        };
        let (finished, reading) = run.finish(out, progress)?;
        let record = book
            .record_engine_reading(who, id, &reading, finished.notes.clone())
            .await
            .map_err(failed)?;
        book.close().await;
        show(
            arguments,
            finished,
            output,
            Some(ReadingId::from(record.subject)),
        )
    })
}

/// What a reading came to.
struct Finished {
    document: Value,
    table: String,
    notes: Vec<String>,
    page: Option<PathBuf>,
}

fn show(
    arguments: &ReadArguments,
    finished: Finished,
    output: &Output,
    recorded: Option<ReadingId>,
) -> Result<(), Failure> {
    if arguments.json {
        let mut document = printed(finished.document, arguments.curve, finished.page.as_deref());
        if let Some(id) = recorded {
            document["reading"] = Value::from(id.to_string());
        }
        return output.json(&document);
    }
    let mut text = finished.table;
    if let Some(page) = finished.page {
        text.push_str(&format!("\nevidence: {}\n", page.display()));
    }
    if let Some(id) = recorded {
        text.push_str(&format!("\nrecorded as reading {id}\n"));
    }
    output.text(&text)
}

/// The inputs of one reading.
struct Run<'a> {
    arguments: &'a ReadArguments,
    media_name: String,
    log_name: String,
    video_start_s: f64,
    source: Opened,
    log: LogRead,
}

impl Run<'_> {
    /// Read, and write the evidence where it is wanted.
    fn finish(
        mut self,
        out: Option<&OutFolder>,
        progress: &Progress,
    ) -> Result<(Finished, Reading), Failure> {
        let mut reading = self.read_tubes(progress, out)?;
        let notes = self.take_remarks(&mut reading);
        let document = document(&reading, &notes)?;
        if let Some(out) = out {
            let page = self.evidence(&reading, &notes, progress)?;
            let json = serde_json::to_vec_pretty(&document).map_err(|error| Failure::of(&error))?;
            let curves = curve_csv(&reading);
            out.write(&[
                ("evidence.html", page.as_bytes()),
                ("reading.json", &json),
                ("curve.csv", curves.as_bytes()),
            ])?;
        }
        let finished = Finished {
            document,
            table: reading_table(&reading, &notes),
            page: out.map(|out| out.path().join("evidence.html")),
            notes,
        };
        Ok((finished, reading))
    }

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
                self.media_words(),
                self.log_words()
            )),
            closed @ Failure::PipeClosed => closed,
        }
    }

    fn media_words(&self) -> String {
        match &self.arguments.recording {
            Some(_) => self.media_name.clone(),
            None => self.arguments.media.display().to_string(),
        }
    }

    fn log_words(&self) -> String {
        let path = self.arguments.temperature.as_ref();
        path.map_or_else(|| self.log_name.clone(), |path| path.display().to_string())
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
            recording: &self.media_name,
            log_name: &self.log_name,
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
