//! Out, in and out again: the same bytes.

use crate::workshop::{export_to, filled, names, open, restore_to, room, tree, wait};
use meltrange_labbook::verify;

#[test]
fn a_book_comes_back_bit_for_bit_from_a_folder_and_from_a_zip_file() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        let (book, what) = filled(&at("book")).await;
        let head = book.store().head().await.expect("readable");
        let exported = export_to(&book, &at("folder")).await;
        assert_eq!(exported.incomplete, []);
        assert_eq!((exported.records, exported.recordings), (head.seq, 2));
        assert_eq!(exported.pictures, 7);
        export_to(&book, &at("one.zip")).await;
        let camera = book.recording_folder(what.camera);
        let film = book.recording_folder(what.film);
        for (archive, place) in [("folder", "from-folder"), ("one.zip", "from-zip")] {
            let restored = restore_to(&at(archive), &at(place)).await.expect(archive);
            assert_eq!(restored.head, head, "{archive}");
            assert_eq!(restored.strangers, Vec::<String>::new());
            let verdict = verify(&at(place), head.hash, &mut |_| ())
                .await
                .expect("a book");
            assert!(verdict.sound(), "{archive}: {:?}", verdict.findings);
            assert_eq!(verdict.records, head.seq);
            let again = open(&at(place)).await;
            // Packed pictures, index, log, manifest and video: the very same.
            assert_eq!(tree(&again.recording_folder(what.camera)), tree(&camera));
            // Pictures to look through are made from the video again, not carried.
            let as_kept = |folder: &std::path::Path| {
                let mut files = tree(folder);
                files.retain(|name, _| !name.starts_with("pictures/"));
                files
            };
            let film_again = again.recording_folder(what.film);
            assert_eq!(as_kept(&film_again), as_kept(&film));
            let made = |folder: &std::path::Path| folder.join("pictures").is_dir();
            assert_eq!(made(&film_again), restored.without_pictures.is_empty());
            export_to(&again, &at(&format!("{place}-again"))).await;
            export_to(&again, &at(&format!("{place}-again.zip"))).await;
            again.close().await;
            assert_eq!(tree(&at(&format!("{place}-again"))), tree(&at("folder")));
            let zip = |name: &str| std::fs::read(at(name)).expect("there");
            assert!(
                zip(&format!("{place}-again.zip")) == zip("one.zip"),
                "{archive}"
            );
        }
        // Nothing unfinished is left beside.
        let left: Vec<String> = names(room.path());
        assert!(left.iter().all(|name| !name.starts_with('.')), "{left:?}");
        book.close().await;
    });
}

#[test]
fn what_is_there_is_not_written_over() {
    let room = room();
    let at = |name: &str| room.path().join(name);
    wait(async {
        let (book, _) = filled(&at("book")).await;
        std::fs::write(at("taken.zip"), b"mine").expect("there is room");
        let refused = meltrange_archive::export_book(
            &book,
            &crate::workshop::order(&at("taken.zip")),
            &mut |_| (),
        )
        .await;
        assert!(refused.is_err());
        assert_eq!(std::fs::read(at("taken.zip")).expect("there"), b"mine");
        export_to(&book, &at("one.zip")).await;
        let refused = restore_to(&at("one.zip"), &at("book")).await;
        assert!(refused.is_err());
        book.close().await;
        let verdict = verify(&at("book"), None, &mut |_| ())
            .await
            .expect("a book");
        assert!(verdict.sound());
    });
}

#[test]
fn an_archive_says_what_is_in_it() {
    let room = room();
    wait(async {
        let (book, what) = filled(&room.path().join("book")).await;
        let out = room.path().join("out");
        export_to(&book, &out).await;
        book.close().await;
        let files = tree(&out);
        let read: serde_json::Value =
            serde_json::from_slice(&files["ro-crate-metadata.json"]).expect("JSON");
        let graph = read["@graph"].as_array().expect("a graph");
        let described = |id: &str| graph.iter().find(|entity| entity["@id"] == id);
        // Every file is described with its digest, pictures with their folder and list.
        for (name, bytes) in &files {
            if name == "ro-crate-metadata.json" || name.contains("/frames/") {
                continue;
            }
            let entity = described(name).unwrap_or_else(|| panic!("{name} is not described"));
            let found = meltrange_labbook::Digest::of(bytes).to_string();
            assert_eq!(entity["sha256"], found, "{name}");
            assert_eq!(entity["contentSize"], bytes.len().to_string(), "{name}");
        }
        assert!(described(&format!("recordings/{}/frames/", what.camera)).is_some());
        let readme = String::from_utf8_lossy(&files["README.md"]).into_owned();
        assert!(readme.contains("No licence was stated"), "{readme}");
        // Both readings' curves, that in the place of the other too.
        let curves = files
            .keys()
            .filter(|name| name.starts_with("curves/"))
            .count();
        assert_eq!(curves, 2);
    });
}
