//! Files that are no videos, or no longer whole ones.

use meltrange_media::{MediaError, MediaRemark, open};
use meltrange_reading::{Density, FrameRequest, FrameSource};

use crate::clips::{ALL, Bench, collect, ffprobe_times, opened, times, try_collect};

const H264: &str = "-c:v libx264 -preset ultrafast -bf 2 -g 20 -pix_fmt yuv420p";

fn refusal(path: &std::path::Path) -> MediaError {
    match open(path, 0.0) {
        Err(error) => error,
        Ok(source) => panic!("{} was taken for {:?}", path.display(), source.info()),
    }
}

#[test]
fn what_is_no_video_is_refused_by_name() {
    let bench = Bench::new();
    let text = "time_s,temperature_c\n0,120.0\n1,120.1\n".repeat(50);
    for name in ["notes.mp4", "notes.txt", "notes.mkv", "notes.avi", "notes"] {
        std::fs::write(bench.path(name), &text).expect("written");
        let error = refusal(&bench.path(name));
        assert!(
            matches!(error, MediaError::NotAVideo { .. }),
            "{name}: {error}"
        );
        assert!(error.to_string().contains(name), "{error}");
    }
    std::fs::write(bench.path("empty.mp4"), "").expect("written");
    assert!(matches!(
        refusal(&bench.path("empty.mp4")),
        MediaError::NotAVideo { .. }
    ));
    let missing = refusal(&bench.path("absent.mp4"));
    assert!(
        matches!(missing, MediaError::Unreadable { .. }),
        "{missing}"
    );
    bench.ffmpeg("-f lavfi -i testsrc2=s=64x64 -frames:v 1 single.jpg");
    let picture = refusal(&bench.path("single.jpg"));
    assert!(picture.to_string().contains("single picture"), "{picture}");
    bench.ffmpeg("-f lavfi -i sine=d=1 -c:a aac sound.mp4");
    let sound = refusal(&bench.path("sound.mp4"));
    assert!(matches!(sound, MediaError::NoVideoTrack { .. }), "{sound}");
    assert!(sound.to_string().contains("aac"), "{sound}");
    assert!(matches!(
        open(&bench.path("single.jpg"), f64::NAN),
        Err(MediaError::StartNotFinite { .. })
    ));
}

#[test]
fn a_play_list_may_not_fetch() {
    let bench = Bench::new();
    let list =
        "#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\nhttp://127.0.0.1:9/x.ts\n#EXT-X-ENDLIST\n";
    std::fs::write(bench.path("list.m3u8"), list).expect("written");
    let error = refusal(&bench.path("list.m3u8"));
    assert!(
        matches!(
            error,
            MediaError::NotAVideo { .. }
                | MediaError::NoVideoTrack { .. }
                | MediaError::NoPictures { .. }
        ),
        "{error}"
    );
}

#[test]
fn a_play_list_may_not_read_another_file() {
    let bench = Bench::new();
    bench.ffmpeg("-f lavfi -i testsrc2=s=64x64:r=5:d=2 -c:v mpeg2video other.ts");
    let other = bench.path("other.ts");
    let lists = [
        format!(
            "#EXTM3U\n#EXT-X-TARGETDURATION:2\n#EXTINF:2,\nfile:{}\n#EXT-X-ENDLIST\n",
            other.display()
        ),
        "ffconcat version 1.0\nfile other.ts\n".to_owned(),
    ];
    for list in lists {
        for name in ["run.mp4", "list.m3u8", "list.ffconcat"] {
            std::fs::write(bench.path(name), &list).expect("written");
            let error = refusal(&bench.path(name));
            assert!(
                matches!(error, MediaError::NotAVideo { .. }),
                "{name}: {error}"
            );
        }
    }
    // The file itself is one.
    assert!(open(&other, 0.0).is_ok());
}

#[test]
fn no_picture_at_all_is_said() {
    let bench = Bench::new();
    let encoder = format!("{H264} -frames:v 0");
    for name in ["none.mp4", "none.mkv", "none.avi"] {
        // ffmpeg itself may refuse to write such a file; an empty track is what counts.
        bench.ffmpeg(&format!(
            "-f lavfi -i testsrc2=s=64x64:r=5:d=1 {encoder} {name}"
        ));
        let error = match open(&bench.path(name), 0.0) {
            Err(error) => error,
            Ok(mut source) => try_collect(&mut source, ALL).expect_err("no pictures"),
        };
        assert!(
            matches!(
                error,
                MediaError::NoPictures { .. }
                    | MediaError::NotAVideo { .. }
                    | MediaError::NoVideoTrack { .. }
            ),
            "{name}: {error}"
        );
    }
}

#[test]
fn an_mp4_without_its_index_is_explained() {
    let bench = Bench::new();
    let whole = bench.clip("whole.mp4", "160x120", "10", 5.0, H264);
    let cut = bench.cut(&whole, "cut.mp4", 0.5);
    let error = refusal(&cut);
    assert!(matches!(error, MediaError::IndexMissing { .. }), "{error}");
    assert!(error.to_string().contains("cut off"), "{error}");
}

