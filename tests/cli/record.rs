//! `meltrange record` as a process: a run on the simulated bench from its file to a reading, and what
//! is left when it is killed.

use crate::workshop::{Workshop, ended, meltrange};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// A simulated bench with small pictures, `frames_per_s` of them a second of its clock.
fn bench(workshop: &Workshop, frames_per_s: f64) -> PathBuf {
    let text = format!(
        r#"
name = "North"
places = 3
room_c = 22.0
max_c = 250.0
heat_rate_c_per_min = 20.0
cool_time_constant_min = 4.0
[thermometer]
kind = "simulated"
[heater]
kind = "simulated"
[camera]
kind = "simulated"
frames_per_s = {frames_per_s}
[camera.scene]
seed = 3
[camera.scene.picture]
width = 320
height = 240
light = "back"
bore_px = 40.0
backdrop = "plain"
[[camera.scene.tube]]
melts_at_c = 94.9
impurity_mole_fraction = 0.001
[[camera.scene.tube]]
melts_at_c = 94.5
impurity_mole_fraction = 0.002
"#
    );
    workshop.file("north.toml", text)
}

fn new_book(workshop: &Workshop) -> PathBuf {
    let book = workshop.path("practical");
    let mut command = meltrange();
    command
        .args(["book", "new"])
        .arg(&book)
        .args(["--by", "R. Amsel"]);
    assert_eq!(ended(&mut command).status, Some(0));
    book
}

#[test]
fn a_run_is_recorded_read_and_told_as_json() {
    let workshop = Workshop::new();
    let (bench, book) = (bench(&workshop, 0.5), new_book(&workshop));
    let label = ended(meltrange().args(["sample", "add"]).arg(&book).arg("U-4"));
    assert_eq!(label.status, Some(0), "{}", label.stderr);
    let run = ended(
        meltrange()
            .arg("record")
            .arg(&bench)
            .arg("--book")
            .arg(&book)
            .args(["--tubes", "U-4", "-"])
            .args([
                "--first-liquid",
                "94",
                "--last-crystal",
                "95",
                "--soak",
                "1",
            ])
            .args(["--unattended", "--speed", "60", "--json"]),
    );
    assert_eq!(run.status, Some(0), "{}", run.stderr);
    let told: serde_json::Value = serde_json::from_str(&run.stdout).expect("one object");
    assert_eq!(told["phase"], "ended", "{told:#}");
    assert_eq!(told["readings"], 1, "{told:#}");
    assert_eq!(told["tubes"].as_array().map(Vec::len), Some(2), "{told:#}");
    assert!(run.stderr.contains("scan to 97.0 °C"), "{}", run.stderr);
    let verified = ended(meltrange().args(["book", "verify"]).arg(&book));
    assert_eq!(verified.status, Some(0), "{}", verified.stderr);
}

#[test]
fn what_cannot_be_is_refused_before_anything_heats() {
    let workshop = Workshop::new();
    let (bench, book) = (bench(&workshop, 0.5), new_book(&workshop));
    let run = |arguments: &[&str]| {
        ended(
            meltrange()
                .arg("record")
                .arg(&bench)
                .arg("--book")
                .arg(&book)
                .args(arguments),
        )
    };
    let hot = run(&["--first-liquid", "260", "--last-crystal", "261"]);
    assert_eq!(hot.status, Some(1));
    assert!(hot.stderr.contains("250"), "{}", hot.stderr);
    let unknown = run(&["--tubes", "U-9", "--scouting"]);
    assert_eq!(unknown.status, Some(1));
    assert!(unknown.stderr.contains("U-9"), "{}", unknown.stderr);
    let nowhere = run(&["--scouting", "--run-log", "no/such/folder/log.csv"]);
    assert_eq!(nowhere.status, Some(1));
    assert!(
        nowhere.stderr.contains("no/such/folder/log.csv"),
        "{}",
        nowhere.stderr
    );
    assert_eq!(run(&[]).status, Some(2), "neither a range nor scouting");
    let fast = run(&["--scouting", "--speed", "100"]);
    assert_eq!(fast.status, Some(1), "{}", fast.stderr);
}

/// Killed at random moments of a run: the book verifies, and the recording is complete up to one second
/// before. `MELTRANGE_KILLS` says how often, `MELTRANGE_KILL_SEED` from where.
#[test]
fn killed_at_any_moment_a_recording_lacks_a_second_at_most() {
    let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse().ok());
    let kills: u64 = number("MELTRANGE_KILLS").unwrap_or(8);
    let mut chance = ChaCha8Rng::seed_from_u64(number("MELTRANGE_KILL_SEED").unwrap_or(7));
    let workshop = Workshop::new();
    let bench = bench(&workshop, 5.0);
    let book = new_book(&workshop);
    let mut least_lacking_s: f64 = f64::INFINITY;
    let mut most_lacking_s: f64 = f64::NEG_INFINITY;
    for _ in 0..kills {
        let wait = Duration::from_millis(chance.random_range(300..4000));
        let lived_s = killed_after(&bench, &book, wait);
        let verified = ended(meltrange().args(["book", "verify"]).arg(&book));
        assert_eq!(verified.status, Some(0), "{}", verified.stderr);
        let (last_frame_s, last_temperature_s) = newest_recording(&book);
        let lacking_s = lived_s - last_frame_s.max(last_temperature_s);
        least_lacking_s = least_lacking_s.min(lacking_s);
        most_lacking_s = most_lacking_s.max(lacking_s);
        // A second, the spacing of temperatures, and that the clock here starts when a line is read.
        assert!(
            lacking_s < 1.0 + 0.5 + 0.3,
            "{lacking_s} s after {lived_s} s"
        );
        assert!(
            lived_s - last_frame_s < 1.0 + 0.2 + 0.6,
            "{lived_s} s, {last_frame_s} s"
        );
    }
    assert!(
        most_lacking_s > 0.0,
        "{least_lacking_s} to {most_lacking_s} s"
    );
}

/// Begin a run, kill it `wait` after its first event; how long the run had lived [s].
fn killed_after(bench: &Path, book: &Path, wait: Duration) -> f64 {
    let mut child = Command::new(env!("CARGO_BIN_EXE_meltrange"))
        .arg("record")
        .arg(bench)
        .arg("--book")
        .arg(book)
        .args(["--scouting", "--up-to", "200", "--no-reading"])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut told = BufReader::new(child.stderr.take().expect("piped")).lines();
    let begun = loop {
        let line = told.next().expect("it goes on").expect("text");
        if line.contains("scan to") {
            break Instant::now();
        }
    };
    std::thread::sleep(wait);
    child.kill().expect("it lives");
    let lived_s = begun.elapsed().as_secs_f64();
    child.wait().expect("it is dead");
    lived_s
}

/// Times of the last picture and the last temperature of the newest recording [s].
fn newest_recording(book: &Path) -> (f64, f64) {
    let newest = std::fs::read_dir(book.join("recordings"))
        .expect("recordings")
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.join("frame_index.csv").exists())
        .max()
        .expect("a recording");
    let last_s = |name: &str| {
        let text = std::fs::read_to_string(newest.join(name)).expect("a table");
        let last = text.lines().skip(1).last().map(str::to_owned);
        last.and_then(|line| line.split(',').next()?.parse().ok())
            .unwrap_or(0.0)
    };
    (last_s("frame_index.csv"), last_s("temperature.csv"))
}
