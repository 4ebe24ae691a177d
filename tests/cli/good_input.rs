//! A simulated recording from end to end: what `--json` and the table say, what is written.

use crate::workshop::{Workshop, meltrange, names};
use serde_json::Value;
use std::process::Stdio;

/// The simulated truth lies this close to the reading [°C]; the accuracy of the engine is checked
/// elsewhere, here only that the right numbers stand in the right fields.
const CLOSE_C: f64 = 1.0;

#[test]
fn json_has_the_agreed_fields_and_the_true_numbers() {
    let workshop = Workshop::new();
    let recording = workshop.recording("mp4");
    let log = recording.join("temperature.csv");
    let truth: Value = serde_json::from_slice(
        &std::fs::read(recording.join("truth.json")).expect("simulate wrote the truth"),
    )
    .expect("the truth is JSON");
    // The folder carries the start of the video; the bare file does not.
    let found = workshop.read(&recording, &log, &["--json", "--out", "evidence"]);
    let reading = found.json();
    assert_eq!(found.stderr, "", "messages beside the JSON");

    let tubes = reading["tubes"].as_array().expect("tubes is a list");
    assert_eq!(tubes.len(), 2);
    let melted = &tubes[0];
    assert_eq!(melted["tube"], 1);
    assert_eq!(melted["outcome"], "melted");
    assert_eq!(tubes[1]["outcome"], "empty");
    for moment in ["first_liquid", "last_crystal"] {
        let (read, real) = (&melted[moment], &truth["tubes"][0][moment]);
        let number = |value: &Value| value.as_f64().expect("a number");
        let off_c = number(&read["temperature_c"]) - number(&real["temperature_c"]);
        assert!(off_c.abs() < CLOSE_C, "{moment} is {off_c:+.2} °C off");
        let off_s = number(&read["time_s"]) - number(&real["time_s"]);
        assert!(
            off_s.abs() < 60.0 * CLOSE_C,
            "{moment} is {off_s:+.1} s off"
        );
        assert!(number(&read["standard_uncertainty_c"]) > 0.0);
        assert!(tubes[1][moment].is_null(), "an empty tube has no {moment}");
    }
    let off_px = melted["x_px"].as_f64().expect("a number")
        - truth["tubes"][0]["x_px"].as_f64().expect("a number");
    assert!(off_px.abs() < 20.0, "x_px is {off_px:+.1} px off");
    let rate = melted["heating_rate_c_per_min"].as_f64().expect("a rate");
    assert!(
        (rate - 1.0).abs() < 0.2,
        "simulated at 1 °C/min, read {rate}"
    );
    assert!(melted["remarks"].is_array());
    assert!(reading["quality"].is_array());
    assert!(
        melted.get("curve").is_none(),
        "a curve that nobody asked for"
    );

    let evidence = workshop.path("evidence");
    assert_eq!(
        names(&evidence),
        ["curve.csv", "evidence.html", "reading.json"]
    );
    let kept: Value = serde_json::from_slice(
        &std::fs::read(evidence.join("reading.json")).expect("reading.json is there"),
    )
    .expect("reading.json is JSON");
    assert_eq!(kept["tubes"][0]["first_liquid"], melted["first_liquid"]);
    let curve = kept["tubes"][0]["curve"].as_array().expect("a curve");
    assert!(curve.len() > 50, "only {} points", curve.len());
    let page = std::fs::read_to_string(evidence.join("evidence.html")).expect("the page is there");
    assert!(page.contains("not corrected"));
    let pictures = page.matches("data:image/jpeg;base64,/9j/").count();
    assert!(
        pictures >= 5,
        "before and after twice, and the view: {pictures}"
    );
}

#[test]
fn the_table_is_for_people_and_a_second_reading_replaces_the_first() {
    let workshop = Workshop::new();
    let recording = workshop.recording("frames");
    let log = recording.join("temperature.csv");
    let first = workshop.read(&recording, &log, &["--out", "evidence"]);
    assert_eq!(first.status, Some(0), "{}", first.stderr);
    for words in [
        "not corrected",
        "melted",
        "empty",
        "°C",
        "evidence/evidence.html",
    ] {
        assert!(first.stdout.contains(words), "{words}: {}", first.stdout);
    }
    let again = workshop.read(&recording, &log, &["--out", "evidence"]);
    assert_eq!(again.stdout, first.stdout);
    assert_eq!(workshop.names(), ["evidence", "recording", "scene.toml"]);
}

