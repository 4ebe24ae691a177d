//! Where an archive goes: a folder or one zip file, written beside its place and renamed.

use crate::error::ArchiveError;
use meltrange_labbook::Digest;
use std::fs::{self, File};
use std::io::{self, BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use tempfile::{NamedTempFile, TempDir};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

/// A file of the archive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Written {
    /// Its path in the archive, with `/`.
    pub path: String,
    /// How many bytes.
    pub bytes: u64,
    /// SHA-256 of these.
    pub sha256: Digest,
}

/// Why a file was not put into the archive.
#[derive(Debug)]
pub(crate) enum PutError {
    /// It could not be read: the archive goes on without it.
    Unreadable(io::Error),
    /// The archive cannot be written.
    Archive(ArchiveError),
}

/// An archive under way. Dropped before [`Out::finish`], nothing is left of it.
#[derive(Debug)]
pub(crate) struct Out {
    target: PathBuf,
    place: Place,
    at: DateTime,
    scratch: TempDir,
}

#[derive(Debug)]
enum Place {
    Folder(TempDir),
    Zip(Box<ZipWriter<BufWriter<NamedTempFile>>>),
}

/// Whether a name asks for one zip file.
pub(crate) fn is_zip(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("zip"))
}

/// The folder that something stands in.
fn parent_of(target: &Path) -> &Path {
    match target.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// A folder beside `target`, on its disk, for what is not finished; it vanishes in the end.
pub(crate) fn room_beside(target: &Path, prefix: &str) -> Result<TempDir, ArchiveError> {
    let written = |error| ArchiveError::file(target, "written", error);
    let parent = parent_of(target);
    fs::create_dir_all(parent).map_err(written)?;
    tempfile::Builder::new()
        .prefix(prefix)
        .tempdir_in(parent)
        .map_err(written)
}

impl Out {
    /// Begin an archive at `target`: a zip file if its name says so, else a folder, new or empty.
    pub fn begin(target: &Path, made: jiff::Timestamp) -> Result<Self, ArchiveError> {
        refuse_taken(target)?;
        let scratch = room_beside(target, ".export-unfinished-tables-")?;
        let place = if is_zip(target) {
            let file = tempfile::Builder::new()
                .prefix(".export-unfinished-")
                .tempfile_in(parent_of(target))
                .map_err(|error| ArchiveError::file(target, "written", error))?;
            Place::Zip(Box::new(ZipWriter::new(BufWriter::with_capacity(
                1 << 18,
                file,
            ))))
        } else {
            Place::Folder(room_beside(target, ".export-unfinished-")?)
        };
        Ok(Self {
            target: target.into(),
            place,
            at: zip_time(made),
            scratch,
        })
    }

    /// A folder for what is made before it is put; it vanishes in the end.
    pub fn scratch(&self) -> &Path {
        self.scratch.path()
    }

    /// Put what can be read from `from` into the archive as `path`. `bytes` is about how many there
    /// will be.
    pub fn put(
        &mut self,
        path: &str,
        bytes: u64,
        from: &mut dyn Read,
    ) -> Result<Written, PutError> {
        let named = self.target.join(path);
        let failed = |error| PutError::Archive(ArchiveError::file(&named, "written", error));
        match &mut self.place {
            Place::Folder(folder) => {
                let to = folder.path().join(path);
                if let Some(parent) = to.parent() {
                    fs::create_dir_all(parent).map_err(failed)?;
                }
                let mut file = File::create_new(&to).map_err(failed)?;
                match copy(path, from, &mut file) {
                    Ok(written) => {
                        file.flush().map_err(failed)?;
                        Ok(written)
                    }
                    Err(CopyError::Read(error)) => {
                        fs::remove_file(&to).map_err(failed)?;
                        Err(PutError::Unreadable(error))
                    }
                    Err(CopyError::Write(error)) => Err(failed(error)),
                }
            }
            Place::Zip(zip) => {
                let options = SimpleFileOptions::default()
                    .compression_method(method(path))
                    .last_modified_time(self.at)
                    .unix_permissions(0o644)
                    // With room to spare: what grows while it is read must still fit.
                    .large_file(bytes > u64::from(u32::MAX) / 2);
                zip.start_file(path, options)
                    .map_err(|error| failed(error.into()))?;
                match copy(path, from, zip) {
                    Ok(written) => Ok(written),
                    Err(CopyError::Read(error)) => {
                        zip.abort_file().map_err(|error| failed(error.into()))?;
                        Err(PutError::Unreadable(error))
                    }
                    Err(CopyError::Write(error)) => Err(failed(error)),
                }
            }
        }
    }

    /// Put bytes.
    pub fn put_bytes(&mut self, path: &str, bytes: &[u8]) -> Result<Written, ArchiveError> {
        self.put(path, bytes.len() as u64, &mut &*bytes)
            .map_err(|error| match error {
                PutError::Archive(error) => error,
                PutError::Unreadable(error) => ArchiveError::file(Path::new(path), "read", error),
            })
    }

    /// Put a file of our own, which must be readable.
    pub fn put_file(&mut self, path: &str, from: &Path) -> Result<Written, ArchiveError> {
        let read = |error| ArchiveError::file(from, "read", error);
        let mut file = File::open(from).map_err(read)?;
        let bytes = file.metadata().map_err(read)?.len();
        self.put(path, bytes, &mut file)
            .map_err(|error| match error {
                PutError::Archive(error) => error,
                PutError::Unreadable(error) => read(error),
            })
    }

    /// Put it in its place.
    pub fn finish(self) -> Result<(), ArchiveError> {
        let written = |error| ArchiveError::file(&self.target, "written", error);
        match self.place {
            Place::Folder(folder) => {
                open_to_others(folder.path(), 0o755);
                refuse_taken(&self.target)?;
                fs::rename(folder.path(), &self.target).map_err(written)?;
                // It bears its own name now and must not be removed under the old one.
                let _ = folder.keep();
            }
            Place::Zip(zip) => {
                let file = zip
                    .finish()
                    .map_err(io::Error::from)
                    .and_then(|out| out.into_inner().map_err(io::IntoInnerError::into_error))
                    .map_err(written)?;
                file.as_file().sync_all().map_err(written)?;
                open_to_others(file.path(), 0o644);
                file.persist_noclobber(&self.target).map_err(|error| {
                    if error.error.kind() == io::ErrorKind::AlreadyExists {
                        ArchiveError::AlreadyThere {
                            path: self.target.clone(),
                        }
                    } else {
                        written(error.error)
                    }
                })?;
            }
        }
        Ok(())
    }
}

/// What is compressed already is stored as it is.
fn method(path: &str) -> CompressionMethod {
    let ending = path.rsplit_once('.').map_or("", |(_, ending)| ending);
    match ending {
        "csv" | "json" | "jsonl" | "md" => CompressionMethod::Deflated,
        _ => CompressionMethod::Stored,
    }
}

enum CopyError {
    Read(io::Error),
    Write(io::Error),
}

fn copy(path: &str, from: &mut dyn Read, to: &mut dyn Write) -> Result<Written, CopyError> {
    let mut failed = None;
    let looked = Digest::of_reader(
        Tee {
            from,
            to,
            failed: &mut failed,
        },
        &mut |_| (),
    );
    match (failed, looked) {
        (Some(error), _) => Err(CopyError::Write(error)),
        (None, Err(error)) => Err(CopyError::Read(error)),
        (None, Ok((sha256, bytes))) => Ok(Written {
            path: path.into(),
            bytes,
            sha256,
        }),
    }
}

/// Everything read is written as well; which of the two failed is told apart.
struct Tee<'a> {
    from: &'a mut dyn Read,
    to: &'a mut dyn Write,
    failed: &'a mut Option<io::Error>,
}

