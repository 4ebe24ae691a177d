//! What a recording consists of, as it was captured.

use crate::book::Book;
use crate::error::BookError;
use crate::query::RecordingDetail;
use crate::recording::{Frames, INDEX, LOG, MANIFEST, SoFar, video_in};
use std::path::PathBuf;

/// The files of one recording.
#[derive(Debug)]
pub struct Captured {
    /// The log, where there is one.
    pub log: Option<PathBuf>,
    /// The manifest; none while the recording is under way.
    pub manifest: Option<PathBuf>,
    /// Its pictures.
    pub pictures: CapturedPictures,
}

/// The pictures of a recording.
#[derive(Debug)]
pub enum CapturedPictures {
    /// None was kept.
    None,
    /// A video as it was imported.
    Video(PathBuf),
    /// Pictures, their times on their own clock.
    Frames(Frames),
}

impl Book {
    /// What a recording consists of.
    ///
    /// # Errors
    /// [`BookError`] when its index of pictures cannot be used.
    pub async fn captured(&self, detail: &RecordingDetail) -> Result<Captured, BookError> {
        self.bring_here(detail.row.id).await?;
        let folder = self.recording_folder(detail.row.id);
        let there = |name: &str| Some(folder.join(name)).filter(|path| path.is_file());
        let so_far = match detail.row.recording.end {
            Some(_) => SoFar::Ended,
            None => SoFar::UnderWay,
        };
        Ok(Captured {
            log: there(LOG),
            manifest: there(MANIFEST),
            pictures: match video_in(&folder) {
                Some(video) => CapturedPictures::Video(video),
                None if there(INDEX).is_some() => {
                    CapturedPictures::Frames(Frames::open(&folder, 0.0, so_far)?)
                }
                None => CapturedPictures::None,
            },
        })
    }
}
