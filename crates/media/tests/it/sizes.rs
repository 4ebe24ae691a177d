//! Variable rates, rotation, large pictures, regions, stopping early.

use std::ops::ControlFlow;
use std::time::{Duration, Instant};

use meltrange_media::MediaRemark;
use meltrange_reading::{Density, FrameRequest, FrameSource, Region};

use crate::clips::{ALL, Bench, Kept, assert_same_times, collect, ffprobe_times, opened, times};

const H264: &str = "-c:v libx264 -preset ultrafast -bf 2 -g 20 -pix_fmt yuv420p";

/// Mean absolute difference of two pictures of one size [levels].
fn difference(one: &Kept, other: &Kept) -> f64 {
    assert_eq!((one.width, one.height), (other.width, other.height));
    let sum: u64 = one
        .luma
        .iter()
        .zip(&other.luma)
        .map(|(&a, &b)| u64::from(a.abs_diff(b)))
        .sum();
    sum as f64 / one.luma.len() as f64
}

#[test]
fn variable_frame_rates_keep_every_frame_and_its_time() {
    let bench = Bench::new();
    for name in ["vfr.mp4", "vfr.mkv"] {
        // Spacings from 40 ms to 2 s, none of them regular.
        bench.ffmpeg(&format!(
            "-f lavfi -i testsrc2=s=160x120:r=25:d=4 -vf setpts=(N*N*13+N*700)/25000/TB,settb=1/90000 \
             -fps_mode vfr -enc_time_base 1/1000 {H264} {name}"
        ));
        let path = bench.path(name);
        let mut source = opened(&path);
        let expected = ffprobe_times(&path);
        assert_eq!(expected.len(), 100, "{name}");
        assert_same_times(&times(&collect(&mut source, ALL)), &expected);
        let steps: Vec<f64> = expected.windows(2).map(|pair| pair[1] - pair[0]).collect();
        assert!(steps[98] > 3.0 * steps[0], "{name} is not variable");
        let part = FrameRequest {
            from_s: expected[70],
            to_s: expected[80],
            density: Density::Spaced { spacing_s: 0.0 },
        };
        assert_same_times(&times(&collect(&mut source, part)), &expected[70..=80]);
        assert_eq!(source.remarks(), []);
    }
}

#[test]
fn a_first_picture_away_from_zero_keeps_its_time_and_is_remarked() {
    let bench = Bench::new();
    bench.ffmpeg(&format!(
        "-f lavfi -i testsrc2=s=160x120:r=10:d=3 -vf setpts=PTS+5/TB {H264} late.mkv"
    ));
    let path = bench.path("late.mkv");
    let mut source = opened(&path);
    let found = times(&collect(&mut source, ALL));
    assert_same_times(&found, &ffprobe_times(&path));
    assert!((found[0] - 5.0).abs() < 1e-6, "{}", found[0]);
    assert!(matches!(
        source.remarks().as_slice(),
        [MediaRemark::StartsAwayFromZero { .. }]
    ));
    // A transport stream's clock starts anywhere: there the file's start counts as zero.
    bench.ffmpeg("-i late.mkv -c copy late.ts");
    let mut stream = opened(&bench.path("late.ts"));
    let found = times(&collect(&mut stream, ALL));
    assert_eq!(found.len(), 30);
    assert!(found[0].abs() < 1e-6, "{}", found[0]);
    assert_eq!(stream.remarks(), []);
}

#[test]
fn rotation_flags_turn_the_picture_as_ffmpeg_would() {
    let bench = Bench::new();
    bench.clip("flat.mp4", "192x128", "10", 1.0, H264);
    for degrees in ["90", "180", "270"] {
        bench.ffmpeg(&format!(
            "-i flat.mp4 -c copy -metadata:s:v:0 rotate={degrees} turned.mp4"
        ));
        let mut source = opened(&bench.path("turned.mp4"));
        let found = collect(&mut source, ALL);
        let info = source.info();
        let upright = if degrees == "180" {
            (192, 128)
        } else {
            (128, 192)
        };
        assert_eq!((info.width, info.height), upright, "{degrees}");
        // ffmpeg turns by itself when it re-encodes; FFV1 keeps the pixels.
        bench.ffmpeg("-i turned.mp4 -vf format=gray -c:v ffv1 expected.mkv");
        let expected = collect(&mut opened(&bench.path("expected.mkv")), ALL);
        assert_eq!(found.len(), expected.len());
        for (found, expected) in found.iter().zip(&expected) {
            assert!(difference(found, expected) < 0.01, "{degrees}");
        }
    }
}

