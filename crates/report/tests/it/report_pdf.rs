//! Reports as PDF, looked at with tools of other people.

use crate::determination::*;
use crate::poppler::{OnDisk, assert_says};
use meltrange_report::model::*;
use meltrange_report::*;

fn made(reports: &[Report], language: Language) -> Pdf {
    let options = ReportOptions {
        language,
        ..ReportOptions::default()
    };
    report_pdf(reports, &options).expect("a report that can be shown")
}

fn english(report: Report) -> (Pdf, OnDisk) {
    let pdf = made(&[report], Language::English);
    let disk = OnDisk::of(&pdf.bytes);
    (pdf, disk)
}

#[test]
fn a_plain_report_is_one_page_with_every_value_and_unit() {
    let (pdf, disk) = english(plain());
    assert_eq!(pdf.warnings, []);
    assert_eq!(pdf.pages, 1);
    let text = disk.text();
    for words in [
        "Brackwater College, Department of Chemistry",
        "EP-2026-041/1",
        "Unknown 4",
        "121.6–122.4 °C",
        "corrected, thermodynamic (zero heating rate)",
        "1.02 °C/min",
        "First liquid 121.64 0.24 2.1 0.12",
        "Last crystal 122.41 0.26 2.1 0.13",
        "U covers about 95 %",
        "The 2 runs agree within 0.5 °C at both ends (farthest apart: 0.14 °C).",
        "dried; ground fine; column 2.5 mm; solvent: aqueous ethanol",
        "harmful by inhalation; dust",
        "approach at 10.0 °C/min to 112.0 °C; hold at 112.0 °C for 2 min; scan at 1.0 °C/min to 126.0 °C",
        "1.01 °C/min; 1.03 °C/min",
        "Pt100 no. 7; Bench 2",
        "in force from 2026-10-01; corrected, thermodynamic (zero heating rate)",
        "benzil, urea",
        "in order; last check 2026-11-20; next due 2026-12-20",
        "First liquid 121.20 (u 0.06) 121.57 (u 0.12) 4:00.0",
        "Last crystal 122.00 (u 0.06) 122.37 (u 0.12) 4:48.0",
        "Pictures, with their time and their temperature as logged",
        "First liquid: 4:00.4, 121.21 °C",
        "the program, confirmed by Ada Lindqvist",
        &"1".repeat(64),
        &"2".repeat(64),
        "verified 2026-11-25 19:29 (UTC+01:00): 412 records unbroken",
        &"9f".repeat(32),
        "Page 1 of 1",
        "temperature as logged, °C",
        "meltrange 0.1.0",
    ] {
        assert_says(&text, words);
    }
}

#[test]
fn three_runs_with_all_conclusions_are_at_most_two_pages() {
    let (pdf, disk) = english(full());
    assert!(pdf.pages <= 2, "{}", pdf.pages);
    let text = disk.text();
    for words in [
        "meets the requirement",
        "required 121.0–123.0 °C (order 7, delivered lot)",
        "guard bands for 95 %; 0.21 °C at the lower limit, 0.23 °C at the upper",
        "lower limit: > 99 %",
        "upper limit: 99 %",
        "2-naphthol 121.5–123.0 81 %",
        "benzoic acid 122.4 11 %",
        "all others in the list (22) 3 %",
        "not in the list 4 %",
        "no depression: consistent with the same substance",
        "50 % of it by mass; mixture melted 121.5–122.3 °C; last crystal lower by 0.11 °C (u 0.17 °C)",
        "99.23 % (u 0.14 %)",
        "2-naphthol, pure enough for the coupling",
        "Reviewed and signed off by Bruno Okafor, 2026-11-26 09:05 (UTC+01:00).",
        "Tube 2 was tapped once during the soak.",
    ] {
        assert_says(&text, words);
    }
    assert!(!text.contains("DRAFT"), "{text}");
}

#[test]
fn three_plain_runs_are_one_page() {
    let mut report = plain();
    report.runs.push(run(3, 121.28, 122.05));
    let (pdf, _) = english(report);
    assert_eq!(pdf.pages, 1);
}

#[test]
fn it_says_that_it_is_for_archives() {
    let (pdf, disk) = english(full());
    assert_eq!(pdf.standard, Standard::ArchiveAccessible);
    let metadata = disk.metadata();
    // ISO 19005-2, 6.6.4: part and conformance in the XMP metadata; ISO 14289-1, clause 5: its part.
    for (name, value) in [
        ("pdfaid:part", "2"),
        ("pdfaid:conformance", "A"),
        ("pdfuaid:part", "1"),
    ] {
        let element = format!("<{name}>{value}</{name}>");
        let attribute = format!("{name}=\"{value}\"");
        assert!(
            metadata.contains(&element) || metadata.contains(&attribute),
            "{name}: {metadata}"
        );
    }
    let info = disk.info();
    assert!(info.contains("Tagged:          yes"), "{info}");
    assert!(info.contains("JavaScript:      no"), "{info}");
    for font in disk.fonts() {
        // Columns of pdffonts: …, embedded, subset, with a mapping to Unicode, object.
        let columns: Vec<&str> = font.split_whitespace().rev().collect();
        assert_eq!(&columns[2..5], ["yes", "yes", "yes"], "{font}");
    }
}

