//! A recording as a film: pictures as captured at their own times, the temperature as subtitles.
//!
//! Matroska (RFC 9559) with one track of pictures (Motion JPEG or PNG, or the imported video's own) and one of
//! SubRip text that players show by themselves.

use crate::error::ArchiveError;
use crate::out::{open_to_others, room_beside};
use meltrange_labbook::{Book, BookError, CapturedPictures, Frames, RecordingDetail};
use meltrange_media::encode::{CapturedFilm, CapturedKind, EncodeError, add_subtitles};
use meltrange_physics::TemperatureLog;
use serde::Serialize;
use std::fmt::Write as _;
use std::path::Path;

/// What the track is called.
const TITLE: &str = "Temperature as logged, uncorrected";

/// A film that was made.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Film {
    /// Pictures; none for an imported video, which is copied as it is.
    pub pictures: Option<u64>,
    /// Subtitles: one for each step of the log.
    pub cues: u64,
    /// Film time less the time on the pictures' own clock [s]; 0 unless that begins below 0.
    pub shift_s: f64,
}

/// Write the recording as the Matroska file `out`, which appears whole or not at all. Film time is that of the
/// pictures' own clock. `progress` hears the part done, 0..=1.
///
/// # Errors
/// [`ArchiveError`]: `out` is there already, the recording has no pictures or no log, or ffmpeg failed.
pub async fn export_film(
    book: &Book,
    detail: &RecordingDetail,
    out: &Path,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<Film, ArchiveError> {
    if out.symlink_metadata().is_ok() {
        return Err(ArchiveError::AlreadyThere { path: out.into() });
    }
    let log = book.log(detail.row.id).await?.log;
    let captured = book.captured(detail).await?;
    let written = |error| ArchiveError::file(out, "written", error);
    let room = room_beside(out, ".film-unfinished-")?;
    let subtitles = room.path().join("temperature.srt");
    let film_path = room.path().join("film.mkv");
    let start_s = detail.row.recording.source.video_start_s();
    let film = match &captured.pictures {
        CapturedPictures::Frames(frames) => {
            let first_s = frames.times_s().first().copied().unwrap_or(0.0);
            let shift_s = (-first_s).max(0.0);
            let cues = write_subtitles(&subtitles, &log, start_s - shift_s)?;
            pictures(detail, frames, shift_s, &film_path, &subtitles, progress)?;
            Film {
                pictures: Some(frames.times_s().len() as u64),
                cues,
                shift_s,
            }
        }
        CapturedPictures::Video(video) => {
            let cues = write_subtitles(&subtitles, &log, start_s)?;
            add_subtitles(video, &film_path, &subtitles, TITLE)
                .map_err(|error| failed(detail, &error))?;
            Film {
                pictures: None,
                cues,
                shift_s: 0.0,
            }
        }
        CapturedPictures::None => return Err(no_film(detail, "it has no pictures")),
    };
    open_to_others(&film_path, 0o644);
    // A link is refused where something is there: nothing is written over.
    std::fs::hard_link(&film_path, out)
        .or_else(|error| match error.kind() {
            std::io::ErrorKind::AlreadyExists => Err(error),
            // A file system without links.
            _ => std::fs::rename(&film_path, out),
        })
        .map_err(written)?;
    progress(1.0);
    Ok(film)
}

fn no_film(detail: &RecordingDetail, found: impl Into<String>) -> ArchiveError {
    ArchiveError::NoFilm {
        recording: detail.row.id.to_string(),
        found: found.into(),
        expected: "pictures of one kind, JPEG or PNG, at rising times, or a video that ffmpeg can copy",
    }
}

fn failed(detail: &RecordingDetail, error: &EncodeError) -> ArchiveError {
    no_film(detail, error.to_string())
}

fn kind_of(picture: &[u8]) -> CapturedKind {
    match crate::recordings::ending(picture) {
        "jpg" => CapturedKind::Jpeg,
        _ => CapturedKind::Png,
    }
}

fn pictures(
    detail: &RecordingDetail,
    frames: &Frames,
    shift_s: f64,
    path: &Path,
    subtitles: &Path,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<(), ArchiveError> {
    let times_s = frames.times_s();
    if times_s.is_empty() {
        return Err(no_film(detail, "it has no pictures"));
    }
    let first = frames.picture(0)?;
    let kind = kind_of(&first);
    let size = meltrange_media::decode_luma(&first)
        .map(|luma| (luma.width, luma.height))
        .map_err(|found| no_film(detail, format!("its first picture {found}")))?;
    let mut film = CapturedFilm::create(path, kind, size, subtitles, TITLE)
        .map_err(|error| failed(detail, &error))?;
    for (at, time_s) in times_s.iter().enumerate() {
        let picture = frames.picture(at)?;
        if kind_of(&picture) != kind {
            return Err(no_film(
                detail,
                format!("picture {} is of another kind than the first", at + 1),
            ));
        }
        film.picture(time_s + shift_s, &picture)
            .map_err(|error| failed(detail, &error))?;
        progress(0.95 * (at + 1) as f64 / times_s.len() as f64);
    }
    film.finish().map_err(|error| failed(detail, &error))
}

fn write_subtitles(path: &Path, log: &TemperatureLog, zero_s: f64) -> Result<u64, ArchiveError> {
    let (text, cues) = subtitles(log, zero_s);
    std::fs::write(path, text).map_err(|error| BookError::file(path, "written", error))?;
    Ok(cues)
}

/// SubRip text: for each step of the log what it says, until the next, or for one usual step where there is
/// a gap. `zero_s` is the log time of film time 0 [s].
fn subtitles(log: &TemperatureLog, zero_s: f64) -> (String, u64) {
    let samples = log.samples();
    let usual_s = log.median_spacing_s();
    let gaps: Vec<(f64, f64)> = log.gaps().collect();
    let mut text = String::new();
    let mut cues = 0;
    for (at, sample) in samples.iter().enumerate() {
        let next_s = samples.get(at + 1).map(|next| next.time_s);
        let in_gap = gaps
            .iter()
            .any(|(from_s, to_s)| (*from_s..*to_s).contains(&sample.time_s));
        let until_s = match next_s {
            Some(next_s) if !in_gap => next_s,
            _ => sample.time_s + usual_s,
        };
        let ms = |time_s: f64| ((time_s - zero_s) * 1000.0).round().max(0.0) as u64;
        let (from, until) = (ms(sample.time_s), ms(until_s));
        if until <= from {
            continue;
        }
        cues += 1;
        let rate = log.at(sample.time_s).map_or_else(String::new, |point| {
            format!("  {:+.2} °C/min", 60.0 * point.rate_c_per_s)
        });
        let _ = write!(
            text,
            "{cues}\n{} --> {}\n{:.2} °C{rate}  t {:.1} s  (as logged)\n\n",
            srt_time(from),
            srt_time(until),
            sample.temperature_c,
            sample.time_s
        );
    }
    (text, cues)
}

fn srt_time(ms: u64) -> String {
    format!(
        "{:02}:{:02}:{:02},{:03}",
        ms / 3_600_000,
        ms / 60_000 % 60,
        ms / 1000 % 60,
        ms % 1000
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_written_as_subrip_has_them() {
        assert_eq!(srt_time(3_723_004), "01:02:03,004");
        assert_eq!(srt_time(0), "00:00:00,000");
    }
}
