//! A file that appears whole or not at all.

use crate::failure::Failure;
use std::io::Write as _;
use std::path::Path;

/// Write it; what is there is not written over.
pub(crate) fn new_file(out: &Path, bytes: &[u8]) -> Result<(), Failure> {
    put_file(out, bytes, false)
}

/// Write it, over what is there where that is asked for.
pub(crate) fn put_file(out: &Path, bytes: &[u8], replace: bool) -> Result<(), Failure> {
    let place = out.display();
    let written = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::AlreadyExists => {
            Failure::new(format!("{place} is there already")).hint("name another file")
        }
        _ => Failure::new(format!("{place} cannot be written: {error}"))
            .hint("is there such a folder, and room in it?"),
    };
    let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut beside =
        tempfile::NamedTempFile::new_in(folder.unwrap_or(Path::new("."))).map_err(written)?;
    beside.write_all(bytes).map_err(written)?;
    // A full disk may show only here.
    beside.as_file().sync_all().map_err(written)?;
    open_to_others(beside.path());
    if replace {
        beside.persist(out)
    } else {
        beside.persist_noclobber(out)
    }
    .map_err(|error| written(error.error))?;
    Ok(())
}

/// Temporary files are private to their maker.
fn open_to_others(path: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // A file system without permissions keeps what it has.
        let _ = std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = path;
}
