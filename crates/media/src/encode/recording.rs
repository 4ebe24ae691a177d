//! A recording folder that appears whole or not at all.

use std::path::{Path, PathBuf};

use tempfile::TempDir;

use super::{EncodeError, FilmFormat, PlanarPicture, VideoWriter};

/// Writes pictures and files into a temporary folder beside the target and renames it at the end.
/// Dropped before [`RecordingWriter::finish`], nothing is left.
#[derive(Debug)]
pub struct RecordingWriter {
    target: PathBuf,
    folder: TempDir,
    video: VideoWriter,
}

impl RecordingWriter {
    /// Begin a recording at `target`, its pictures under the name `media`.
    ///
    /// # Errors
    /// [`EncodeError::AlreadyThere`] when the target exists and is not an empty folder;
    /// otherwise what stands in the way of writing beside it.
    pub fn create(target: &Path, media: &str, format: FilmFormat) -> Result<Self, EncodeError> {
        refuse_taken(target)?;
        let parent = match target.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        let unwritable = |source| EncodeError::Unwritable {
            path: target.to_owned(),
            source,
        };
        std::fs::create_dir_all(parent).map_err(unwritable)?;
        let folder = tempfile::Builder::new()
            .prefix(".recording-under-way-")
            .tempdir_in(parent)
            .map_err(unwritable)?;
        let video = VideoWriter::create(&folder.path().join(media), format)?;
        Ok(Self {
            target: target.to_owned(),
            folder,
            video,
        })
    }

    /// Write the next picture at its video time \[s\].
    ///
    /// # Errors
    /// As [`VideoWriter::write`].
    pub fn picture(&mut self, time_s: f64, picture: PlanarPicture<'_>) -> Result<(), EncodeError> {
        self.video.write(time_s, picture)
    }

    /// End the pictures, add `files` (name, content) and put the folder in its place.
    ///
    /// # Errors
    /// [`EncodeError`]; the target is then as it was before.
    pub fn finish(self, files: &[(&str, &[u8])]) -> Result<(), EncodeError> {
        self.video.finish()?;
        for (name, content) in files {
            let path = self.folder.path().join(name);
            std::fs::write(&path, content)
                .map_err(|source| EncodeError::Unwritable { path, source })?;
        }
        open_to_others(self.folder.path());
        refuse_taken(&self.target)?;
        std::fs::rename(self.folder.path(), &self.target).map_err(|source| {
            EncodeError::Unwritable {
                path: self.target.clone(),
                source,
            }
        })?;
        // The folder has moved away: there is nothing left to remove under its old name.
        let _ = self.folder.keep();
        Ok(())
    }
}

fn refuse_taken(target: &Path) -> Result<(), EncodeError> {
    let empty_folder = std::fs::read_dir(target).is_ok_and(|mut entries| entries.next().is_none());
    if target.symlink_metadata().is_ok() && !empty_folder {
        return Err(EncodeError::AlreadyThere {
            path: target.to_owned(),
        });
    }
    Ok(())
}

/// Temporary folders are private to their maker; a recording is as open as any new folder.
fn open_to_others(folder: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // A file system without permissions keeps what it has.
        let _ = std::fs::set_permissions(folder, std::fs::Permissions::from_mode(0o755));
    }
    #[cfg(not(unix))]
    let _ = folder;
}
