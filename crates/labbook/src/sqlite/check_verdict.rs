//! Whether what a verdict rests on is in the book, and is what it says.

use super::check::tube_exists;
use super::{Connection, fetch};
use crate::error::BookError;
use crate::ids::SubjectId;
use crate::records::{Entry, SampleVerdict};
use std::path::Path;

pub(super) async fn grounds(
    connection: &mut Connection,
    path: &Path,
    subject: SubjectId,
    said: &SampleVerdict,
) -> Result<(), BookError> {
    one_of_a_sample(connection, path, subject, said).await?;
    let record = fetch::by_id(connection, path, said.result_record).await?;
    let of_sample = match &record.entry {
        Entry::Determination(result) => {
            record.subject == said.determination.into() && result.sample == said.sample
        }
        _ => false,
    };
    if !of_sample {
        return Err(BookError::Field {
            field: "verdict.result_record",
            found: said.result_record.to_string(),
            expected: "a record of the result that is named, of the same sample",
        });
    }
    for mixed in &said.mixed_meltings {
        for tube in [mixed.sample_tube, mixed.reference_tube, mixed.mixture_tube] {
            tube_exists(connection, path, tube.reading.into(), tube.place).await?;
            let reading = fetch::latest(connection, path, tube.reading.into()).await?;
            let here = matches!(&reading.entry, Entry::Reading(reading) if reading.recording == mixed.recording);
            if !here {
                return Err(BookError::Field {
                    field: "verdict.reading",
                    found: tube.reading.to_string(),
                    expected: "a reading of the recording that is named",
                });
            }
        }
    }
    Ok(())
}

/// A sample has one verdict, and a verdict stays with its sample.
async fn one_of_a_sample(
    connection: &mut Connection,
    path: &Path,
    subject: SubjectId,
    said: &SampleVerdict,
) -> Result<(), BookError> {
    let others: Vec<(String, String)> =
        sqlx::query_as("SELECT subject, sample FROM verdict WHERE subject = ?1 OR sample = ?2")
            .bind(subject.to_string())
            .bind(said.sample.to_string())
            .fetch_all(connection)
            .await
            .map_err(|source| BookError::database(path, source))?;
    let own = (subject.to_string(), said.sample.to_string());
    match others.into_iter().find(|found| *found != own) {
        None => Ok(()),
        Some((other, sample)) => Err(BookError::Field {
            field: "verdict.sample",
            found: format!("{}, with verdict {other} of sample {sample}", said.sample),
            expected: "one verdict of a sample, said anew in its place, and of the same sample",
        }),
    }
}
