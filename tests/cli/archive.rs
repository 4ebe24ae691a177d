//! Archives on the command line: books and samples out and in, films, tables, calendars.

use crate::workshop::{Ended, RISING_LOG, Workshop, ended, meltrange};
use std::path::{Path, PathBuf};

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).expect("one JSON object")
}

fn call(arguments: &[&str], paths: &[&Path], more: &[&str]) -> Ended {
    ended(meltrange().args(arguments).args(paths).args(more))
}

/// A book with one recording of U-1, imported.
fn book(workshop: &Workshop) -> PathBuf {
    let book = workshop.path("practical");
    let made = call(&["book", "new"], &[&book], &["--by", "R. Amsel"]);
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    let added = call(
        &["sample", "add"],
        &[&book],
        &["U-1", "--expected", "2-naphthol"],
    );
    assert_eq!(added.status, Some(0), "{}", added.stderr);
    let video = workshop.video(
        "run.mkv",
        "testsrc=size=64x48:rate=2:duration=5",
        &["-c:v", "mjpeg"],
    );
    let log = workshop.file("log.csv", RISING_LOG);
    let imported = ended(
        meltrange()
            .arg("import")
            .arg(&book)
            .arg(video)
            .arg("--temperature")
            .arg(log)
            .args(["--sample", "U-1", "--no-pictures"]),
    );
    assert_eq!(imported.status, Some(0), "{}", imported.stderr);
    book
}

#[test]
fn a_book_goes_out_and_comes_back() {
    let workshop = Workshop::new();
    let book = book(&workshop);
    let zip = workshop.path("practical.zip");
    let licence = "https://spdx.org/licenses/CC-BY-4.0";
    let out = call(
        &["book", "export"],
        &[&book, Path::new("--out"), &zip],
        &["--licence", licence, "--json"],
    );
    assert_eq!(out.status, Some(0), "{}", out.stderr);
    let exported = json(&out.stdout);
    assert_eq!(exported["exported"]["recordings"], 1);
    assert_eq!(exported["exported"]["incomplete"], serde_json::json!([]));
    let taken = call(&["book", "export"], &[&book, Path::new("--out"), &zip], &[]);
    assert_eq!(taken.status, Some(1));
    assert!(
        taken.stderr.contains("is already there"),
        "{}",
        taken.stderr
    );

    let again = workshop.path("again");
    let restored = call(
        &["book", "restore"],
        &[&zip, Path::new("--out"), &again],
        &[],
    );
    assert_eq!(restored.status, Some(0), "{}", restored.stderr);
    assert!(
        restored.stdout.contains("verified, nothing was altered"),
        "{}",
        restored.stdout
    );
    let head = exported["exported"]["head"]["hash"]
        .as_str()
        .expect("a hash");
    let verified = call(&["book", "verify"], &[&again], &["--head", head]);
    assert_eq!(verified.status, Some(0), "{}", verified.stderr);

    std::fs::write(&zip, b"PK").expect("room");
    let third = workshop.path("third");
    let refused = call(
        &["book", "restore"],
        &[&zip, Path::new("--out"), &third],
        &[],
    );
    assert_eq!(refused.status, Some(1));
    assert!(refused.stderr.contains("cut off"), "{}", refused.stderr);
    assert!(!third.exists());
}

#[test]
fn a_sample_goes_into_another_book() {
    let workshop = Workshop::new();
    let book = book(&workshop);
    let out = workshop.path("u-1");
    let exported = call(
        &["sample", "export"],
        &[&book],
        &["u-1", "--out", &out.display().to_string()],
    );
    assert_eq!(exported.status, Some(0), "{}", exported.stderr);
    let other = workshop.path("other");
    call(&["book", "new"], &[&other], &["--by", "T. Elster"]);
    let brought = call(&["sample", "bring-in"], &[&other, &out], &["--json"]);
    assert_eq!(brought.status, Some(0), "{}", brought.stderr);
    let brought = json(&brought.stdout);
    assert_eq!(
        (&brought["label"], &brought["recordings"]),
        (&"U-1".into(), &1.into())
    );
    let verified = call(&["book", "verify"], &[&other], &[]);
    assert_eq!(verified.status, Some(0), "{}", verified.stderr);
    let none = call(
        &["sample", "export"],
        &[&book],
        &["U-9", "--out", "/nowhere/x"],
    );
    assert_eq!(none.status, Some(1));
    assert!(
        none.stderr.contains("there is no sample U-9"),
        "{}",
        none.stderr
    );
}

#[test]
fn films_tables_and_curves_are_written() {
    let workshop = Workshop::new();
    let book = book(&workshop);
    let film = workshop.path("u-1.mkv");
    let made = call(
        &["recording", "export"],
        &[&book, Path::new("--out"), &film],
        &["--sample", "U-1", "--json"],
    );
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    assert!(film.metadata().expect("there").len() > 1000);
    let wrong = workshop.path("u-1.mp4");
    let refused = call(
        &["recording", "export"],
        &[&book, Path::new("--out"), &wrong],
        &["--sample", "U-1"],
    );
    assert_eq!(refused.status, Some(1));
    assert!(refused.stderr.contains(".mkv"), "{}", refused.stderr);

    let table = workshop.path("samples.csv");
    let written = call(
        &["book", "table"],
        &[&book, Path::new("samples"), Path::new("--out"), &table],
        &[],
    );
    assert_eq!(written.status, Some(0), "{}", written.stderr);
    let text = std::fs::read_to_string(&table).expect("there");
    assert!(
        text.contains("U-1") && text.starts_with("sample,label"),
        "{text}"
    );

    let curve = workshop.path("u-1.svg");
    let none = call(
        &["curve"],
        &[&book, Path::new("U-1"), Path::new("--out"), &curve],
        &[],
    );
    assert_eq!(none.status, Some(1));
    assert!(
        none.stderr.contains("there is no melting curve"),
        "{}",
        none.stderr
    );
    assert!(!curve.exists());
}

#[test]
fn a_session_becomes_a_calendar() {
    let workshop = Workshop::new();
    let session = workshop.file(
        "session.toml",
        "length_min = 120\noperators = 1\n\
         [[bench]]\nname = \"north\"\nplaces = 3\nroom_c = 22\nstart_c = 22\nheat_rate_c_per_min = 10\n\
         cool_time_constant_min = 12\nmax_c = 260\n\
         [[sample]]\nid = \"U-1\"\nfirst_liquid_c = 113.0\nlast_crystal_c = 114.5\n",
    );
    let out = workshop.path("session.ics");
    let planned = call(
        &["session"],
        &[&session, Path::new("--calendar"), &out],
        &[
            "--time-limit",
            "0.2",
            "--start",
            "2026-11-26T18:00:00+01:00",
            "--person",
            "R. Amsel",
        ],
    );
    assert_eq!(planned.status, Some(0), "{}", planned.stderr);
    let text = std::fs::read_to_string(&out).expect("there");
    assert!(text.contains("DTSTART:20261126T1700"), "{text}");
    assert!(text.contains("R. Amsel at north"), "{text}");
    let again = call(
        &["session"],
        &[&session, Path::new("--calendar"), &out],
        &["--time-limit", "0.2", "--start", "2026-11-26T18:00"],
    );
    assert_eq!(again.status, Some(1));
    assert!(
        again.stderr.contains("is there already"),
        "{}",
        again.stderr
    );
}