impl Read for Tee<'_> {
    fn read(&mut self, piece: &mut [u8]) -> io::Result<usize> {
        let read = self.from.read(piece)?;
        if let Err(error) = self.to.write_all(piece.get(..read).unwrap_or_default()) {
            *self.failed = Some(error);
            return Err(io::Error::other("the archive cannot be written"));
        }
        Ok(read)
    }
}

/// Zip files know local times from 1980 to 2107, to two seconds; here UTC.
fn zip_time(made: jiff::Timestamp) -> DateTime {
    let made = jiff::tz::Offset::UTC.to_datetime(made);
    let part = |value: i8| u8::try_from(value).unwrap_or(0);
    DateTime::from_date_and_time(
        u16::try_from(made.year()).unwrap_or(0),
        part(made.month()),
        part(made.day()),
        part(made.hour()),
        part(made.minute()),
        part(made.second()),
    )
    .unwrap_or_default()
}

pub(crate) fn refuse_taken(target: &Path) -> Result<(), ArchiveError> {
    let empty_folder =
        !is_zip(target) && fs::read_dir(target).is_ok_and(|mut entries| entries.next().is_none());
    if target.symlink_metadata().is_ok() && !empty_folder {
        return Err(ArchiveError::AlreadyThere {
            path: target.into(),
        });
    }
    Ok(())
}

/// Temporary files are private to their maker; an archive is as open as anything new.
pub(crate) fn open_to_others(path: &Path, mode: u32) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // A file system without permissions keeps what it has.
        let _ = fs::set_permissions(path, fs::Permissions::from_mode(mode));
    }
    #[cfg(not(unix))]
    let _ = (path, mode);
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Full;

    impl Write for Full {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::StorageFull.into())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_full_disk_is_told_from_a_source_that_cannot_be_read() {
        let Err(CopyError::Write(error)) = copy("a", &mut &b"abc"[..], &mut Full) else {
            panic!("it was written nowhere");
        };
        let said = ArchiveError::file(Path::new("out.zip"), "written", error).to_string();
        assert!(
            said.starts_with("there is no room left on the disk of out.zip"),
            "{said}"
        );
        let missing = io::Error::from(io::ErrorKind::NotFound);
        let mut broken = io::Read::chain(&b"abc"[..], Broken(Some(missing)));
        assert!(matches!(
            copy("a", &mut broken, &mut Vec::new()),
            Err(CopyError::Read(_))
        ));
    }

    struct Broken(Option<io::Error>);

    impl Read for Broken {
        fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
            self.0.take().map_or(Ok(0), Err)
        }
    }
}
