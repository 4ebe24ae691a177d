//! Signed only by a second person, and only from a book that verifies.

use crate::determination::*;
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
