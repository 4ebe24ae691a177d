//! Folders of JPEG and PNG pictures.

use std::path::PathBuf;

use meltrange_media::{MediaError, MediaRemark, Opened, open};
use meltrange_reading::{Density, FrameRequest, FrameSource, Region};

use crate::clips::{ALL, Bench, collect, opened, times};

/// A recording folder with ten pictures, 1 s apart.
fn folder(bench: &Bench, ending: &str) -> PathBuf {
    std::fs::create_dir_all(bench.path("run/frames")).expect("made");
    bench.ffmpeg(&format!(
        "-f lavfi -i testsrc2=s=160x120:r=1:d=10 -pix_fmt {} -start_number 0 run/frames/%02d.{ending}",
        if ending == "jpg" { "yuvj420p" } else { "rgb24" }
    ));
    let rows: String = (0..10)
        .map(|at| format!("{at:02}.{ending},{at}.5\n"))
        .collect();
    list(bench, &format!("# made up\r\nfile,time_s\n{rows}"));
    bench.path("run")
}

fn list(bench: &Bench, text: &str) {
    std::fs::write(bench.path("run/frames.csv"), text).expect("written");
}

fn refusal(path: &std::path::Path) -> String {
    open(path, 0.0).expect_err("not usable").to_string()
}

#[test]
fn jpeg_and_png_carry_the_same_luma() {
    let bench = Bench::new();
    let jpeg = collect(&mut opened(&folder(&bench, "jpg")), ALL);
    let png = collect(&mut opened(&folder(&bench, "png")), ALL);
    assert_eq!(
        times(&jpeg),
        (0..10).map(|at| f64::from(at) + 0.5).collect::<Vec<_>>()
    );
    assert_eq!(times(&png), times(&jpeg));
    let apart: u64 = jpeg[4]
        .luma
        .iter()
        .zip(&png[4].luma)
        .map(|(&a, &b)| u64::from(a.abs_diff(b)))
        .sum();
    let mean = apart as f64 / jpeg[4].luma.len() as f64;
    assert!(mean < 4.0, "JPEG and PNG differ by {mean} levels");
}

#[test]
fn folder_list_and_parts_are_understood() {
    let bench = Bench::new();
    let run = folder(&bench, "jpg");
    for path in [
        run.clone(),
        run.join("frames"),
        run.join("frames.csv"),
        run.join("frames/."),
    ] {
        let mut source = open(&path, 100.0).expect("the recording in any of its names");
        assert_eq!(source.info().start_s, 100.5, "{}", path.display());
        let request = FrameRequest {
            from_s: 102.5,
            to_s: 108.5,
            density: Density::Spaced { spacing_s: 2.0 },
        };
        source.set_region(Some(Region {
            x: 5,
            y: 7,
            width: 11,
            height: 13,
        }));
        let part = collect(&mut source, request);
        assert_eq!(times(&part), [102.5, 104.5, 106.5, 108.5]);
        assert_eq!((part[0].width, part[0].height), (11, 13));
        source.set_region(None);
        let whole = collect(&mut source, request);
        assert_eq!(part[1].luma[11], whole[1].luma[8 * 160 + 5]);
    }
}

#[test]
fn names_relative_to_the_list_and_columns_in_any_order() {
    let bench = Bench::new();
    let run = folder(&bench, "jpg");
    list(
        &bench,
        "note,time_s,file\nfirst,3.25,frames/00.jpg\n,4.5,frames/01.jpg\n",
    );
    let mut source = opened(&run);
    assert_eq!(times(&collect(&mut source, ALL)), [3.25, 4.5]);
    assert_eq!(source.remarks(), []);
}

#[test]
fn a_video_in_a_recording_folder_is_found() {
    let bench = Bench::new();
    bench.clip(
        "video.mp4",
        "64x64",
        "5",
        1.0,
        "-c:v libx264 -preset ultrafast",
    );
    let here = bench.path("");
    assert!(matches!(opened(&here), Opened::Video(_)));
    std::fs::copy(bench.path("video.mp4"), bench.path("video.mkv")).expect("copied");
    let error = open(&here, 0.0).expect_err("two videos");
    assert!(matches!(error, MediaError::SeveralVideos { .. }), "{error}");
    std::fs::create_dir(bench.path("bare")).expect("made");
    let error = refusal(&bench.path("bare"));
    assert!(
        error.contains("frames.csv") && error.contains("nothing"),
        "{error}"
    );
}

#[test]
fn rows_out_of_order_are_sorted_and_equal_times_left_out() {
    let bench = Bench::new();
    let run = folder(&bench, "jpg");
    let in_order = collect(&mut opened(&run), ALL);
    let rows: String = [7, 2, 9, 0, 4, 1, 8, 3, 6, 5]
        .iter()
        .map(|at| format!("{at:02}.jpg,{at}.5\n"))
        .collect();
    list(&bench, &format!("file,time_s\n{rows}"));
    let mut source = opened(&run);
    assert!(collect(&mut source, ALL) == in_order);
    assert!(matches!(
        source.remarks().as_slice(),
        [MediaRemark::OutOfOrder {
            count: 5,
            first_line: 3,
            ..
        }]
    ));
    list(
        &bench,
        "file,time_s\n00.jpg,1\n01.jpg,1\n02.jpg,0.5\n03.jpg,2\n",
    );
    let mut source = opened(&run);
    assert_eq!(times(&collect(&mut source, ALL)), [0.5, 1.0, 2.0]);
    assert!(matches!(
        source.remarks().as_slice(),
        [MediaRemark::OutOfOrder { .. }, MediaRemark::TimesNotRising { skipped: 1, first_s }]
            if *first_s == 1.0
    ));
}

