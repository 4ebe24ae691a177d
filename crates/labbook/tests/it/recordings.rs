//! Recordings: kept as captured, found again at any moment, recovered, imported.

use crate::workshop::{
    add, captured, new_book, picture, room, run_under_way, sample, verdict, wait,
};
use meltrange_labbook::{
    Access, Book, BookError, Entry, ImportOrder, RecordingSource, RecordingState, RunState,
    SampleId,
};
use meltrange_reading::{Density, FrameRequest, FrameSource as _};
use std::ops::ControlFlow;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

#[test]
fn pictures_come_back_as_captured_at_their_times() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let tube = add(&book, who, sample("U-1", "urea")).await.subject.into();
        let id = captured(&book, who, tube, 41).await;
        let frames = book.frames(id).await.expect("there");
        assert_eq!(frames.times_s().len(), 41);
        for at in [0_u32, 7, 40] {
            let found = frames.picture(at as usize).expect("there");
            assert_eq!(found, picture(at));
        }
        assert!(matches!(
            frames.picture(41),
            Err(BookError::NoPicture {
                frame: 42,
                frames: 41,
                ..
            })
        ));
        assert_eq!(
            [-1.0, 0.0, 0.49, 0.5, 1e9].map(|time_s| frames.shown_at(time_s)),
            [0, 0, 0, 1, 40]
        );
        let row = book.store().recording(id).await.expect("there").row;
        let end = row.recording.end.expect("ended");
        assert_eq!((end.frames, end.cut), (41, false));
        assert_eq!((end.start_s, end.end_s), (Some(0.0), Some(20.0)));
        assert_eq!(end.lowest_c, Some(110.0));
        assert_eq!(row.state, RecordingState::WaitsForReading);
        let log = book.log(id).await.expect("there");
        assert_eq!(log.log.samples().len(), 21);
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
        assert_eq!(found.recordings, 1);
    });
}

#[test]
fn what_is_no_picture_or_does_not_rise_is_refused() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let run = add(&book, who, run_under_way(&[])).await;
        let mut writer = book
            .begin_recording(who, run.subject.into())
            .await
            .expect("there is room");
        let text = writer.frame(0.0, b"GIF89a".to_vec());
        assert!(matches!(text, Err(BookError::Picture { frame: 1, .. })));
        writer.frame(1.0, picture(1)).expect("kept");
        for time_s in [1.0, 0.5, f64::NAN, f64::INFINITY] {
            let late = writer.frame(time_s, picture(2));
            assert!(matches!(late, Err(BookError::NotRising { .. })), "{time_s}");
        }
        assert!(writer.temperature(0.0, f64::NAN).is_err());
        book.end_recording(who, writer).await.expect("ended");
    });
}

/// DESIGN: on the disk within one second. The files are looked at from outside, the writer
/// neither flushed nor ended.
#[test]
fn a_picture_is_in_the_files_within_a_second() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let run = add(&book, who, run_under_way(&[])).await;
        let mut writer = book
            .begin_recording(who, run.subject.into())
            .await
            .expect("there is room");
        writer.frame(0.0, picture(1)).expect("kept");
        writer.temperature(0.0, 21.5).expect("kept");
        tokio::time::sleep(Duration::from_millis(950)).await;
        let folder = book.recording_folder(writer.recording());
        let index = std::fs::read_to_string(folder.join("frame_index.csv")).expect("there");
        assert_eq!(index.lines().count(), 2);
        let frames = std::fs::read(folder.join("frames.bin")).expect("there");
        assert_eq!(frames, picture(1));
        let log = std::fs::read_to_string(folder.join("temperature.csv")).expect("there");
        assert_eq!(log, "time_s,temperature_c\n0,21.5\n");
        let shown = book.frames(writer.recording()).await.expect("under way");
        assert_eq!(shown.picture(0).expect("on the disk"), picture(1));
        book.end_recording(who, writer).await.expect("ended");
    });
}

