//! Recordings as films, looked at with ffprobe and taken apart with ffmpeg.

use crate::workshop::{captured, filled, names, room, run, sample, wait};
use meltrange_archive::{ArchiveError, export_film};
use meltrange_labbook::{Book, Person, RecordingId, Role};
use std::path::Path;
use std::process::Command;

fn said(program: &str, arguments: &[&str], file: &Path) -> String {
    let done = Command::new(program)
        .args(arguments)
        .arg(file)
        .output()
        .expect("ffmpeg is installed");
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    String::from_utf8(done.stdout).expect("text")
}

fn probe(what: &[&str], file: &Path) -> serde_json::Value {
    let arguments = [&["-v", "error", "-of", "json"], what].concat();
    serde_json::from_str(&said("ffprobe", &arguments, file)).expect("JSON")
}

/// Real pictures, so that a decoder has something to decode.
fn drawn(folder: &Path, ending: &str) -> Vec<Vec<u8>> {
    let done = Command::new("ffmpeg")
        .args([
            "-nostdin",
            "-v",
            "error",
            "-f",
            "lavfi",
            "-i",
            "testsrc=size=64x48:rate=5:duration=3",
        ])
        .arg(folder.join(format!("drawn-%03d.{ending}")))
        .status()
        .expect("ffmpeg is installed");
    assert!(done.success());
    (1..=15)
        .map(|number| {
            std::fs::read(folder.join(format!("drawn-{number:03}.{ending}"))).expect("drawn")
        })
        .collect()
}

async fn book_of(place: &Path, pictures: Vec<Vec<u8>>) -> (Book, RecordingId) {
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(place, "Films", first).await.expect("room");
    let added = crate::workshop::add(&book, who, sample("U-1", "urea")).await;
    let load = run(&[added.subject.into()]);
    let count = u32::try_from(pictures.len()).expect("few");
    let id = captured(&book, who, load, count, |at| pictures[at as usize].clone()).await;
    (book, id)
}

fn check(film: &Path, folder: &Path, codec: &str, pictures: &[Vec<u8>]) {
    let streams = probe(&["-show_streams"], film);
    let streams = streams["streams"].as_array().expect("streams");
    assert_eq!(streams.len(), 2);
    assert_eq!(streams[0]["codec_name"], codec);
    assert_eq!(
        (&streams[0]["width"], &streams[0]["height"]),
        (&64.into(), &48.into())
    );
    assert_eq!(streams[1]["codec_name"], "subrip");
    assert_eq!(streams[1]["disposition"]["default"], 1);
    // Times of the pictures, against those they were captured at.
    let packets = probe(&["-select_streams", "v:0", "-show_packets"], film);
    let packets = packets["packets"].as_array().expect("packets");
    assert_eq!(packets.len(), pictures.len());
    for (at, packet) in packets.iter().enumerate() {
        let found: f64 = packet["pts_time"]
            .as_str()
            .expect("a time")
            .parse()
            .expect("a number");
        let captured_s = at as f64 / 3.0;
        assert!((found - captured_s).abs() <= 0.001, "{found} {captured_s}");
    }
    // Cues, against the log: one a row, from its time to the next.
    let out = folder.join("cues.srt");
    let done = Command::new("ffmpeg")
        .args(["-nostdin", "-v", "error", "-y", "-i"])
        .arg(film)
        .args(["-map", "0:s:0", "-c", "copy"])
        .arg(&out)
        .status()
        .expect("ffmpeg is installed");
    assert!(done.success());
    let cues = std::fs::read_to_string(out).expect("written");
    let cues: Vec<&str> = cues
        .split("\n\n")
        .filter(|cue| !cue.trim().is_empty())
        .collect();
    assert_eq!(cues.len(), pictures.len());
    for (at, cue) in cues.iter().enumerate() {
        let (time_s, until_s) = (at as f64 / 3.0, (at + 1) as f64 / 3.0);
        let lines: Vec<&str> = cue.trim().lines().collect();
        let stamp = |time_s: f64| {
            let ms = (time_s * 1000.0).round() as u64;
            format!("00:00:{:02},{:03}", ms / 1000, ms % 1000)
        };
        let times = format!("{} --> {}", stamp(time_s), stamp(until_s));
        assert_eq!(lines[1], times, "{cue}");
        let expected_c = 110.0 + time_s / 60.0;
        let text = lines[2];
        assert!(
            text.starts_with(&format!("{expected_c:.2} °C  +")),
            "{text}"
        );
        assert!(
            text.contains(&format!("  t {time_s:.1} s  (as logged)")),
            "{text}"
        );
    }
    // The very pictures that were captured.
    let ending = if codec == "png" { "png" } else { "jpg" };
    let out = folder.join(format!("out-%03d.{ending}"));
    let done = Command::new("ffmpeg")
        .args(["-nostdin", "-v", "error", "-i"])
        .arg(film)
        .args(["-map", "0:v:0", "-c", "copy", "-f", "image2"])
        .arg(&out)
        .status()
        .expect("ffmpeg is installed");
    assert!(done.success());
    for (at, picture) in pictures.iter().enumerate() {
        let found =
            std::fs::read(folder.join(format!("out-{:03}.{ending}", at + 1))).expect("there");
        assert!(found == *picture, "picture {} was changed", at + 1);
    }
}

