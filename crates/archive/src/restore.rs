//! A book made again from its archive.

use crate::error::ArchiveError;
use crate::manifest::ArchiveOf;
use crate::out::{open_to_others, refuse_taken, room_beside};
use crate::pictures_again::pictures_again;
use crate::recordings::folder_of;
use crate::source::Source;
use crate::verified::Verified;
use meltrange_labbook::{
    Access, Book, Digest, Head, Manifest, Recording, RecordingId, RestoredRecording, Restoring,
    verify,
};
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::Path;

/// Largest attachment: the curves of one reading.
const LARGEST_ATTACHMENT: u64 = 256 << 20;

/// Largest manifest of a recording.
const LARGEST_MANIFEST: u64 = 1 << 20;

/// Parts of the work: looking at the archive, writing, verifying, making pictures to look through.
const PARTS: f64 = 4.0;

/// What was made again.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Restored {
    /// What the book is called.
    pub title: String,
    /// Records.
    pub records: u64,
    /// Recordings.
    pub recordings: u64,
    /// Where the chain ends: where it ended when the archive was made.
    pub head: Head,
    /// Files in the archive that are not of it and were left alone.
    pub strangers: Vec<String>,
    /// Recordings whose video gave no pictures to look through here.
    pub without_pictures: Vec<RecordingId>,
}