#[test]
fn four_k_is_delivered_at_960_columns() {
    let bench = Bench::new();
    let path = bench.clip("large.mp4", "3840x2160", "5", 1.0, H264);
    let mut source = opened(&path);
    let info = source.info();
    assert_eq!((info.width, info.height), (960, 540));
    assert_eq!(info.source_px_per_px, 4.0);
    let frames = collect(&mut source, ALL);
    assert_eq!(frames.len(), 5);
    // Area averaging: the same as the mean of 4 × 4 source pixels, but for rounding.
    bench.ffmpeg("-i large.mp4 -vf format=gray,scale=960:540:flags=area -c:v ffv1 small.mkv");
    let expected = collect(&mut opened(&bench.path("small.mkv")), ALL);
    assert!(difference(&frames[3], &expected[3]) < 0.6);
}

#[test]
fn luma_uses_the_full_range() {
    let bench = Bench::new();
    let ten_bits =
        "-c:v libx265 -preset ultrafast -x265-params log-level=none -pix_fmt yuv420p10le";
    let full = "-c:v libx264 -preset ultrafast -pix_fmt yuvj420p -color_range pc";
    let kinds = [
        ("limited.mp4", H264),
        ("full.mp4", full),
        ("ten_bits.mp4", ten_bits),
        ("mjpeg.avi", "-c:v mjpeg -q:v 2 -pix_fmt yuvj422p"),
        ("colours.mkv", "-c:v ffv1 -pix_fmt bgr0"),
        ("grey.mkv", "-c:v ffv1 -pix_fmt gray"),
    ];
    for (name, encoder) in kinds {
        for (colour, level) in [("white", 255_u8), ("black", 0), ("gray", 128)] {
            bench.ffmpeg(&format!(
                "-f lavfi -i color={colour}:s=64x64:r=5:d=0.4 {encoder} {name}"
            ));
            let frames = collect(&mut opened(&bench.path(name)), ALL);
            let off = frames[0].luma.iter().map(|value| value.abs_diff(level));
            assert!(off.max() <= Some(2), "{name}, {colour}");
        }
    }
}

#[test]
fn a_region_is_that_part_of_the_whole_picture() {
    let bench = Bench::new();
    let plain = bench.clip("plain.mp4", "192x128", "10", 1.0, H264);
    bench.ffmpeg("-i plain.mp4 -c copy -metadata:s:v:0 rotate=90 turned.mp4");
    bench.clip("large.mp4", "1920x1080", "10", 0.5, H264);
    for path in [plain, bench.path("turned.mp4"), bench.path("large.mp4")] {
        let mut source = opened(&path);
        let whole = collect(&mut source, ALL);
        // Odd corner and size, reaching over the edge.
        let region = Region {
            x: 31,
            y: 17,
            width: 5000,
            height: 45,
        };
        source.set_region(Some(region));
        let part = collect(&mut source, ALL);
        assert_eq!(part.len(), whole.len());
        let (last, cut) = (&whole[whole.len() - 1], &part[part.len() - 1]);
        assert_eq!((cut.width, cut.height), (last.width - 31, 45));
        let expected: Vec<u8> = last
            .luma
            .chunks_exact(last.width)
            .skip(17)
            .take(45)
            .flat_map(|row| row[31..].to_vec())
            .collect();
        assert!(cut.luma == expected, "{}", path.display());
        source.set_region(None);
        assert!(collect(&mut source, ALL) == whole);
    }
}

#[test]
fn the_sinks_stop_is_obeyed_at_once() {
    let bench = Bench::new();
    let path = bench.clip("long.mp4", "1280x720", "30", 40.0, H264);
    let mut source = opened(&path);
    let started = Instant::now();
    let mut seen = 0;
    source
        .deliver(ALL, &mut |_| {
            seen += 1;
            if seen == 5 {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        })
        .expect("five frames");
    let stopped = started.elapsed();
    assert_eq!(seen, 5);
    let started = Instant::now();
    assert_eq!(collect_count(&mut source), 1200);
    let whole = started.elapsed();
    assert!(
        stopped < whole / 4 + Duration::from_millis(100),
        "stopping took {stopped:?}, everything {whole:?}"
    );
    // Stopping early says nothing about the file.
    assert_eq!(source.remarks(), []);
}

fn collect_count(source: &mut meltrange_media::Opened) -> usize {
    let mut count = 0;
    source
        .deliver(ALL, &mut |_| {
            count += 1;
            ControlFlow::Continue(())
        })
        .expect("all frames");
    count
}
