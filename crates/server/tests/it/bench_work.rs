//! Benches, standards, checks and readings put straight into a book. All values are invented.

use crate::workshop::{Served, text};
use meltrange_labbook::{
    BenchId, Digest, Draft, LoadedTube, Moment, Outcome, PersonId, Reader, Reading, Recording,
    RecordingEnd, RecordingSource, Run, RunState, TubeEntry,
};
use serde_json::{Value, json};

/// A day so many days ago.
pub fn days_ago(days: i64) -> String {
    let today = meltrange_labbook::When::now().date();
    let ago = jiff::SignedDuration::from_hours(24 * days);
    today.checked_sub(ago).expect("in the calendar").to_string()
}

impl Served {
    pub async fn bench(&self, name: &str) -> String {
        let bench = json!({ "name": name, "places": 3, "thermometer": "Pt 100", "max_c": 300.0 });
        text(&self.post("/api/benches", bench).await.expect(201)["id"])
    }

    pub async fn standard(&self, substance: &str, reference_c: f64, convention: Value) -> String {
        let standard = json!({
            "substance": substance, "reference_c": reference_c, "standard_uncertainty_c": 0.1,
            "convention": convention, "end": "last_crystal", "source": "label",
        });
        text(&self.post("/api/standards", standard).await.expect(201)["id"])
    }

    /// Record a check; its id.
    pub async fn check(&self, bench: &str, standard: &str, made_on: &str, shown_c: f64) -> String {
        let check = json!({ "standard": standard, "made_on": made_on, "indicated_c": shown_c });
        let path = format!("/api/thermometers/{bench}/checks");
        let found = self.post(&path, check).await.expect(201);
        let checks = found["checks"].as_array().expect("a list");
        let newest = checks.iter().max_by_key(|check| text(&check["record"]));
        text(&newest.expect("one was added")["id"])
    }

    /// Three standards, each checked today half a degree low: the checks' ids.
    pub async fn three_checks(&self, bench: &str) -> Vec<String> {
        let mut checks = Vec::new();
        for (substance, reference_c) in [("benzil", 95.0), ("acetanilide", 114.5), ("urea", 133.0)]
        {
            let convention = json!({ "kind": "at_rate", "rate_c_per_min": 1.0 });
            let standard = self.standard(substance, reference_c, convention).await;
            let shown_c = reference_c - 0.5;
            checks.push(self.check(bench, &standard, &days_ago(0), shown_c).await);
        }
        checks
    }

    /// Ended runs on a bench, or on none, one tube of the sample in each, read by the engine at these
    /// temperatures and this rate.
    pub async fn read_runs(
        &self,
        bench: Option<&str>,
        sample: &str,
        ends: &[(f64, f64)],
        rate: f64,
    ) {
        let bench: Option<BenchId> = bench.map(|id| id.parse().expect("an id"));
        for &(first_c, last_c) in ends {
            self.read_load(bench, &[(Some(sample), first_c, last_c)], rate)
                .await;
        }
    }

    /// An ended run with this load, from the first place, read by the engine: sample, first liquid and
    /// last crystal of each tube. The recording.
    pub async fn read_load(
        &self,
        bench: Option<BenchId>,
        load: &[(Option<&str>, f64, f64)],
        rate: f64,
    ) -> String {
        let who: PersonId = self.who.parse().expect("an id");
        let moment = |time_s: f64, temperature_c: f64| Moment {
            time_s,
            temperature_c,
            standard_uncertainty_c: 0.05,
        };
        let sample = |id: Option<&str>| id.map(|id| id.parse().expect("an id"));
        let run = Draft::new(Run {
            bench,
            load: (1..)
                .zip(load)
                .map(|(place, (id, ..))| LoadedTube {
                    place,
                    sample: sample(*id),
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
                manifest: Digest::of(b"{}"),
                cut: false,
                frames: 0,
                start_s: None,
                end_s: None,
                lowest_c: None,
                highest_c: None,
            }),
        });
        let id = recording.subject().to_string();
        let reading = Draft::new(Reading {
            recording: recording.subject().into(),
            reader: Reader::Engine {
                program: "meltrange 0.1.0".into(),
            },
            tubes: (1..)
                .zip(load)
                .map(|(place, &(id, first_c, last_c))| TubeEntry {
                    place,
                    sample: sample(id),
                    outcome: Outcome::Melted,
                    first_liquid: Some(moment(100.0, first_c)),
                    last_crystal: Some(moment(160.0, last_c)),
                    heating_rate_c_per_min: Some(rate),
                    frame_px: None,
                    remarks: Vec::new(),
                })
                .collect(),
            quality: Vec::new(),
            notes: Vec::new(),
            curves: None,
        });
        self.state
            .book()
            .append(who, vec![run, recording, reading])
            .await
            .expect("it can be kept");
        id
    }

    /// A sample with two runs that agree on a bench, and a result from them; its id.
    pub async fn stated(&self, bench: &str, label: &str) -> String {
        let sample = self.sample(label).await;
        let ends = [(113.4, 114.2), (113.6, 114.4)];
        self.read_runs(Some(bench), &sample, &ends, 1.0).await;
        let path = format!("/api/samples/{sample}/determinations");
        self.post(&path, json!({})).await.expect(201);
        sample
    }

    /// The newest result of a sample.
    pub async fn result(&self, sample: &str) -> Value {
        let found = self
            .get(&format!("/api/samples/{sample}"))
            .await
            .expect(200);
        found["determinations"][0].clone()
    }

    /// How many records the book has.
    pub async fn records(&self) -> u64 {
        let found = self.get("/api/book").await.expect(200);
        found["records"].as_u64().expect("a number")
    }
}

/// Close enough for sums in binary.
pub fn near(found: &Value, expected: f64) -> bool {
    found
        .as_f64()
        .is_some_and(|found| (found - expected).abs() < 1e-9)
}