#[test]
fn pictures_become_a_film_without_being_encoded_anew() {
    for (ending, codec) in [("jpg", "mjpeg"), ("png", "png")] {
        let room = room();
        wait(async {
            let pictures = drawn(room.path(), ending);
            let (book, id) = book_of(&room.path().join("book"), pictures.clone()).await;
            let detail = book.store().recording(id).await.expect("there");
            let film = room.path().join("film.mkv");
            let made = export_film(&book, &detail, &film, &mut |_| ())
                .await
                .expect("sound");
            assert_eq!(
                (made.pictures, made.cues, made.shift_s),
                (Some(15), 15, 0.0)
            );
            let again = export_film(&book, &detail, &film, &mut |_| ()).await;
            assert!(matches!(again, Err(ArchiveError::AlreadyThere { .. })));
            book.close().await;
            check(&film, room.path(), codec, &pictures);
            assert!(names(room.path()).iter().all(|name| !name.starts_with('.')));
        });
    }
}

#[test]
fn an_imported_video_is_copied_and_given_subtitles() {
    let room = room();
    wait(async {
        let (book, what) = filled(&room.path().join("book")).await;
        let detail = book.store().recording(what.film).await.expect("there");
        let film = room.path().join("film.mkv");
        let made = export_film(&book, &detail, &film, &mut |_| ())
            .await
            .expect("sound");
        assert_eq!(made.pictures, None);
        // The log begins at 0 s, the video at 0.5 s of it: the first cue is cut to what can be shown.
        assert_eq!(made.cues, 4);
        let streams = probe(&["-show_streams"], &film);
        assert_eq!(streams["streams"][0]["codec_name"], "mjpeg");
        assert_eq!(streams["streams"][1]["codec_name"], "subrip");
        let digests = |file: &Path| {
            let done = Command::new("ffmpeg")
                .args(["-nostdin", "-v", "error", "-i"])
                .arg(file)
                .args(["-map", "0:v", "-c", "copy", "-f", "framehash", "-"])
                .output()
                .expect("ffmpeg is installed");
            let text = String::from_utf8(done.stdout).expect("text");
            let packets: Vec<String> = text
                .lines()
                .filter(|line| !line.starts_with('#'))
                .map(|line| line.rsplit(',').next().expect("a digest").trim().to_owned())
                .collect();
            packets
        };
        let video = book.recording_folder(what.film).join("video.mkv");
        let (before, after) = (digests(&video), digests(&film));
        assert_eq!(before.len(), 15);
        assert_eq!(before, after);
        // What is no picture cannot be filmed.
        let detail = book.store().recording(what.camera).await.expect("there");
        let refused = export_film(&book, &detail, &room.path().join("no.mkv"), &mut |_| ()).await;
        assert!(
            matches!(refused, Err(ArchiveError::NoFilm { .. })),
            "{refused:?}"
        );
        assert!(!room.path().join("no.mkv").exists());
        book.close().await;
    });
}