#[test]
fn a_recording_that_was_cut_off_is_kept_up_to_there() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let run = add(&book, who, run_under_way(&[])).await;
        let mut writer = book
            .begin_recording(who, run.subject.into())
            .await
            .expect("there is room");
        for number in 0..10 {
            writer
                .frame(f64::from(number), picture(number))
                .expect("kept");
            writer
                .temperature(f64::from(number), 20.0 + f64::from(number))
                .expect("kept");
        }
        writer.flush().expect("on the disk");
        let id = writer.recording();
        let folder = book.recording_folder(id);
        drop(writer);
        book.close().await;
        // As after a power cut: half a picture, half a line, half a row.
        let mut frames = std::fs::read(folder.join("frames.bin")).expect("there");
        frames.truncate(frames.len() - 5);
        frames[8 * picture(0).len() + 9] ^= 1;
        std::fs::write(folder.join("frames.bin"), frames).expect("there is room");
        let mut log = std::fs::read(folder.join("temperature.csv")).expect("there");
        log.truncate(log.len() - 2);
        std::fs::write(folder.join("temperature.csv"), log).expect("there is room");

        let book = Book::open(&place, Access::Write).await.expect("a book");
        let detail = book.store().recording(id).await.expect("there");
        let end = detail.row.recording.end.expect("it is over");
        assert!(end.cut);
        assert_eq!((end.frames, end.end_s), (8, Some(7.0)));
        assert_eq!(detail.run.run.state, RunState::Broken);
        assert_eq!(
            book.frames(id)
                .await
                .expect("there")
                .picture(7)
                .expect("there"),
            picture(7)
        );
        assert_eq!(book.log(id).await.expect("there").log.samples().len(), 9);
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

/// A short clip of ffmpeg's test picture, in colour, 20 pictures a second.
fn clip(place: &Path) {
    let made = Command::new("ffmpeg")
        .args(["-nostdin", "-loglevel", "error", "-f", "lavfi", "-i"])
        .arg("testsrc=size=320x240:rate=20:duration=3")
        .args(["-pix_fmt", "yuv420p", "-y"])
        .arg(place)
        .status()
        .expect("ffmpeg is installed");
    assert!(made.success());
}

fn log(place: &Path) {
    let rows: String = (0..40)
        .map(|at| format!("{},{}\n", at, 110.0 + f64::from(at) / 60.0))
        .collect();
    std::fs::write(place, format!("time_s,temperature_c\n{rows}")).expect("there is room");
}

