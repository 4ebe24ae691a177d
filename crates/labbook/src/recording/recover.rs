//! What a crash left of a recording.

use super::index::{HEADER, parse_index};
use super::{FRAMES, INDEX, LOG, Manifest, summary};
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::RecordingId;
use crate::records::RecordingEnd;
use std::fs::{File, OpenOptions};
use std::io::{Read as _, Seek as _, SeekFrom, Write as _};
use std::path::Path;

/// Keep whole pictures and whole lines, leave out what was being written when it was cut off, and
/// write the manifest.
pub(crate) fn recover(folder: &Path, recording: RecordingId) -> Result<RecordingEnd, BookError> {
    std::fs::create_dir_all(folder).map_err(|error| BookError::file(folder, "written", error))?;
    let index_path = folder.join(INDEX);
    let index = parse_index(&read_or_none(&index_path)?);
    let frames_path = folder.join(FRAMES);
    let mut lines = index.lines;
    let kept = whole(&frames_path, &lines)?;
    lines.truncate(kept);
    let mut text = HEADER.to_owned();
    lines.iter().for_each(|line| line.write(&mut text));
    let end = lines.last().map_or(0, super::FrameLine::end);
    cut(&frames_path, end)?;
    replace(&index_path, text.as_bytes())?;
    let log_path = folder.join(LOG);
    let mut log = read_or_none(&log_path)?;
    log.truncate(whole_rows(&log));
    if log.is_empty() {
        log.extend_from_slice(b"time_s,temperature_c\n");
    }
    replace(&log_path, &log)?;
    let manifest = Manifest::of(folder, recording, true, &mut |_| ())?.write(folder)?;
    let log = meltrange_media::parse_temperature_log(&log_path.display().to_string(), &log).ok();
    Ok(summary(
        manifest,
        true,
        lines.len() as u64,
        lines
            .first()
            .zip(lines.last())
            .map(|(first, last)| (first.time_s, last.time_s)),
        log.as_ref().map(|read| &read.log),
    ))
}

/// Bytes up to the end of the last line that is a row.
fn whole_rows(log: &[u8]) -> usize {
    let mut end = 0;
    for line in log.split_inclusive(|&byte| byte == b'\n') {
        let text = String::from_utf8_lossy(line);
        let Some(row) = text.strip_suffix('\n') else {
            break;
        };
        let is_row = row
            .split(',')
            .all(|cell| cell.parse::<f64>().is_ok_and(f64::is_finite));
        if end > 0 && !is_row {
            break;
        }
        end += line.len();
    }
    end
}

/// How many pictures from the first on are as their lines say.
///
/// All are looked at: a power cut may have left holes in the middle of the last second.
fn whole(path: &Path, lines: &[super::FrameLine]) -> Result<usize, BookError> {
    let failed = |error| BookError::file(path, "read", error);
    let mut file = match File::open(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(0),
        other => other.map_err(failed)?,
    };
    for (at, line) in lines.iter().enumerate() {
        let mut picture = Vec::new();
        file.seek(SeekFrom::Start(line.offset)).map_err(failed)?;
        (&mut file)
            .take(line.bytes)
            .read_to_end(&mut picture)
            .map_err(failed)?;
        if picture.len() as u64 != line.bytes || Digest::of(&picture) != line.sha256 {
            return Ok(at);
        }
    }
    Ok(lines.len())
}

fn read_or_none(path: &Path) -> Result<Vec<u8>, BookError> {
    match std::fs::read(path) {
        Ok(bytes) => Ok(bytes),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(Vec::new()),
        Err(error) => Err(BookError::file(path, "read", error)),
    }
}

fn cut(path: &Path, bytes: u64) -> Result<(), BookError> {
    OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(false)
        .open(path)
        .and_then(|file| {
            file.set_len(bytes)?;
            file.sync_all()
        })
        .map_err(|error| BookError::file(path, "written", error))
}

/// Whole or not at all.
fn replace(path: &Path, bytes: &[u8]) -> Result<(), BookError> {
    let beside = path.with_extension("unfinished");
    File::create(&beside)
        .and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()?;
            std::fs::rename(&beside, path)
        })
        .map_err(|error| BookError::file(path, "written", error))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_is_kept_up_to_its_last_whole_row() {
        for (log, kept) in [
            (
                "time_s,temperature_c\n0,20.1\n1,20.2\n2,2",
                "time_s,temperature_c\n0,20.1\n1,20.2\n",
            ),
            ("time_s,tempe", ""),
            ("time_s,temperature_c\n0,\0\0\0\n", "time_s,temperature_c\n"),
            ("", ""),
        ] {
            assert_eq!(&log[..whole_rows(log.as_bytes())], kept);
        }
    }
}
