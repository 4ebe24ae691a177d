//! What goes wrong with what a report is made of: a clear line in it, never a broken file.

use crate::determination::*;
use crate::poppler::{OnDisk, assert_says, squeezed};
use crate::report_html::HOSTILE;
use meltrange_report::model::*;
use meltrange_report::*;
use std::path::PathBuf;

fn both(report: Report, options: &ReportOptions) -> (Pdf, String, String) {
    let reports = [report];
    let pdf = report_pdf(&reports, options).expect("made all the same");
    let text = OnDisk::of(&pdf.bytes).text();
    let html = report_html(&reports, options).expect("made all the same");
    (pdf, text, html.text)
}

fn english(report: Report) -> (Pdf, String, String) {
    both(report, &ReportOptions::default())
}

fn picture_of(report: &mut Report) -> &mut Frame {
    let moment = report.runs[0].first_liquid.as_mut().expect("it was read");
    &mut moment.picture
}

#[test]
fn pictures_that_are_none() {
    let whole = tube_picture(0.3);
    let cut = whole[..whole.len() / 2].to_vec();
    let mut header_only = whole[..20].to_vec();
    header_only.extend([0xff; 40]);
    for file in [
        Vec::new(),
        b"not a picture".to_vec(),
        b"<svg xmlns='http://www.w3.org/2000/svg'/>".to_vec(),
        b"\x89PNG\r\n\x1a\nrubbish".to_vec(),
        b"\xff\xd8\xff".to_vec(),
        header_only,
        // A PNG header that promises a picture of 4 · 10⁹ × 4 · 10⁹ pixels.
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\xff\xff\xff\xff\xff\xff\xff\xff\x08\x02\0\0\0".to_vec(),
    ] {
        let length = file.len();
        let mut report = plain();
        *picture_of(&mut report) = Frame::Shown {
            file: file.clone(),
            time_s: 240.4,
            logged_c: 121.2,
            crop: None,
        };
        report.letterhead.logo = Some(file);
        let (pdf, text, html) = english(report);
        assert!(
            pdf.warnings
                .iter()
                .any(|one| matches!(one, Warning::Picture { run: 1, .. })),
            "{length}"
        );
        assert!(
            pdf.warnings
                .iter()
                .any(|one| matches!(one, Warning::Logo { .. })),
            "{length}"
        );
        assert_says(
            &text,
            "First liquid: No picture: the file cannot be decoded as JPEG or PNG",
        );
        assert_says(&text, "Letterhead picture left out");
        assert!(html.contains("Letterhead picture left out"));
    }
    // Half a JPEG may be shown by a decoder that is lenient; what counts is that the file is whole.
    let mut report = plain();
    *picture_of(&mut report) = Frame::Shown {
        file: cut,
        time_s: 240.4,
        logged_c: 121.2,
        crop: None,
    };
    let (pdf, _, _) = english(report);
    assert_eq!(pdf.pages, 1);
}

#[test]
fn pictures_that_are_missing() {
    let mut report = plain();
    *picture_of(&mut report) = Frame::Missing {
        because: "the recording ends at 3:12".to_owned(),
    };
    let (pdf, text, html) = english(report);
    assert_eq!(pdf.warnings, []);
    assert_says(
        &text,
        "First liquid: No picture: the recording ends at 3:12",
    );
    assert!(html.contains("No picture: the recording ends at 3:12"));
}

#[test]
fn a_logo_is_shown() {
    let mut report = plain();
    report.letterhead.logo = Some(tube_picture(0.5));
    let (pdf, _, html) = english(report);
    assert_eq!((pdf.warnings, pdf.pages), (Vec::new(), 1));
    assert!(html.contains("<img src=\"data:image/jpeg;base64,"));
}

#[test]
fn remarks_as_long_as_they_like() {
    let sentence = "The powder drew together before anything was liquid, and one grain stayed. ";
    let mut remarks: String = sentence.repeat(140);
    remarks.push_str("\nEnd of the remarks.");
    assert!(remarks.len() > 10_000);
    let mut report = plain();
    report.remarks = Some(remarks.clone());
    let (pdf, text, _) = english(report);
    assert!(pdf.pages >= 2, "{}", pdf.pages);
    assert_says(&text, "End of the remarks.");
    let shown = squeezed(&text)
        .matches(&squeezed("one grain stayed."))
        .count();
    // A page may break within one or two of them.
    assert!(shown >= 137, "{shown}");

    // Ten thousand characters without a place to break stay on the paper: 595 × 842 points less margins.
    let mut report = plain();
    report.remarks = Some("x".repeat(10_000));
    report.sample.label = "y".repeat(300);
    let (pdf, text, _) = english(report);
    assert!(pdf.pages >= 2);
    assert!(text.matches('x').count() >= 10_000);
}

