//! A recording read by the engine, and what it said put into the book.

use crate::problem::{Problem, in_full};
use crate::state::AppState;
use axum::http::StatusCode;
use meltrange_labbook::{Book, PersonId, ReadingId, RecordingId};
use meltrange_media::{LogRead, LogRemark, MediaError, MediaRemark, Opened};
use meltrange_reading::{Quality, QualityKind, ReadError, ReadOptions, Reading, read_recording};

/// Read `recording` for `who`; `progress` hears the part done on another thread.
pub(crate) async fn read(
    state: &AppState,
    who: PersonId,
    recording: RecordingId,
    tubes: Option<u8>,
    progress: impl FnMut(f64) + Send + 'static,
) -> Result<ReadingId, Problem> {
    let (reading, notes) = found_in(state.book(), recording, tubes, progress).await?;
    let record = state
        .book()
        .record_engine_reading(who, recording, &reading, notes)
        .await?;
    Ok(record.subject.into())
}

/// What the engine finds in `recording`, and notes on its files; nothing is recorded.
pub(crate) async fn found_in(
    book: &Book,
    recording: RecordingId,
    tubes: Option<u8>,
    mut progress: impl FnMut(f64) + Send + 'static,
) -> Result<(Reading, Vec<String>), Problem> {
    let load = book.store().recording(recording).await?.row.load;
    let expected = match (tubes, load.len()) {
        (Some(tubes), _) => Some(usize::from(tubes)),
        (None, 0) => None,
        (None, places) => Some(places),
    };
    let mut source = book.source(recording).await?;
    let log = book.log(recording).await?;
    tokio::task::spawn_blocking(move || {
        let options = ReadOptions { tubes: expected };
        read_recording(&mut source, &log.log, &options, &mut progress)
            .map(|reading| with_doubts(reading, &source, &log))
    })
    .await
    .map_err(|error| Problem::internal(&error))?
    .map_err(|error| unreadable(&error))
}

/// Doubts about the files become flags of the run; those without a flag are notes.
fn with_doubts(mut reading: Reading, source: &Opened, log: &LogRead) -> (Reading, Vec<String>) {
    let flags = log
        .remarks
        .iter()
        .map(|remark| (log_flag(remark), remark.to_string()));
    let media = source
        .remarks()
        .into_iter()
        .map(|remark| (media_flag(&remark), remark.to_string()));
    let mut notes = Vec::new();
    for (kind, text) in flags.chain(media) {
        match kind {
            Some(kind) => reading.quality.push(Quality { kind, text }),
            None => notes.push(text),
        }
    }
    (reading, notes)
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

fn unreadable(error: &ReadError<MediaError>) -> Problem {
    let advice = match error {
        ReadError::NoTubes { .. } => {
            "; the tubes must stand upright and in focus, with their glass edges in view"
        }
        ReadError::NoOverlap { .. } => {
            "; align the log with the video, or check that both belong together"
        }
        ReadError::Falling { .. } => {
            "; check that the log belongs to this recording, and that its columns are what their names say"
        }
        ReadError::TooFewFrames { .. } => {
            "; take a picture at least every few seconds from before the first liquid until after the last crystal"
        }
        _ => "",
    };
    Problem::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "not-readable",
        "The engine cannot read this recording",
        format!("{}{advice}", in_full(error)),
    )
}
