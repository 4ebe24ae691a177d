//! Who signed a report, whether that still holds, and whether the book behind it is whole.

use super::{ReportRequest, report_of, stamp};
use meltrange_labbook::{
    Book, BookError, Digest, PersonId, RecordingId, SampleDetail, SampleId, SignOffMeaning, When,
};
use meltrange_report::model::{Chain, ChangedSince, Frame, Meaning, Run, SignOff};
use std::collections::{BTreeMap, BTreeSet};

/// The signature of a sample that holds, else the newest.
pub(super) fn sign_off(found: &SampleDetail, names: &BTreeMap<PersonId, String>) -> SignOff {
    let signed = &found.sign_offs;
    let Some(newest) = signed.iter().find(|row| row.holds()).or(signed.first()) else {
        return SignOff::Draft;
    };
    let by = names
        .get(&newest.who)
        .cloned()
        .unwrap_or_else(|| newest.who.to_string());
    let when = stamp(newest.when);
    if newest.holds() {
        return SignOff::Reviewed {
            by,
            when,
            meaning: match newest.sign_off.meaning {
                SignOffMeaning::Reviewed => Meaning::Reviewed,
                SignOffMeaning::ReviewedAndApproved => Meaning::ReviewedAndApproved,
            },
            statement: newest.sign_off.statement.clone(),
            record: Some(newest.record.to_string()),
        };
    }
    if newest.sign_off.withdrawn {
        return SignOff::Withdrawn {
            by,
            when,
            reason: newest.reason.clone().unwrap_or_default(),
        };
    }
    let changed = newest.changed_since.iter().map(|what| match what {
        meltrange_labbook::ChangedSince::Sample => ChangedSince::Sample,
        meltrange_labbook::ChangedSince::Readings => ChangedSince::Readings,
        meltrange_labbook::ChangedSince::Result => ChangedSince::Result,
        meltrange_labbook::ChangedSince::Verdict => ChangedSince::Verdict,
    });
    SignOff::Outdated {
        by,
        when,
        changed: changed.collect(),
    }
}

/// Digest of the pictures that a report of the sample shows; none where it shows none. Pictures of imported videos are made
/// from them and stand outside of the chain: whoever signs signs these, too.
///
/// # Errors
/// [`BookError`] where the book cannot be read or has no such sample.
pub async fn pictures_signed(book: &Book, sample: SampleId) -> Result<Option<Digest>, BookError> {
    let report = report_of(book, sample, &ReportRequest::default()).await?;
    Ok(pictures_digest(&report.runs))
}

pub(super) fn pictures_digest(runs: &[Run]) -> Option<Digest> {
    let mut all: Vec<u8> = Vec::new();
    for run in runs {
        let moments = [&run.first_liquid, &run.last_crystal];
        for moment in moments.into_iter().flatten() {
            if let Frame::Shown { file, .. } = &moment.picture {
                all.extend(Digest::of(file).to_string().as_bytes());
            }
        }
    }
    (!all.is_empty()).then(|| Digest::of(&all))
}

/// What stands against showing a report as signed: other pictures than those that were signed.
pub(super) fn other_pictures(found: &SampleDetail, runs: &[Run]) -> Option<Chain> {
    let signed = found.sign_offs.iter().find(|row| row.holds())?;
    let expected = signed.sign_off.pictures_sha256?;
    (pictures_digest(runs) != Some(expected)).then(|| Chain::Broken {
        found: "the pictures at first liquid and last crystal are not those that were signed; look at them and sign anew".into(),
    })
}

/// Whether any of these samples is signed off, so that the book must be verified before it is shown so.
///
/// # Errors
/// [`BookError`] where the book cannot be read or has no such sample.
pub async fn holds_any(book: &Book, samples: &[SampleId]) -> Result<bool, BookError> {
    for &sample in samples {
        let found = book.store().sample(sample).await?;
        if found.sign_offs.iter().any(|row| row.holds()) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// What a verification says of all records and of the recordings of these samples.
///
/// # Errors
/// [`BookError`] where there is nothing to look at.
pub async fn chain_of(book: &Book, samples: &[SampleId]) -> Result<Chain, BookError> {
    let mut recordings: BTreeSet<RecordingId> = BTreeSet::new();
    for &sample in samples {
        let found = book.store().sample(sample).await?;
        recordings.extend(found.recordings.iter().map(|row| row.id));
        recordings.extend(found.tubes.iter().map(|tube| tube.recording));
    }
    let found = book.verify_with(recordings).await?;
    Ok(match found.findings.first() {
        Some(first) => Chain::Broken {
            found: first.to_string(),
        },
        None => Chain::Verified {
            when: stamp(When::now()),
            records: found.records,
            head: found
                .head
                .hash
                .map(|hash| hash.to_string())
                .unwrap_or_default(),
        },
    })
}
