//! Pages of a large shared book: `shared_pages ADDRESS`, with the address of an empty database.
//!
//! Fills it with 10,000 samples and 100,000 readings (records only), then asks for every kind of page as pages do, and prints how
//! long the server took (without a network), over 30 requests each.

use axum::body::{Body, to_bytes};
use axum::http::Request;
use meltrange_benches::browser::{Failed, quantile};
use meltrange_labbook::{
    Book, Digest, Draft, LoadedTube, Moment, Outcome, Person, PersonId, Reader, Reading, Recording,
    RecordingEnd, RecordingId, RecordingSource, Role, Run, RunState, Sample, SampleId, TubeEntry,
};
use meltrange_server::{AppState, app};
use std::io::Write as _;
use std::path::Path;
use std::time::Instant;
use tower::ServiceExt as _;

const SAMPLES: usize = 10_000;
const READINGS: usize = 100_000;
/// Drafts written together.
const BATCH: usize = 500;
const ASKED: usize = 30;

fn main() -> Result<(), Failed> {
    let place = std::env::args()
        .nth(1)
        .ok_or("expected the address of an empty database")?;
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?
        .block_on(measure(place.as_ref()))
}

async fn measure(place: &Path) -> Result<(), Failed> {
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(place, "Department", first).await?;
    let mut out = std::io::stdout();
    let began = Instant::now();
    let (samples, recordings) = fill(&book, who).await?;
    writeln!(
        out,
        "{} records written in {:.0} s",
        book.store().head().await?.seq,
        began.elapsed().as_secs_f64()
    )?;
    let state = AppState::new(book)?;
    let app = app(state.clone());
    let middle = samples.len() / 2;
    for path in [
        "/api/today".to_owned(),
        "/api/book".into(),
        "/api/people".into(),
        "/api/samples?per_page=50".into(),
        "/api/samples?per_page=50&page=150".into(),
        "/api/samples?per_page=50&order=label".into(),
        "/api/samples?text=S-77".into(),
        "/api/samples?standing=read".into(),
        "/api/recordings?per_page=50".into(),
        "/api/recordings?per_page=50&page=900".into(),
        "/api/recordings?state=waits_for_reading".into(),
        format!("/api/samples/{}", samples[middle]),
        format!("/api/recordings/{}", recordings[middle]),
        "/api/thermometers".into(),
        "/api/standards".into(),
        "/api/rereadings".into(),
    ] {
        let mut times_ms = Vec::new();
        for _ in 0..ASKED {
            let request = Request::get(&path)
                .header("host", "127.0.0.1:8437")
                .header("x-person", who.to_string())
                .body(Body::empty())?;
            let began = Instant::now();
            let answer = app.clone().oneshot(request).await?;
            if !answer.status().is_success() {
                return Err(format!("{path}: {}", answer.status()).into());
            }
            to_bytes(answer.into_body(), usize::MAX).await?;
            times_ms.push(began.elapsed().as_secs_f64() * 1e3);
        }
        times_ms.sort_by(f64::total_cmp);
        writeln!(
            out,
            "{path}: median {:.1} ms, most {:.1} ms",
            quantile(&times_ms, 0.5),
            quantile(&times_ms, 1.0)
        )?;
    }
    state.close();
    state.close_book().await;
    Ok(())
}

async fn fill(book: &Book, who: PersonId) -> Result<(Vec<SampleId>, Vec<RecordingId>), Failed> {
    let drafts: Vec<Draft> = (0..SAMPLES)
        .map(|at| {
            Draft::new(Sample {
                label: format!("S-{at}"),
                origin: Some("Imaginary College".into()),
                ..Sample::default()
            })
        })
        .collect();
    let samples: Vec<SampleId> = drafts.iter().map(|draft| draft.subject().into()).collect();
    let mut recordings = Vec::new();
    let mut all = drafts;
    for at in 0..READINGS {
        let sample = samples[at % SAMPLES];
        let run = Draft::new(Run {
            bench: None,
            load: vec![LoadedTube {
                place: 1,
                sample: Some(sample),
            }],
            programme: None,
            state: RunState::Ended,
            remarks: None,
        });
        let recording = Draft::new(Recording {
            run: run.subject().into(),
            source: RecordingSource::Camera,
            end: Some(RecordingEnd {
                manifest: Digest::of(b""),
                cut: false,
                frames: 0,
                start_s: None,
                end_s: None,
                lowest_c: None,
                highest_c: None,
            }),
        });
        let id = recording.subject().into();
        recordings.push(id);
        let reading = Draft::new(reading(id, sample, at));
        all.extend([run, recording, reading]);
    }
    for batch in all.chunks(BATCH) {
        book.append(who, batch.to_vec()).await?;
    }
    Ok((samples, recordings))
}

fn reading(recording: RecordingId, sample: SampleId, at: usize) -> Reading {
    let moment = |time_s: f64, temperature_c: f64| {
        Some(Moment {
            time_s,
            temperature_c,
            standard_uncertainty_c: 0.1,
        })
    };
    let from_c = 60.0 + (at % SAMPLES) as f64 / 50.0;
    Reading {
        recording,
        reader: Reader::Engine {
            program: meltrange_labbook::PROGRAM.into(),
        },
        tubes: vec![TubeEntry {
            place: 1,
            sample: Some(sample),
            outcome: Outcome::Melted,
            first_liquid: moment(100.0, from_c),
            last_crystal: moment(160.0, from_c + 0.9),
            heating_rate_c_per_min: Some(1.0),
            frame_px: None,
            remarks: Vec::new(),
        }],
        quality: Vec::new(),
        notes: Vec::new(),
        curves: None,
    }
}