#[test]
fn a_sample_without_runs() {
    let mut report = plain();
    report.runs.clear();
    report.result = None;
    report.agreement = None;
    report.thermometers.clear();
    let (pdf, text, html) = english(report);
    assert_eq!(pdf.pages, 1);
    for words in [
        "No result",
        "No melting range was stated for this sample.",
        "This sample has not been heated: there are no runs.",
    ] {
        assert_says(&text, words);
        assert!(html.contains(words));
    }
}

#[test]
fn numbers_that_are_none() {
    let mut report = plain();
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let result = report.result.as_mut().expect("plain has one");
        result.range_text = None;
        let first = result.first_liquid.as_mut().expect("plain has one");
        first.value_c = bad;
        first.expanded_uncertainty_c = bad;
        first.coverage_factor = bad;
        report.runs[0].curve[3].temperature_c = bad;
        report.runs[0].heating_rate_c_per_min = Some(bad);
        report.runs[0].programme[0].rate_c_per_min = Some(bad);
        let moment = report.runs[0].last_crystal.as_mut().expect("it was read");
        moment.logged_c = bad;
        moment.time_s = bad;
        report.sample.column_height_mm = Some(bad);
        let (pdf, text, html) = english(report.clone());
        assert!(
            pdf.warnings
                .iter()
                .any(|one| matches!(one, Warning::NotNumbers { .. }))
        );
        assert_says(
            &text,
            "values of this report are not numbers; a dash stands in their place.",
        );
        for word in ["NaN", "inf"] {
            assert!(
                !text.contains(word) || word == "inf" && !text.contains(" inf "),
                "{text}"
            );
            assert!(!html.contains(&format!(">{word}")), "{word}");
        }
    }
}

#[test]
fn numbers_at_the_ends_of_what_there_is() {
    let mut report = plain();
    let moment = report.runs[0].first_liquid.as_mut().expect("it was read");
    moment.logged_c = -1e300;
    moment.time_s = 1e300;
    moment.standard_uncertainty_c = 1e-300;
    report.runs[1].curve = vec![
        CurvePoint {
            time_s: 0.0,
            temperature_c: -1e300,
            melted_fraction: -5.0,
        },
        CurvePoint {
            time_s: 1.0,
            temperature_c: 1e300,
            melted_fraction: 1e300,
        },
    ];
    let (pdf, _, _) = english(report);
    assert!(pdf.pages >= 1);
}

#[test]
fn texts_of_people_are_no_markup_on_paper_either() {
    for hostile in HOSTILE {
        let mut report = plain();
        report.sample.label = hostile.to_owned();
        report.remarks = Some(hostile.to_owned());
        report.people[0].name = hostile.to_owned();
        report.letterhead.lines = vec![hostile.to_owned()];
        let (pdf, text, _) = english(report);
        assert_eq!(pdf.warnings, []);
        let shown = squeezed(&text).matches(&squeezed(hostile)).count();
        // Label at the head, among the facts and in the footer; remarks, person, letterhead.
        assert!(shown >= 5, "{hostile}: {shown}\n{text}");
    }
}

fn fonts_of_this_system() -> Fonts {
    Fonts::default().searching([PathBuf::from("/usr/share/fonts")])
}

#[test]
fn characters_that_no_carried_font_has_are_named() {
    let mut report = plain();
    report.people[0].name = "林 美咲 \u{e123}".to_owned();
    report.remarks = Some("𒀀 and 𒀁".to_owned());
    let (pdf, text, _) = english(report);
    let characters = pdf
        .warnings
        .iter()
        .find_map(|one| match one {
            Warning::MissingGlyphs { characters } => Some(characters.clone()),
            _ => None,
        })
        .expect("a warning");
    assert_eq!(
        characters,
        ['林', '美', '咲', '\u{e123}', '𒀀', '𒀁']
            .into_iter()
            .collect::<std::collections::BTreeSet<_>>()
            .into_iter()
            .collect::<Vec<_>>()
    );
    assert_says(&text, "[U+6797] [U+7F8E][U+54B2]");
    assert_says(&text, "[U+12000] and [U+12001]");
    assert_says(&text, "No font at hand has these characters");
}

/// Debian's fonts-droid-fallback has Han characters and Kana; where no font has, they are named.
#[test]
fn other_scripts_are_set_where_a_font_has_them() {
    let options = ReportOptions {
        fonts: fonts_of_this_system(),
        ..ReportOptions::default()
    };
    let names = [
        "林 美咲",
        "שרה כהן",
        "ليلى حداد",
        "Ђорђе Šťastný",
        "Nguyễn Thị Hồng",
    ];
    for name in names {
        let mut report = plain();
        report.people[0].name = name.to_owned();
        report.remarks = Some(format!("{name}: {name}."));
        let (pdf, text, html) = both(report, &options);
        let missing = pdf
            .warnings
            .iter()
            .any(|one| matches!(one, Warning::MissingGlyphs { .. }));
        assert!(html.contains(name));
        if missing {
            assert_says(&text, "[U+");
            continue;
        }
        // Letters only: poppler writes right-to-left words in its own order of lines.
        for word in name.split_whitespace() {
            assert!(
                text.contains(word) || squeezed(&text).contains(&squeezed(word)),
                "{word} in\n{text}"
            );
        }
    }
}

