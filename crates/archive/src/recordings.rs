//! Recordings into an archive: pictures as files with `frames.csv`, or the video; what cannot be read is
//! said and the rest goes in.

use crate::error::ArchiveError;
use crate::manifest::Incomplete;
use crate::out::{Out, PutError, Written};
use meltrange_labbook::{
    Book, Captured, CapturedPictures, Digest, Frames, Manifest, RecordingDetail,
};
use std::fmt::Write as _;
use std::fs::File;
use std::path::Path;

/// What of a recording was put into the archive.
#[derive(Debug)]
pub(crate) struct PutRecording {
    /// Its folder in the archive, with `/` at its end.
    pub folder: String,
    /// Its files, pictures left out.
    pub files: Vec<Written>,
    /// Pictures, as files of their own.
    pub pictures: u64,
    /// What could not be put in.
    pub incomplete: Vec<Incomplete>,
}

/// The folder of a recording in an archive.
pub(crate) fn folder_of(recording: impl std::fmt::Display) -> String {
    format!("recordings/{recording}/")
}

/// Put one into the archive.
pub(crate) async fn put(
    out: &mut Out,
    book: &Book,
    detail: &RecordingDetail,
) -> Result<PutRecording, ArchiveError> {
    let mut work = Work {
        out,
        detail,
        manifest: None,
        done: PutRecording {
            folder: folder_of(detail.row.id),
            files: Vec::new(),
            pictures: 0,
            incomplete: Vec::new(),
        },
    };
    match book.captured(detail).await {
        Ok(captured) => work.files(&captured)?,
        Err(error) => work.lacks("frame_index.csv", error.to_string()),
    }
    let about = serde_json::json!({
        "recording": detail.row.id,
        "run": detail.run.id,
        "begun": detail.row.begun,
        "video_start_s": detail.row.recording.source.video_start_s(),
        "source": detail.row.recording.source,
        "samples": detail.row.labels,
    });
    let mut text = serde_json::to_vec_pretty(&about)?;
    text.push(b'\n');
    let path = format!("{}recording.json", work.done.folder);
    let written = work.out.put_bytes(&path, &text)?;
    work.done.files.push(written);
    Ok(work.done)
}

struct Work<'a> {
    out: &'a mut Out,
    detail: &'a RecordingDetail,
    manifest: Option<Manifest>,
    done: PutRecording,
}

impl Work<'_> {
    fn files(&mut self, captured: &Captured) -> Result<(), ArchiveError> {
        match &captured.manifest {
            Some(path) => self.manifest(path)?,
            None if self.detail.row.recording.end.is_some() => {
                self.lacks("manifest.json", "is missing");
            }
            // Under way: there is none yet.
            None => {}
        }
        if let Some(path) = &captured.log {
            self.file(path)?;
        }
        match &captured.pictures {
            CapturedPictures::None => {}
            CapturedPictures::Video(path) => self.file(path)?,
            CapturedPictures::Frames(frames) => self.frames(frames)?,
        }
        self.missing(captured);
        Ok(())
    }

    fn lacks(&mut self, file: &str, found: impl Into<String>) {
        self.done.incomplete.push(Incomplete {
            recording: self.detail.row.id,
            file: file.into(),
            found: found.into(),
        });
    }

    fn manifest(&mut self, path: &Path) -> Result<(), ArchiveError> {
        self.file(path)?;
        let Ok(bytes) = std::fs::read(path) else {
            return Ok(());
        };
        let expected = self
            .detail
            .row
            .recording
            .end
            .as_ref()
            .map(|end| end.manifest);
        let found = Digest::of(&bytes);
        if let Some(expected) = expected
            && expected != found
        {
            self.lacks(
                "manifest.json",
                format!("has the digest {found}; its record says {expected}"),
            );
        }
        self.manifest = serde_json::from_slice(&bytes).ok();
        Ok(())
    }

    fn file(&mut self, path: &Path) -> Result<(), ArchiveError> {
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        let opened = File::open(path).and_then(|file| Ok((file.metadata()?.len(), file)));
        let put = opened
            .map_err(PutError::Unreadable)
            .and_then(|(bytes, mut file)| {
                self.out
                    .put(&format!("{}{name}", self.done.folder), bytes, &mut file)
            });
        match put {
            Ok(written) => {
                self.compare(&name, written.sha256);
                self.done.files.push(written);
                Ok(())
            }
            Err(PutError::Unreadable(error)) => {
                self.lacks(&name, format!("cannot be read ({error})"));
                Ok(())
            }
            Err(PutError::Archive(error)) => Err(error),
        }
    }

    /// A file as it is against what its manifest says of it.
    fn compare(&mut self, name: &str, found: Digest) {
        let said = self.manifest.as_ref().and_then(|manifest| {
            let file = manifest.files.iter().find(|file| file.name == name)?;
            Some(file.sha256)
        });
        if let Some(expected) = said
            && expected != found
        {
            self.lacks(
                name,
                format!("has the digest {found}; its manifest says {expected}"),
            );
        }
    }

    /// Files of the manifest that are not there.
    fn missing(&mut self, captured: &Captured) {
        let Some(manifest) = self.manifest.take() else {
            return;
        };
        let packed = matches!(captured.pictures, CapturedPictures::Frames(_));
        for file in &manifest.files {
            let path = format!("{}{}", self.done.folder, file.name);
            let there = self.done.files.iter().any(|written| written.path == path)
                || self
                    .done
                    .incomplete
                    .iter()
                    .any(|lack| lack.file == file.name)
                || (packed && matches!(file.name.as_str(), "frames.bin" | "frame_index.csv"));
            if !there {
                self.lacks(&file.name, "is missing");
            }
        }
    }

    fn frames(&mut self, frames: &Frames) -> Result<(), ArchiveError> {
        let mut list = "file,time_s,sha256\n".to_owned();
        let mut lost: Option<(u64, String)> = None;
        for (at, time_s) in frames.times_s().iter().enumerate() {
            let picture = match frames.picture(at) {
                Ok(picture) => picture,
                Err(error) => {
                    let count = lost.as_ref().map_or(0, |(count, _)| *count);
                    let first = lost.map_or_else(|| error.to_string(), |(_, first)| first);
                    lost = Some((count + 1, first));
                    continue;
                }
            };
            let name = format!("{:06}.{}", at + 1, ending(&picture));
            let path = format!("{}frames/{name}", self.done.folder);
            let written = self.out.put_bytes(&path, &picture)?;
            let _ = writeln!(list, "{name},{time_s},{}", written.sha256);
            self.done.pictures += 1;
        }
        if let Some((count, first)) = lost {
            self.lacks("frames.bin", format!("{count} pictures are lost: {first}"));
        }
        let path = format!("{}frames.csv", self.done.folder);
        let written = self.out.put_bytes(&path, list.as_bytes())?;
        self.done.files.push(written);
        Ok(())
    }
}

/// What a picture as captured is called by: JPEG or PNG, nothing else is captured.
pub(crate) fn ending(picture: &[u8]) -> &'static str {
    if picture.starts_with(&[0xFF, 0xD8]) {
        "jpg"
    } else {
        "png"
    }
}
