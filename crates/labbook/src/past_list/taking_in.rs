//! Past results on their way into a book: samples that are not there yet are added with them.

use super::{ListedPast, PastList};
use crate::book::Book;
use crate::error::BookError;
use crate::ids::{PersonId, SampleId};
use crate::records::{Draft, PastResult, Sample};
use std::collections::BTreeMap;

/// A row with what the book says to it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedPast {
    /// The row.
    pub row: ListedPast,
    /// The sample with its label; none where it would be added.
    pub sample: Option<SampleId>,
    /// Whether the same result of the same file and line is there already.
    pub there_already: bool,
}

/// What was taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PastTaken {
    /// Results recorded.
    pub past_results: u64,
    /// Samples added for them.
    pub samples_added: u64,
    /// Rows passed over because they are there already.
    pub there_already: u64,
}

impl Book {
    /// What the book says to each row of a table; nothing is recorded.
    ///
    /// # Errors
    /// [`BookError`] where the book cannot be read.
    pub async fn place_past(
        &self,
        file_name: &str,
        rows: Vec<ListedPast>,
    ) -> Result<Vec<PlacedPast>, BookError> {
        let mut known: BTreeMap<String, Option<(SampleId, Vec<PastResult>)>> = BTreeMap::new();
        let mut placed = Vec::with_capacity(rows.len());
        for row in rows {
            let key = crate::text::key(&row.label);
            if !known.contains_key(&key) {
                let found = match self.store().sample_labelled(&row.label).await? {
                    None => None,
                    Some(sample) => {
                        let detail = self.store().sample(sample.id).await?;
                        let past = detail.past_results.into_iter();
                        Some((sample.id, past.map(|one| one.past_result).collect()))
                    }
                };
                known.insert(key.clone(), found);
            }
            let found = known.get(&key).and_then(Option::as_ref);
            let same = |past: &PastResult| {
                !past.void
                    && past.file_name == file_name
                    && past.line == row.line
                    && past.as_written == row.as_written
            };
            placed.push(PlacedPast {
                sample: found.map(|(id, _)| *id),
                there_already: found.is_some_and(|(_, past)| past.iter().any(same)),
                row,
            });
        }
        Ok(placed)
    }

    /// Record the rows of a table as `who`: all of them or none. Those that are there already are passed over.
    ///
    /// # Errors
    /// [`BookError`]; then nothing was recorded.
    pub async fn take_past(
        &self,
        who: PersonId,
        file_name: &str,
        list: PastList,
    ) -> Result<PastTaken, BookError> {
        let placed = self.place_past(file_name, list.rows).await?;
        let mut added: BTreeMap<String, SampleId> = BTreeMap::new();
        let mut drafts = Vec::new();
        let mut taken = PastTaken {
            past_results: 0,
            samples_added: 0,
            there_already: 0,
        };
        for PlacedPast {
            row,
            sample,
            there_already,
        } in placed
        {
            if there_already {
                taken.there_already += 1;
                continue;
            }
            let key = crate::text::key(&row.label);
            let sample = match sample.or_else(|| added.get(&key).copied()) {
                Some(sample) => sample,
                None => {
                    let draft = Draft::new(Sample {
                        label: row.label.clone(),
                        expected_substance: row.substance.clone(),
                        ..Sample::default()
                    });
                    let id = draft.subject().into();
                    drafts.push(draft);
                    added.insert(key, id);
                    taken.samples_added += 1;
                    id
                }
            };
            taken.past_results += 1;
            drafts.push(Draft::new(PastResult {
                sample,
                substance: row.substance,
                from_c: row.from_c,
                to_c: row.to_c,
                above: row.above,
                decomposed: row.decomposed,
                mark: row.mark,
                heating_rate_c_per_min: row.heating_rate_c_per_min,
                measured_on: row.measured_on,
                by: row.by,
                source: row.source,
                remarks: row.remarks,
                as_written: row.as_written,
                file_name: file_name.into(),
                line: row.line,
                void: false,
            }));
        }
        if !drafts.is_empty() {
            self.append(who, drafts).await?;
        }
        Ok(taken)
    }
}
