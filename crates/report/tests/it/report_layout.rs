//! How much goes on a page: what is plain on one, the rest on as many as it needs.

use crate::determination::*;
use crate::poppler::{OnDisk, assert_says, squeezed};
use meltrange_report::model::*;
use meltrange_report::*;

/// Set to a folder, the PDFs of these tests are left there to be looked at.
const KEEP: &str = "MELTRANGE_REPORT_PAGES";

const PAPERS: [Paper; 2] = [Paper::A4, Paper::Letter];

fn set(name: &str, reports: &[Report], language: Language, paper: Paper) -> (Pdf, OnDisk) {
    let options = ReportOptions {
        language,
        paper,
        ..ReportOptions::default()
    };
    let pdf = report_pdf(reports, &options).expect("a report that can be shown");
    if let Some(folder) = std::env::var_os(KEEP) {
        let name = format!("{name}-{}-{paper:?}.pdf", language.tag());
        std::fs::write(std::path::Path::new(&folder).join(name), &pdf.bytes)
            .expect("a folder to write to");
    }
    let disk = OnDisk::of(&pdf.bytes);
    (pdf, disk)
}

/// Three tubes of one run in one view, each moment with its own tube's part of it.
fn three_tubes(index: u8, first_c: f64, last_c: f64) -> Vec<Run> {
    (1..=3_u8)
        .map(|place| {
            let shift_c = 0.06 * f64::from(place);
            let mut tube = run(index, first_c + shift_c, last_c + shift_c);
            tube.place = place;
            // The same block heats all three, each melts a little further on in the ramp.
            tube.heating_rate_c_per_min = Some(1.0 + 0.011 * f64::from(place));
            for moment in [&mut tube.first_liquid, &mut tube.last_crystal] {
                let moment = moment.as_mut().expect("it melted");
                let Frame::Shown { file, crop, .. } = &mut moment.picture else {
                    panic!("it has one");
                };
                *file = bench_picture();
                *crop = Some([0.1 + 0.3 * f64::from(place - 1), 0.1, 0.2, 0.85]);
            }
            tube
        })
        .collect()
}

/// Conclusions as a plain report has them: candidates, purity, a remark.
fn concluded(mut report: Report) -> Report {
    let full = full();
    report.candidates = full.candidates;
    report.purity = full.purity;
    report.remarks = full.remarks;
    report
}

fn one_run_of_three_tubes() -> Report {
    let mut report = plain();
    report.runs = three_tubes(1, 121.2, 122.0);
    let agreement = report.agreement.as_mut().expect("plain has one");
    (agreement.spread_c, agreement.runs_used) = (None, 1);
    agreement.further_runs_needed = 1;
    report
}

fn two_runs_of_three_tubes() -> Report {
    let mut report = plain();
    report.runs = three_tubes(1, 121.2, 122.0);
    report.runs.extend(three_tubes(2, 121.27, 122.03));
    report
}

/// What is to be one page, by name.
fn plain_cases() -> Vec<(&'static str, Report)> {
    vec![
        ("a-bare", one_run_of_three_tubes()),
        ("b-bare", plain()),
        ("c-bare", two_runs_of_three_tubes()),
        ("a", concluded(one_run_of_three_tubes())),
        ("b", concluded(plain())),
        ("c", concluded(two_runs_of_three_tubes())),
    ]
}

#[test]
fn what_is_plain_is_one_page_in_every_language_on_both_papers() {
    let mut found = Vec::new();
    for (name, report) in plain_cases() {
        for language in Language::ALL {
            for paper in PAPERS {
                let (pdf, disk) = set(name, std::slice::from_ref(&report), language, paper);
                assert_eq!(pdf.warnings, [], "{name} {language:?}");
                let counted = disk.page_count();
                assert_eq!(pdf.pages, counted, "{name} {language:?} {paper:?}");
                if counted != 1 {
                    found.push(format!("{name} {language:?} {paper:?}: {counted}"));
                }
            }
        }
    }
    assert!(found.is_empty(), "{found:#?}");
}

