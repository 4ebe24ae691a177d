//! Books to test on. The practical is invented.

use meltrange_archive::{ArchiveError, ExportOrder, Exported, Restored, export_book, restore};
use meltrange_labbook::{
    Access, Bench, Book, Confirmation, Draft, Entry, EventKind, ImportOrder, LoadedTube, Moment,
    Outcome, Override, Person, PersonId, Reader, Reading, Record, RecordingId, Role, Run, RunState,
    Sample, SampleId, TubeEntry,
};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// When the archives of these tests are made.
pub const MADE: &str = "2026-11-26T18:00:00Z";

/// A runtime for one test.
pub fn wait<T>(future: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("a runtime")
        .block_on(future)
}

/// A folder that vanishes.
pub fn room() -> TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

/// The smallest thing that is taken for a JPEG picture; `number` makes it differ.
pub fn picture(number: u32) -> Vec<u8> {
    let mut bytes = vec![0xFF, 0xD8];
    bytes.extend(std::iter::repeat_n(number.to_le_bytes(), 40).flatten());
    bytes.extend([0xFF, 0xD9]);
    bytes
}

pub async fn add(book: &Book, who: PersonId, entry: impl Into<Entry>) -> Record {
    book.append(who, vec![Draft::new(entry)])
        .await
        .expect("it can be kept")
        .remove(0)
}

pub fn sample(label: &str, expected: &str) -> Sample {
    Sample {
        label: label.into(),
        expected_substance: Some(expected.into()),
        origin: Some("Imaginary College, store \"room\", 2nd floor".into()),
        ..Sample::default()
    }
}

fn moment(time_s: f64, temperature_c: f64) -> Moment {
    Moment {
        time_s,
        temperature_c,
        standard_uncertainty_c: 0.1,
    }
}

pub fn reading(recording: RecordingId, samples: &[SampleId], reader: Reader) -> Reading {
    Reading {
        recording,
        reader,
        tubes: (1..)
            .zip(samples)
            .map(|(place, &sample)| TubeEntry {
                place,
                sample: Some(sample),
                outcome: Outcome::Melted,
                first_liquid: Some(moment(1.0 / 3.0, 113.4)),
                last_crystal: Some(moment(2.5, 114.3)),
                heating_rate_c_per_min: Some(1.0),
                frame_px: None,
                remarks: Vec::new(),
            })
            .collect(),
        quality: Vec::new(),
        notes: vec!["the lamp was moved".into()],
        curves: None,
    }
}

