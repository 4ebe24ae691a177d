//! Every number of a report is the record's, rounded by rule: random reports against a rounding of its own.

use crate::determination::*;
use crate::poppler::{OnDisk, squeezed};
use crate::report_html::{page, selector};
use meltrange_report::model::*;
use meltrange_report::*;
use proptest::prelude::*;

/// Nearest multiple of 10^-decimals in decimal arithmetic on the shortest text of the number, ties of that
/// text allowed either way: both neighbours are given where the number lies within 1e-9 of the middle.
fn roundings(value: f64, decimals: u32) -> Vec<String> {
    let scale = 10_i64.pow(decimals);
    let scaled = value * scale as f64;
    let lower = scaled.floor();
    let away = scaled - lower;
    let mut whole = Vec::new();
    if away < 0.5 + 1e-6 {
        whole.push(lower as i64);
    }
    if away > 0.5 - 1e-6 {
        whole.push(lower as i64 + 1);
    }
    whole
        .into_iter()
        .map(|steps| {
            let sign = if steps < 0 { "−" } else { "" };
            let digits = steps.unsigned_abs();
            let scale = scale.unsigned_abs();
            if decimals == 0 {
                format!("{sign}{digits}")
            } else {
                let width = decimals as usize;
                format!("{sign}{}.{:0width$}", digits / scale, digits % scale)
            }
        })
        .collect()
}

/// Decimals that show two significant digits of an uncertainty, hundredths at most (JCGM 100:2008, 7.2.6).
fn decimals(uncertainty: f64) -> u32 {
    if uncertainty >= 10.0 {
        0
    } else if uncertainty >= 1.0 {
        1
    } else {
        2
    }
}

#[track_caller]
fn assert_cell(found: &str, value: f64, places: u32) {
    let expected = roundings(value, places);
    assert!(
        expected.iter().any(|one| one == found),
        "{found} for {value}, expected {expected:?}"
    );
}

#[track_caller]
fn assert_pair(found: &str, value: f64, u: f64) {
    let (shown, rest) = found
        .split_once(" (u ")
        .expect("a value with its uncertainty");
    assert_cell(shown, value, decimals(u));
    assert_cell(rest.trim_end_matches(')'), u.max(0.01), decimals(u));
}

prop_compose! {
    fn end()(value_c in -50.0..400.0, u in 0.011..15.0, k in 1.9..4.0) -> End {
        End {
            value_c,
            standard_uncertainty_c: u,
            expanded_uncertainty_c: u * k,
            coverage_factor: k,
            coverage: Some(0.95),
        }
    }
}

prop_compose! {
    fn moment()(
        time_s in 0.0..5000.0,
        logged_c in -50.0..400.0,
        u in 0.011..3.0,
        by_c in -3.0..3.0,
        corrected_u in 0.011..3.0,
    ) -> Moment {
        Moment {
            time_s,
            logged_c,
            standard_uncertainty_c: u,
            corrected_c: Some(logged_c + by_c),
            corrected_uncertainty_c: Some(corrected_u),
            picture: Frame::NotAsked,
        }
    }
}

prop_compose! {
    fn random_report()(
        first in end(),
        last in end(),
        rate in 0.05..25.0,
        spread in 0.0..4.0,
        within in 0.1..2.0,
        moments in prop::collection::vec((moment(), moment(), 0.05..25.0_f64), 1..4),
        limits in (-20.0..200.0_f64, 0.0..30.0_f64, 0.51..0.99_f64),
        shares in prop::collection::vec(0.01..0.99_f64, 1..5),
    ) -> Report {
        let mut report = full();
        let result = report.result.as_mut().expect("full has one");
        result.first_liquid = Some(first);
        result.last_crystal = Some(last);
        result.range_text = None;
        result.heating_rate_c_per_min = Some(rate);
        let agreement = report.agreement.as_mut().expect("full has one");
        agreement.spread_c = Some(spread);
        agreement.within_c = within;
        report.runs = moments
            .into_iter()
            .enumerate()
            .map(|(index, (first, last, rate))| {
                let mut run = run(index as u8 + 1, 121.0, 122.0);
                run.first_liquid = Some(first);
                run.last_crystal = Some(last);
                run.heating_rate_c_per_min = Some(rate);
                run
            })
            .collect();
        let required = report.specification.as_mut().expect("full has one");
        required.from_c = limits.0;
        required.to_c = limits.0 + limits.1;
        required.guard = Some(limits.2);
        let candidates = report.candidates.as_mut().expect("full has one");
        candidates.shown = shares
            .into_iter()
            .map(|probability| Candidate {
                name: "substance".to_owned(),
                from_c: first.value_c,
                to_c: None,
                probability,
            })
            .collect();
        report
    }
}