#[test]
fn a_closed_pipe_is_no_fault_and_a_full_output_is() {
    let workshop = Workshop::new();
    let recording = workshop.recording("mp4");
    let arguments = |command: &mut std::process::Command| {
        command
            .arg("read")
            .arg(&recording)
            .arg("--temperature")
            .arg(recording.join("temperature.csv"))
            .arg("--json");
    };
    let mut closed = std::process::Command::new(env!("CARGO_BIN_EXE_meltrange"));
    arguments(&mut closed);
    let mut child = closed
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program can be started");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");

    let mut full = std::process::Command::new(env!("CARGO_BIN_EXE_meltrange"));
    arguments(&mut full);
    let device = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .expect("Linux has /dev/full");
    let output = full.stdout(device).output().expect("it ends");
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("standard output"));
}

#[test]
fn a_recording_cut_short_is_read_as_far_as_it_goes() {
    let workshop = Workshop::new();
    let recording = workshop.recording("mkv");
    let bytes = std::fs::read(recording.join("video.mkv")).expect("simulate wrote it");
    let media = workshop.file("cut.mkv", &bytes[..bytes.len() / 2]);
    let log = recording.join("temperature.csv");
    let reading = workshop
        .read(&media, &log, &["--video-start", "7.5", "--json"])
        .json();
    let kinds: Vec<&Value> = reading["quality"]
        .as_array()
        .expect("quality is a list")
        .iter()
        .map(|flag| &flag["kind"])
        .collect();
    assert!(
        kinds.iter().any(|kind| *kind == "video_damaged"),
        "{kinds:?}"
    );
    let last = &reading["tubes"][0]["last_crystal"];
    assert!(
        last.is_null(),
        "the cut came before the last crystal: {last}"
    );
}

#[test]
fn curves_are_printed_when_asked_for() {
    let workshop = Workshop::new();
    let recording = workshop.recording("mp4");
    let log = recording.join("temperature.csv");
    let reading = workshop
        .read(&recording, &log, &["--json", "--curve", "--tubes", "2"])
        .json();
    let curve = reading["tubes"][0]["curve"].as_array().expect("a curve");
    assert!(curve.len() > 50, "only {} points", curve.len());
    for field in [
        "time_s",
        "temperature_c",
        "liquid_fraction",
        "solid_fraction",
    ] {
        assert!(curve[0][field].is_number(), "{field}");
    }
    // Simulating did not need the network or a terminal, and neither did this.
    meltrange().arg("--version").assert().success();
}

#[test]
fn a_4k_video_is_read_in_the_pixels_of_its_pictures() {
    let workshop = Workshop::new();
    let recording = workshop.recording("mkv");
    let large = workshop.path("large.mkv");
    let made = std::process::Command::new("ffmpeg")
        .args(["-nostdin", "-v", "error", "-i"])
        .arg(recording.join("video.mkv"))
        // One picture in six is enough here; twelve times as wide and high, then cut to 16:9.
        .args([
            "-vf",
            "select=not(mod(n\\,6)),scale=3840:2880,crop=3840:2160",
        ])
        .args([
            "-fps_mode",
            "vfr",
            "-c:v",
            "libx264",
            "-preset",
            "ultrafast",
        ])
        .arg(&large)
        .output()
        .expect("ffmpeg is installed");
    assert!(
        made.status.success(),
        "{}",
        String::from_utf8_lossy(&made.stderr)
    );
    let reading = workshop
        .read(
            &large,
            &recording.join("temperature.csv"),
            &["--video-start", "7.5", "--json", "--out", "evidence"],
        )
        .json();
    assert_eq!(reading["tubes"][0]["outcome"], "melted");
    let truth: Value = serde_json::from_slice(
        &std::fs::read(recording.join("truth.json")).expect("simulate wrote the truth"),
    )
    .expect("the truth is JSON");
    let true_px = 12.0 * truth["tubes"][0]["x_px"].as_f64().expect("a number");
    let found_px = reading["tubes"][0]["x_px"].as_f64().expect("a number");
    assert!(
        (found_px - true_px).abs() < 60.0,
        "x_px is {found_px:.0}, truth {true_px:.0}"
    );
    let page = std::fs::metadata(workshop.path("evidence/evidence.html")).expect("the page");
    assert!(page.len() < 3_000_000, "the page has {} bytes", page.len());
}
