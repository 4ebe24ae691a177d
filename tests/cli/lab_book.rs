//! Lab books on the command line: made, filled, read into, verified, exported.

use crate::workshop::{RISING_LOG, Workshop, ended, meltrange};
use std::path::Path;

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).expect("one JSON object")
}

fn new_book(workshop: &Workshop) -> std::path::PathBuf {
    let book = workshop.path("practical");
    let made = ended(
        meltrange()
            .args(["book", "new"])
            .arg(&book)
            .args(["--by", "R. Amsel", "--json"]),
    );
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    assert_eq!(json(&made.stdout)["person"]["name"], "R. Amsel");
    book
}

fn add(book: &Path, label: &str) {
    let added = ended(meltrange().args(["sample", "add"]).arg(book).arg(label));
    assert_eq!(added.status, Some(0), "{}", added.stderr);
}

fn recording(folder: &Path) -> (std::path::PathBuf, std::path::PathBuf) {
    let media = std::fs::read_dir(folder)
        .expect("it was simulated")
        .map(|entry| entry.expect("readable").path())
        .find(|path| path.file_stem().is_some_and(|stem| stem == "video"))
        .expect("a video");
    (media, folder.join("temperature.csv"))
}

#[test]
fn a_recording_is_imported_read_verified_and_exported() {
    let workshop = Workshop::new();
    let book = new_book(&workshop);
    add(&book, "U-1");
    let (video, log) = recording(&workshop.recording("mkv"));
    let imported = ended(
        meltrange()
            .arg("import")
            .arg(&book)
            .arg(&video)
            .arg("--temperature")
            .arg(&log)
            .args([
                "--video-start",
                "7.5",
                "--sample",
                "u-1",
                "--sample",
                "-",
                "--json",
            ]),
    );
    assert_eq!(imported.status, Some(0), "{}", imported.stderr);
    let imported = json(&imported.stdout);
    assert!(imported["pictures"].as_u64().is_some_and(|made| made > 100));
    let id = imported["recording"].as_str().expect("an id");

    let inside = ended(meltrange().arg("read").arg(&book).args([id, "--json"]));
    assert_eq!(inside.status, Some(0), "{}", inside.stderr);
    let outside = ended(
        meltrange()
            .arg("read")
            .arg(&video)
            .arg("--temperature")
            .arg(&log)
            .args(["--video-start", "7.5", "--json"]),
    );
    let (mut inside, outside) = (json(&inside.stdout), json(&outside.stdout));
    assert!(inside["reading"].is_string());
    inside
        .as_object_mut()
        .expect("an object")
        .shift_remove("reading");
    assert_eq!(inside, outside, "the book must not change what is read");

    let list = ended(
        meltrange()
            .args(["sample", "list"])
            .arg(&book)
            .arg("--json"),
    );
    let list = json(&list.stdout);
    assert_eq!(list["total"], 1);
    assert_eq!(list["samples"][0]["standing"], "read");
    assert_eq!(list["samples"][0]["recordings"], 1);

    let verified = ended(
        meltrange()
            .args(["book", "verify"])
            .arg(&book)
            .arg("--json"),
    );
    assert_eq!(verified.status, Some(0), "{}", verified.stderr);
    let verified = json(&verified.stdout);
    assert_eq!(verified["sound"], true);
    assert_eq!(verified["findings"], serde_json::json!([]));
    let head = verified["head"]["hash"].as_str().expect("a hash");

    let out = workshop.path("open");
    let exported = ended(
        meltrange()
            .args(["book", "export"])
            .arg(&book)
            .arg("--out")
            .arg(&out),
    );
    assert_eq!(exported.status, Some(0), "{}", exported.stderr);
    let kept = out.join("recordings").join(id).join("video.mkv");
    assert_eq!(
        std::fs::read(kept).expect("exported"),
        std::fs::read(&video).expect("there")
    );
    let readings = std::fs::read_to_string(out.join("readings.csv")).expect("exported");
    assert!(readings.lines().count() >= 2, "{readings}");
    let records = std::fs::read_to_string(out.join("records.jsonl")).expect("exported");
    let last = json(records.lines().last().expect("records"));
    assert_eq!(last["hash"], head);
    let again = ended(
        meltrange()
            .args(["book", "export"])
            .arg(&book)
            .arg("--out")
            .arg(&out),
    );
    assert_eq!(
        again.status,
        Some(1),
        "a folder with something in it is left alone"
    );

    let file = book.join("recordings").join(id).join("temperature.csv");
    let altered = std::fs::read_to_string(&file)
        .expect("there")
        .replacen("119", "118", 1);
    std::fs::write(&file, altered).expect("there is room");
    let found = ended(
        meltrange()
            .args(["book", "verify"])
            .arg(&book)
            .args(["--head", head]),
    );
    assert_eq!(found.status, Some(1));
    assert!(
        found
            .stderr
            .contains(&format!("recordings/{id}/temperature.csv")),
        "{}",
        found.stderr
    );
    assert!(found.stdout.contains("altered: "), "{}", found.stdout);
}

