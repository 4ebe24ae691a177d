//! `frames.csv`: which picture was taken when.

use crate::table::{self, Layout, TableError};

const LAYOUT: Layout = Layout {
    columns: &["file", "time_s"],
    expected: "file,time_s",
};

/// One row of a `frames.csv`.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameEntry {
    /// Line in the list, from 1.
    pub line: u64,
    /// Path of the picture, relative to its folder.
    pub file: String,
    /// Time as listed [s].
    pub time_s: f64,
}

/// Read a list of pictures: columns `file` and `time_s` by name, `#` begins a comment line.
///
/// `name` stands for the list in messages. Rows keep their order; times are not checked against
/// each other here.
///
/// # Errors
/// [`TableError`] with line and column.
pub fn parse_frame_list(name: &str, bytes: &[u8]) -> Result<Vec<FrameEntry>, TableError> {
    table::read(name, bytes, LAYOUT)?
        .into_iter()
        .map(|row| {
            let [file, time] = <[String; 2]>::try_from(row.cells)
                .expect("a row has as many cells as the layout has columns");
            if file.is_empty() || file.contains('\0') {
                return Err(TableError::Cell {
                    name: name.into(),
                    line: row.line,
                    column: "file",
                    found: table::shortened(&file),
                    expected: "the name of a picture",
                });
            }
            Ok(FrameEntry {
                line: row.line,
                time_s: table::number(name, row.line, "time_s", &time)?,
                file,
            })
        })
        .collect()
}
