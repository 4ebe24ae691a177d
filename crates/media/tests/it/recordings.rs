//! The development recordings, when they are there: time zero, sizes, every frame.

use std::path::PathBuf;

use meltrange_reading::FrameSource;

use crate::clips::{ALL, assert_same_times, collect, ffprobe_times, opened, times};

fn recordings() -> Option<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/recordings");
    folder.is_dir().then_some(folder)
}

#[test]
fn first_frame_stands_at_video_time_zero() {
    let Some(folder) = recordings() else { return };
    for name in ["d01_plain_three", "d03_single_slow", "d07_phone"] {
        let path = folder.join(name).join("video.mp4");
        let mut source = opened(&path);
        let found = times(&collect(&mut source, ALL));
        assert_same_times(&found, &ffprobe_times(&path));
        assert_eq!(found[0], 0.0, "{name}");
        assert_eq!(source.remarks(), [], "{name}");
        assert!(
            (source.info().end_s - found[found.len() - 1]).abs() < 1e-3,
            "{name}"
        );
    }
}

#[test]
fn an_offset_moves_every_time() {
    let Some(folder) = recordings() else { return };
    let path = folder.join("d09_avi_offset/video.avi");
    let mut source = meltrange_media::open(&path, 8.0).expect("an MJPEG in AVI");
    let found = times(&collect(&mut source, ALL));
    let expected: Vec<f64> = ffprobe_times(&path)
        .iter()
        .map(|time_s| time_s + 8.0)
        .collect();
    assert_same_times(&found, &expected);
    assert_eq!(source.info().start_s, 8.0);
}

#[test]
fn snapshots_open_by_their_folder_their_list_and_their_recording() {
    let Some(folder) = recordings() else { return };
    let recording = folder.join("d08_snapshots");
    let mut by_folder = opened(&recording.join("frames"));
    let frames = collect(&mut by_folder, ALL);
    assert_eq!(frames.len(), 221);
    assert_eq!(frames[1].time_s, 1.711);
    for path in [recording.join("frames.csv"), recording.clone()] {
        assert_eq!(opened(&path).info(), by_folder.info());
    }
}

/// Collect every `{time_s, temperature_c}` of a truth file: log time and noise-free block temperature.
fn truths(value: &serde_json::Value, found: &mut Vec<(f64, f64)>) {
    match value {
        serde_json::Value::Object(fields) => {
            let number = |name: &str| fields.get(name).and_then(serde_json::Value::as_f64);
            if let (Some(time_s), Some(temperature_c)) = (number("time_s"), number("temperature_c"))
            {
                found.push((time_s, temperature_c));
            }
            fields.values().for_each(|inner| truths(inner, found));
        }
        serde_json::Value::Array(items) => items.iter().for_each(|inner| truths(inner, found)),
        _ => {}
    }
}

/// The truth of these recordings is the noise-free block temperature; the log part of a reading's
/// error is to stay within 0.012 °C rms.
#[test]
#[expect(clippy::print_stdout, reason = "the measured table is worth reading")]
fn smoothed_logs_come_near_the_true_block_temperature() {
    let Some(folder) = recordings() else { return };
    let (mut square, mut within, mut count) = (0.0, 0, 0);
    let mut names: Vec<_> = std::fs::read_dir(folder)
        .expect("the folder can be listed")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.join("truth.json").is_file())
        .collect();
    names.sort();
    for recording in names {
        let text = std::fs::read(recording.join("truth.json")).expect("a truth file");
        let truth = serde_json::from_slice(&text).expect("JSON");
        let mut points = Vec::new();
        truths(&truth, &mut points);
        let read = meltrange_media::read_log(&recording.join("temperature.csv")).expect("a log");
        assert_eq!(read.remarks, []);
        let (mut own, mut stated) = (0.0, 0.0);
        for &(time_s, temperature_c) in &points {
            let point = read.log.at(time_s).expect("inside the log");
            let error_c = point.temperature_c - temperature_c;
            own += error_c * error_c;
            stated += point.standard_uncertainty_c.powi(2);
            within += usize::from(error_c.abs() <= 2.0 * point.standard_uncertainty_c);
        }
        square += own;
        count += points.len();
        println!(
            "{}: {} points, rms {:.4} °C, stated {:.4}; step {}, noise {:.3}",
            recording.file_name().unwrap_or_default().to_string_lossy(),
            points.len(),
            (own / points.len() as f64).sqrt(),
            (stated / points.len() as f64).sqrt(),
            read.log.resolution_c(),
            read.log.noise_c(),
        );
    }
    let (rms_c, within) = ((square / count as f64).sqrt(), within as f64 / count as f64);
    println!("all: rms {rms_c:.4} °C, within 2u {within:.3}");
    assert!(
        rms_c <= 0.012 && within >= 0.90,
        "rms {rms_c} °C, within 2u {within}"
    );
}
