//! What is written reads back with the same times and levels; failures leave nothing behind.

use std::ops::ControlFlow;
use std::path::Path;

use meltrange_reading::{Density, FrameRequest, FrameSource};

use super::*;

const UNEVEN_S: [f64; 6] = [0.0, 0.113, 1.0, 1.001, 2.75, 9.999];

fn format(video: VideoFormat) -> FilmFormat {
    FilmFormat {
        width: 64,
        height: 48,
        colour: false,
        video,
        frames_per_s: 1.163,
        quality: 0.9,
        key_frame_every: 3,
    }
}

/// Grey levels from left to right, brighter from picture to picture.
fn luma(index: usize) -> Vec<u8> {
    (0..64 * 48)
        .map(|at| (20 + 2 * (at % 64) + 15 * index) as u8)
        .collect()
}

fn write(
    target: &Path,
    media: &str,
    video: VideoFormat,
    times_s: &[f64],
) -> Result<(), EncodeError> {
    let mut writer = RecordingWriter::create(target, media, format(video))?;
    for (index, &time_s) in times_s.iter().enumerate() {
        writer.picture(
            time_s,
            PlanarPicture {
                luma: &luma(index),
                chroma: None,
            },
        )?;
    }
    writer.finish(&[("note.txt", b"kept")])
}

fn read_back(path: &Path) -> Vec<(f64, Vec<u8>)> {
    let mut source = crate::open(path, 0.0).expect("what was written opens");
    let request = FrameRequest {
        from_s: f64::NEG_INFINITY,
        to_s: f64::INFINITY,
        density: Density::Spaced { spacing_s: 0.0 },
    };
    let mut frames = Vec::new();
    source
        .deliver(request, &mut |frame| {
            frames.push((frame.time_s, frame.luma.to_vec()));
            ControlFlow::Continue(())
        })
        .expect("what was written reads");
    frames
}

#[test]
fn uneven_times_and_levels_come_back_from_every_container() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (media, video) in [
        ("video.mp4", VideoFormat::Mp4H264),
        ("video.mkv", VideoFormat::MkvH264),
        ("video.webm", VideoFormat::WebmVp9),
        ("frames", VideoFormat::JpegFolder),
        ("hevc.mp4", VideoFormat::Mp4Hevc),
    ] {
        let target = folder.path().join(format!("{video:?}"));
        write(&target, media, video, &UNEVEN_S).expect("written");
        assert_eq!(
            std::fs::read(target.join("note.txt")).expect("kept"),
            b"kept"
        );
        let frames = read_back(&target.join(media));
        assert_eq!(frames.len(), UNEVEN_S.len(), "{media}");
        for (index, ((time_s, levels), expected_s)) in frames.iter().zip(UNEVEN_S).enumerate() {
            assert!(
                (time_s - expected_s).abs() < 6e-4,
                "{media}: {time_s} s for {expected_s} s"
            );
            let expected = luma(index);
            // Levels may come in the limited range of video; either way they are a line in ours.
            let (a, b) = (
                f64::from(levels[24 * 64 + 5]),
                f64::from(levels[24 * 64 + 58]),
            );
            let slope = (b - a) / (f64::from(expected[58]) - f64::from(expected[5]));
            assert!(
                (0.8..1.05).contains(&slope),
                "{media} picture {index}: slope {slope}"
            );
        }
    }
}

#[test]
fn avi_keeps_a_steady_rate() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let target = folder.path().join("run");
    let times_s: Vec<f64> = (0..8).map(|index| f64::from(index) / 1.163).collect();
    write(&target, "video.avi", VideoFormat::AviMjpeg, &times_s).expect("written");
    let frames = read_back(&target.join("video.avi"));
    assert_eq!(frames.len(), 8);
    for ((found_s, _), expected_s) in frames.iter().zip(times_s) {
        assert!(
            (found_s - expected_s).abs() < 1e-3,
            "{found_s} s for {expected_s} s"
        );
    }
}

fn entries(folder: &Path) -> usize {
    std::fs::read_dir(folder)
        .expect("a readable folder")
        .count()
}

#[test]
fn nothing_is_left_of_a_recording_that_was_not_finished() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let target = folder.path().join("run");
    let error =
        write(&target, "video.mp4", VideoFormat::Mp4H264, &[0.0, 1.0, 1.0]).expect_err("refused");
    assert!(
        matches!(error, EncodeError::NotRising { index: 2, .. }),
        "{error}"
    );
    assert!(write(&target, "video.mp4", VideoFormat::Mp4H264, &[]).is_err());
    // A file where a folder is wanted inside: the encoder cannot write and says so.
    let error =
        write(&target, "missing/video.mp4", VideoFormat::Mp4H264, &[0.0]).expect_err("refused");
    assert!(
        matches!(&error, EncodeError::Ffmpeg { message, .. } if message.contains("No such file")),
        "{error}"
    );
    assert_eq!(entries(folder.path()), 0);
}

#[test]
fn a_taken_target_stays_as_it_is() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let target = folder.path().join("run");
    std::fs::create_dir(&target).expect("made");
    write(&target, "video.mkv", VideoFormat::MkvH264, &[0.0, 1.0])
        .expect("an empty folder may be filled");
    let error = write(&target, "video.mkv", VideoFormat::MkvH264, &[0.0]).expect_err("taken");
    assert!(error.to_string().contains("already there"), "{error}");
    assert_eq!(read_back(&target.join("video.mkv")).len(), 2);
}

#[test]
fn without_ffmpeg_the_package_is_named() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let program = folder.path().join("no-such-program");
    let path = folder.path().join("video.mp4");
    let error = VideoWriter::create_with(&program, &path, format(VideoFormat::Mp4H264))
        .expect_err("missing");
    assert!(
        error.to_string().contains("apt-get install ffmpeg"),
        "{error}"
    );
}

#[test]
fn a_picture_of_the_wrong_size_is_refused() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("video.mkv");
    let mut writer = VideoWriter::create(&path, format(VideoFormat::MkvH264)).expect("started");
    let error = writer
        .write(
            0.0,
            PlanarPicture {
                luma: &[0; 7],
                chroma: None,
            },
        )
        .expect_err("too small");
    assert!(
        matches!(
            error,
            EncodeError::PictureSize {
                found: 7,
                expected: 3072,
                ..
            }
        ),
        "{error}"
    );
}
