//! Tables with types: CSV as the book writes it, and the same as Apache Parquet.

use crate::error::ArchiveError;
use crate::out::{open_to_others, room_beside};
use meltrange_labbook::Book;
use parquet::basic::{LogicalType, Repetition, Type as Physical};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::types::{Type, TypePtr};
use std::fs::File;
use std::path::Path;
use std::sync::Arc;

/// Rows held at a time.
const ROWS: usize = 20_000;

/// What a column holds. Empty cells are null in each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Cells {
    Double,
    Whole,
    YesNo,
    Text,
}

/// Columns of whole numbers.
const WHOLE: [&str; 7] = [
    "place",
    "tube",
    "recordings",
    "readings",
    "degree",
    "mixed_meltings",
    "line",
];

/// Columns of yes and no.
const YES_NO: [&str; 11] = [
    "dried",
    "ground",
    "cut",
    "agreed",
    "outdated",
    "retired",
    "void",
    "withdrawn",
    "decomposed",
    "above",
    "holds",
];

impl Cells {
    /// By the column's name: it carries the unit of what is a measurement.
    fn of(column: &str) -> Self {
        let unit = ["_c", "_s", "_mm", "_c_per_min"]
            .iter()
            .any(|unit| column.ends_with(unit));
        if unit || matches!(column, "u_first_c" | "u_last_c") {
            Self::Double
        } else if WHOLE.contains(&column) {
            Self::Whole
        } else if YES_NO.contains(&column) {
            Self::YesNo
        } else {
            Self::Text
        }
    }
}

/// Which tables an archive holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TableForms {
    /// As CSV, beside the records.
    pub csv: bool,
    /// As Parquet, in `tables/`.
    pub parquet: bool,
}

impl Default for TableForms {
    fn default() -> Self {
        Self {
            csv: true,
            parquet: true,
        }
    }
}

/// Turn the CSV tables in `folder` into what is asked for.
pub(crate) fn shape(folder: &Path, forms: TableForms) -> Result<(), ArchiveError> {
    let tables = folder.join("tables");
    for name in names(folder)? {
        let path = folder.join(format!("{name}.csv"));
        if forms.parquet {
            std::fs::create_dir_all(&tables)
                .map_err(|error| ArchiveError::file(&tables, "written", error))?;
            parquet_of(&path, &tables.join(format!("{name}.parquet")))?;
        }
        if !forms.csv {
            std::fs::remove_file(&path)
                .map_err(|error| ArchiveError::file(&path, "removed", error))?;
        }
    }
    Ok(())
}

/// The tables in `folder`, by name.
fn names(folder: &Path) -> Result<Vec<String>, ArchiveError> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .map_err(|error| ArchiveError::file(folder, "read", error))?
        .flatten()
        .filter_map(|entry| {
            let name = entry.file_name();
            Some(name.to_string_lossy().strip_suffix(".csv")?.to_owned())
        })
        .collect();
    names.sort();
    Ok(names)
}

/// Write one table of a book, `samples` for instance, into the new file `out`, as CSV or Parquet by its
/// ending.
///
/// # Errors
/// [`ArchiveError`]: there is no such table, or `out` is there already; nothing is left then.
pub async fn export_table(book: &Book, name: &str, out: &Path) -> Result<(), ArchiveError> {
    if out.symlink_metadata().is_ok() {
        return Err(ArchiveError::AlreadyThere { path: out.into() });
    }
    let written = |error| ArchiveError::file(out, "written", error);
    let room = room_beside(out, ".table-unfinished-")?;
    book.export_tables(room.path()).await?;
    let all = names(room.path())?;
    if !all.iter().any(|there| there == name) {
        return Err(ArchiveError::NoTable {
            found: name.into(),
            expected: all.join(", "),
        });
    }
    let mut path = room.path().join(format!("{name}.csv"));
    if out
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("parquet"))
    {
        let typed = room.path().join("typed.parquet");
        parquet_of(&path, &typed)?;
        path = typed;
    }
    open_to_others(&path, 0o644);
    std::fs::rename(&path, out).map_err(written)
}

