//! How long a calibration takes that changes thousands of results: `cargo run --release -p meltrange-benches
//! --bin calibration_speed [RESULTS [ONE_IN]]`.
//!
//! A book with 5,000 results, each from two runs on one bench; the runs of one in 20 (ONE_IN) do not agree. The bench is calibrated, the calibration
//! withdrawn, and the bench calibrated again, through the interface: each time all results are worked out
//! anew and recorded with the calibration in one transaction. What came out is asserted before the
//! times are printed.

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::Request;
use meltrange_labbook::{
    Bench, Book, Convention, Determination, Digest, Draft, LoadedTube, Moment, Outcome, Person,
    PersonId, Reader, Reading, Recording, RecordingEnd, RecordingSource, ResultValue, Role, Run,
    RunState, Sample, SampleId, TubeEntry, TubeRef, When,
};
use meltrange_server::AppState;
use serde_json::{Value, json};
use std::error::Error;
use std::io::Write as _;
use std::time::Instant;
use tower::ServiceExt as _;

const RESULTS: usize = 5_000;
/// The runs of one result in so many do not agree, which takes longer to work out.
const ONE_IN: usize = 20;
/// A calibration with so many results is to be recorded within this [s].
const LIMIT_S: f64 = 1.0;
/// Results written together when the book is filled.
const BATCH: usize = 500;

type Done<T> = Result<T, Box<dyn Error>>;

fn main() -> Done<()> {
    let argument = |number: usize, usual: usize| {
        let given = std::env::args().nth(number);
        given.map_or(Ok(usual), |text| text.parse())
    };
    let (results, one_in) = (argument(1, RESULTS)?, argument(2, ONE_IN)?.max(1));
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?
        .block_on(measure(results, one_in))
}

async fn measure(results: usize, one_in: usize) -> Done<()> {
    let room = tempfile::tempdir()?;
    let place = room.path().join("book");
    let first = Person {
        name: "R. Amsel".into(),
        role: Role::Supervisor,
    };
    let (book, who) = Book::create(&place, "Large", first).await?;
    let bench = Draft::new(Bench {
        name: "Bench A".into(),
        places: 3,
        ..Bench::default()
    });
    let id = bench.subject();
    book.append(who, vec![bench]).await?;
    for batch in (0..results).collect::<Vec<_>>().chunks(BATCH) {
        let drafts = batch
            .iter()
            .flat_map(|&at| one(id.into(), at, one_in))
            .collect();
        book.append(who, drafts).await?;
    }
    let state = AppState::new(book)?;
    let desk = Desk {
        app: meltrange_server::app(state.clone()),
        who,
    };
    let bench = id_text(&serde_json::to_value(meltrange_labbook::BenchId::from(id))?);
    let checks = checks(&desk, &bench).await?;
    let path = format!("/api/thermometers/{bench}/calibrations");
    let order = json!({
        "checks": checks, "degree": 1, "in_force_from": When::now().date().to_string(),
    });
    let mut calibration = Value::Null;
    for (what, withdraws) in [
        ("calibrated; results without a basis before", false),
        ("withdrawn", true),
        ("calibrated again", false),
    ] {
        let begun = Instant::now();
        let done = if withdraws {
            let id = id_text(&calibration["id"]);
            let says = json!({ "supersedes": calibration["record"], "reason": "to be timed" });
            desk.post(&format!("/api/calibrations/{id}/withdraw"), says)
                .await?
        } else {
            desk.post(&path, order.clone()).await?
        };
        let took_s = begun.elapsed().as_secs_f64();
        assert_eq!(done["changes"]["results"], results, "{}", done["changes"]);
        assert_eq!(done["changes"]["left"], json!([]));
        calibration = done["calibration"].clone();
        writeln!(
            std::io::stdout(),
            "{results} results {what:<44} {took_s:6.3} s   limit {LIMIT_S} s"
        )?;
    }
    state.close();
    drop(desk);
    state.close_book().await;
    Ok(())
}