/// Make the book again that `archive` is of, in `folder`, new or empty, and verify it. `progress` hears the
/// part done, 0..=1.
///
/// # Errors
/// [`ArchiveError`]: it is no archive of a book, or was altered, or cannot be written. Nothing is left then.
pub async fn restore(
    archive: &Path,
    folder: &Path,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<Restored, ArchiveError> {
    refuse_taken(folder)?;
    let source = Source::open(archive)?;
    let all = source.files().values().sum::<u64>().max(1) as f64;
    let mut verified = Verified::look(source, &mut |done| progress(done as f64 / all / PARTS))?;
    if verified.manifest.of != ArchiveOf::Book {
        return Err(ArchiveError::OtherKind {
            path: archive.into(),
            found: verified.manifest.of.words(),
            expected: ArchiveOf::Book.words(),
        });
    }
    if let Some(lack) = verified.manifest.incomplete.first() {
        return Err(ArchiveError::Incomplete {
            recording: lack.recording.to_string(),
            found: format!("{} {}", lack.file, lack.found),
        });
    }
    let written = |error| ArchiveError::file(folder, "written", error);
    let beside = room_beside(folder, ".restore-unfinished-")?;
    let (mut restored, bytes, recordings) = fill(&mut verified, beside.path(), &mut |part| {
        progress((1.0 + part) / PARTS);
    })
    .await?;
    let bytes = bytes.max(1) as f64;
    let verdict = verify(beside.path(), restored.head.hash, &mut |done| {
        progress((2.0 + (done as f64 / bytes).min(1.0)) / PARTS);
    })
    .await?;
    if let Some(finding) = verdict.findings.first() {
        return Err(ArchiveError::NotSound {
            found: finding.to_string(),
        });
    }
    open_to_others(beside.path(), 0o755);
    refuse_taken(folder)?;
    std::fs::rename(beside.path(), folder).map_err(written)?;
    // It bears its own name now and must not be removed under the old one.
    let _ = beside.keep();
    let book = Book::open(folder, Access::Write).await?;
    restored.without_pictures = pictures_again(&book, &recordings, &mut |part| {
        progress((3.0 + part) / PARTS);
    })
    .await;
    book.close().await;
    Ok(restored)
}

/// Write it all; how many bytes of recordings that were, and the recordings.
async fn fill(
    archive: &mut Verified,
    folder: &Path,
    progress: &mut (dyn FnMut(f64) + Send),
) -> Result<(Restored, u64, BTreeMap<RecordingId, Recording>), ArchiveError> {
    let mut book = Restoring::begin(folder).await?;
    // As texts: what they come to is in the database.
    for (number, line) in archive.records()? {
        book.record(&line)
            .await
            .map_err(|error| ArchiveError::restoring(number, error))?;
    }
    for name in archive.below("curves/") {
        let bytes = archive.source.bytes(&name, LARGEST_ATTACHMENT)?;
        book.attachment(&bytes).await?;
    }
    if let Some(digest) = book.missing_attachments().next() {
        return Err(ArchiveError::altered(
            "curves/",
            None,
            "no file has the digest that a reading names",
            format!("one with the digest {digest}"),
        ));
    }
    let recordings = book.recordings().clone();
    let mut bytes = 0;
    for (number, (&id, recording)) in (1_u64..).zip(&recordings) {
        let to = book.recording(id)?;
        bytes += restore_recording(archive, id, recording, to)?;
        progress(number as f64 / recordings.len() as f64);
    }
    let head = book.end().await?;
    let said = &archive.manifest.head;
    if head.seq != said.seq || head.hash.map(|hash| hash.to_string()) != Some(said.hash.clone()) {
        return Err(ArchiveError::altered(
            crate::RECORDS,
            Some(head.seq),
            format!("the chain ends with record {}", head.seq),
            format!("record {} with the hash {}", said.seq, said.hash),
        ));
    }
    let restored = Restored {
        title: archive.manifest.title.clone(),
        records: head.seq,
        recordings: recordings.len() as u64,
        head,
        strangers: archive.strangers.clone(),
        without_pictures: Vec::new(),
    };
    Ok((restored, bytes, recordings))
}

/// Write the files of one recording so that every digest of its manifest holds; how many bytes.
pub(crate) fn restore_recording(
    archive: &mut Verified,
    id: RecordingId,
    recording: &Recording,
    mut to: RestoredRecording,
) -> Result<u64, ArchiveError> {
    let folder = folder_of(id);
    let manifest = manifest_of(archive, &folder, recording)?;
    let names: Vec<String> = match &manifest {
        Some((bytes, manifest)) => {
            to.file(RestoredRecording::MANIFEST, bytes.as_slice())?;
            manifest
                .files
                .iter()
                .map(|file| file.name.clone())
                .collect()
        }
        // Under way when it was exported: what was on the disk then.
        None => archive
            .below(&folder)
            .iter()
            .filter_map(|name| name.strip_prefix(&folder))
            .filter(|name| *name == RestoredRecording::LOG || name.starts_with("video."))
            .map(str::to_owned)
            .collect(),
    };
    let listed = archive
        .source
        .files()
        .contains_key(&format!("{folder}frames.csv"));
    let mut written: Vec<(String, Digest, u64)> = Vec::new();
    if listed {
        to.begin_pictures()?;
        archive.pictures(&folder, &mut |time_s, picture| {
            to.picture(time_s, picture)?;
            Ok(())
        })?;
        if let Some([frames, index]) = to.end_pictures()? {
            written.push((RestoredRecording::FRAMES.into(), frames.0, frames.1));
            written.push((RestoredRecording::INDEX.into(), index.0, index.1));
        }
    }
    for name in names {
        let packed = name == RestoredRecording::FRAMES || name == RestoredRecording::INDEX;
        if packed && listed {
            continue;
        }
        if !(packed || name == RestoredRecording::LOG || name.starts_with("video."))
            || name.contains(['/', '\\'])
        {
            return Err(ArchiveError::altered(
                &format!("{folder}manifest.json"),
                None,
                format!("it names \"{}\"", name.escape_debug()),
                "the log, and the pictures or the video",
            ));
        }
        let (sha256, bytes) = archive
            .source
            .read(&format!("{folder}{name}"), |from| Ok(to.file(&name, from)?))?;
        written.push((name, sha256, bytes));
    }
    if let Some((_, manifest)) = &manifest {
        for file in &manifest.files {
            let found = written.iter().find(|(name, ..)| *name == file.name);
            match found {
                Some((_, sha256, bytes)) if *sha256 == file.sha256 && *bytes == file.bytes => {}
                Some((_, sha256, bytes)) => {
                    return Err(ArchiveError::altered(
                        &format!("{folder}{}", file.name),
                        None,
                        format!("it comes to {bytes} bytes with the digest {sha256}"),
                        format!(
                            "{} bytes with {}, as its manifest says",
                            file.bytes, file.sha256
                        ),
                    ));
                }
                None => {
                    return Err(ArchiveError::altered(
                        &format!("{folder}{}", file.name),
                        None,
                        "it is missing",
                        "each file of the recording's manifest",
                    ));
                }
            }
        }
    }
    Ok(written.iter().map(|(_, _, bytes)| bytes).sum())
}

/// The manifest of a recording, checked against its record; none while it was under way.
fn manifest_of(
    archive: &mut Verified,
    folder: &str,
    recording: &Recording,
) -> Result<Option<(Vec<u8>, Manifest)>, ArchiveError> {
    let Some(end) = &recording.end else {
        return Ok(None);
    };
    let name = format!("{folder}manifest.json");
    let bytes = archive.source.bytes(&name, LARGEST_MANIFEST)?;
    let found = Digest::of(&bytes);
    if found != end.manifest {
        return Err(ArchiveError::altered(
            &name,
            None,
            format!("has the digest {found}"),
            format!("{}, as its record says", end.manifest),
        ));
    }
    let manifest = serde_json::from_slice(&bytes).map_err(|error| {
        ArchiveError::altered(
            &name,
            Some(error.line() as u64),
            format!("it cannot be read ({error})"),
            "a manifest as it was written",
        )
    })?;
    Ok(Some((bytes, manifest)))
}
