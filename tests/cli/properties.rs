//! What must not change a reading, and what must make it less certain: one simulated recording
//! against copies of it that somebody else might have made.

use crate::workshop::{Workshop, ended, meltrange};
use serde_json::Value;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

/// Log time at which the video begins [s].
const VIDEO_START_S: f64 = 7.5;

/// Plain scene with two tubes that melt at different temperatures, so that their order is told.
const SCENE: &str = r#"name = "properties"
seed = 32
[picture]
width = 400
height = 300
backdrop = "plain"
[programme]
start_c = 119.8
end_c = END
rate_c_per_min = RATE
soak_s = 5.0
tail_s = 8.0
[log]
video_start_s = 7.5
[output]
container = "mkv"
quality = 0.9
[[tube]]
melts_at_c = 121.6
impurity_mole_fraction = 0.0008
[[tube]]
melts_at_c = 122.2
impurity_mole_fraction = 0.0012
"#;

/// H.264 fine enough that the change before it is what counts.
const FINE: [&str; 6] = ["-c:v", "libx264", "-preset", "veryfast", "-crf", "12"];

/// Both moments of one tube.
#[derive(Debug, Clone, Copy)]
struct Moments([Moment; 2]);

#[derive(Debug, Clone, Copy)]
struct Moment {
    time_s: f64,
    temperature_c: f64,
    standard_uncertainty_c: f64,
}

/// The recording rendered at a heating rate, made once for all tests of a build, up to a block temperature.
///
/// Tests may run as processes of their own, so the folder is shared through the disk and a lock.
fn recording(rate_c_per_min: f64, end_c: f64) -> PathBuf {
    let room = Path::new(env!("CARGO_TARGET_TMPDIR")).join("properties");
    fs::create_dir_all(&room).expect("the target folder can be written to");
    let lock = File::create(room.join("lock")).expect("the target folder can be written to");
    lock.lock().expect("files there can be locked");
    let folder = room.join(format!("rate-{rate_c_per_min}"));
    let text = SCENE
        .replace("RATE", &format!("{rate_c_per_min:.1}"))
        .replace("END", &format!("{end_c:.1}"));
    // A program built since may render otherwise.
    let program = fs::metadata(env!("CARGO_BIN_EXE_meltrange"))
        .and_then(|of| of.modified())
        .expect("the program is there");
    let current = fs::metadata(folder.join("truth.json"))
        .and_then(|of| of.modified())
        .is_ok_and(|made| made > program);
    let scene = room.join(format!("rate-{rate_c_per_min}.toml"));
    if !current || !fs::read_to_string(&scene).is_ok_and(|kept| kept == text) {
        if folder.exists() {
            fs::remove_dir_all(&folder).expect("what was rendered here can be removed");
        }
        fs::write(&scene, text).expect("there is room");
        let made = ended(
            meltrange()
                .arg("simulate")
                .arg(&scene)
                .arg("--out")
                .arg(&folder),
        );
        assert_eq!(made.status, Some(0), "{}", made.stderr);
    }
    folder
}

/// The recording at 1 °C/min.
fn source() -> &'static Path {
    static SOURCE: OnceLock<PathBuf> = OnceLock::new();
    SOURCE.get_or_init(|| recording(1.0, 123.8))
}

/// Read a video with a log; tubes from left to right.
fn read(media: &Path, log: &Path, video_start_s: f64) -> Vec<Moments> {
    let found = ended(
        meltrange()
            .arg("read")
            .arg(media)
            .arg("--temperature")
            .arg(log)
            .args(["--video-start", &video_start_s.to_string(), "--json"]),
    );
    let reading = found.json();
    let tubes = reading["tubes"].as_array().expect("tubes is a list");
    tubes.iter().map(moments).collect()
}

fn moments(tube: &Value) -> Moments {
    Moments(["first_liquid", "last_crystal"].map(|name| {
        let number = |field: &str| {
            let value = &tube[name][field];
            value
                .as_f64()
                .unwrap_or_else(|| panic!("{name}.{field} is {value}"))
        };
        Moment {
            time_s: number("time_s"),
            temperature_c: number("temperature_c"),
            standard_uncertainty_c: number("standard_uncertainty_c"),
        }
    }))
}

/// The reading of the recording as it is.
fn plain() -> Vec<Moments> {
    let folder = source();
    let found = read(
        &folder.join("video.mkv"),
        &folder.join("temperature.csv"),
        VIDEO_START_S,
    );
    assert_eq!(found.len(), 2, "two tubes were simulated");
    found
}

/// The reading of a copy that ffmpeg made.
fn copied(name: &str, options: &[&str]) -> Vec<Moments> {
    let workshop = Workshop::new();
    let copy = workshop.path(name);
    let made = Command::new("ffmpeg")
        .args(["-nostdin", "-v", "error", "-i"])
        .arg(source().join("video.mkv"))
        .args(options)
        .arg(&copy)
        .output()
        .expect("ffmpeg is installed");
    assert!(
        made.status.success(),
        "{}",
        String::from_utf8_lossy(&made.stderr)
    );
    read(&copy, &source().join("temperature.csv"), VIDEO_START_S)
}

