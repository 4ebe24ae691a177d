//! A book in open formats: CSV for tables, JSON lines for records, pictures and videos as captured.
//! `meltrange-archive` makes archives of them.

mod captured;
mod lines;
mod out_and_in;
mod tables;
mod thermometers;

pub use captured::{Captured, CapturedPictures};
pub use lines::{RecordLine, attachment_of, references};

use crate::book::Book;
use crate::chain::Head;
use crate::error::BookError;
use crate::ids::RunId;
use crate::query::{LONGEST_PAGE, RecordingDetail, RecordingQuery};
use crate::records::{Entry, Record};
use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{BufWriter, Write as _};
use std::path::Path;

/// What was written of a book's records and tables.
#[derive(Debug)]
pub struct Exported {
    /// Where the chain stands.
    pub head: Head,
    /// All recordings, newest first.
    pub recordings: Vec<RecordingDetail>,
}

impl Book {
    /// Write all records (`records.jsonl`), their attachments (`curves/`) and the tables (CSV) into
    /// `folder`, which is made if it is not there. Recordings are [`Book::captured`].
    ///
    /// # Errors
    /// [`BookError`]; `folder` then holds a part.
    pub async fn export_tables(&self, folder: &Path) -> Result<Exported, BookError> {
        fs::create_dir_all(folder).map_err(|error| BookError::file(folder, "written", error))?;
        let (head, runs) = self.records(folder).await?;
        tables::people(self, &folder.join("people.csv")).await?;
        tables::samples(self, &folder.join("samples.csv")).await?;
        let all = self.all_recordings().await?;
        tables::recordings(&folder.join("recordings.csv"), &all)?;
        tables::readings(self, &folder.join("readings.csv"), &all).await?;
        tables::events(self, &folder.join("events.csv"), &runs).await?;
        tables::determinations(self, &folder.join("determinations.csv")).await?;
        tables::verdicts(self, &folder.join("verdicts.csv")).await?;
        out_and_in::sign_offs(self, &folder.join("sign_offs.csv")).await?;
        out_and_in::past_results(self, &folder.join("past_results.csv")).await?;
        thermometers::write(self, folder).await?;
        Ok(Exported {
            head,
            recordings: all,
        })
    }

    /// `records.jsonl`: a line for each record with its hash and the very text that was hashed; and
    /// what they refer to. The runs in which something happened, in the order it was recorded.
    async fn records(&self, folder: &Path) -> Result<(Head, Vec<RunId>), BookError> {
        let path = folder.join("records.jsonl");
        let written = |error| BookError::file(&path, "written", error);
        let mut out = BufWriter::new(File::create(&path).map_err(written)?);
        let mut head = Head::default();
        let mut runs = Vec::new();
        let mut seen = BTreeSet::new();
        loop {
            let records = self.store().after(head.seq, LONGEST_PAGE).await?;
            let Some(last) = records.last() else {
                break;
            };
            head = Head {
                seq: last.seq,
                hash: Some(last.hash),
            };
            for record in &records {
                out.write_all(RecordLine::of(record)?.text()?.as_bytes())
                    .map_err(written)?;
                self.write_attachment(folder, record).await?;
                if let Entry::Event(event) = &record.entry
                    && seen.insert(event.run)
                {
                    runs.push(event.run);
                }
            }
        }
        out.into_inner()
            .map_err(|error| written(error.into_error()))?
            .sync_all()
            .map_err(written)?;
        Ok((head, runs))
    }

    async fn write_attachment(&self, folder: &Path, record: &Record) -> Result<(), BookError> {
        let Some(digest) = attachment_of(&record.entry) else {
            return Ok(());
        };
        let place = folder.join("curves");
        let mut path = place.join(format!("{}.json", record.subject));
        if path.exists() {
            // One that takes the place of another has curves of its own.
            path = place.join(format!("{}-{}.json", record.subject, record.id));
        }
        let bytes = self.store().attachment(digest).await?;
        fs::create_dir_all(&place)
            .and_then(|()| fs::write(&path, bytes))
            .map_err(|error| BookError::file(&path, "written", error))
    }

    async fn all_recordings(&self) -> Result<Vec<RecordingDetail>, BookError> {
        let mut all = Vec::new();
        loop {
            let query = RecordingQuery {
                offset: all.len() as u64,
                limit: LONGEST_PAGE,
                ..RecordingQuery::default()
            };
            let page = self.store().recordings(&query).await?;
            if page.rows.is_empty() {
                return Ok(all);
            }
            for row in page.rows {
                all.push(self.store().recording(row.id).await?);
            }
        }
    }
}
