//! Reports, sign-off and past results on the command line. Names are invented.

use crate::workshop::{Workshop, ended, meltrange};
use std::path::{Path, PathBuf};

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).expect("one JSON object")
}

/// A book with a sample, its one person the supervisor.
fn book(workshop: &Workshop) -> PathBuf {
    let book = workshop.path("practical");
    let made = ended(
        meltrange()
            .args(["book", "new"])
            .arg(&book)
            .args(["--by", "R. Amsel"]),
    );
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    let added = ended(meltrange().args(["sample", "add"]).arg(&book).arg("U-1"));
    assert_eq!(added.status, Some(0), "{}", added.stderr);
    book
}

fn report(book: &Path, sample: &str, out: &Path) -> assert_cmd::Command {
    let mut command = meltrange();
    command
        .arg("report")
        .arg(book)
        .arg(sample)
        .arg("--out")
        .arg(out);
    command
}

#[test]
fn a_sample_without_runs_has_a_report_that_says_so() {
    let workshop = Workshop::new();
    let book = book(&workshop);
    let pdf = workshop.path("u-1.pdf");
    let made = ended(report(&book, "U-1", &pdf).arg("--json"));
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    let said = json(&made.stdout);
    assert_eq!(said["pages"], 1);
    assert_eq!(said["reports"][0]["has_result"], false);
    assert_eq!(said["reports"][0]["signed_off"], false);
    assert!(std::fs::read(&pdf).expect("written").starts_with(b"%PDF-"));
    let html = workshop.path("u-1.html");
    let made = ended(report(&book, "U-1", &html).args(["--language", "de", "--sentences"]));
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    assert!(
        made.stdout.contains("a draft until a second person"),
        "{}",
        made.stdout
    );
    let text = std::fs::read_to_string(&html).expect("written");
    assert!(
        text.contains("lang=\"de\"") && text.contains("Entwurf"),
        "{text}"
    );
    assert!(
        !text.contains("http://") && !text.contains("<script"),
        "it needs no other file"
    );
}

#[test]
fn reports_write_over_nothing_and_say_what_is_wrong() {
    let workshop = Workshop::new();
    let book = book(&workshop);
    let pdf = workshop.path("u-1.pdf");
    std::fs::write(&pdf, "mine").expect("written");
    for (sample, out, words) in [
        ("U-1", pdf.clone(), "is there already"),
        ("U-7", workshop.path("u-7.pdf"), "U-7"),
        ("U-1", workshop.path("u-1.doc"), ".pdf or .html"),
        ("U-1", workshop.path("nowhere/u-1.pdf"), "cannot be written"),
    ] {
        let refused = ended(&mut report(&book, sample, &out));
        assert_eq!(refused.status, Some(1), "{}", refused.stdout);
        assert!(
            refused.stderr.contains(words),
            "{words}: {}",
            refused.stderr
        );
    }
    assert_eq!(std::fs::read_to_string(&pdf).expect("there"), "mine");
    let logo = workshop.path("logo.png");
    std::fs::write(&logo, "no picture").expect("written");
    let made = ended(
        report(&book, "U-1", &pdf)
            .arg("--replace")
            .arg("--logo")
            .arg(&logo),
    );
    assert_eq!(made.status, Some(0), "{}", made.stderr);
    assert!(
        made.stdout.contains("letterhead is left out"),
        "{}",
        made.stdout
    );
    std::fs::write(book.join("report.toml"), "paper = \"a5\"\n").expect("written");
    let refused = ended(&mut report(&book, "U-1", &workshop.path("a.pdf")));
    assert_eq!(refused.status, Some(1));
    assert!(
        refused.stderr.contains("report.toml") && refused.stderr.contains("line 1"),
        "{}",
        refused.stderr
    );
}

#[test]
fn without_a_result_nothing_is_signed_off() {
    let workshop = Workshop::new();
    let book = book(&workshop);
    let refused = ended(
        meltrange()
            .args(["sample", "sign-off"])
            .arg(&book)
            .arg("U-1"),
    );
    assert_eq!(refused.status, Some(1));
    assert!(refused.stderr.contains("no result"), "{}", refused.stderr);
    let refused = ended(meltrange().args(["sample", "sign-off"]).arg(&book).args([
        "U-1",
        "--withdraw",
        "a slip",
    ]));
    assert!(
        refused.stderr.contains("not signed off"),
        "{}",
        refused.stderr
    );
}

#[test]
fn past_results_are_looked_through_and_taken_in_once() {
    let workshop = Workshop::new();
    let book = book(&workshop);
    let table = workshop.path("notebook-12.csv");
    std::fs::write(
        &table,
        "sample;mp;date\nU-1;113,5-114,5;2019-03-12\nU-2;clear;\nU-3;> 300 dec.;\n",
    )
    .expect("written");
    let past = || {
        let mut command = meltrange();
        command.args(["sample", "past"]).arg(&book).arg(&table);
        command
    };
    let seen = ended(&mut past());
    assert_eq!(seen.status, Some(0), "{}", seen.stderr);
    for part in [
        "\"mp\": range",
        "113.5–114.5 °C",
        "line 3",
        "clear",
        "new sample",
        "nothing was recorded",
    ] {
        assert!(seen.stdout.contains(part), "{part}: {}", seen.stdout);
    }
    let taken = json(&ended(past().args(["--record", "--json"])).stdout);
    assert_eq!(taken["recorded"]["past_results"], 2);
    assert_eq!(taken["recorded"]["samples_added"], 1);
    let again = json(&ended(past().args(["--record", "--json"])).stdout);
    assert_eq!(again["recorded"]["past_results"], 0);
    assert_eq!(again["rows"][0]["there_already"], true);
    let verified = ended(meltrange().args(["book", "verify"]).arg(&book));
    assert_eq!(verified.status, Some(0), "{}", verified.stdout);
}
