//! Which records concern one sample.

use crate::error::ArchiveError;
use meltrange_labbook::{
    Book, Entry, Kind, LONGEST_PAGE, Record, RecordingId, SampleId, SubjectId, references,
};
use std::collections::BTreeSet;

/// What is kept of a record while it is decided.
struct Light {
    subject: SubjectId,
    kind: Kind,
    speaks_of: Vec<SubjectId>,
    who: Option<SubjectId>,
    /// Of this sample by what it says, whatever else it speaks of.
    own: bool,
    /// Drawn in by what it speaks of.
    follows: bool,
}

/// The subjects whose records concern a sample.
#[derive(Debug, Clone, Default)]
pub(crate) struct Selection {
    pub subjects: BTreeSet<SubjectId>,
    pub recordings: Vec<RecordingId>,
}

/// All subjects that concern `sample`: its runs with what happened in them, their recordings and readings,
/// the decisions on these, its results and verdicts; and, one step after the other, all that these speak of
/// and the people whose records they are.
pub(crate) async fn select(book: &Book, sample: SampleId) -> Result<Selection, ArchiveError> {
    let mut records = Vec::new();
    each_record(book, &mut |record| {
        records.push(light(&record, sample));
        Ok(())
    })
    .await?;
    let mut core = BTreeSet::from([SubjectId::from(sample)]);
    // A load may be corrected after its recordings were made, so once is not enough.
    loop {
        let before = core.len();
        for record in &records {
            let drawn = record.follows && record.speaks_of.iter().any(|of| core.contains(of));
            if record.own || drawn {
                core.insert(record.subject);
            }
        }
        if core.len() == before {
            break;
        }
    }
    let mut subjects = core;
    loop {
        let before = subjects.len();
        for record in &records {
            if subjects.contains(&record.subject) {
                subjects.extend(record.speaks_of.iter().copied());
                subjects.extend(record.who);
            }
        }
        if subjects.len() == before {
            break;
        }
    }
    let recordings: BTreeSet<RecordingId> = records
        .iter()
        .filter(|record| record.kind == Kind::Recording && subjects.contains(&record.subject))
        .map(|record| record.subject.into())
        .collect();
    Ok(Selection {
        subjects,
        recordings: recordings.into_iter().collect(),
    })
}

fn light(record: &Record, sample: SampleId) -> Light {
    let (own, follows) = match &record.entry {
        Entry::Run(run) => (
            run.load.iter().any(|tube| tube.sample == Some(sample)),
            false,
        ),
        Entry::Determination(result) => (result.sample == sample, false),
        Entry::SampleVerdict(said) => (said.sample == sample, false),
        // These are drawn in by others that speak of them, never the other way.
        Entry::Opening(_)
        | Entry::Person(_)
        | Entry::Sample(_)
        | Entry::Bench(_)
        | Entry::Standard(_)
        | Entry::Check(_)
        | Entry::Calibration(_) => (false, false),
        // Events, recordings, readings, decisions, and whatever else is said of any of these.
        _ => (false, true),
    };
    Light {
        subject: record.subject,
        kind: record.entry.kind(),
        speaks_of: references(&record.entry)
            .into_iter()
            .map(|(_, subject)| subject)
            .collect(),
        who: record.who.map(SubjectId::from),
        own,
        follows,
    }
}

/// Go through all records of a book in order.
pub(crate) async fn each_record(
    book: &Book,
    work: &mut (dyn FnMut(Record) -> Result<(), ArchiveError> + Send),
) -> Result<(), ArchiveError> {
    let mut after = 0;
    loop {
        let records = book.store().after(after, LONGEST_PAGE).await?;
        let Some(last) = records.last() else {
            return Ok(());
        };
        after = last.seq;
        for record in records {
            work(record)?;
        }
    }
}