fn cells(page: &scraper::Html, place: &str) -> Vec<String> {
    page.select(&selector(place))
        .map(|cell| cell.text().collect())
        .collect()
}

fn check_page(report: &Report) {
    let (_, parsed) = page(std::slice::from_ref(report), Language::English);
    let result = report.result.as_ref().expect("random reports have one");
    let ends = [result.first_liquid, result.last_crystal].map(|end| end.expect("both ends"));

    let found = cells(&parsed, ".result td");
    for (row, end) in found.chunks(4).zip(ends) {
        assert_cell(&row[0], end.value_c, decimals(end.expanded_uncertainty_c));
        assert_cell(
            &row[1],
            end.expanded_uncertainty_c,
            decimals(end.expanded_uncertainty_c),
        );
        assert_cell(&row[2], end.coverage_factor, 1);
        assert_cell(
            &row[3],
            end.standard_uncertainty_c,
            decimals(end.standard_uncertainty_c),
        );
    }
    assert_eq!(found.len(), 8);

    let range = cells(&parsed, ".range").concat();
    let range = range.strip_suffix("\u{202f}°C").expect("a unit");
    let (first, last) = range.split_once('–').expect("both ends");
    for (shown, end) in [first, last].into_iter().zip(ends) {
        assert_cell(
            shown,
            end.value_c,
            u32::from(end.standard_uncertainty_c < 0.95),
        );
    }

    let facts = cells(&parsed, ".run .in-line span");
    let found = cells(&parsed, ".run td");
    assert_eq!(found.len(), 6 * report.runs.len());
    for (run, row) in report.runs.iter().zip(found.chunks(6)) {
        let moments = [&run.first_liquid, &run.last_crystal];
        for (moment, row) in moments.into_iter().zip(row.chunks(3)) {
            let moment = moment.as_ref().expect("both moments");
            assert_pair(&row[0], moment.logged_c, moment.standard_uncertainty_c);
            assert_pair(
                &row[1],
                moment.corrected_c.expect("corrected"),
                moment.corrected_uncertainty_c.expect("corrected"),
            );
            let (minutes, seconds) = row[2].split_once(':').expect("minutes and seconds");
            let shown: f64 = minutes.parse::<f64>().expect("minutes") * 60.0
                + seconds.parse::<f64>().expect("seconds");
            assert!(
                (shown - moment.time_s).abs() <= 0.05 + 1e-9,
                "{shown} {}",
                moment.time_s
            );
        }
        let rate = run.heating_rate_c_per_min.expect("a rate");
        let places = if rate < 10.0 { 2 } else { 1 };
        let said = roundings(rate, places)
            .iter()
            .any(|one| facts.contains(&format!("{one}\u{202f}°C/min")));
        assert!(said, "{rate}");
    }
    let candidates = report.candidates.as_ref().expect("full has them");
    let found = cells(&parsed, ".sections td:last-child");
    for (one, shown) in candidates.shown.iter().zip(&found) {
        let number = shown.strip_suffix("\u{202f}%").expect("per cent");
        assert_cell(number, one.probability * 100.0, 0);
    }
}

/// Numbers with their decimals, in a text.
fn numbers_in(text: &str) -> Vec<String> {
    let pattern = regex::Regex::new(r"−?\d+\.\d+").expect("a pattern");
    pattern
        .find_iter(text)
        .map(|found| found.as_str().to_owned())
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn every_number_is_the_records(report in random_report()) {
        check_page(&report);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, ..ProptestConfig::default() })]

    /// The page was checked against the record; the paper says what the page says.
    #[test]
    fn paper_and_page_say_the_same_numbers(report in random_report()) {
        let reports = [report];
        let (_, parsed) = page(&reports, Language::English);
        let pdf = report_pdf(&reports, &ReportOptions::default()).expect("a report");
        let paper = squeezed(&OnDisk::of(&pdf.bytes).text());
        let mut looked_at = 0;
        for place in ["td", "dd", ".in-line span", ".range", ".sections p", "section > p", "figcaption"] {
            for shown in cells(&parsed, place) {
                for number in numbers_in(&shown) {
                    looked_at += 1;
                    prop_assert!(paper.contains(&number), "{number} of \"{shown}\"");
                }
            }
        }
        prop_assert!(looked_at > 40, "{looked_at}");
    }
}
