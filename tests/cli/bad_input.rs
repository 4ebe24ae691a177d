//! Inputs that cannot be used: exit 1, a message that says what was found and what to do, and
//! nothing written.

use crate::workshop::{RISING_LOG, Workshop, ended, meltrange};

/// A minute of a picture that is no bench.
const GREY: &str = "color=c=gray:size=160x120:rate=2:duration=60";
const BLACK: &str = "color=c=black:size=160x120:rate=2:duration=60";

#[test]
fn a_text_file_is_not_a_video() {
    let workshop = Workshop::new();
    let media = workshop.file("run.mp4", "these are notes, not a video\n");
    let log = workshop.file("log.csv", RISING_LOG);
    workshop
        .read(&media, &log, &["--json", "--out", "evidence"])
        .assert_refused(&["run.mp4", "not a video"]);
    assert_eq!(workshop.names(), ["log.csv", "run.mp4"]);
}

#[test]
fn a_file_that_is_not_there_is_named() {
    let workshop = Workshop::new();
    let log = workshop.file("log.csv", RISING_LOG);
    workshop
        .read(&workshop.path("gone.mp4"), &log, &[])
        .assert_refused(&["gone.mp4"]);
    let media = workshop.video("run.mkv", GREY, &[]);
    workshop
        .read(&media, &workshop.path("gone.csv"), &[])
        .assert_refused(&["gone.csv"]);
}

#[test]
fn an_mp4_without_its_index_is_said_to_be_cut_off() {
    let workshop = Workshop::new();
    let whole = workshop.video("whole.mp4", GREY, &["-c:v", "libx264"]);
    let bytes = std::fs::read(whole).expect("ffmpeg wrote it");
    let media = workshop.file("run.mp4", &bytes[..bytes.len() / 2]);
    let log = workshop.file("log.csv", RISING_LOG);
    workshop
        .read(&media, &log, &["--out", "evidence"])
        .assert_refused(&["run.mp4", "cut off"]);
    assert!(!workshop.path("evidence").exists());
}

#[test]
fn a_video_without_pictures_is_refused() {
    let workshop = Workshop::new();
    let media = workshop.video("run.mkv", GREY, &["-frames:v", "0", "-c:v", "libx264"]);
    let log = workshop.file("log.csv", RISING_LOG);
    workshop
        .read(&media, &log, &[])
        .assert_refused(&["run.mkv"]);
}

#[test]
fn no_tubes_leaves_the_picture_that_was_looked_at() {
    for picture in [BLACK, GREY] {
        let workshop = Workshop::new();
        let media = workshop.video("run.mkv", picture, &[]);
        let log = workshop.file("log.csv", RISING_LOG);
        workshop
            .read(&media, &log, &["--json", "--out", "evidence"])
            .assert_refused(&["no tubes", "evidence/no-tubes.jpg"]);
        let jpeg = std::fs::read(workshop.path("evidence/no-tubes.jpg")).expect("it was saved");
        assert_eq!(&jpeg[..3], b"\xff\xd8\xff", "not a JPEG");
        assert_eq!(workshop.names(), ["evidence", "log.csv", "run.mkv"]);
    }
}

#[test]
fn no_tubes_without_out_saves_the_picture_among_temporary_files() {
    let workshop = Workshop::new();
    let media = workshop.video("run.mkv", BLACK, &[]);
    let log = workshop.file("log.csv", RISING_LOG);
    let temporary = workshop.path("temporary");
    std::fs::create_dir(&temporary).expect("there is room");
    let found = ended(
        meltrange()
            .env("TMPDIR", &temporary)
            .arg("read")
            .arg(&media)
            .arg("--temperature")
            .arg(&log),
    );
    found.assert_refused(&["no tubes", "temporary/meltrange-no-tubes-"]);
    assert_eq!(crate::workshop::names(&temporary).len(), 1);
}

#[test]
fn logs_that_cannot_be_used_are_refused_with_their_line() {
    let cases: [(&str, &str, &[&str]); 7] = [
        ("header", "0,110.0\n60,111.0\n", &["time_s"]),
        (
            "comma",
            "time_s,temperature_c\n0,\"110,0\"\n",
            &["line 2", "110,0", "decimal"],
        ),
        (
            "semicolon",
            "time_s;temperature_c\n0;110,0\n60;111,0\n",
            &["line 1", "semicolons", "commas"],
        ),
        (
            "words",
            "time_s,temperature_c\n0,hot\n60,111.0\n",
            &["line 2", "hot"],
        ),
        ("one", "time_s,temperature_c\n0,110.0\n", &["1", "2"]),
        ("empty", "", &["time_s"]),
        (
            "nan",
            "time_s,temperature_c\n0,NaN\n60,nan\n120,NaN\n",
            &["line 2", "NaN"],
        ),
    ];
    let workshop = Workshop::new();
    let media = workshop.video("run.mkv", GREY, &[]);
    for (name, text, words) in cases {
        let file = format!("{name}.csv");
        let log = workshop.file(&file, text);
        let found = workshop.read(&media, &log, &["--json", "--out", "evidence"]);
        found.assert_refused(&[&[file.as_str()], words].concat());
        assert!(!workshop.path("evidence").exists(), "{name}");
    }
}

#[test]
fn a_log_of_another_time_is_refused_with_both_spans() {
    let workshop = Workshop::new();
    let media = workshop.video("run.mkv", GREY, &[]);
    let log = workshop.file(
        "log.csv",
        "time_s,temperature_c\n5000,110.0\n5060,111.0\n5120,112.0\n",
    );
    workshop.read(&media, &log, &[]).assert_refused(&[
        "run.mkv",
        "log.csv",
        "59.",
        "5000",
        "5120",
        "--video-start",
    ]);
}

#[test]
fn a_falling_temperature_is_refused() {
    let workshop = Workshop::new();
    let media = workshop.video("run.mkv", GREY, &[]);
    let log = workshop.file(
        "log.csv",
        "time_s,temperature_c\n0,112.0\n30,111.0\n60,110.0\n",
    );
    workshop
        .read(&media, &log, &[])
        .assert_refused(&["falls", "112.0", "111.0", "hint:"]);
}

#[test]
fn without_ffmpeg_the_package_is_named() {
    let workshop = Workshop::new();
    let media = workshop.video("run.mkv", GREY, &[]);
    let log = workshop.file("log.csv", RISING_LOG);
    let nothing = workshop.path("nothing");
    std::fs::create_dir(&nothing).expect("there is room");
    let found = ended(
        meltrange()
            .env("PATH", &nothing)
            .arg("read")
            .arg(&media)
            .arg("--temperature")
            .arg(&log),
    );
    found.assert_refused(&["ffmpeg", "package"]);
}

#[test]
fn a_scene_that_cannot_be_is_refused_and_leaves_nothing() {
    let workshop = Workshop::new();
    let scene = workshop.file("scene.toml", "[picture]\nwidht = 640\n");
    let found = ended(
        meltrange()
            .arg("simulate")
            .arg(&scene)
            .arg("--out")
            .arg(workshop.path("recording")),
    );
    found.assert_refused(&["scene.toml", "widht"]);
    assert_eq!(workshop.names(), ["scene.toml"]);
}
