//! Whatever is altered is found, and named.

use crate::workshop::{
    add, captured, copy_folder, engine_reading, new_book, room, sample, verdict, wait,
};
use meltrange_labbook::{
    Access, Batch, Book, Digest, Draft, Place, Reading, RecordingQuery, SampleQuery,
};
use proptest::prelude::*;
use std::path::{Path, PathBuf};

/// A book with some of everything.
async fn full_book(place: &Path) {
    let (book, who) = new_book(place).await;
    let mut samples = Vec::new();
    for number in 1..=12 {
        let label = format!("U-{number}");
        samples.push(
            add(&book, who, sample(&label, "vanillin"))
                .await
                .subject
                .into(),
        );
    }
    let recording = captured(&book, who, samples[0], 20).await;
    let curves = br#"{"tubes":[]}"#.to_vec();
    let reading = Reading {
        curves: Some(Digest::of(&curves)),
        ..engine_reading(recording, &samples[..1])
    };
    book.write(Batch {
        who: Some(who),
        drafts: vec![Draft::new(reading)],
        attachments: vec![curves],
    })
    .await
    .expect("kept");
    book.close().await;
}

/// Everything a page could show of a book.
async fn shown(place: &Path) -> Option<String> {
    let book = Book::open(place, Access::Write).await.ok()?;
    let store = book.store();
    let records = store.after(0, 500).await.ok()?;
    let samples = store.samples(&SampleQuery::default()).await.ok()?;
    let recordings = store.recordings(&RecordingQuery::default()).await.ok()?;
    let today = store.today().await.ok()?;
    let mut details = Vec::new();
    for row in &samples.rows {
        details.push(store.sample(row.id).await.ok()?);
    }
    let curves = store
        .attachment(Digest::of(br#"{"tubes":[]}"#))
        .await
        .ok()?;
    let all = format!("{records:?}{samples:?}{recordings:?}{today:?}{details:?}{curves:?}");
    book.close().await;
    Some(all)
}

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("readable") {
        let path = entry.expect("readable").path();
        if path.is_dir() {
            files(&path, found);
        } else if path.file_name().is_some_and(|name| name != "book.lock") {
            found.push(path);
        }
    }
    found.sort();
}

/// Each case makes a book, so there are fewer than usual; `PROPTEST_CASES` makes them more.
fn config() -> ProptestConfig {
    let usual = ProptestConfig::default();
    ProptestConfig {
        cases: if std::env::var_os("PROPTEST_CASES").is_some() {
            usual.cases
        } else {
            48
        },
        max_shrink_iters: 0,
        ..usual
    }
}

proptest! {
    #![proptest_config(config())]

    /// A flip is found, or it lies where nothing is stored: then everything shows as before.
    #[test]
    fn a_flipped_byte_is_found_or_means_nothing(file in any::<prop::sample::Index>(), at in any::<prop::sample::Index>(), bit in 0_u8..8) {
        let (_room, place) = room();
        let copy = place.with_extension("copy");
        let (outcome, name) = wait(async {
            full_book(&place).await;
            copy_folder(&place, &copy);
            let mut all = Vec::new();
            files(&copy, &mut all);
            let path = file.get(&all);
            let mut bytes = std::fs::read(path).expect("readable");
            let at = at.index(bytes.len());
            bytes[at] ^= 1 << bit;
            std::fs::write(path, bytes).expect("there is room");
            let name = format!("{} byte {at} bit {bit}", path.strip_prefix(&copy).expect("inside").display());
            let of_recording = path.starts_with(copy.join("recordings"));
            let found = meltrange_labbook::verify(&copy, None, &mut |_| ()).await;
            let unseen = found.as_ref().is_ok_and(|found| found.sound());
            let outcome = if !unseen {
                Ok(())
            } else if of_recording {
                Err("a recording's file was altered unseen")
            } else if shown(&copy).await == shown(&place).await {
                Ok(())
            } else {
                Err("something else is shown, and nothing was found")
            };
            (outcome, name)
        });
        prop_assert!(outcome.is_ok(), "{name}: {outcome:?}");
    }
}

/// Alter every place in `file` where `text` stands: pages keep what stood there before as well.
fn alter(file: &Path, text: &str, other: &str) {
    assert_eq!(text.len(), other.len());
    let mut bytes = std::fs::read(file).expect("readable");
    let mut altered = 0;
    for at in 0..bytes.len() - text.len() {
        if bytes[at..].starts_with(text.as_bytes()) {
            bytes[at..at + text.len()].copy_from_slice(other.as_bytes());
            altered += 1;
        }
    }
    assert!(altered > 0, "{text} is not there");
    std::fs::write(file, bytes).expect("there is room");
}

#[test]
fn the_first_altered_record_is_named_first() {
    let (_room, place) = room();
    wait(async {
        full_book(&place).await;
        let database = place.join("book.sqlite");
        alter(&database, r#""label":"U-9""#, r#""label":"U-8""#);
        alter(&database, r#""label":"U-4""#, r#""label":"U-3""#);
        let found = verdict(&place).await;
        let names: Vec<&Place> = found
            .findings
            .iter()
            .map(|finding| &finding.place)
            .filter(|place| matches!(place, Place::Record { .. }))
            .collect();
        // The opening is 1, the first person 2, U-1 3.
        assert!(
            matches!(names[0], Place::Record { seq: 6, .. }),
            "{names:?}"
        );
        assert!(
            matches!(names[1], Place::Record { seq: 11, .. }),
            "{names:?}"
        );
        assert!(
            found.findings[0]
                .to_string()
                .starts_with("record 6 (sample): ")
        );
    });
}

#[test]
fn an_altered_picture_is_named_with_its_time() {
    let (_room, place) = room();
    wait(async {
        full_book(&place).await;
        let recording = std::fs::read_dir(place.join("recordings"))
            .expect("there")
            .next()
            .expect("one")
            .expect("readable")
            .path();
        let mut bytes = std::fs::read(recording.join("frames.bin")).expect("there");
        let len = bytes.len() / 20;
        bytes[7 * len + 50] ^= 0x10;
        std::fs::write(recording.join("frames.bin"), bytes).expect("there is room");
        let found = verdict(&place).await;
        let said: Vec<String> = found.findings.iter().map(ToString::to_string).collect();
        assert!(
            said.iter()
                .any(|line| line.ends_with("picture 8, taken at 3.5 s, was altered")),
            "{said:?}"
        );
    });
}

#[test]
fn a_missing_recording_a_stranger_and_a_lost_tail_are_found() {
    let (room, place) = room();
    wait(async {
        full_book(&place).await;
        let head = verdict(&place).await.head.hash.expect("it has records");
        let recordings = place.join("recordings");
        std::fs::create_dir(recordings.join("holiday")).expect("there is room");
        let folder = std::fs::read_dir(&recordings)
            .expect("there")
            .map(|entry| entry.expect("readable").path())
            .find(|path| path.file_name().is_some_and(|name| name != "holiday"))
            .expect("one");
        std::fs::rename(&folder, room.path().join("away")).expect("movable");
        let found = verdict(&place).await;
        let said: Vec<String> = found.findings.iter().map(ToString::to_string).collect();
        assert!(
            said.iter()
                .any(|line| line.ends_with("manifest.json: is missing")),
            "{said:?}"
        );
        assert!(
            said.contains(&"recordings/holiday: no record speaks of it".into()),
            "{said:?}"
        );
        let noted = meltrange_labbook::verify(&place, Some(head), &mut |_| ()).await;
        let noted = noted.expect("a book");
        assert_eq!(noted.findings, found.findings);
        let other = Digest::of(b"another book's");
        let noted = meltrange_labbook::verify(&place, Some(other), &mut |_| ()).await;
        assert_eq!(
            noted.expect("a book").findings.len(),
            found.findings.len() + 1
        );
    });
}

#[test]
fn a_database_of_rubbish_is_said_to_be_damaged() {
    let (_room, place) = room();
    wait(async {
        full_book(&place).await;
        let database = place.join("book.sqlite");
        let mut bytes = std::fs::read(&database).expect("there");
        for byte in bytes.iter_mut().skip(8192).take(5 * 8192) {
            *byte = 0x5A;
        }
        std::fs::write(&database, &bytes).expect("there is room");
        let found = verdict(&place).await;
        let said: Vec<String> = found.findings.iter().map(ToString::to_string).collect();
        assert!(said.iter().any(|line| line.contains("damaged")), "{said:?}");
        std::fs::write(&database, "rubbish").expect("there is room");
        let found = verdict(&place).await;
        assert!(!found.sound());
        let opened = Book::open(&place, Access::Write).await;
        let said = opened.expect_err("it is rubbish").to_string();
        assert!(said.contains("is damaged"), "{said}");
    });
}
