//! What was learned of a bench, written into its file without touching the rest of it.

use super::BenchFile;
use crate::error::BenchFileError;
use meltrange_planning::LearnedBench;
use std::path::Path;
use toml_edit::{DocumentMut, Item, Table};

/// Said above the table.
const NOTE: &str = "\n# Learned from the logs of runs; written by `meltrange bench learn`, best not changed by hand.\n";

impl BenchFile {
    /// Write what was learned into the table `learned` of a bench file, in place of what stood there. Comments, order and
    /// all other keys stay. The file is replaced as a whole, or not at all.
    ///
    /// # Errors
    /// [`BenchFileError`] for a file that cannot be read or written, or is no bench file.
    pub fn write_learned(path: &Path, learned: &LearnedBench) -> Result<(), BenchFileError> {
        let unreadable = |source| BenchFileError::Unreadable {
            path: path.into(),
            source,
        };
        let unwritable = |source| BenchFileError::Unwritable {
            path: path.into(),
            source,
        };
        let form = |found: String| BenchFileError::Form {
            path: path.into(),
            found,
        };
        let text = std::fs::read_to_string(path).map_err(unreadable)?;
        let mut document: DocumentMut = text
            .parse()
            .map_err(|error: toml_edit::TomlError| form(error.to_string()))?;
        let fields =
            toml_edit::ser::to_document(learned).map_err(|error| form(error.to_string()))?;
        let mut table = Table::new();
        for (name, item) in fields.iter() {
            let mut item = item.clone();
            // Value and uncertainty stand on one line.
            item.make_value();
            table.insert(name, item);
        }
        let after_others = document.iter().count() > 0;
        table
            .decor_mut()
            .set_prefix(if after_others { NOTE } else { "" });
        document.remove("learned");
        document.insert("learned", Item::Table(table));
        let written = document.to_string();
        BenchFile::parse(&written, path)?;
        let folder = path
            .parent()
            .filter(|folder| !folder.as_os_str().is_empty());
        let mut new = tempfile::NamedTempFile::new_in(folder.unwrap_or(Path::new(".")))
            .map_err(unwritable)?;
        std::io::Write::write_all(&mut new, written.as_bytes()).map_err(unwritable)?;
        if let Ok(old) = std::fs::metadata(path) {
            new.as_file()
                .set_permissions(old.permissions())
                .map_err(unwritable)?;
        }
        new.as_file().sync_all().map_err(unwritable)?;
        new.persist(path).map_err(|error| unwritable(error.error))?;
        Ok(())
    }
}