#[test]
fn the_same_report_gives_the_same_bytes() {
    let first = made(&[plain()], Language::English);
    let second = made(&[plain()], Language::English);
    assert!(first.bytes == second.bytes);
}

#[test]
fn a_draft_has_its_watermark_and_a_signed_report_none() {
    let (_, draft) = english(plain());
    assert_says(&draft.text(), "DRAFT");
    assert_says(
        &draft.text(),
        "not yet reviewed and signed off by a second person",
    );
    // The watermark is to be seen, not only to be read: light grey that a signed report has less of.
    let grey = |disk: &OnDisk| {
        let (luma, _) = disk.first_page();
        luma.iter()
            .filter(|luma| (215..250).contains(*luma))
            .count()
    };
    let mut report = plain();
    report.sign_off = full().sign_off;
    let (_, signed) = english(report);
    let (with, without) = (grey(&draft), grey(&signed));
    assert!(with > without + 1000, "{with} {without}");
}

#[test]
fn what_went_otherwise_is_said() {
    let cases = [
        (
            decomposed(),
            vec![
                "No result",
                "Both tubes darkened",
                "decomposed: darkening from 118.4 °C",
                "Not in the result",
                "what looks like melting here may be charring",
            ],
        ),
        (
            not_agreed(),
            vec![
                "The 2 runs do not agree within 0.5 °C at both ends (farthest apart: 0.83 °C).",
                "Further runs needed: 1.",
                "Left out: run 3: column too tall",
            ],
        ),
        (
            out_of_specification(),
            vec![
                "does not meet the requirement",
                "required 122.00–124.25 °C",
                "simple acceptance",
                "< 1 %",
                "100 %",
            ],
        ),
        (
            out_of_calibration(),
            vec![
                "check long overdue: out of calibration",
                "158 days past its date",
                "Measured with a thermometer that was past its date.",
            ],
        ),
        (
            mixed_melting(),
            vec![
                "depressed: a different substance",
                "48 % of it by mass; mixture melted 98.2–110.7 °C; last crystal lower by 11.73 °C (u 0.31 °C)",
            ],
        ),
    ];
    for (report, expected) in cases {
        let (pdf, disk) = english(report);
        assert_eq!(pdf.pages, 1, "{expected:?}");
        let text = disk.text();
        for words in expected {
            assert_says(&text, words);
        }
    }
}

#[test]
fn a_batch_is_one_document_with_an_overview() {
    let pdf = made(&batch(40), Language::English);
    let disk = OnDisk::of(&pdf.bytes);
    let pages = disk.pages();
    assert_eq!(pages.len(), pdf.pages);
    assert!(pdf.pages >= 41);
    assert_says(&pages[0], "40 reports");
    for (index, page) in pages.iter().enumerate() {
        assert_says(page, &format!("batch: {} of {}", index + 1, pdf.pages));
    }
    for sample in 1..=40 {
        let label = format!("Unknown {sample}");
        let number = format!("EP-2026-{:03}/1", 99 + sample);
        assert_says(&pages[0..2].concat(), &number);
        let own = pages
            .iter()
            .skip(1)
            .find(|page| page.contains(&number) && page.contains(&label));
        assert!(own.is_some(), "{label}");
    }
}

#[test]
fn every_language_is_set_whole() {
    for language in Language::ALL {
        let reports = [
            full(),
            decomposed(),
            not_agreed(),
            out_of_calibration(),
            mixed_melting(),
        ];
        let pdf = made(&reports, language);
        assert_eq!(pdf.warnings, [], "{language:?}");
        let text = OnDisk::of(&pdf.bytes).text();
        let (range, rate, name) = match language {
            Language::English => ("121.6–122.4 °C", "1.02 °C/min", "Last crystal"),
            Language::German => ("121,6–122,4 °C", "1,02 °C/min", "Letzter Kristall"),
            Language::French => ("121,6–122,4 °C", "1,02 °C/min", "Dernier cristal"),
            Language::Spanish => ("121,6–122,4 °C", "1,02 °C/min", "Último cristal"),
        };
        for words in [range, rate, name] {
            assert_says(&text, words);
        }
        assert!(!text.contains('\u{fffd}'), "{language:?}");
    }
}

#[test]
fn a_batch_in_which_one_may_not_be_signed_is_refused() {
    let mut reports = batch(3);
    reports[0].chain = Chain::Broken {
        found: "record 17 was altered".to_owned(),
    };
    let error = report_pdf(&reports, &ReportOptions::default()).expect_err("an altered book");
    assert!(
        error.to_string().contains("record 17 was altered"),
        "{error}"
    );
    assert!(matches!(
        report_pdf(&[], &ReportOptions::default()),
        Err(ReportError::Nothing)
    ));
}
