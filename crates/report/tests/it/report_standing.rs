//! Signed only by a second person, and only from a book that verifies.

use crate::determination::*;
use crate::poppler::{OnDisk, assert_says};
use meltrange_report::model::*;
use meltrange_report::*;

fn everything_refuses(report: &Report, words: &str) {
    let options = ReportOptions::default();
    let reports = std::slice::from_ref(report);
    let errors = [
        report_pdf(reports, &options)
            .map(|_| ())
            .expect_err(words)
            .to_string(),
        report_html(reports, &options)
            .map(|_| ())
            .expect_err(words)
            .to_string(),
        sentences(report, &options)
            .map(|_| ())
            .expect_err(words)
            .to_string(),
    ];
    for error in errors {
        assert!(error.contains(words), "{error}");
        assert!(
            error.contains("Bruno Okafor") || error.contains("nobody"),
            "{error}"
        );
    }
}

#[test]
fn a_signed_report_of_an_altered_book_is_refused() {
    let mut report = full();
    assert_eq!(report.standing(), Ok(Standing::Signed));
    report.chain = Chain::Broken {
        found: "the hash of record 17 is not that of its content".to_owned(),
    };
    everything_refuses(&report, "record 17");
    report.chain = Chain::NotVerified;
    everything_refuses(&report, "was not verified");
}

#[test]
fn a_draft_of_an_altered_book_says_that_it_is_no_evidence() {
    let mut report = plain();
    report.chain = Chain::Broken {
        found: "record 17 is missing".to_owned(),
    };
    let html = report_html(&[report], &ReportOptions::default()).expect("a draft");
    assert!(
        html.text
            .contains("this report is no evidence: record 17 is missing")
    );
}

#[test]
fn nobody_signs_their_own_work() {
    let mut report = full();
    report.people.push(Contributor {
        name: "  bruno  OKAFOR ".to_owned(),
        part: Part::Read,
    });
    everything_refuses(&report, "expected a second person");
    // To answer for the bench is no part in the work.
    report.people.pop();
    report.people.push(Contributor {
        name: "Bruno Okafor".to_owned(),
        part: Part::Supervised,
    });
    assert_eq!(report.standing(), Ok(Standing::Signed));
}

#[test]
fn a_signature_has_a_name() {
    let mut report = full();
    report.sign_off = SignOff::Reviewed {
        by: " ".to_owned(),
        when: stamp("2026-11-26T09:05:00+01:00"),
        meaning: Meaning::ReviewedAndApproved,
        statement: None,
        record: None,
    };
    everything_refuses(&report, "expected a name");
}

#[test]
fn a_signature_of_an_earlier_version_makes_a_draft_that_says_so() {
    let mut report = full();
    report.sign_off = SignOff::Outdated {
        by: "Bruno Okafor".to_owned(),
        when: stamp("2026-11-26T09:05:00+01:00"),
        changed: vec![ChangedSince::Readings, ChangedSince::Result],
    };
    // Whatever the book's chain says, a draft can be shown.
    assert_eq!(report.standing(), Ok(Standing::Draft));
    report.chain = Chain::NotVerified;
    assert_eq!(report.standing(), Ok(Standing::Draft));
    for language in Language::ALL {
        let options = ReportOptions {
            language,
            ..ReportOptions::default()
        };
        let (watermark, no_longer) = match language {
            Language::English => (
                "DRAFT",
                "no longer counts: tubes were read or decided on since; the result was stated anew.",
            ),
            Language::German => (
                "ENTWURF",
                "gilt nicht mehr: seither wurden Röhrchen ausgewertet oder entschieden; das Ergebnis wurde neu festgestellt.",
            ),
            Language::French => (
                "PROJET",
                "ne vaut plus : des tubes ont été lus ou tranchés depuis; le résultat a été établi à nouveau.",
            ),
            Language::Spanish => (
                "BORRADOR",
                "ya no vale: desde entonces se leyeron o decidieron tubos; el resultado se estableció de nuevo.",
            ),
        };
        let pdf = report_pdf(&[report.clone()], &options).expect("a draft");
        let text = OnDisk::of(&pdf.bytes).text();
        let html = report_html(&[report.clone()], &options)
            .expect("a draft")
            .text;
        for words in [
            watermark,
            "Bruno Okafor",
            "2026-11-26 09:05 (UTC+01:00)",
            no_longer,
        ] {
            assert_says(&text, words);
            assert_says(&html, words);
        }
        let pasted = sentences(&report, &options).expect("a draft").notebook;
        assert!(!pasted.contains("Bruno Okafor"), "{pasted}");
    }
}

#[test]
fn a_signature_says_what_it_means() {
    let options = ReportOptions::default();
    let pdf = report_pdf(&[full()], &options).expect("signed");
    assert_says(
        &OnDisk::of(&pdf.bytes).text(),
        "Reviewed and signed off by Bruno Okafor, 2026-11-26 09:05 (UTC+01:00). Meaning of the signature: Reviewed and approved: looked through, and the result may be used.",
    );
}

#[test]
fn what_was_kept_before_signatures_had_a_meaning_is_still_read() {
    let old = r#"{"is":"reviewed","by":"Bruno Okafor","when":"2026-11-26T09:05:00+01:00"}"#;
    let found: SignOff = serde_json::from_str(old).expect("meaning may be missing");
    assert!(matches!(
        found,
        SignOff::Reviewed {
            meaning: Meaning::Reviewed,
            ..
        }
    ));
    let frame = r#"{"is":"shown","file":"","time_s":1.0,"logged_c":20.0}"#;
    let found: Frame = serde_json::from_str(frame).expect("a rectangle may be missing");
    assert!(matches!(found, Frame::Shown { crop: None, .. }));
}
