//! Archives that are not as they were written, and zip files that would harm.

use crate::workshop::{export_to, filled, names, restore_to, room, tree, wait};
use meltrange_archive::ArchiveError;
use std::io::Write as _;
use std::path::Path;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// Write a tree anew.
fn write_tree(folder: &Path, files: &std::collections::BTreeMap<String, Vec<u8>>) {
    for (name, bytes) in files {
        let path = folder.join(name);
        std::fs::create_dir_all(path.parent().expect("below")).expect("room");
        std::fs::write(path, bytes).expect("room");
    }
}

fn zip_of(path: &Path, files: &[(&str, Vec<u8>)]) {
    let mut zip = ZipWriter::new(std::fs::File::create(path).expect("room"));
    for (name, bytes) in files {
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
        zip.start_file(*name, options).expect("a name");
        zip.write_all(bytes).expect("room");
    }
    zip.finish().expect("room");
}

#[test]
fn every_file_that_is_altered_is_named_and_nothing_is_left() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        let (book, what) = filled(&at("book")).await;
        export_to(&book, &at("out")).await;
        book.close().await;
        let good = tree(&at("out"));
        let before = names(room.path());
        for (number, name) in good.keys().enumerate() {
            let mut files = good.clone();
            let bytes = files.get_mut(name).expect("there");
            let middle = bytes.len() / 2;
            // A digit or letter becomes another; the last bit of anything else.
            bytes[middle] ^= 1;
            let place = at(&format!("altered-{number}"));
            write_tree(&place, &files);
            let refused = restore_to(&place, &at("again")).await;
            // A flip in the description's own words changes nothing that is restored.
            if name != "ro-crate-metadata.json" {
                let error = refused.expect_err(name).to_string();
                assert!(error.starts_with(name.as_str()), "{name}: {error}");
            } else if refused.is_ok() {
                std::fs::remove_dir_all(at("again")).expect("there");
            }
            assert!(!at("again").exists(), "{name}");
            std::fs::remove_dir_all(place).expect("there");

            let mut files = good.clone();
            files.remove(name);
            let place = at(&format!("lacking-{number}"));
            write_tree(&place, &files);
            let error = restore_to(&place, &at("again"))
                .await
                .expect_err(name)
                .to_string();
            let said = error.contains(name.as_str());
            assert!(said, "{name}: {error}");
            std::fs::remove_dir_all(place).expect("there");
        }
        assert_eq!(names(room.path()), before);

        // A picture too many.
        let mut files = good.clone();
        let extra = format!("recordings/{}/frames/000099.jpg", what.camera);
        files.insert(extra.clone(), vec![0xFF, 0xD8]);
        write_tree(&at("more"), &files);
        let error = restore_to(&at("more"), &at("again"))
            .await
            .expect_err("altered");
        assert!(error.to_string().starts_with(&extra), "{error}");
        // A note of somebody's is said and left alone.
        let mut files = good.clone();
        files.insert("notes.txt".into(), b"seen".to_vec());
        write_tree(&at("noted"), &files);
        let restored = restore_to(&at("noted"), &at("again"))
            .await
            .expect("unaltered");
        assert_eq!(restored.strangers, ["notes.txt"]);
    });
}

#[test]
fn a_record_that_was_altered_together_with_the_description_is_found_by_its_line() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        let (book, _) = filled(&at("book")).await;
        export_to(&book, &at("out")).await;
        book.close().await;
        let good = tree(&at("out"));
        let lines: Vec<String> = String::from_utf8(good["records.jsonl"].clone())
            .expect("text")
            .lines()
            .map(|line| format!("{line}\n"))
            .collect();
        // As somebody would who knows the form: digest and length are put right.
        let forged = |records: String| {
            let mut files = good.clone();
            let digest = |bytes: &[u8]| meltrange_labbook::Digest::of(bytes).to_string();
            let mut metadata: serde_json::Value =
                serde_json::from_slice(&files["ro-crate-metadata.json"]).expect("JSON");
            for entity in metadata["@graph"].as_array_mut().expect("a graph") {
                if entity["@id"] == "records.jsonl" {
                    entity["sha256"] = digest(records.as_bytes()).into();
                    entity["contentSize"] = records.len().to_string().into();
                }
            }
            files.insert(
                "ro-crate-metadata.json".into(),
                serde_json::to_vec(&metadata).expect("JSON"),
            );
            files.insert("records.jsonl".into(), records.into_bytes());
            files
        };
        let cases = [
            (
                "one word",
                lines.concat().replacen("acetanilide", "acetanilidE", 1),
                "line 5",
            ),
            (
                "one left out",
                [&lines[..3], &lines[4..]].concat().concat(),
                "line 4: it is record 5; expected record 4",
            ),
            (
                "the tail",
                lines[..lines.len() - 1].concat(),
                "the chain ends with record",
            ),
            (
                "two swapped",
                {
                    let mut lines = lines.clone();
                    lines.swap(3, 4);
                    lines.concat()
                },
                "line 4: it is record 5",
            ),
            (
                "not JSON",
                format!("{}{{\n", lines.concat()),
                "it is no record",
            ),
        ];
        for (number, (what, records, expected)) in cases.into_iter().enumerate() {
            let place = at(&format!("forged-{number}"));
            write_tree(&place, &forged(records));
            let error = restore_to(&place, &at("again"))
                .await
                .expect_err(what)
                .to_string();
            assert!(error.contains("records.jsonl"), "{what}: {error}");
            assert!(error.contains(expected), "{what}: {error}");
            assert!(!at("again").exists(), "{what}");
        }
    });
}