/// A sample with two runs on the bench, their readings, and a result as older programs recorded it.
fn one(bench: meltrange_labbook::BenchId, at: usize, one_in: usize) -> Vec<Draft> {
    let sample = Draft::new(Sample {
        label: format!("S-{at}"),
        ..Sample::default()
    });
    let id: SampleId = sample.subject().into();
    let mut drafts = vec![sample];
    let mut from = Vec::new();
    let base_c = 80.0 + (at % 997) as f64 * 0.06;
    for number in 0..2 {
        let run = Draft::new(Run {
            bench: Some(bench),
            load: vec![LoadedTube {
                place: 1,
                sample: Some(id),
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
        let apart_c = if at % one_in == 0 { 1.0 } else { 0.2 };
        let moment = |time_s: f64, temperature_c: f64| Moment {
            time_s,
            temperature_c: temperature_c + apart_c * f64::from(number),
            standard_uncertainty_c: 0.06,
        };
        let reading = Draft::new(Reading {
            recording: recording.subject().into(),
            reader: Reader::Engine {
                program: "meltrange 0.1.0".into(),
            },
            tubes: vec![TubeEntry {
                place: 1,
                sample: Some(id),
                outcome: Outcome::Melted,
                first_liquid: Some(moment(100.0, base_c)),
                last_crystal: Some(moment(160.0, base_c + 0.8)),
                heating_rate_c_per_min: Some(1.0),
                frame_px: None,
                remarks: Vec::new(),
            }],
            quality: Vec::new(),
            notes: Vec::new(),
            curves: None,
        });
        from.push(TubeRef {
            reading: reading.subject().into(),
            place: 1,
        });
        drafts.extend([run, recording, reading]);
    }
    let value = |value_c| {
        Some(ResultValue {
            value_c,
            standard_uncertainty_c: 0.1,
            expanded_uncertainty_c: 0.2,
            coverage_factor: 2.0,
        })
    };
    drafts.push(Draft::new(Determination {
        sample: id,
        from,
        agreed: true,
        spread_c: Some(0.2),
        further_runs_needed: 0,
        convention: Convention::AsLogged,
        first_liquid: value(base_c),
        last_crystal: value(base_c + 0.8),
        range_text: "as logged".into(),
        basis: None,
    }));
    drafts
}

/// Four standards with a check each, invented; their checks' ids.
async fn checks(desk: &Desk, bench: &str) -> Done<Vec<Value>> {
    let mut found = Value::Null;
    for (substance, reference_c, shown_c) in [
        ("vanillin", 82.0, 81.6),
        ("benzil", 95.0, 94.5),
        ("acetanilide", 114.5, 114.0),
        ("urea", 133.0, 132.3),
    ] {
        let standard = json!({
            "substance": substance, "reference_c": reference_c, "standard_uncertainty_c": 0.1,
            "convention": { "kind": "at_rate", "rate_c_per_min": 1.0 }, "end": "last_crystal",
        });
        let standard = desk.post("/api/standards", standard).await?;
        let check = json!({
            "standard": standard["id"], "made_on": When::now().date().to_string(),
            "indicated_c": shown_c, "heating_rate_c_per_min": 1.0,
        });
        let path = format!("/api/thermometers/{bench}/checks");
        found = desk.post(&path, check).await?;
    }
    let rows = found["checks"].as_array().ok_or("checks are listed")?;
    Ok(rows.iter().map(|row| row["id"].clone()).collect())
}

fn id_text(id: &Value) -> String {
    id.as_str().unwrap_or_default().to_owned()
}

struct Desk {
    app: Router,
    who: PersonId,
}

impl Desk {
    async fn post(&self, path: &str, body: Value) -> Done<Value> {
        let request = Request::builder()
            .method("POST")
            .uri(path)
            .header("host", "127.0.0.1")
            .header("x-person", self.who.to_string())
            .header("content-type", "application/json")
            .body(Body::from(body.to_string()))?;
        let answer = match self.app.clone().oneshot(request).await {
            Ok(answer) => answer,
            Err(never) => match never {},
        };
        let good = answer.status().is_success();
        let bytes = to_bytes(answer.into_body(), 1 << 24).await?;
        let value: Value = serde_json::from_slice(&bytes)?;
        if good {
            Ok(value)
        } else {
            Err(value.to_string().into())
        }
    }
}
