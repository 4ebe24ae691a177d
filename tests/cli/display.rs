//! `meltrange display`: a film of a display to a log, or a refusal.

use crate::workshop::{Workshop, ended, meltrange};
use jpeg_encoder::{ColorType, Encoder};
use std::fmt::Write as _;
use std::path::PathBuf;

const WIDTH: usize = 320;
const HEIGHT: usize = 120;

/// Seven segments a to g: place and size [px].
const BARS: [[usize; 4]; 7] = [
    [7, 0, 30, 7],
    [37, 7, 7, 26],
    [37, 40, 7, 26],
    [7, 62, 30, 7],
    [0, 40, 7, 26],
    [0, 7, 7, 26],
    [7, 31, 30, 7],
];
/// Which of them the digits 0 to 9 light, as every data sheet of a decoder has them.
const LIT: [u8; 10] = [0x3f, 0x06, 0x5b, 0x4f, 0x66, 0x6d, 0x7d, 0x07, 0x7f, 0x6f];

/// A display showing so many tenths of a degree, as JPEG.
fn picture(tenths: usize) -> Vec<u8> {
    let mut luma = vec![25; WIDTH * HEIGHT];
    let mut fill = |x: usize, y: usize, [width, height]: [usize; 2]| {
        for row in y..y + height {
            luma[row * WIDTH + x..row * WIDTH + x + width].fill(220);
        }
    };
    for (x, value) in [40, 100, 160, 228]
        .into_iter()
        .zip(format!("{tenths:04}").bytes())
    {
        let lit = LIT[usize::from(value - b'0')];
        for (segment, [dx, dy, width, height]) in BARS.into_iter().enumerate() {
            if lit & (1 << segment) != 0 {
                fill(x + dx, 25 + dy, [width, height]);
            }
        }
    }
    fill(215, 88, [7, 7]);
    let mut jpeg = Vec::new();
    let size = |px: usize| u16::try_from(px).expect("small");
    Encoder::new(&mut jpeg, 90)
        .encode(&luma, size(WIDTH), size(HEIGHT), ColorType::Luma)
        .expect("it fits");
    jpeg
}

/// Five pictures a second for half a minute, a tenth of a degree more every second.
fn film(workshop: &Workshop) -> PathBuf {
    let folder = workshop.path("meter");
    std::fs::create_dir(&folder).expect("there is room");
    let mut list = "file,time_s\n".to_owned();
    for number in 0..150 {
        let name = format!("{number:03}.jpg");
        std::fs::write(folder.join(&name), picture(1198 + number / 5)).expect("there is room");
        let _ = writeln!(list, "{name},{}", 0.2 * number as f64);
    }
    std::fs::write(folder.join("frames.csv"), list).expect("there is room");
    folder
}

#[test]
fn a_film_of_a_display_becomes_a_log() {
    let workshop = Workshop::new();
    let (film, log) = (film(&workshop), workshop.path("temperature.csv"));
    let read = ended(
        meltrange()
            .arg("display")
            .arg(&film)
            .arg("--out")
            .arg(&log)
            .args([
                "--style",
                "seven-segment",
                "--lit",
                "bright-on-dark",
                "--json",
            ]),
    );
    assert_eq!(read.status, Some(0), "{}", read.stderr);
    let told: serde_json::Value = serde_json::from_str(&read.stdout).expect("one object");
    assert_eq!(told["pictures"], 150);
    let text = std::fs::read_to_string(&log).expect("a log");
    let rows: Vec<(f64, f64)> = text
        .lines()
        .skip(1)
        .filter_map(|line| {
            let (time_s, shown_c) = line.split_once(',')?;
            Some((time_s.parse().ok()?, shown_c.parse().ok()?))
        })
        .collect();
    assert!(rows.len() > 75, "{told:#}");
    for (time_s, shown_c) in rows {
        let tenths = 1198 + ((time_s + 1e-6) as usize);
        assert_eq!(shown_c, tenths as f64 / 10.0, "at {time_s} s");
    }
}

#[test]
fn what_is_no_display_leaves_no_log() {
    let workshop = Workshop::new();
    let video = workshop.video("grey.mp4", "color=gray:size=160x120:rate=5:duration=2", &[]);
    let log = workshop.path("temperature.csv");
    let read = ended(
        meltrange()
            .arg("display")
            .arg(&video)
            .arg("--out")
            .arg(&log),
    );
    assert_eq!(read.status, Some(1));
    assert!(
        read.stderr.contains("no value could be read"),
        "{}",
        read.stderr
    );
    assert!(!log.exists());
    let corners = ended(
        meltrange()
            .arg("display")
            .arg(&video)
            .arg("--out")
            .arg(&log)
            .args(["--corners", "1,2,3"]),
    );
    assert_eq!(corners.status, Some(2), "{}", corners.stderr);
}
