//! Pictures of a video, for people to look at: quick to reach in any order.
//!
//! They are made from the video that is kept, at its own times, and count for nothing else: the
//! engine reads the video, the manifest does not name them, and they can be made again.

use super::frame_file::FrameFile;
use super::{PICTURES, manifest, video_in};
use crate::error::BookError;
use crate::ids::RecordingId;
use jpeg_encoder::{ColorType, Encoder};
use meltrange_media::{ColourPicture, VideoSource};
use meltrange_reading::FrameSource as _;
use std::fs;
use std::ops::ControlFlow;
use std::path::Path;

/// Least spacing [s]: at 1 °C/min a tenth of a second is less than 0.002 °C, and a phone's
/// 30 pictures a second would take three times the room.
const SPACING_S: f64 = 0.1;

/// JPEG quality of 100: grains stay grains.
const QUALITY: u8 = 85;

/// Make the pictures of the video in `folder`; how many, none without a video. `progress` hears the
/// part done, 0..=1, and can stop it.
pub(crate) fn make_pictures(
    folder: &Path,
    progress: &mut dyn FnMut(f64) -> ControlFlow<()>,
) -> Result<u64, BookError> {
    let Some(video) = video_in(folder) else {
        return Ok(0);
    };
    let place = folder.join(PICTURES);
    // A name of its own, so that two at once do not meet in one folder.
    let beside = folder.join(format!("{PICTURES}.unfinished-{}", RecordingId::new()));
    let made = fs::create_dir(&beside)
        .map_err(|error| BookError::file(&beside, "written", error))
        .and_then(|()| fill(&video, &beside, progress));
    let put = made.and_then(|frames| {
        if place.exists() {
            fs::remove_dir_all(&place)
                .map_err(|error| BookError::file(&place, "written", error))?;
        }
        fs::rename(&beside, &place)
            .and_then(|()| manifest::sync_folder(folder))
            .map_err(|error| BookError::file(&place, "written", error))?;
        Ok(frames)
    });
    if put.is_err() {
        // It was ours alone; what cannot be removed is left.
        let _ = fs::remove_dir_all(&beside);
    }
    put
}

fn fill(
    video: &Path,
    folder: &Path,
    progress: &mut dyn FnMut(f64) -> ControlFlow<()>,
) -> Result<u64, BookError> {
    // On the video's own clock: where it stands on the log's may be said otherwise later.
    let mut source = VideoSource::open(video, 0.0)?;
    let info = source.info();
    let span_s = (info.end_s - info.start_s).max(SPACING_S);
    let mut file = FrameFile::create(folder)?;
    let mut frames = 0;
    let mut failed = None;
    source.deliver_colour(SPACING_S, &mut |picture| {
        let pushed = jpeg(&picture, frames + 1).and_then(|jpeg| file.push(picture.time_s, &jpeg));
        if let Err(error) = pushed {
            failed = Some(error);
            return ControlFlow::Break(());
        }
        frames += 1;
        let flow = progress(((picture.time_s - info.start_s) / span_s).clamp(0.0, 1.0));
        if flow.is_break() {
            failed = Some(BookError::Task {
                found: "it was stopped".into(),
            });
        }
        flow
    })?;
    match failed {
        Some(error) => Err(error),
        None => file.flush().map(|()| frames),
    }
}

fn jpeg(picture: &ColourPicture<'_>, frame: u64) -> Result<Vec<u8>, BookError> {
    let mut bytes = Vec::new();
    // Sizes beyond 65535 do not fit the format; the encoder then finds too few bytes and says so.
    let side = |px: usize| u16::try_from(px).unwrap_or(u16::MAX);
    Encoder::new(&mut bytes, QUALITY)
        .encode(
            picture.rgb,
            side(picture.width),
            side(picture.height),
            ColorType::Rgb,
        )
        .map_err(|error| BookError::Picture {
            frame,
            found: error.to_string(),
            expected: "a picture that JPEG can hold",
        })?;
    Ok(bytes)
}
