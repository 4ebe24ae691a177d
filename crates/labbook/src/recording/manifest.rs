//! `manifest.json`: what a recording's folder holds, with digests.

use super::{FRAMES, INDEX, LOG, video_in};
use crate::digest::Digest;
use crate::error::BookError;
use crate::ids::RecordingId;
use crate::records::RecordingEnd;
use serde::{Deserialize, Serialize};
use std::fs::File;
use std::io::Write as _;
use std::path::Path;

/// Its name.
pub(crate) const MANIFEST: &str = "manifest.json";

/// Version of its form.
const FORMAT: u32 = 1;

/// What a recording's folder holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// Version of the form.
    pub format: u32,
    /// Whose folder it is.
    pub recording: RecordingId,
    /// Whether the recording was cut off.
    pub cut: bool,
    /// Every file that counts.
    pub files: Vec<ManifestFile>,
}

/// One file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ManifestFile {
    /// Its name in the folder.
    pub name: String,
    /// How many bytes it has.
    pub bytes: u64,
    /// SHA-256 of these.
    pub sha256: Digest,
}

impl Manifest {
    /// Of the files in `folder` as they are now.
    pub(crate) fn of(
        folder: &Path,
        recording: RecordingId,
        cut: bool,
        seen: &mut dyn FnMut(u64),
    ) -> Result<Self, BookError> {
        let video = video_in(folder)
            .and_then(|path| Some(path.file_name()?.to_string_lossy().into_owned()));
        let names = [FRAMES, INDEX, LOG]
            .map(str::to_owned)
            .into_iter()
            .chain(video);
        let mut files = Vec::new();
        for name in names {
            let path = folder.join(&name);
            if !path.is_file() {
                continue;
            }
            let (sha256, bytes) = File::open(&path)
                .and_then(|file| Digest::of_reader(file, seen))
                .map_err(|error| BookError::file(&path, "read", error))?;
            files.push(ManifestFile {
                name,
                bytes,
                sha256,
            });
        }
        Ok(Self {
            format: FORMAT,
            recording,
            cut,
            files,
        })
    }

    /// Write it into `folder`, flushed; its own digest.
    pub(crate) fn write(&self, folder: &Path) -> Result<Digest, BookError> {
        let path = folder.join(MANIFEST);
        let mut text = serde_json::to_string_pretty(self)?;
        text.push('\n');
        let beside = folder.join("manifest.json.unfinished");
        File::create(&beside)
            .and_then(|mut file| {
                file.write_all(text.as_bytes())?;
                file.sync_all()?;
                std::fs::rename(&beside, &path)?;
                sync_folder(folder)
            })
            .map_err(|error| BookError::file(&path, "written", error))?;
        Ok(Digest::of(text.as_bytes()))
    }
}

/// Make a new name or a renaming in `folder` durable.
pub(super) fn sync_folder(folder: &Path) -> std::io::Result<()> {
    // Elsewhere folders cannot be opened to be flushed, nor need they be.
    #[cfg(unix)]
    File::open(folder)?.sync_all()?;
    #[cfg(not(unix))]
    let _ = folder;
    Ok(())
}

/// What the end record of a recording says: times as in `times_s` on the log's clock.
pub(crate) fn summary(
    manifest: Digest,
    cut: bool,
    frames: u64,
    times_s: Option<(f64, f64)>,
    log: Option<&meltrange_physics::TemperatureLog>,
) -> RecordingEnd {
    let temperatures_c = || {
        log.iter()
            .flat_map(|log| log.samples())
            .map(|sample| sample.temperature_c)
    };
    RecordingEnd {
        manifest,
        cut,
        frames,
        start_s: times_s.map(|times| times.0),
        end_s: times_s.map(|times| times.1),
        lowest_c: temperatures_c().reduce(f64::min),
        highest_c: temperatures_c().reduce(f64::max),
    }
}