/// A run under way.
pub fn run(samples: &[SampleId]) -> Run {
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

/// A recording of `frames` pictures, three a second, and a log.
pub async fn captured(
    book: &Book,
    who: PersonId,
    run: Run,
    frames: u32,
    picture: impl Fn(u32) -> Vec<u8>,
) -> RecordingId {
    let run = add(book, who, run).await;
    book.record_events(
        who,
        run.subject.into(),
        vec![(0.0, EventKind::Leg, "scan".into())],
    )
    .await
    .expect("kept");
    let mut writer = book
        .begin_recording(who, run.subject.into())
        .await
        .expect("there is room");
    for number in 0..frames {
        let time_s = f64::from(number) / 3.0;
        writer.frame(time_s, picture(number)).expect("kept");
        writer
            .temperature(time_s, 110.0 + time_s / 60.0)
            .expect("kept");
    }
    let id = writer.recording();
    book.end_recording(who, writer).await.expect("ended");
    id
}

/// A clip of one of ffmpeg's test pictures and a log beside it.
pub fn clip(folder: &Path) -> (PathBuf, PathBuf) {
    let video = folder.join("clip.mkv");
    let done = std::process::Command::new("ffmpeg")
        .args(["-nostdin", "-v", "error", "-f", "lavfi", "-i"])
        .arg("testsrc=size=64x48:rate=5:duration=3")
        .args(["-c:v", "mjpeg"])
        .arg(&video)
        .status()
        .expect("ffmpeg is installed");
    assert!(done.success());
    let log = folder.join("clip.csv");
    std::fs::write(
        &log,
        "# by hand\r\ntime_s,temperature_c\r\n0,110.0\r\n1,110.1\r\n2.5,110.25\r\n4,110.4\r\n",
    )
    .expect("there is room");
    (video, log)
}

/// What a filled book holds.
pub struct Filled {
    pub who: PersonId,
    pub samples: Vec<SampleId>,
    pub film: RecordingId,
    pub camera: RecordingId,
}

/// A book with a bit of everything: two people, three samples, a bench, a recording by camera, one
/// imported, readings, decisions.
pub async fn filled(place: &Path) -> (Book, Filled) {
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(place, "Evening practical, \"A\" & Söhne", first)
        .await
        .expect("there is room");
    let other = add(
        &book,
        who,
        Person {
            name: "S. Drossel".into(),
            role: Role::Student,
        },
    )
    .await;
    let bench = add(
        &book,
        who,
        Bench {
            name: "north".into(),
            places: 3,
            ..Bench::default()
        },
    )
    .await;
    let mut samples: Vec<SampleId> = Vec::new();
    for (label, expected) in [("U-1", "acetanilide"), ("U-2", "benzil"), ("U-3", "urea")] {
        let added = add(&book, who, sample(label, expected)).await;
        samples.push(added.subject.into());
    }
    let at_bench = Run {
        bench: Some(bench.subject.into()),
        ..run(&samples[..2])
    };
    let camera = captured(&book, other.subject.into(), at_bench, 7, picture).await;
    let (video, log) = clip(place.parent().expect("it stands somewhere"));
    let order = ImportOrder {
        media: video,
        temperature: log,
        video_start_s: 0.5,
        samples: vec![Some(samples[2]), None],
        ..ImportOrder::default()
    };
    let film = book
        .import(who, order, |_| ())
        .await
        .expect("a sound clip")
        .recording;
    let engine = || Reader::Engine {
        program: "meltrange 0.1.0".into(),
    };
    let read = read_with_curves(&book, who, reading(camera, &samples[..2], engine()), None).await;
    let again = reading(camera, &samples[..2], engine());
    read_with_curves(&book, who, again, Some(&read)).await;
    let blind = Reader::Person {
        person: other.subject.into(),
        blind: true,
    };
    let by_eye = add(&book, who, reading(film, &samples[2..], blind)).await;
    let confirmed = Confirmation {
        reading: read.subject.into(),
        place: 1,
    };
    add(&book, who, confirmed).await;
    let overridden = Override {
        reading: by_eye.subject.into(),
        place: 1,
        outcome: Outcome::Melted,
        first_liquid: Some(moment(1.0, 113.0)),
        last_crystal: None,
    };
    let draft = Draft::new(overridden).because("it had sweated before");
    book.append(who, vec![draft]).await.expect("kept");
    let filled = Filled {
        who,
        samples,
        film,
        camera,
    };
    (book, filled)
}

async fn read_with_curves(
    book: &Book,
    who: PersonId,
    mut reading: Reading,
    instead: Option<&Record>,
) -> Record {
    let curves = format!(
        "{{\"tubes\":[{{\"place\":1,\"time_s\":[0.0,1.0],\"temperature_c\":[110.0,{}],\"liquid_fraction\":[0.0,1.0],\"solid_fraction\":[1.0,0.0]}}]}}",
        if instead.is_some() { 110.2 } else { 110.1 }
    )
    .into_bytes();
    reading.curves = Some(meltrange_labbook::Digest::of(&curves));
    let draft = match instead {
        None => Draft::new(reading),
        Some(before) => {
            Draft::revision(before.subject, before.id, reading).because("the lamp was moved")
        }
    };
    book.write(meltrange_labbook::Batch {
        who: Some(who),
        drafts: vec![draft],
        attachments: vec![curves],
    })
    .await
    .expect("kept")
    .remove(0)
}

/// Every file below `folder` with its bytes.
pub fn tree(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fn walk(folder: &Path, inside: &str, all: &mut BTreeMap<String, Vec<u8>>) {
        for entry in std::fs::read_dir(folder).expect("readable") {
            let entry = entry.expect("readable");
            let name = format!("{inside}{}", entry.file_name().to_string_lossy());
            if entry.path().is_dir() {
                walk(&entry.path(), &format!("{name}/"), all);
            } else {
                all.insert(name, std::fs::read(entry.path()).expect("readable"));
            }
        }
    }
    let mut all = BTreeMap::new();
    walk(folder, "", &mut all);
    all
}

pub fn order(out: &Path) -> ExportOrder {
    ExportOrder {
        made: MADE.parse().expect("a time"),
        ..ExportOrder::to(out)
    }
}

pub async fn export_to(book: &Book, out: &Path) -> Exported {
    export_book(book, &order(out), &mut |_| ())
        .await
        .expect("it can be exported")
}

pub async fn restore_to(archive: &Path, folder: &Path) -> Result<Restored, ArchiveError> {
    restore(archive, folder, &mut |_| ()).await
}

pub async fn open(place: &Path) -> Book {
    Book::open(place, Access::Write).await.expect("a book")
}

/// Names in a folder, to see whether anything is left.
pub fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .expect("readable")
        .map(|entry| {
            entry
                .expect("readable")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    names.sort();
    names
}
