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
