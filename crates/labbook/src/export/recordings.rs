//! Recordings as `meltrange read` takes them: pictures as files with `frames.csv`, or the video.

use crate::book::Book;
use crate::error::BookError;
use crate::query::RecordingDetail;
use crate::recording::{Frames, INDEX, LOG, MANIFEST, SoFar, video_in};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

/// Write one; how many pictures.
pub(super) fn write(
    book: &Book,
    export: &Path,
    detail: &RecordingDetail,
) -> Result<u64, BookError> {
    let from = book.recording_folder(detail.row.id);
    let to = export.join("recordings").join(detail.row.id.to_string());
    fs::create_dir_all(&to).map_err(|error| BookError::file(&to, "written", error))?;
    let video = video_in(&from);
    let named = |name: &str| from.join(name);
    for path in [Some(named(LOG)), Some(named(MANIFEST)), video.clone()]
        .into_iter()
        .flatten()
        .filter(|path| path.is_file())
    {
        let target = to.join(path.file_name().unwrap_or_default());
        fs::copy(&path, &target).map_err(|error| BookError::file(&target, "written", error))?;
    }
    let about = serde_json::json!({
        "recording": detail.row.id,
        "run": detail.run.id,
        "begun": detail.row.begun,
        "video_start_s": detail.row.recording.source.video_start_s(),
        "source": detail.row.recording.source,
        "samples": detail.row.labels,
    });
    let path = to.join("recording.json");
    fs::write(&path, serde_json::to_vec_pretty(&about)?)
        .map_err(|error| BookError::file(&path, "written", error))?;
    if video.is_some() || !named(INDEX).is_file() {
        return Ok(0);
    }
    let so_far = match detail.row.recording.end {
        Some(_) => SoFar::Ended,
        None => SoFar::UnderWay,
    };
    pictures(&Frames::open(&from, 0.0, so_far)?, &to)
}

fn pictures(frames: &Frames, to: &Path) -> Result<u64, BookError> {
    let folder = to.join("frames");
    fs::create_dir(&folder).map_err(|error| BookError::file(&folder, "written", error))?;
    let mut list = "file,time_s\n".to_owned();
    for (at, time_s) in frames.times_s().iter().enumerate() {
        let picture = frames.picture(at)?;
        let ending = if picture.starts_with(&[0xFF, 0xD8]) {
            "jpg"
        } else {
            "png"
        };
        let name = format!("{:06}.{ending}", at + 1);
        let path = folder.join(&name);
        fs::write(&path, picture).map_err(|error| BookError::file(&path, "written", error))?;
        let _ = writeln!(list, "{name},{time_s}");
    }
    let path = to.join("frames.csv");
    fs::write(&path, list).map_err(|error| BookError::file(&path, "written", error))?;
    Ok(frames.times_s().len() as u64)
}
