//! A shared book's copy in a folder, brought up to date again and again: what is there already is not fetched anew.

use super::address::Address;
use super::carrying::PLACE;
use super::central::Central;
use super::copying::{Copied, copy_out_of_shared, ended_recordings};
use super::depot::Depot;
use crate::book::{Book, DATABASE, RECORDINGS};
use crate::error::BookError;
use crate::records::Entry;
use std::path::Path;

/// Bring the copy in `folder` up to the shared book at `from`, or make one; what was added to it. The copy is an ordinary book
/// that can be verified, looked at and copied into an empty database again. `progress` hears the part done, 0..=1.
///
/// # Errors
/// [`BookError`]: the folder holds another book, or this one with records of its own; what cannot be reached or
/// written. What was added until then stays, whole.
pub async fn back_up_shared(
    from: &Path,
    folder: &Path,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<Copied, BookError> {
    if !folder.join(DATABASE).exists() {
        return copy_out_of_shared(from, folder, progress).await;
    }
    let address = Address::of(from)?.ok_or_else(|| BookError::Address {
        shown: from.display().to_string(),
        found: "it is a folder".into(),
    })?;
    let central = Central::at(&address);
    central.known_form().await?;
    // Not put in order: what is under way is under way elsewhere, and the copy has no records of its own.
    let book = Book::open_as_it_is(folder).await?;
    let added = bring_up(&book, &central, progress).await;
    book.close().await;
    central.close().await;
    added
}

async fn bring_up(
    book: &Book,
    central: &Central,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<Copied, BookError> {
    let store = book.sqlite();
    let mut connection = central.connection().await?;
    if !store.is_copy_of(central, &mut connection).await? {
        return Err(BookError::Central {
            address: central.shown().to_owned(),
            found: format!(
                "{} is no copy of it: it holds another book, or records of its own; name a new folder",
                book.folder().display()
            ),
        });
    }
    let before = book.store().head().await?.seq;
    store
        .catch_up(central, &mut connection, &mut Vec::new())
        .await?;
    let records = book.store().head().await?.seq - before;
    drop(connection);
    progress(0.2);
    let mut missing = ended_recordings(book).await?;
    missing.retain(|&id| !book.recording_folder(id).exists());
    let recordings = missing.len() as u64;
    if missing.is_empty() {
        progress(1.0);
        return Ok(Copied {
            records,
            recordings,
        });
    }
    let place = central.place(PLACE).await?;
    let depot = place.as_deref().map(Depot::at).transpose()?;
    for (number, id) in (1_u32..).zip(missing) {
        let depot = depot.as_ref().ok_or_else(|| BookError::Elsewhere {
            recording: id.to_string(),
        })?;
        if let Entry::Recording(recording) = book.store().latest(id.into()).await?.entry
            && let Some(end) = recording.end
        {
            depot
                .fetch(id, end.manifest, &book.folder().join(RECORDINGS))
                .await?;
        }
        progress(0.2 + 0.8 * f64::from(number) / recordings as f64);
    }
    Ok(Copied {
        records,
        recordings,
    })
}
