//! A file that another program writes.

use crate::support::Hearing;
use std::fs::{File, OpenOptions};
use std::io::Write as _;
use std::path::Path;

fn following(path: &Path, more: &str) -> String {
    format!("[thermometer]\nkind = \"csv\"\npath = {path:?}\ninterval_s = 0.05\n{more}")
}

fn add(path: &Path, text: &str) {
    let mut file = OpenOptions::new().append(true).open(path).expect("there");
    file.write_all(text.as_bytes()).expect("written");
}

#[tokio::test]
async fn rows_are_told_as_they_come() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("block.csv");
    std::fs::write(&path, "time_s,temperature_c\n0.0,20.0\n0.5,20.1\n0.9,2").expect("written");
    let mut hearing = Hearing::of(&following(&path, ""));
    // What stood there before is past.
    hearing.quiet(0.3).await;
    add(&path, "0.2\n");
    assert_eq!(hearing.temperature().await, 20.2);
    add(&path, "1.5,20.3\n2.0,2");
    assert_eq!(hearing.temperature().await, 20.3);
    hearing.quiet(0.2).await;
    add(&path, "0.4\r\n");
    assert_eq!(hearing.temperature().await, 20.4);
    // Of rows that come together the last is now.
    add(&path, "3,30.0\n4,31.0\n5,32.0\n");
    assert_eq!(hearing.temperature().await, 32.0);
    for (row, part) in [
        ("6,32,5\n", "3 cells; expected 2"),
        ("7,\"32,5\"\n", "decimal comma"),
        ("8,warm\n", "\"warm\"; expected a number"),
        ("9,\n", "expected a number"),
        ("10,nan\n", "expected -90 to 600"),
    ] {
        add(&path, row);
        let why = hearing.unreadable().await;
        assert!(why.contains(part), "{part} not in: {why}");
    }

    // Begun anew in place, then rotated away and begun anew under the name.
    std::fs::write(&path, "time_s,temperature_c\n0.0,40.0\n").expect("written");
    assert_eq!(hearing.temperature().await, 40.0);
    std::fs::rename(&path, folder.path().join("block.1.csv")).expect("moved");
    let why = hearing.lost().await;
    assert!(why.contains("block.csv cannot be read"), "{why}");
    hearing.quiet(0.3).await;
    std::fs::write(&path, "\u{FEFF}temperature_c\n41.5\n").expect("written");
    hearing.found().await;
    assert_eq!(hearing.temperature().await, 41.5);
    add(&path, "42.5\n");
    assert_eq!(hearing.temperature().await, 42.5);
    hearing.ends().await;
}

#[tokio::test]
async fn other_columns_and_separators() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("block.csv");
    let keys = following(&path, "column = \"block\"\nseparator = \";\"\n");
    let mut hearing = Hearing::of(&keys);
    hearing.lost().await;
    File::create(&path).expect("made");
    add(&path, "n;block;room\n");
    add(&path, "1;121.6;22.0\n");
    hearing.found().await;
    assert_eq!(hearing.temperature().await, 121.6);
    add(&path, "2;121,7;22,0\n");
    let why = hearing.unreadable().await;
    assert!(why.contains("decimal comma"), "{why}");
    hearing.ends().await;

    std::fs::write(&path, "n;room\n1;22.0\n").expect("written");
    let mut hearing = Hearing::of(&keys);
    let why = hearing.unreadable().await;
    assert!(why.contains("expected one named block"), "{why}");
    hearing.ends().await;
}