#[test]
fn files_cut_short_deliver_what_is_there_and_say_so() {
    let bench = Bench::new();
    let fast_start = format!("{H264} -movflags +faststart");
    let fragments = format!("{H264} -movflags +frag_keyframe+empty_moov");
    for (name, encoder) in [
        ("whole.mkv", H264),
        ("fast.mp4", fast_start.as_str()),
        ("fragments.mp4", fragments.as_str()),
        ("whole.avi", "-c:v mjpeg -q:v 4"),
        (
            "whole.webm",
            "-c:v libvpx-vp9 -deadline realtime -cpu-used 8 -g 20",
        ),
    ] {
        let whole = bench.clip(name, "160x120", "10", 20.0, encoder);
        let cut = bench.cut(&whole, &format!("cut_{name}"), 0.6);
        let mut source = opened(&cut);
        let found = times(&collect(&mut source, ALL));
        let expected = ffprobe_times(&cut);
        assert!(
            found.len() > 80 && found.len() + 1 >= expected.len(),
            "{name}: {} of {} frames",
            found.len(),
            expected.len()
        );
        let last_s = found[found.len() - 1];
        let remarks = source.remarks();
        // Cut between two fragments, an mp4 of fragments is a whole shorter file: nothing shows.
        let said = remarks.iter().any(
            |remark| matches!(remark, MediaRemark::CutShort { last_s: at, .. } if *at == last_s),
        );
        assert!(said || name == "fragments.mp4", "{name}: {remarks:?}");
        // A span before the cut is whole and raises no fresh doubt.
        let mut again = opened(&cut);
        let early = FrameRequest {
            from_s: 0.0,
            to_s: 3.0,
            density: Density::Spaced { spacing_s: 0.0 },
        };
        let wanted = expected
            .iter()
            .filter(|&&time_s| time_s <= 3.0 + 1e-6)
            .count();
        assert_eq!(collect(&mut again, early).len(), wanted, "{name}");
        assert!(
            !again
                .remarks()
                .iter()
                .any(|remark| matches!(remark, MediaRemark::CutShort { .. })),
            "{name}: {:?}",
            again.remarks()
        );
    }
}

#[test]
fn damage_in_the_middle_is_survived_and_said() {
    let bench = Bench::new();
    let whole = bench.clip("whole.mkv", "320x240", "10", 20.0, H264);
    let mut bytes = std::fs::read(&whole).expect("the clip was made");
    let middle = bytes.len() / 2;
    bytes[middle..middle + 3000].fill(0x55);
    std::fs::write(bench.path("spoilt.mkv"), &bytes).expect("written");
    let mut source = opened(&bench.path("spoilt.mkv"));
    let found = times(&collect(&mut source, ALL));
    assert!(found.len() > 150, "{} frames", found.len());
    assert!(found.windows(2).all(|pair| pair[0] < pair[1]));
    let remarks = source.remarks();
    assert!(
        remarks
            .iter()
            .any(|remark| matches!(remark, MediaRemark::Damaged { .. })),
        "{remarks:?}"
    );
}

#[test]
fn an_all_black_video_is_an_ordinary_one() {
    let bench = Bench::new();
    bench.ffmpeg(&format!(
        "-f lavfi -i color=black:s=160x120:r=5:d=4 {H264} black.mp4"
    ));
    let frames = collect(&mut opened(&bench.path("black.mp4")), ALL);
    assert_eq!(frames.len(), 20);
    assert!(
        frames
            .iter()
            .all(|frame| frame.luma.iter().all(|&value| value == 0))
    );
}

#[test]
fn odd_names_are_no_options() {
    let bench = Bench::new();
    let whole = bench.clip("whole.mp4", "64x64", "5", 1.0, H264);
    for name in [
        "-i.mp4",
        "a:b c'd%03d.mp4",
        "ünïcode ;.mp4",
        "concat:x|y.mp4",
    ] {
        std::fs::copy(&whole, bench.path(name)).expect("copied");
        let frames = collect(&mut opened(&bench.path(name)), ALL);
        assert_eq!(frames.len(), 5, "{name}");
    }
}

#[test]
fn a_file_without_a_stated_end_is_measured() {
    let bench = Bench::new();
    // Written to a pipe, Matroska cannot state its length, like a browser's recording.
    bench.ffmpeg(
        "-f lavfi -i testsrc2=s=160x120:r=10:d=6 -c:v libvpx-vp9 -deadline realtime -cpu-used 8 \
         -f webm -live 1 live.webm",
    );
    let mut source = opened(&bench.path("live.webm"));
    assert!(
        (source.info().end_s - 5.9).abs() < 0.01,
        "{:?}",
        source.info()
    );
    let frames = collect(
        &mut source,
        FrameRequest {
            from_s: 3.05,
            to_s: 4.0,
            density: Density::Spaced { spacing_s: 0.0 },
        },
    );
    assert_eq!(frames.len(), 10);
    assert_eq!(source.remarks(), []);
}