/// A CSV table as Parquet.
fn parquet_of(csv_path: &Path, out: &Path) -> Result<(), ArchiveError> {
    let read = |error: csv::Error| ArchiveError::file(csv_path, "read", error.into());
    let failed =
        |error: ParquetError| ArchiveError::file(out, "written", std::io::Error::other(error));
    let mut table = csv::Reader::from_path(csv_path).map_err(read)?;
    let columns: Vec<(String, Cells)> = table
        .headers()
        .map_err(read)?
        .iter()
        .map(|name| (name.to_owned(), Cells::of(name)))
        .collect();
    let schema = schema(&columns).map_err(failed)?;
    let properties = WriterProperties::builder()
        // The same table gives the same file.
        .set_created_by(crate::PROGRAM.into())
        .build();
    let file = File::create_new(out).map_err(|error| ArchiveError::file(out, "written", error))?;
    let mut writer =
        SerializedFileWriter::new(file, schema, Arc::new(properties)).map_err(failed)?;
    let mut rows = Vec::new();
    let mut first_line = 2;
    let mut record = csv::StringRecord::new();
    loop {
        let more = table.read_record(&mut record).map_err(read)?;
        if more {
            rows.push(record.clone());
        }
        if rows.len() == ROWS || (!more && !rows.is_empty()) {
            let mut group = writer.next_row_group().map_err(failed)?;
            write_group(csv_path, out, &columns, &rows, first_line, &mut group)?;
            group.close().map_err(failed)?;
            first_line += rows.len() as u64;
            rows.clear();
        }
        if !more {
            break;
        }
    }
    writer.close().map_err(failed)?;
    Ok(())
}

fn schema(columns: &[(String, Cells)]) -> Result<TypePtr, ParquetError> {
    let fields = columns
        .iter()
        .map(|(name, cells)| {
            let (physical, logical) = match cells {
                Cells::Double => (Physical::DOUBLE, None),
                Cells::Whole => (Physical::INT64, None),
                Cells::YesNo => (Physical::BOOLEAN, None),
                Cells::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
            };
            Type::primitive_type_builder(name, physical)
                .with_logical_type(logical)
                .with_repetition(Repetition::OPTIONAL)
                .build()
                .map(Arc::new)
        })
        .collect::<Result<_, _>>()?;
    Type::group_type_builder("table")
        .with_fields(fields)
        .build()
        .map(Arc::new)
}

fn write_group(
    csv_path: &Path,
    out: &Path,
    columns: &[(String, Cells)],
    rows: &[csv::StringRecord],
    first_line: u64,
    group: &mut SerializedRowGroupWriter<'_, File>,
) -> Result<(), ArchiveError> {
    let failed =
        |error: ParquetError| ArchiveError::file(out, "written", std::io::Error::other(error));
    for (at, (name, cells)) in columns.iter().enumerate() {
        let text = |row: &csv::StringRecord| row.get(at).unwrap_or_default().to_owned();
        let present: Vec<i16> = rows
            .iter()
            .map(|row| i16::from(!text(row).is_empty()))
            .collect();
        let filled = (first_line..)
            .zip(rows)
            .map(|(line, row)| (line, text(row)))
            .filter(|(_, cell)| !cell.is_empty());
        let wrong = |line: u64, found: &str, expected| ArchiveError::Cell {
            table: csv_path.display().to_string(),
            line,
            column: name.clone(),
            found: found.to_owned(),
            expected,
        };
        let Some(mut column) = group.next_column().map_err(failed)? else {
            break;
        };
        let levels = Some(present.as_slice());
        match cells {
            Cells::Double => {
                let values = filled
                    .map(|(line, cell)| cell.parse().map_err(|_| wrong(line, &cell, "a number")))
                    .collect::<Result<Vec<f64>, _>>()?;
                column
                    .typed::<DoubleType>()
                    .write_batch(&values, levels, None)
            }
            Cells::Whole => {
                let values = filled
                    .map(|(line, cell)| {
                        cell.parse()
                            .map_err(|_| wrong(line, &cell, "a whole number"))
                    })
                    .collect::<Result<Vec<i64>, _>>()?;
                column
                    .typed::<Int64Type>()
                    .write_batch(&values, levels, None)
            }
            Cells::YesNo => {
                let values = filled
                    .map(|(line, cell)| match cell.as_str() {
                        "yes" => Ok(true),
                        "no" => Ok(false),
                        _ => Err(wrong(line, &cell, "yes or no")),
                    })
                    .collect::<Result<Vec<bool>, _>>()?;
                column
                    .typed::<BoolType>()
                    .write_batch(&values, levels, None)
            }
            Cells::Text => {
                let values: Vec<ByteArray> = filled
                    .map(|(_, cell)| ByteArray::from(cell.into_bytes()))
                    .collect();
                column
                    .typed::<ByteArrayType>()
                    .write_batch(&values, levels, None)
            }
        }
        .map_err(failed)?;
        column.close().map_err(failed)?;
    }
    Ok(())
}
