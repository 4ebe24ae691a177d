//! A shared book's records written out into a folder, each checked: what a verification and a copy begin with.

use super::central::Central;
use crate::digest::Digest;
use crate::error::BookError;
use crate::export::RecordLine;
use crate::ids::RecordingId;
use crate::records::Recording;
use crate::restore::{RestoreError, Restoring};
use sqlx::postgres::PgConnection;
use std::collections::BTreeMap;
use std::path::Path;

/// Records fetched at a time.
const PIECE: i64 = 1000;

/// Write records and attachments into `folder`, new or empty; the recordings that they speak of.
pub(crate) async fn take_out(
    central: &Central,
    connection: &mut PgConnection,
    folder: &Path,
) -> Result<BTreeMap<RecordingId, Recording>, BookError> {
    let mut book = Restoring::begin(folder).await?;
    let mut seq = 0;
    loop {
        let rows = central.after(connection, seq, PIECE).await?;
        if rows.is_empty() {
            break;
        }
        for (_, hash, content) in rows {
            seq += 1;
            book.record(&RecordLine { hash, content })
                .await
                .map_err(|error| altered(central, seq, error))?;
        }
        let wanted: Vec<Digest> = book.missing_attachments().collect();
        for digest in wanted {
            if let Some(bytes) = central.attachment(connection, digest).await? {
                book.attachment(&bytes).await?;
            }
        }
    }
    let recordings = book.recordings().clone();
    book.end().await?;
    Ok(recordings)
}

fn altered(central: &Central, seq: u64, error: RestoreError) -> BookError {
    match error {
        RestoreError::Book(error) => error,
        RestoreError::Content(source) => BookError::Altered {
            path: central.shown().into(),
            seq,
            source,
        },
        other => BookError::Damaged {
            path: central.shown().into(),
            found: other.to_string(),
        },
    }
}