/// Every text of the page in HTML, which is filled from the same values, piece by piece.
fn every_piece(report: &Report, language: Language) -> Vec<String> {
    let options = ReportOptions {
        language,
        ..ReportOptions::default()
    };
    let html = report_html(std::slice::from_ref(report), &options).expect("it can be shown");
    let page = scraper::Html::parse_document(&html.text);
    let wanted = "h1, h2, h3, dt, dd, th, td, .banner, .range, .result p, .in-line span, .run p, \
                  figure.curve text, .pictures figcaption, .sections p, footer .note";
    let selector = scraper::Selector::parse(wanted).expect("a selector");
    page.select(&selector)
        .filter(|one| {
            let mut above = one.ancestors().filter_map(scraper::ElementRef::wrap);
            !above.any(|above| above.value().classes().any(|class| class == "sentences"))
        })
        .flat_map(|one| {
            let pieces: Vec<String> = one.text().map(str::to_owned).collect();
            if one.value().name() != "figcaption" {
                return pieces;
            }
            // On paper a tube is named once for both its pictures.
            let caption = pieces.concat();
            let told = caption.split_once(": ").map(|(_, told)| told.to_owned());
            vec![told.expect("a moment and what is seen of it")]
        })
        .filter(|piece| !squeezed(piece).is_empty())
        .collect()
}

#[test]
fn paper_says_everything_that_the_page_says() {
    for language in Language::ALL {
        for (name, mut report) in plain_cases() {
            if name.ends_with("bare") {
                continue;
            }
            report.specification = full().specification;
            report.mixed_meltings = full().mixed_meltings;
            report.deviations = vec!["The soak was cut short by a minute.".to_owned()];
            let (_, disk) = set(
                &format!("{name}-all"),
                &[report.clone()],
                language,
                Paper::A4,
            );
            let text = squeezed(&disk.text());
            let pieces = every_piece(&report, language);
            assert!(pieces.len() > 100, "{}", pieces.len());
            for piece in pieces {
                assert!(
                    text.contains(&squeezed(&piece)),
                    "{name} {language:?}: \"{piece}\" is not in\n{}",
                    disk.text()
                );
            }
            assert!(!text.contains('\u{fffd}'), "{name} {language:?}");
        }
    }
}

#[test]
fn tubes_of_one_run_are_shown_together() {
    let (_, disk) = set(
        "c-together",
        &[two_runs_of_three_tubes()],
        Language::English,
        Paper::A4,
    );
    let text = disk.text();
    assert_eq!(text.matches("Run 1 (EP-1)").count(), 1);
    assert_eq!(text.matches("Run 2 (EP-2)").count(), 1);
    assert!(!text.contains("Run 3"));
    for words in [
        "tube 1: melted, 121.6–122.4 °C (corrected)",
        "tube 3 121.38 (u 0.06) 121.75 (u 0.12) 4:00.0 122.18",
        "tube 1: 1.01 °C/min; tube 2: 1.02 °C/min; tube 3: 1.03 °C/min",
    ] {
        assert_says(&text, words);
    }
    // One digest of the recording, not one for each of its tubes.
    assert_eq!(squeezed(&text).matches(&"1".repeat(64)).count(), 1);
}