#[test]
fn a_video_is_kept_byte_for_byte_and_can_be_looked_through() {
    let (room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let tube: SampleId = add(&book, who, sample("U-1", "urea")).await.subject.into();
        let video = room.path().join("Test run ü $(reboot).MP4");
        clip(&video);
        log(&room.path().join("log.csv"));
        let order = ImportOrder {
            media: video.clone(),
            temperature: room.path().join("log.csv"),
            video_start_s: 10.0,
            samples: vec![Some(tube), None],
            ..ImportOrder::default()
        };
        let imported = book.import(who, order, |_| ()).await.expect("sound");
        let id = imported.recording;
        let kept = book.recording_folder(id).join("video.mp4");
        assert_eq!(
            std::fs::read(kept).expect("there"),
            std::fs::read(&video).expect("there")
        );
        assert!(book.frames(id).await.is_err(), "none are made yet");
        let made = book
            .make_pictures(id, |_| ControlFlow::Continue(()))
            .await
            .expect("it can be decoded");
        // Twenty a second for three seconds, at least 0.1 s apart.
        assert_eq!(made, 30);
        let frames = book.frames(id).await.expect("made");
        for (at, found_s) in frames.times_s().iter().enumerate() {
            assert!(
                (found_s - (10.0 + 0.1 * at as f64)).abs() < 1e-6,
                "{found_s}"
            );
        }
        let first = frames.picture(0).expect("there");
        assert!(first.starts_with(&[0xFF, 0xD8]));
        // The engine reads the video, on the log's clock, all pictures of it.
        let mut times_s = Vec::new();
        let mut source = book.source(id).await.expect("a video");
        source
            .deliver(
                FrameRequest {
                    from_s: f64::NEG_INFINITY,
                    to_s: f64::INFINITY,
                    density: Density::Spaced { spacing_s: 0.0 },
                },
                &mut |frame| {
                    times_s.push(frame.time_s);
                    ControlFlow::Continue(())
                },
            )
            .expect("it can be decoded");
        assert_eq!(times_s.len(), 60);
        assert!((times_s[0] - 10.0).abs() < 1e-9);
        // The clocks are aligned anew; pictures and source follow.
        book.realign(who, id, 12.0, "the log began two seconds earlier")
            .await
            .expect("imported");
        let frames = book.frames(id).await.expect("made");
        assert!((frames.times_s()[0] - 12.0).abs() < 1e-9);
        assert!((book.source(id).await.expect("a video").info().start_s - 12.0).abs() < 1e-9);
        let entry = book.store().latest(id.into()).await.expect("there").entry;
        let Entry::Recording(recording) = entry else {
            panic!("a recording");
        };
        let RecordingSource::Video { file_name, .. } = recording.source else {
            panic!("a video");
        };
        assert_eq!(file_name, "Test run ü $(reboot).MP4");
        assert_eq!(recording.end.expect("ended").start_s, Some(12.0));
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

#[test]
fn picture_files_are_kept_byte_for_byte_and_read_from_there() {
    let (room, place) = room();
    let media = room.path().join("run");
    std::fs::create_dir(&media).expect("there is room");
    clip(&room.path().join("clip.mp4"));
    let split = Command::new("ffmpeg")
        .args(["-nostdin", "-loglevel", "error", "-i"])
        .arg(room.path().join("clip.mp4"))
        .args(["-frames:v", "5"])
        .arg(media.join("p%d.jpg"))
        .status()
        .expect("ffmpeg is installed");
    assert!(split.success());
    let list: String = (1..=5)
        .map(|at| format!("p{at}.jpg,{}\n", f64::from(at) / 3.0))
        .collect();
    std::fs::write(media.join("frames.csv"), format!("file,time_s\n{list}")).expect("room");
    log(&room.path().join("log.csv"));
    wait(async {
        let (book, who) = new_book(&place).await;
        let order = ImportOrder {
            media: media.clone(),
            name: Some("../../../<b>evil</b>.mp4".into()),
            temperature: room.path().join("log.csv"),
            video_start_s: 1.0,
            ..ImportOrder::default()
        };
        let id = book
            .import(who, order, |_| ())
            .await
            .expect("sound")
            .recording;
        let frames = book.frames(id).await.expect("there");
        assert_eq!(frames.times_s()[4], 5.0 / 3.0 + 1.0);
        for at in 0..5 {
            let file = std::fs::read(media.join(format!("p{}.jpg", at + 1))).expect("there");
            assert_eq!(frames.picture(at).expect("there"), file);
        }
        // The same pixels whether read from the folder or from the book.
        let pixels = |source: &mut meltrange_media::Opened| {
            let mut all = Vec::new();
            let request = FrameRequest {
                from_s: f64::NEG_INFINITY,
                to_s: f64::INFINITY,
                density: Density::Spaced { spacing_s: 0.0 },
            };
            source
                .deliver(request, &mut |frame| {
                    all.push((frame.time_s, frame.luma.to_vec()));
                    ControlFlow::Continue(())
                })
                .expect("decodable");
            all
        };
        let mut kept = book.source(id).await.expect("pictures");
        let mut outside = meltrange_media::open(&media, 1.0).expect("pictures");
        let kept = pixels(&mut kept);
        assert_eq!(kept.len(), 5);
        assert!(kept == pixels(&mut outside), "pixels or times differ");
        book.close().await;
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
    });
}

#[test]
fn an_import_that_fails_leaves_nothing() {
    let (room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        log(&room.path().join("log.csv"));
        std::fs::write(room.path().join("no-video.mp4"), "not a video").expect("room");
        let order = ImportOrder {
            media: room.path().join("no-video.mp4"),
            temperature: room.path().join("log.csv"),
            ..ImportOrder::default()
        };
        assert!(book.import(who, order.clone(), |_| ()).await.is_err());
        clip(&room.path().join("clip.mp4"));
        let stranger = ImportOrder {
            media: room.path().join("clip.mp4"),
            samples: vec![Some(SampleId::new())],
            ..order
        };
        let refused = book.import(who, stranger, |_| ()).await;
        assert!(matches!(
            refused,
            Err(BookError::Unknown { what: "sample", .. })
        ));
        let left = std::fs::read_dir(place.join("recordings")).expect("there");
        assert_eq!(left.count(), 0);
        assert_eq!(book.store().head().await.expect("readable").seq, 2);
    });
}

/// Killed between recording an import and putting its folder in its place.
#[test]
fn an_import_that_was_recorded_is_put_in_its_place_and_another_goes() {
    let (_room, place) = room();
    wait(async {
        let (book, who) = new_book(&place).await;
        let tube = add(&book, who, sample("U-1", "urea")).await.subject.into();
        let id = captured(&book, who, tube, 3).await;
        let folder = book.recording_folder(id);
        let recordings = place.join("recordings");
        book.close().await;
        std::fs::rename(&folder, recordings.join(format!(".import-{id}"))).expect("movable");
        let other = recordings.join(format!(".import-{}", meltrange_labbook::RecordingId::new()));
        std::fs::create_dir(&other).expect("there is room");
        let found = verdict(&place).await;
        assert!(found.sound(), "{:?}", found.findings);
        let book = Book::open(&place, Access::Write).await.expect("a book");
        assert!(folder.is_dir() && !other.exists());
        let frames = book.frames(id).await.expect("in its place");
        assert_eq!(frames.picture(2).expect("there"), picture(2));
        book.close().await;
    });
}