#[test]
fn zip_files_that_are_cut_off_or_would_harm_are_refused() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        let (book, _) = filled(&at("book")).await;
        export_to(&book, &at("one.zip")).await;
        let head = book.store().head().await.expect("readable");
        book.close().await;
        let whole = std::fs::read(at("one.zip")).expect("there");
        for part in [0, 3, whole.len() / 2, whole.len() - 1] {
            std::fs::write(at("cut.zip"), &whole[..part]).expect("room");
            let refused = restore_to(&at("cut.zip"), &at("again")).await;
            assert!(
                matches!(refused, Err(ArchiveError::NotAnArchive { .. })),
                "{part}: {refused:?}"
            );
        }
        // A bit in the middle of what is packed. A zip file has bytes that mean nothing (times, names twice):
        // a flip there changes nothing that is restored.
        let mut found = 0;
        for part in 1..20 {
            let mut bytes = whole.clone();
            let middle = whole.len() * part / 20;
            bytes[middle] ^= 0x10;
            std::fs::write(at("bit.zip"), &bytes).expect("room");
            match restore_to(&at("bit.zip"), &at("again")).await {
                Err(_) => found += 1,
                Ok(restored) => {
                    assert_eq!(restored.head, head, "byte {middle}");
                    std::fs::remove_dir_all(at("again")).expect("there");
                }
            }
        }
        assert!(found >= 10, "{found} of 19 were found");
        for name in [
            "../evil",
            "/etc/evil",
            "a/../../evil",
            "C:\\evil",
            "a\\..\\evil",
        ] {
            zip_of(
                &at("evil.zip"),
                &[("archive.json", vec![]), (name, vec![1])],
            );
            let refused = restore_to(&at("evil.zip"), &at("again")).await;
            assert!(
                matches!(refused, Err(ArchiveError::Refused { .. })),
                "{name}: {refused:?}"
            );
        }
        zip_of(&at("bomb.zip"), &[("records.jsonl", vec![b' '; 300 << 20])]);
        let refused = restore_to(&at("bomb.zip"), &at("again")).await;
        assert!(
            matches!(refused, Err(ArchiveError::Refused { .. })),
            "{refused:?}"
        );
        assert!(!at("again").exists() && !at("evil").exists());
    });
}

#[test]
fn an_ro_crate_of_something_else_is_told_apart() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        std::fs::create_dir(at("other")).expect("room");
        std::fs::write(at("other/ro-crate-metadata.json"), "{\"@graph\":[]}").expect("room");
        let refused = restore_to(&at("other"), &at("again")).await;
        let error = refused.expect_err("foreign").to_string();
        assert!(error.contains("RO-Crate of something else"), "{error}");
        let refused = restore_to(&at("nowhere"), &at("again")).await;
        assert!(
            matches!(refused, Err(ArchiveError::File { .. })),
            "{refused:?}"
        );
        std::fs::create_dir(at("empty")).expect("room");
        let refused = restore_to(&at("empty"), &at("again")).await;
        assert!(matches!(refused, Err(ArchiveError::NotAnArchive { .. })));
        std::fs::write(at("text.zip"), "no zip").expect("room");
        let refused = restore_to(&at("text.zip"), &at("again")).await;
        assert!(matches!(refused, Err(ArchiveError::NotAnArchive { .. })));
    });
}

#[test]
fn a_recording_that_is_damaged_is_said_and_the_rest_exported() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        let (book, what) = filled(&at("book")).await;
        let frames = book.recording_folder(what.camera).join("frames.bin");
        let mut bytes = std::fs::read(&frames).expect("there");
        let middle = bytes.len() / 2;
        bytes[middle] ^= 1;
        std::fs::write(&frames, bytes).expect("room");
        std::fs::remove_file(book.recording_folder(what.film).join("temperature.csv"))
            .expect("there");
        let exported = export_to(&book, &at("out")).await;
        book.close().await;
        assert_eq!(exported.pictures, 6);
        let said: Vec<(String, String)> = exported
            .incomplete
            .iter()
            .map(|lack| (lack.recording.to_string(), lack.file.clone()))
            .collect();
        let camera = (what.camera.to_string(), "frames.bin".to_owned());
        let film = (what.film.to_string(), "temperature.csv".to_owned());
        assert!(said.contains(&camera) && said.contains(&film), "{said:?}");
        let readme = std::fs::read_to_string(at("out/README.md")).expect("there");
        assert!(readme.contains("What is missing or damaged"), "{readme}");
        let refused = restore_to(&at("out"), &at("again")).await;
        assert!(
            matches!(refused, Err(ArchiveError::Incomplete { .. })),
            "{refused:?}"
        );
        assert!(!at("again").exists());
    });
}
