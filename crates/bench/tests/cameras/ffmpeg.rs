//! The driver over ffmpeg, with films that ffmpeg reads at their own pace in place of a device.

use crate::film::Watched;
use meltrange_bench::{CameraNews, FfmpegCamera, FfmpegCameraSpec, PicturesAre, camera_check};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

/// A film of 160 × 120 made by ffmpeg: `codec` and how its pictures are spaced.
fn film(folder: &Path, name: &str, spacing: &str, codec: &[&str]) -> String {
    let path = folder.join(name);
    let made = Command::new("ffmpeg")
        .args(["-nostdin", "-v", "error", "-f", "lavfi", "-i"])
        .arg(format!(
            "testsrc=size=160x120:rate=10:duration=2,settb=1/1000,{spacing}"
        ))
        .args([
            "-fps_mode",
            "passthrough",
            "-enc_time_base",
            "1/1000",
            "-c:v",
        ])
        .args(codec)
        .arg(&path)
        .status()
        .expect("ffmpeg runs");
    assert!(made.success());
    path.to_str().expect("text").to_owned()
}

/// Times and sizes of the pictures in a film, as ffprobe tells them.
fn packets(path: &str) -> Vec<(f64, usize)> {
    let told = Command::new("ffprobe")
        .args([
            "-v",
            "error",
            "-select_streams",
            "v:0",
            "-show_entries",
            "packet=pts_time,size",
        ])
        .args(["-of", "csv=p=0", path])
        .output()
        .expect("ffprobe runs");
    String::from_utf8(told.stdout)
        .expect("text")
        .lines()
        .map(|line| {
            let mut cells = line.split(',');
            let time_s = cells.next().expect("a time").parse().expect("a number");
            (
                time_s,
                cells.next().expect("a size").parse().expect("a number"),
            )
        })
        .collect()
}

fn spec(input: &str, pictures: PicturesAre) -> FfmpegCameraSpec {
    FfmpegCameraSpec {
        input: input.into(),
        format: None,
        // At its own pace, as a camera gives pictures.
        options: BTreeMap::from([("readrate".into(), "1".into())]),
        pictures,
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pictures_come_as_captured_with_the_times_of_the_device() {
    let folder = tempfile::tempdir().expect("a folder");
    // 100 ms apart with every fourth one 37 ms late: what a constant rate would lose.
    let path = film(
        folder.path(),
        "uneven.mkv",
        "setpts='N*100+37*eq(mod(N,4),3)'",
        &["mjpeg", "-q:v", "3"],
    );
    let expected = packets(&path);
    assert_eq!(expected.len(), 20);
    let mut watched = Watched::of(FfmpegCamera::from(&spec(&path, PicturesAre::AsCaptured)));
    let mut found = Vec::new();
    for &(_, bytes) in &expected {
        let (time_s, jpeg) = watched.picture().await;
        assert_eq!(jpeg.len(), bytes);
        found.push(time_s);
    }
    for ((a, b), (c, d)) in found
        .iter()
        .zip(&found[1..])
        .zip(expected.iter().zip(&expected[1..]))
    {
        // Equal to the millisecond as soon as the least delay is known; the offset can only fall, and
        // by less than the start of ffmpeg took.
        let apart_s = (b - a) - (d.0 - c.0);
        assert!((-0.2..0.0011).contains(&apart_s), "{apart_s}");
    }
    let span_s = found[19] - found[10] - (expected[19].0 - expected[10].0);
    assert!(span_s.abs() < 0.02, "{span_s}");
    // At the end of the film it is lost, and is opened anew.
    let why = watched.lost().await;
    assert!(why.contains("ended"), "{why}");
    watched.found().await;
    watched.picture().await;
    watched.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn other_pictures_are_encoded_when_asked() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = film(folder.path(), "even.mkv", "setpts=N*100", &["ffv1"]);
    let mut watched = Watched::of(FfmpegCamera::from(&spec(&path, PicturesAre::AsCaptured)));
    let why = watched.lost().await;
    assert!(why.contains("no JPEG"), "{why}");
    watched.stop().await;

    let found = camera_check(
        Box::new(FfmpegCamera::from(&spec(&path, PicturesAre::Encoded))),
        1.8,
    )
    .await;
    assert_eq!(found.size_px, Some((160, 120)), "{found:?}");
    assert!((10..=18).contains(&found.pictures), "{found:?}");
    let rate = found.frames_per_s.expect("many pictures");
    assert!((rate - 10.0).abs() < 0.6, "{found:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_not_there_is_named() {
    let spec = meltrange_bench::V4l2CameraSpec {
        device: "/dev/video-that-is-not-there".into(),
        input_format: "mjpeg".into(),
        size: None,
        frames_per_s: None,
    };
    let mut watched = Watched::of(FfmpegCamera::from(&spec));
    let why = watched.lost().await;
    assert!(why.contains("/dev/video-that-is-not-there"), "{why}");
    assert!(why.contains("No such file"), "{why}");
    watched.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn times_that_do_not_rise_are_doubted() {
    let folder = tempfile::tempdir().expect("a folder");
    // Raw motion JPEG has no times of its own; ffmpeg makes some up at 25 a second, while it is read
    // at half that pace.
    let path = film(folder.path(), "bare.mjpeg", "setpts=N*100", &["mjpeg"]);
    let mut slow = spec(&path, PicturesAre::AsCaptured);
    slow.options.insert("readrate".into(), "0.06".into());
    let mut watched = Watched::of(FfmpegCamera::from(&slow));
    let mut doubts = Vec::new();
    while let Ok(Some(news)) =
        tokio::time::timeout(std::time::Duration::from_secs(13), watched.news.recv()).await
    {
        match news {
            CameraNews::Doubt { what, .. } => doubts.push(what),
            CameraNews::Lost { .. } => break,
            _ => {}
        }
    }
    assert_eq!(doubts.len(), 1, "{doubts:?}");
    assert!(doubts[0].contains("the camera's clock went"), "{doubts:?}");
    watched.stop().await;
}
