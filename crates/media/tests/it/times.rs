//! Frame times equal ffprobe's, whatever the container and codec.

use meltrange_media::Opened;
use meltrange_reading::{Density, FrameRequest, FrameSource};

use crate::clips::{ALL, Bench, Kept, assert_same_times, collect, ffprobe_times, opened, times};

const H264: &str = "-c:v libx264 -preset ultrafast -bf 2 -g 20 -pix_fmt yuv420p";
const HEVC_OPEN_GOP: &str =
    "-c:v libx265 -preset ultrafast -x265-params log-level=none:keyint=20:open-gop=1:bframes=3";
const VP9: &str = "-c:v libvpx-vp9 -deadline realtime -cpu-used 8 -g 20";
const AV1: &str = "-c:v libsvtav1 -preset 12 -g 20";
const MJPEG: &str = "-c:v mjpeg -q:v 4";

/// Name and encoder of each kind of file that people bring.
const KINDS: [(&str, &str); 8] = [
    ("h264.mp4", H264),
    ("h264.mov", H264),
    ("h264.mkv", H264),
    ("hevc.mp4", HEVC_OPEN_GOP),
    ("hevc.mkv", HEVC_OPEN_GOP),
    ("mjpeg.avi", MJPEG),
    ("vp9.webm", VP9),
    ("av1.webm", AV1),
];

#[test]
fn every_frame_at_the_time_that_ffprobe_says() {
    let bench = Bench::new();
    for (name, encoder) in KINDS {
        let path = bench.clip(name, "160x120", "30000/1001", 3.0, encoder);
        let mut source = opened(&path);
        let info = source.info();
        let found = times(&collect(&mut source, ALL));
        let expected = ffprobe_times(&path);
        assert_same_times(&found, &expected);
        assert_eq!((info.width, info.height), (160, 120), "{name}");
        assert!((info.start_s - expected[0]).abs() < 1e-6, "{name}");
        let last = expected[expected.len() - 1];
        assert!(
            (info.end_s - last).abs() < 0.04,
            "{name}: {} and {last}",
            info.end_s
        );
        assert!((info.frame_interval_s - 0.033_37).abs() < 1e-3, "{name}");
        // ffmpeg 5.1 decodes every VP9 and AV1 picture even when asked for key frames only.
        let skippable = name.starts_with("h264") || name.starts_with("hevc");
        assert_eq!(info.cheap_key_frames, skippable, "{name}");
        assert_eq!(source.remarks(), [], "{name}");
    }
}

/// From, to and spacing [s], in clips of 20 s with a key frame every 2 s: at, before and after key
/// frames, a single frame, over the end.
const PARTS: [(f64, f64, f64); 7] = [
    (0.0, 3.0, 0.35),
    (6.95, 9.05, 0.0),
    (8.0, 8.0, 0.0),
    (8.0, 11.0, 0.1),
    (13.7, 99.0, 0.0),
    (13.7, 99.0, 1.0),
    (19.9, 20.5, 0.0),
];

#[test]
fn parts_and_key_frames_are_the_same_frames_as_in_a_full_pass() {
    let bench = Bench::new();
    for (name, encoder) in KINDS {
        let path = bench.clip(name, "160x120", "10", 20.0, encoder);
        let mut source = opened(&path);
        let all = collect(&mut source, ALL);
        check_parts(name, &mut source, &all);
        check_key_frames(name, &mut source, &all);
    }
}

fn check_parts(name: &str, source: &mut Opened, all: &[Kept]) {
    for (from_s, to_s, spacing_s) in PARTS {
        let request = FrameRequest {
            from_s,
            to_s,
            density: Density::Spaced { spacing_s },
        };
        let mut expected = Vec::new();
        let mut before_s = f64::NEG_INFINITY;
        for frame in all {
            let inside = (from_s - 1e-6..=to_s + 1e-6).contains(&frame.time_s);
            if inside && frame.time_s - before_s >= spacing_s - 1.5e-3 {
                before_s = frame.time_s;
                expected.push(frame.clone());
            }
        }
        let found = collect(source, request);
        assert_eq!(times(&found), times(&expected), "{name} {request:?}");
        assert!(found == expected, "{name} {request:?}: pixels differ");
    }
}

fn check_key_frames(name: &str, source: &mut Opened, all: &[Kept]) {
    let request = FrameRequest {
        from_s: 3.0,
        to_s: 18.0,
        density: Density::KeyFrames { spacing_s: 1.0 },
    };
    let found = collect(source, request);
    assert!(
        (7..=16).contains(&found.len()),
        "{name}: {:?}",
        times(&found)
    );
    for frame in &found {
        let same = all.iter().find(|other| other.time_s == frame.time_s);
        assert!(same == Some(frame), "{name} at {} s", frame.time_s);
    }
    if source.info().cheap_key_frames {
        let step = found[1].time_s - found[0].time_s;
        assert!((step - 2.0).abs() < 0.05, "{name}: {:?}", times(&found));
    }
}