#[test]
fn what_is_long_goes_on_with_its_heads() {
    let mut report = full();
    let candidates = report.candidates.as_mut().expect("full has some");
    candidates.shown = (0..120)
        .map(|index| Candidate {
            name: format!("substance {index}"),
            from_c: 121.0,
            to_c: None,
            probability: 0.005,
        })
        .collect();
    report.remarks = Some("A grain stayed behind the others for a while. ".repeat(120));
    report.deviations = vec!["The soak was cut short, and begun anew. ".repeat(60)];
    let (pdf, disk) = set("long", &[report], Language::English, Paper::A4);
    assert_eq!(pdf.pages, disk.page_count());
    let pages = disk.pages();
    assert!(pages.len() >= 3, "{}", pages.len());
    let with_head =
        |page: &&String| page.contains("substance ") && page.contains("In the list, °C");
    let with_rows = |page: &&String| {
        page.lines()
            .filter(|line| line.starts_with("substance "))
            .count()
            > 0
    };
    let (heads, rows) = (
        pages.iter().filter(with_head).count(),
        pages.iter().filter(with_rows).count(),
    );
    assert!(rows >= 2 && heads == rows, "{heads} of {rows}");
    for (index, page) in pages.iter().enumerate() {
        assert_says(page, &format!("Page {} of {}", index + 1, pages.len()));
        // Above the footer stands something that is no heading.
        let body: Vec<&str> = page
            .lines()
            .filter(|line| {
                !line.starts_with("EP-2026-041/2") && !line.starts_with("Page ") && *line != "DRAFT"
            })
            .collect();
        let last = body.last().expect("a page says something");
        for heading in [
            "Deviations",
            "Remarks",
            "Candidates",
            "Purity",
            "Runs",
            "Requirement",
        ] {
            assert_ne!(last.trim(), heading, "page {}", index + 1);
        }
    }
}

#[test]
fn pages_are_counted_within_each_report_of_a_batch() {
    let mut long = plain();
    long.number = "EP-2026-050/1".to_owned();
    long.runs = (1..=9_u8)
        .map(|index| {
            let mut one = run(1, 121.2, 122.0);
            one.name = Some(format!("EP-{index}"));
            one
        })
        .collect();
    let mut short = plain();
    short.number = "EP-2026-051/1".to_owned();
    let (pdf, disk) = set("counted", &[long, short], Language::English, Paper::A4);
    let pages = disk.pages();
    assert_eq!(pages.len(), pdf.pages);
    let of_long = pages.len() - 2;
    assert!(of_long >= 2, "{of_long}");
    assert_says(&pages[0], &format!("batch: 1 of {}", pages.len()));
    for (index, page) in pages[1..=of_long].iter().enumerate() {
        assert_says(
            page,
            &format!(
                "Page {} of {of_long} · batch: {} of {}",
                index + 1,
                index + 2,
                pages.len()
            ),
        );
    }
    assert_says(&pages[of_long + 1], "Page 1 of 1");
}

#[test]
fn pages_to_look_at() {
    // The rest of what is looked at when the template changes.
    let mut signed = concluded(one_run_of_three_tubes());
    signed.sign_off = full().sign_off;
    let mut outdated = concluded(plain());
    outdated.sign_off = SignOff::Outdated {
        by: "Bruno Okafor".to_owned(),
        when: stamp("2026-11-26T09:05:00+01:00"),
        changed: vec![ChangedSince::Readings],
    };
    for language in [Language::English, Language::German] {
        for (name, reports) in [
            ("signed", vec![signed.clone()]),
            ("outdated", vec![outdated.clone()]),
            ("full", vec![full()]),
            ("decomposed", vec![decomposed()]),
            ("batch", batch(40)),
        ] {
            let (pdf, disk) = set(name, &reports, language, Paper::A4);
            assert_eq!(pdf.warnings, [], "{name}");
            if let Some(folder) = std::env::var_os(KEEP) {
                let options = ReportOptions {
                    language,
                    ..ReportOptions::default()
                };
                let html = report_html(&reports, &options).expect("it can be shown");
                let name = format!("{name}-{}.html", language.tag());
                std::fs::write(std::path::Path::new(&folder).join(name), html.text)
                    .expect("a folder to write to");
            }
            assert_eq!(pdf.pages, disk.page_count(), "{name}");
        }
        let (pdf, _) = set("signed", &[signed.clone()], language, Paper::A4);
        assert_eq!(pdf.pages, 1);
    }
}