#[test]
fn a_list_is_taken_whole_or_refused_with_line_and_column() {
    let workshop = Workshop::new();
    let book = new_book(&workshop);
    add(&book, "U-2");
    let import = |text: &str| {
        let list = workshop.file("list.csv", text);
        ended(meltrange().args(["sample", "import"]).arg(&book).arg(list))
    };
    let refused = import("label,column_height_mm\nU-3,\"2,5\"\nU-4,900\n");
    assert_eq!(refused.status, Some(1));
    assert!(
        refused
            .stderr
            .contains("list.csv, line 2, column column_height_mm"),
        "{}",
        refused.stderr
    );
    assert!(
        refused
            .stderr
            .contains("list.csv, line 3, column column_height_mm"),
        "{}",
        refused.stderr
    );
    let taken = import("label\nU-3\nu-2\n");
    assert_eq!(taken.status, Some(1));
    assert!(
        taken.stderr.contains("line 3, column label"),
        "{}",
        taken.stderr
    );
    let done = import("label,expected_substance\nU-3,benzil\n<img src=x>,urea\n");
    assert_eq!(done.status, Some(0), "{}", done.stderr);
    let found = ended(
        meltrange()
            .args(["sample", "list"])
            .arg(&book)
            .args(["IMG", "--json"]),
    );
    assert_eq!(json(&found.stdout)["samples"][0]["label"], "<img src=x>");
}

#[test]
fn what_cannot_be_done_says_why_and_leaves_nothing() {
    let workshop = Workshop::new();
    let nowhere = ended(
        meltrange()
            .args(["book", "verify"])
            .arg(workshop.path("nowhere")),
    );
    assert_eq!(nowhere.status, Some(1));
    assert!(
        nowhere.stderr.contains("is not a lab book"),
        "{}",
        nowhere.stderr
    );
    let book = new_book(&workshop);
    let taken = ended(
        meltrange()
            .args(["book", "new"])
            .arg(&book)
            .args(["--by", "X"]),
    );
    assert_eq!(taken.status, Some(1));
    let log = workshop.file("log.csv", RISING_LOG);
    let media = workshop.file("no-video.mp4", "text");
    let refused = ended(
        meltrange()
            .arg("import")
            .arg(&book)
            .arg(media)
            .arg("--temperature")
            .arg(log),
    );
    assert_eq!(refused.status, Some(1));
    assert!(
        refused.stderr.contains("no-video.mp4"),
        "{}",
        refused.stderr
    );
    let left = std::fs::read_dir(book.join("recordings")).expect("there");
    assert_eq!(left.count(), 0);
    let id = "0199a0f4-5c7e-7d21-8a2b-3c4d5e6f7081";
    let unknown = ended(meltrange().arg("read").arg(&book).arg(id));
    assert_eq!(unknown.status, Some(1));
    assert!(
        unknown.stderr.contains("there is no recording"),
        "{}",
        unknown.stderr
    );
    let person = ended(
        meltrange()
            .args(["book", "person"])
            .arg(&book)
            .arg("S. Drossel"),
    );
    assert_eq!(person.status, Some(0), "{}", person.stderr);
    let whose = ended(meltrange().args(["sample", "add"]).arg(&book).arg("U-1"));
    assert_eq!(whose.status, Some(1));
    assert!(
        whose.stderr.contains("R. Amsel, S. Drossel"),
        "{}",
        whose.stderr
    );
}
