//! A book in open formats: CSV for tables, JSON lines for records, pictures and videos as captured.

mod recordings;
mod tables;
mod thermometers;

use crate::book::Book;
use crate::chain::Head;
use crate::error::BookError;
use crate::ids::RunId;
use crate::query::{LONGEST_PAGE, RecordingDetail, RecordingQuery};
use crate::records::{Entry, Record};
use serde::Serialize;
use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{BufWriter, Write as _};
use std::path::Path;

/// What was exported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Exported {
    /// Records.
    pub records: u64,
    /// Recordings.
    pub recordings: u64,
    /// Pictures, as files of their own.
    pub pictures: u64,
    /// Where the chain stood.
    pub head: Head,
}

impl Book {
    /// Write the whole book into `target`, a new or empty folder; it appears whole or not at all.
    /// `progress` hears the part done, 0..=1.
    ///
    /// # Errors
    /// [`BookError::AlreadyThere`]; otherwise what stands in the way. `target` is then as it was.
    pub async fn export(
        &self,
        target: &Path,
        progress: &mut (dyn FnMut(f64) + Send),
    ) -> Result<Exported, BookError> {
        refuse_taken(target)?;
        let written = |error| BookError::file(target, "written", error);
        let parent = match target.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        fs::create_dir_all(parent).map_err(written)?;
        let beside = tempfile::Builder::new()
            .prefix(".export-unfinished-")
            .tempdir_in(parent)
            .map_err(written)?;
        let exported = self.fill(beside.path(), progress).await?;
        open_to_others(beside.path());
        refuse_taken(target)?;
        fs::rename(beside.path(), target).map_err(written)?;
        // It bears its own name now and must not be removed under the old one.
        let _ = beside.keep();
        Ok(exported)
    }

    async fn fill(
        &self,
        folder: &Path,
        progress: &mut (dyn FnMut(f64) + Send),
    ) -> Result<Exported, BookError> {
        let (head, runs) = self.records(folder).await?;
        tables::people(self, &folder.join("people.csv")).await?;
        tables::samples(self, &folder.join("samples.csv")).await?;
        let all = self.all_recordings().await?;
        tables::recordings(&folder.join("recordings.csv"), &all)?;
        tables::readings(self, &folder.join("readings.csv"), &all).await?;
        tables::events(self, &folder.join("events.csv"), &runs).await?;
        tables::determinations(self, &folder.join("determinations.csv")).await?;
        tables::verdicts(self, &folder.join("verdicts.csv")).await?;
        thermometers::write(self, folder).await?;
        let mut pictures = 0;
        for (number, detail) in (1_u64..).zip(&all) {
            pictures += recordings::write(self, folder, detail)?;
            progress(number as f64 / all.len() as f64);
        }
        Ok(Exported {
            records: head.seq,
            recordings: all.len() as u64,
            pictures,
            head,
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
                let line = serde_json::json!({
                    "hash": record.hash,
                    "content": crate::chain::content_of(record)?,
                });
                serde_json::to_writer(&mut out, &line)?;
                out.write_all(b"\n").map_err(written)?;
                self.attachment_of(folder, record).await?;
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

    async fn attachment_of(&self, folder: &Path, record: &Record) -> Result<(), BookError> {
        let Entry::Reading(reading) = &record.entry else {
            return Ok(());
        };
        let Some(digest) = reading.curves else {
            return Ok(());
        };
        let place = folder.join("curves");
        let path = place.join(format!("{}.json", record.subject));
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

fn refuse_taken(target: &Path) -> Result<(), BookError> {
    let empty_folder = fs::read_dir(target).is_ok_and(|mut entries| entries.next().is_none());
    if target.symlink_metadata().is_ok() && !empty_folder {
        return Err(BookError::AlreadyThere {
            path: target.into(),
        });
    }
    Ok(())
}

/// Temporary folders are private to their maker; an export is as open as any new folder.
fn open_to_others(folder: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // A file system without permissions keeps what it has.
        let _ = fs::set_permissions(folder, fs::Permissions::from_mode(0o755));
    }
    #[cfg(not(unix))]
    let _ = folder;
}
