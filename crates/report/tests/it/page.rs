//! What the page and the CSV must hold.

use crate::made_up::{log, picture, pictures, reading};
use meltrange_reading::Reading;
use meltrange_report::{Evidence, curve_csv, evidence_page};

/// Not a picture: the page only carries the bytes.
const BYTES: &[u8] = b"\xff\xd8 not looked into \xff\xd9";

fn page_of(reading: &Reading, recording: &str) -> String {
    let log = log();
    let pictures = pictures(reading, BYTES);
    evidence_page(&Evidence {
        recording,
        log_name: "temperature.csv",
        video_start_s: 0.0,
        program: "meltrange 0.1.0",
        reading,
        notes: &["nothing was logged between 400.0 s and 420.0 s".to_owned()],
        log: &log,
        view_width_px: 640.0,
        view_height_px: 480.0,
        at_start: Some(picture(BYTES, 0.0)),
        at_end: Some(picture(BYTES, 599.0)),
        pictures: &pictures,
    })
    .expect("the template takes any reading")
}

#[test]
fn every_tube_has_its_range_moments_and_remarks() {
    let page = page_of(&reading(), "unknown 1.mp4");
    for words in [
        "113.4–114.3 °C",
        "113.42 °C (u 0.05 °C)",
        "114.30 °C (u 0.03 °C)",
        "Tube 3: empty",
        "the column sank by 6 px",
        "log repaired",
        "nothing was logged between",
        "Temperatures as logged, not corrected",
        "meltrange 0.1.0",
        "0.5 %",
    ] {
        assert!(page.contains(words), "{words} is not on the page");
    }
}

#[test]
fn page_asks_nothing_of_a_network_and_runs_no_script() {
    let page = page_of(&reading(), "unknown 1.mp4");
    for token in ["http://", "https://", "<script", "@import", "<link", "src="] {
        assert!(!page.contains(token), "{token} stands on the page");
    }
    assert!(page.contains("default-src 'none'"), "no content policy");
    // Every reference points into the page or at data that it carries.
    for reference in page.split("href=\"").skip(1) {
        assert!(
            reference.starts_with('#') || reference.starts_with("data:image/jpeg;base64,"),
            "{}",
            &reference[..reference.len().min(40)]
        );
    }
}

#[test]
fn names_and_remarks_cannot_bring_markup_in() {
    let mut reading = reading();
    reading.tubes[0].remarks[0].text = "<img onerror=alert(1)>".to_owned();
    let page = page_of(&reading, "<b>bold</b>.mp4");
    assert!(!page.contains("<img"), "remark came in as markup");
    assert!(!page.contains("<b>bold"), "name came in as markup");
}

#[test]
fn equal_pictures_are_embedded_once() {
    let page = page_of(&reading(), "unknown 1.mp4");
    assert_eq!(page.matches("data:image/jpeg;base64,").count(), 1);
}

#[test]
fn every_local_reference_has_its_target_and_ids_stand_once() {
    let page = page_of(&reading(), "unknown 1.mp4");
    let ids: Vec<&str> = page
        .split(" id=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    let mut unique = ids.clone();
    unique.sort_unstable();
    unique.dedup();
    assert_eq!(unique.len(), ids.len(), "an id stands twice");
    let starts = ["href=\"#", "aria-labelledby=\"", "url(#"];
    for start in starts {
        for rest in page.split(start).skip(1) {
            let name = rest.split(['"', ')']).next().expect("split gives one part");
            assert!(ids.contains(&name), "{name} is not on the page");
        }
    }
}

#[test]
fn same_evidence_gives_the_same_bytes() {
    let reading = reading();
    assert_eq!(page_of(&reading, "a.mp4"), page_of(&reading, "a.mp4"));
}

#[test]
fn curve_csv_has_every_point_of_every_tube() {
    let reading = reading();
    let text = curve_csv(&reading);
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    assert_eq!(
        lines.next(),
        Some("tube,time_s,temperature_c,liquid_fraction,solid_fraction")
    );
    let points: usize = reading.tubes.iter().map(|tube| tube.curve.len()).sum();
    let rows: Vec<&str> = lines.collect();
    assert_eq!(rows.len(), points);
    assert_eq!(rows[0], "1,0.000,110.000,0.0000,1.0000");
}
