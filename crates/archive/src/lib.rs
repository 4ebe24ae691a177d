//! Lab books and samples in open formats, out and in again.
//!
//! In: a lab book, or an archive of one. Out: an archive that can be looked at without the program (an
//! RO-Crate in a folder or a zip file: records with their hashes, tables, pictures and videos as captured), and
//! from that the same book again, bit for bit. `docs/models/archive.md` says what is in an archive.
//!
//! ```no_run
//! # async fn example() -> Result<(), meltrange_archive::ArchiveError> {
//! use meltrange_archive::{ExportOrder, export_book, restore};
//! use meltrange_labbook::{Access, Book};
//!
//! let book = Book::open("practical".as_ref(), Access::Read).await?;
//! let order = ExportOrder::to("practical.zip");
//! export_book(&book, &order, &mut |_| ()).await?;
//! let restored = restore("practical.zip".as_ref(), "again".as_ref(), &mut |_| ()).await?;
//! assert_eq!(restored.head, book.store().head().await?);
//! # Ok(()) }
//! ```

mod book_out;
mod calendar;
mod crate_metadata;
mod error;
mod film;
mod manifest;
mod out;
mod pictures_again;
mod readme;
mod recordings;
mod restore;
mod sample_in;
mod sample_out;
mod selection;
mod source;
mod tables;
mod verified;

pub use book_out::{ExportOrder, Exported, export_book};
pub use calendar::{CalendarOrder, calendar};
pub use error::ArchiveError;
pub use film::{Film, export_film};
pub use manifest::{ArchiveManifest, ArchiveOf, HeadNote, Incomplete};
pub use restore::{Restored, restore};
pub use sample_in::{BroughtIn, bring_in};
pub use sample_out::export_sample;
pub use tables::{TableForms, export_table};

/// The records of an archive: a line each.
pub(crate) const RECORDS: &str = "records.jsonl";

/// This program, as archives name it.
pub(crate) const PROGRAM: &str = concat!("meltrange ", env!("CARGO_PKG_VERSION"));