#[test]
fn lists_without_a_usable_clock_are_refused() {
    let bench = Bench::new();
    let run = folder(&bench, "jpg");
    let rows: String = (0..10).map(|at| format!("{at:02}.jpg,5\n")).collect();
    list(&bench, &format!("file,time_s\n{rows}"));
    let error = refusal(&run);
    assert!(
        error.contains("frames.csv: all 10 pictures have the time 5 s"),
        "{error}"
    );
    let rows: String = (0..40)
        .map(|at| format!("{:02}.jpg,{}\n", at % 10, at % 20))
        .collect();
    list(&bench, &format!("file,time_s\n{rows}"));
    let error = refusal(&run);
    assert!(
        error.contains("frames.csv, line 22: the clock falls back from 19 s to 0 s"),
        "{error}"
    );
}

#[test]
fn a_missing_picture_is_named_with_its_line() {
    let bench = Bench::new();
    let run = folder(&bench, "jpg");
    std::fs::remove_file(run.join("frames/04.jpg")).expect("removed");
    let error = refusal(&run);
    assert!(
        error.contains("frames.csv, line 7: the picture 04.jpg is not there"),
        "{error}"
    );
}

#[test]
fn unusable_pictures_are_left_out_by_name_unless_all_are() {
    let bench = Bench::new();
    let run = folder(&bench, "jpg");
    bench.ffmpeg("-f lavfi -i testsrc2=s=80x60 -frames:v 1 run/frames/05.jpg");
    std::fs::write(run.join("frames/02.jpg"), "not a picture").expect("written");
    let whole = std::fs::read(run.join("frames/08.jpg")).expect("read");
    std::fs::write(run.join("frames/08.jpg"), &whole[..whole.len() / 2]).expect("written");
    let mut source = opened(&run);
    let found = times(&collect(&mut source, ALL));
    assert_eq!(found, [0.5, 1.5, 3.5, 4.5, 6.5, 7.5, 9.5]);
    collect(&mut source, ALL);
    let words: Vec<String> = source.remarks().iter().map(ToString::to_string).collect();
    assert_eq!(words.len(), 3, "{words:#?}");
    assert!(
        words[0].contains("line 5: 02.jpg cannot be decoded"),
        "{}",
        words[0]
    );
    assert!(
        words[1].contains("line 8: 05.jpg is 80 × 60 pixels"),
        "{}",
        words[1]
    );
    assert!(words[2].contains("line 11: 08.jpg"), "{}", words[2]);
    for at in 0..10 {
        std::fs::write(run.join(format!("frames/{at:02}.jpg")), "").expect("written");
    }
    let error = refusal(&run);
    assert!(error.contains("line 3: 00.jpg is empty"), "{error}");
}

#[test]
fn large_pictures_are_scaled_down() {
    let bench = Bench::new();
    std::fs::create_dir_all(bench.path("run/frames")).expect("made");
    bench.ffmpeg("-f lavfi -i testsrc2=s=1920x1080 -frames:v 1 run/frames/0.png");
    list(&bench, "file,time_s\n0.png,0\n");
    let mut source = opened(&bench.path("run"));
    let info = source.info();
    assert_eq!(
        (info.width, info.height, info.source_px_per_px),
        (960, 540, 2.0)
    );
    assert_eq!(collect(&mut source, ALL)[0].luma.len(), 960 * 540);
}

/// A JPEG with an Exif block that says `orientation` (Exif 2.32, tag 0x0112).
fn with_orientation(jpeg: &[u8], orientation: u8) -> Vec<u8> {
    let mut exif = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    exif.extend([orientation, 0, 0, 0, 0, 0, 0]);
    let length = (exif.len() + 2) as u16;
    let mut out = jpeg[..2].to_vec();
    out.extend([0xFF, 0xE1]);
    out.extend(length.to_be_bytes());
    out.extend(exif);
    out.extend(&jpeg[2..]);
    out
}

#[test]
fn exif_orientation_turns_the_picture() {
    let bench = Bench::new();
    let run = folder(&bench, "jpg");
    let flat = collect(&mut opened(&run), ALL)[0].clone();
    let path = run.join("frames/00.jpg");
    let jpeg = std::fs::read(&path).expect("read");
    // 6: to be turned a quarter clockwise.
    std::fs::write(&path, with_orientation(&jpeg, 6)).expect("written");
    list(&bench, "file,time_s\n00.jpg,0\n");
    let turned = collect(&mut opened(&run), ALL)[0].clone();
    assert_eq!((turned.width, turned.height), (120, 160));
    for (x, y) in [(0, 0), (17, 33), (119, 159)] {
        // Its column x, row y was column y, row (height − 1 − x) before.
        assert_eq!(turned.luma[y * 120 + x], flat.luma[(119 - x) * 160 + y]);
    }
}