/// Every moment lies within one standard uncertainty of the plain reading's.
fn assert_unchanged(found: &[Moments], plain: &[Moments], what: &str) {
    assert_eq!(found.len(), plain.len(), "{what}: number of tubes");
    for (tube, (found, plain)) in found.iter().zip(plain).enumerate() {
        for (name, (found, plain)) in ["first liquid", "last crystal"]
            .iter()
            .zip(found.0.iter().zip(&plain.0))
        {
            let off_c = found.temperature_c - plain.temperature_c;
            let u_c = found
                .standard_uncertainty_c
                .max(plain.standard_uncertainty_c);
            assert!(
                off_c.abs() <= u_c,
                "{what}: {name} of tube {} moved by {off_c:+.3} °C, u is {u_c:.3} °C",
                tube + 1
            );
        }
    }
}

#[test]
fn brighter_or_darker_pictures_read_the_same() {
    let plain = plain();
    for gain in ["0.7", "1.15"] {
        // Limited range: black is 16.
        let filter = format!("lutyuv=y=16+(val-16)*{gain}");
        let found = copied("copy.mkv", &[&["-vf", &filter], &FINE[..]].concat());
        assert_unchanged(&found, &plain, &format!("brightness times {gain}"));
    }
}

#[test]
fn a_mirror_image_reverses_the_tubes_and_nothing_else() {
    let mut plain = plain();
    plain.reverse();
    let found = copied("copy.mkv", &[&["-vf", "hflip"], &FINE[..]].concat());
    assert_unchanged(&found, &plain, "mirror image");
}

#[test]
fn encoded_again_it_reads_the_same() {
    let plain = plain();
    let ways: [(&str, &[&str]); 3] = [
        (
            "copy.avi",
            &["-c:v", "mjpeg", "-q:v", "3", "-pix_fmt", "yuvj420p"],
        ),
        (
            "copy.mp4",
            &[
                "-c:v",
                "libx265",
                "-preset",
                "veryfast",
                "-crf",
                "24",
                "-x265-params",
                "log-level=error",
            ],
        ),
        (
            "copy.webm",
            &[
                "-c:v",
                "libvpx-vp9",
                "-crf",
                "24",
                "-b:v",
                "0",
                "-deadline",
                "realtime",
                "-cpu-used",
                "8",
            ],
        ),
    ];
    for (name, options) in ways {
        assert_unchanged(&copied(name, options), &plain, name);
    }
}

#[test]
fn both_clocks_set_forward_move_the_times_alone() {
    const FORWARD_S: f64 = 1000.0;
    let plain = plain();
    let workshop = Workshop::new();
    let text =
        fs::read_to_string(source().join("temperature.csv")).expect("simulate wrote the log");
    let moved: String = text
        .lines()
        .map(|line| match line.split_once(',') {
            Some((time, rest)) => match time.parse::<f64>() {
                Ok(time_s) => format!("{:.3},{rest}\n", time_s + FORWARD_S),
                Err(_) => format!("{line}\n"),
            },
            None => format!("{line}\n"),
        })
        .collect();
    let log = workshop.file("moved.csv", moved);
    let found = read(&source().join("video.mkv"), &log, VIDEO_START_S + FORWARD_S);
    assert_unchanged(&found, &plain, "both clocks set forward");
    for (found, plain) in found.iter().zip(&plain) {
        for (found, plain) in found.0.iter().zip(&plain.0) {
            let off_s = found.time_s - plain.time_s - FORWARD_S;
            // The same pictures and samples: only rounding may differ.
            assert!(off_s.abs() < 0.1, "a time is {off_s:+.3} s off");
        }
    }
}

#[test]
fn pictures_further_apart_are_less_certain() {
    let plain = plain();
    let filter = ["-vf", "select=not(mod(n\\,12))", "-fps_mode", "vfr"];
    let found = copied("copy.mkv", &[&filter, &FINE[..]].concat());
    assert_less_certain(&found, &plain, "one picture in twelve");
}

#[test]
fn faster_heating_is_less_certain() {
    // The content lags behind the block, the more the faster it is heated.
    let folder = recording(4.0, 127.0);
    let found = read(
        &folder.join("video.mkv"),
        &folder.join("temperature.csv"),
        VIDEO_START_S,
    );
    assert_less_certain(&found, &plain(), "4 °C/min instead of 1 °C/min");
}

/// Over all tubes: a single u also carries how slowly the liquid of that tube seemed to grow, which
/// each copy shows a little differently.
fn assert_less_certain(found: &[Moments], plain: &[Moments], what: &str) {
    assert_eq!(found.len(), plain.len(), "{what}: number of tubes");
    for (kind, name) in ["first liquid", "last crystal"].into_iter().enumerate() {
        let rms_c = |tubes: &[Moments]| {
            let squares = tubes
                .iter()
                .map(|t| t.0[kind].standard_uncertainty_c.powi(2));
            (squares.sum::<f64>() / tubes.len() as f64).sqrt()
        };
        let (more_c, less_c) = (rms_c(found), rms_c(plain));
        assert!(
            more_c > less_c,
            "{what}, {name}: u is {more_c:.3} °C, without it {less_c:.3} °C"
        );
    }
}
