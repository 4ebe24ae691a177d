//! Books to test on. The practical is invented.

use crate::cluster::{books_are_shared, new_database};
use meltrange_labbook::{
    Book, Draft, Entry, LoadedTube, Moment, Outcome, Person, PersonId, Reader, Reading, Recording,
    RecordingEnd, RecordingId, RecordingSource, Role, Run, RunState, Sample, SampleId, TubeEntry,
};
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A runtime for one test.
pub fn wait<T>(future: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("a runtime")
        .block_on(future)
}

/// A folder that vanishes, and the place of a book in it, or of a shared one where tests are run with these.
pub fn room() -> (TempDir, PathBuf) {
    let room = tempfile::tempdir().expect("a temporary folder");
    let place = if books_are_shared() {
        wait(new_database(room.path()))
    } else {
        room.path().join("book")
    };
    (room, place)
}

pub fn supervisor() -> Person {
    Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    }
}

/// A new book in `place`.
pub async fn new_book(place: &Path) -> (Book, PersonId) {
    Book::create(place, "Evening practical", supervisor())
        .await
        .expect("there is room")
}

pub fn sample(label: &str, expected: &str) -> Sample {
    Sample {
        label: label.into(),
        expected_substance: Some(expected.into()),
        origin: Some("Imaginary College, store room".into()),
        ..Sample::default()
    }
}

pub async fn add(book: &Book, who: PersonId, entry: impl Into<Entry>) -> meltrange_labbook::Record {
    book.append(who, vec![Draft::new(entry)])
        .await
        .expect("it can be kept")
        .remove(0)
}

/// A run with one recording of `samples`, ended without files.
pub async fn recorded(book: &Book, who: PersonId, samples: &[SampleId]) -> RecordingId {
    let run = Draft::new(Run {
        bench: None,
        load: (1..)
            .zip(samples)
            .map(|(place, &sample)| LoadedTube {
                place,
                sample: Some(sample),
            })
            .collect(),
        programme: None,
        state: RunState::Ended,
        remarks: None,
    });
    let recording = Draft::new(Recording {
        run: run.subject().into(),
        source: RecordingSource::Camera,
        end: Some(RecordingEnd {
            manifest: meltrange_labbook::Digest::of(b"{}"),
            cut: false,
            frames: 0,
            start_s: None,
            end_s: None,
            lowest_c: None,
            highest_c: None,
        }),
    });
    let id = recording.subject().into();
    book.append(who, vec![run, recording])
        .await
        .expect("it can be kept");
    id
}

pub fn moment(time_s: f64, temperature_c: f64) -> Moment {
    Moment {
        time_s,
        temperature_c,
        standard_uncertainty_c: 0.1,
    }
}

pub fn engine_reading(recording: RecordingId, samples: &[SampleId]) -> Reading {
    Reading {
        recording,
        reader: Reader::Engine {
            program: "meltrange 0.1.0".into(),
        },
        tubes: (1..)
            .zip(samples)
            .map(|(place, &sample)| TubeEntry {
                place,
                sample: Some(sample),
                outcome: Outcome::Melted,
                first_liquid: Some(moment(100.0, 113.4)),
                last_crystal: Some(moment(160.0, 114.3)),
                heating_rate_c_per_min: Some(1.0),
                frame_px: None,
                remarks: Vec::new(),
            })
            .collect(),
        quality: Vec::new(),
        notes: Vec::new(),
        curves: None,
    }
}

/// The smallest thing that is taken for a JPEG picture; `number` makes it differ.
pub fn picture(number: u32) -> Vec<u8> {
    let mut bytes = vec![0xFF, 0xD8];
    bytes.extend(std::iter::repeat_n(number.to_le_bytes(), 40).flatten());
    bytes.extend([0xFF, 0xD9]);
    bytes
}

/// A run under way.
pub fn run_under_way(samples: &[SampleId]) -> Run {
    Run {
        bench: None,
        load: (1..)
            .zip(samples)
            .map(|(place, &sample)| LoadedTube {
                place,
                sample: Some(sample),
            })
            .collect(),
        programme: None,
        state: RunState::UnderWay,
        remarks: None,
    }
}

/// A recording of `frames` pictures, two a second, and a log of one row a second.
pub async fn captured(book: &Book, who: PersonId, sample: SampleId, frames: u32) -> RecordingId {
    let run = add(book, who, run_under_way(&[sample])).await;
    let mut writer = book
        .begin_recording(who, run.subject.into())
        .await
        .expect("there is room");
    for number in 0..frames {
        let time_s = f64::from(number) / 2.0;
        writer.frame(time_s, picture(number)).expect("kept");
        if number % 2 == 0 {
            writer
                .temperature(time_s, 110.0 + time_s / 60.0)
                .expect("kept");
        }
    }
    let id = writer.recording();
    book.end_recording(who, writer).await.expect("ended");
    id
}

/// What the book in `place` is found to be.
pub async fn verdict(place: &Path) -> meltrange_labbook::Verdict {
    meltrange_labbook::verify(place, None, &mut |_| ())
        .await
        .expect("there is something to look at")
}

/// Copy a folder with all that is in it.
pub fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).expect("there is room");
    for entry in std::fs::read_dir(from).expect("readable") {
        let path = entry.expect("readable").path();
        let target = to.join(path.file_name().expect("it has a name"));
        if path.is_dir() {
            copy_folder(&path, &target);
        } else {
            std::fs::copy(&path, &target).expect("there is room");
        }
    }
}