#[test]
fn a_rectangle_outside_its_picture_shows_the_whole() {
    for bad in [
        [0.5, 0.0, 0.6, 1.0],
        [-0.1, 0.0, 0.5, 1.0],
        [0.2, 0.2, 0.0, 0.5],
        [0.2, 0.2, 1e-9, 0.5],
        [f64::NAN, 0.0, 1.0, 1.0],
        [0.0, 0.0, f64::INFINITY, 1.0],
    ] {
        let mut report = plain();
        let Frame::Shown { crop, .. } = picture_of(&mut report) else {
            panic!("plain has one");
        };
        *crop = Some(bad);
        let (pdf, text, html) = english(report);
        assert!(
            matches!(pdf.warnings[..], [Warning::Crop { run: 1, .. }]),
            "{bad:?}: {:?}",
            pdf.warnings
        );
        for shown in [text, html] {
            assert_says(
                &shown,
                "whole picture, the tube’s rectangle lies outside it",
            );
        }
    }
}

#[test]
fn a_rectangle_on_a_picture_that_is_none_is_a_missing_picture() {
    let mut report = plain();
    *picture_of(&mut report) = Frame::Shown {
        file: b"\xff\xd8\xffrubbish".to_vec(),
        time_s: 240.4,
        logged_c: 121.2,
        crop: Some([0.1, 0.1, 0.2, 0.8]),
    };
    let (pdf, text, _) = english(report);
    assert!(matches!(pdf.warnings[..], [Warning::Picture { .. }]));
    assert_says(
        &text,
        "First liquid: No picture: the file cannot be decoded",
    );
}

#[test]
fn sixty_runs_and_a_label_of_three_hundred_letters() {
    let mut report = plain();
    report.runs = (1..=60_u8)
        .map(|index| {
            let mut one = run(1, 121.2, 122.0);
            one.name = Some(format!("EP-{index}"));
            one
        })
        .collect();
    report.sample.label = "Unknown of the second shelf ".repeat(12);
    let (pdf, text, html) = english(report);
    assert_eq!(pdf.warnings, []);
    assert!(pdf.pages >= 12, "{}", pdf.pages);
    for index in 1..=60 {
        let title = format!("Run {index} (EP-{index}), tube 1");
        assert_says(&text, &title);
        assert!(html.contains(&title));
    }
    assert_says(&text, &format!("Page {0} of {0}", pdf.pages));
}

#[test]
fn sixty_tubes_that_claim_to_be_one_run() {
    let mut report = plain();
    report.runs = (1..=60_u8)
        .map(|place| {
            let mut one = run(1, 121.2, 122.0);
            one.place = place;
            one
        })
        .collect();
    let (pdf, text, _) = english(report);
    assert_eq!(pdf.warnings, []);
    assert!(pdf.pages >= 5, "{}", pdf.pages);
    for place in 1..=60 {
        assert_says(
            &text,
            &format!("tube {place} 121.20 (u 0.06) 121.57 (u 0.12) 4:00.0 122.00"),
        );
    }
}

#[test]
fn no_candidates_at_all() {
    let mut report = plain();
    report.candidates = Some(Candidates {
        list: "shelf of unknowns, 24 substances".to_owned(),
        shown: Vec::new(),
        others: 0.0,
        others_count: 0,
        not_in_list: 1.0,
    });
    let (pdf, text, html) = english(report);
    assert_eq!((pdf.warnings, pdf.pages), (Vec::new(), 1));
    for shown in [text, html] {
        assert_says(&shown, "no substance was ranked");
        assert_says(&shown, "100 %");
    }
}

#[test]
fn values_of_the_list_say_of_which_day_they_are() {
    let (_, text, html) = english(full());
    for shown in [text, html] {
        assert_says(
            &shown,
            "Literature values were looked up when this report was made (2026-11-25); the record does not hold them.",
        );
    }
}

#[test]
fn a_picture_that_is_missing_for_a_long_reason_stays_in_its_place() {
    let mut report = plain();
    let because = "the recording was cut off by a power failure before this moment came ".repeat(4);
    *picture_of(&mut report) = Frame::Missing {
        because: because.clone(),
    };
    let (pdf, text, _) = english(report);
    assert_eq!(pdf.pages, 1);
    assert_says(&text, because.trim());
}
