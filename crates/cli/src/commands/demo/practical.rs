//! The practical: who, what, which loads, and what people say to the readings.

use super::desk::Desk;
use crate::commands::simulate::SimulateSummary;
use crate::failure::Failure;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// One load: a simulated recording.
#[derive(Debug)]
pub(super) struct Load {
    pub name: &'static str,
    pub scene: &'static str,
    /// What stands in which place, by label.
    pub samples: &'static [&'static str],
    /// Whether the engine reads it.
    pub read: bool,
    pub remarks: &'static str,
}

macro_rules! scene {
    ($name:literal) => {
        include_str!(concat!("scenes/", $name, ".toml"))
    };
}

/// In order of time.
pub(super) const LOADS: [Load; 8] = [
    Load {
        name: "unknown_1_a",
        scene: scene!("unknown_1_a"),
        samples: &["U-1", "U-1"],
        read: true,
        remarks: "Tube 2 packed loosely.",
    },
    Load {
        name: "unknowns_2_3_a",
        scene: scene!("unknowns_2_3_a"),
        samples: &["U-2", "U-3"],
        read: true,
        remarks: "Tube 1 turns brown.",
    },
    Load {
        name: "unknown_4",
        scene: scene!("unknown_4"),
        samples: &["U-4"],
        read: true,
        remarks: "Scouting ramp; the slow run was forgotten.",
    },
    Load {
        name: "unknown_5_a",
        scene: scene!("unknown_5_a"),
        samples: &["U-5"],
        read: true,
        remarks: "",
    },
    Load {
        name: "unknown_5_b",
        scene: scene!("unknown_5_b"),
        samples: &["U-5"],
        read: true,
        remarks: "From the damp jar.",
    },
    Load {
        name: "unknown_6",
        scene: scene!("unknown_6"),
        samples: &["U-6", "U-6"],
        read: true,
        remarks: "",
    },
    Load {
        name: "unknown_1_b",
        scene: scene!("unknown_1_b"),
        samples: &["U-1"],
        read: true,
        remarks: "",
    },
    Load {
        name: "unknowns_2_3_b",
        scene: scene!("unknowns_2_3_b"),
        samples: &["U-2", "U-3"],
        read: false,
        remarks: "To be read in the practical.",
    },
];

/// The unknowns: label, what it is thought to be, solvent, column height, hazards noted.
const UNKNOWNS: [(&str, &str, Option<&str>, &str); 6] = [
    ("U-1", "acetanilide", Some("water"), "harmful if swallowed"),
    (
        "U-2",
        "urea",
        None,
        "gives off ammonia when it decomposes: extract",
    ),
    ("U-3", "trans-cinnamic acid", Some("water"), "irritant"),
    ("U-4", "benzil", Some("ethanol"), "irritant"),
    ("U-5", "vanillin", Some("water"), "eye irritant"),
    (
        "U-6",
        "2-naphthol",
        None,
        "harmful; very toxic to water life: collect the tubes",
    ),
];

/// The practical under way.
#[derive(Debug)]
pub(super) struct Practical {
    samples: BTreeMap<&'static str, String>,
    bench: String,
    analyst: String,
    student: String,
    /// Looks through results and signs them off.
    reviewer: String,
    /// Readings of the engine by load.
    readings: BTreeMap<&'static str, String>,
    recordings: BTreeMap<&'static str, String>,
}

impl Practical {
    /// People, benches with their thermometers, the six unknowns.
    pub async fn begin(desk: &Desk) -> Result<Self, Failure> {
        let id = |answer: Value| answer["id"].as_str().unwrap_or_default().to_owned();
        let person = |name: &'static str, role: &'static str| {
            desk.post("/api/people", json!({ "name": name, "role": role }))
        };
        let analyst = id(person("J. Okonkwo", "analyst").await?);
        let student = id(person("M. Lindgren", "student").await?);
        let reviewer = id(person("E. Sandoval", "analyst").await?);
        let bench = json!({
            "name": "Bench A", "places": 3,
            "thermometer": "platinum resistance in the block, 0.1 °C steps",
            "max_c": 300.0,
        });
        let bench = id(desk.post("/api/benches", bench).await?);
        super::thermometers::begin(desk, &bench, &analyst).await?;
        let mut samples = BTreeMap::new();
        for (label, substance, solvent, hazards) in UNKNOWNS {
            let sample = json!({
                "label": label,
                "origin": "Imaginary College, store room, tray of the evening practical",
                "expected_substance": substance,
                "hazards": hazards,
                "preparation": {
                    "dried": label != "U-5", "ground": true, "column_height_mm": 2.5, "solvent": solvent,
                },
            });
            let added = desk.post("/api/samples", sample).await?;
            samples.insert(
                label,
                added["row"]["id"].as_str().unwrap_or_default().into(),
            );
        }
        Ok(Self {
            samples,
            bench,
            analyst,
            student,
            reviewer,
            readings: BTreeMap::new(),
            recordings: BTreeMap::new(),
        })
    }

    /// Import one load and have it read.
    pub async fn take(
        &mut self,
        desk: &Desk,
        load: &'static Load,
        media: &SimulateSummary,
    ) -> Result<(), Failure> {
        let video = desk
            .upload(&media.media, &format!("{}.mp4", load.name))
            .await?;
        let log = desk
            .upload(&media.log, &format!("{}.csv", load.name))
            .await?;
        let tubes: Vec<Value> = (1..)
            .zip(load.samples)
            .map(|(place, label)| json!({ "place": place, "sample": self.samples.get(label) }))
            .collect();
        let order = json!({
            "video": video, "log": log, "video_start_s": media.video_start_s, "tubes": tubes,
            "bench": self.bench, "remarks": load.remarks, "read": load.read,
        });
        let work = desk.post("/api/imports", order).await?;
        let done = desk
            .finished(work["id"].as_str().unwrap_or_default())
            .await?;
        if let Some(recording) = done["recording"].as_str() {
            self.recordings.insert(load.name, recording.into());
        }
        if let Some(reading) = done["reading"].as_str() {
            self.readings.insert(load.name, reading.into());
        }
        Ok(())
    }

    /// What people say to the readings, and the results that follow.
    pub async fn conclude(&self, desk: &Desk) -> Result<(), Failure> {
        for (load, place) in [
            ("unknown_1_a", 1),
            ("unknown_1_b", 1),
            ("unknown_5_a", 1),
            ("unknown_5_b", 1),
        ] {
            self.confirm(desk, load, place).await?;
        }
        self.set_earlier(desk, "unknown_1_a", 2).await?;
        self.read_as_student(desk, "unknown_6").await?;
        for label in ["U-1", "U-5"] {
            self.determine(desk, label).await?;
        }
        self.sign_off(desk, "U-1").await
    }

    fn reading(&self, load: &'static str) -> Result<&str, Failure> {
        let found = self.readings.get(load).map(String::as_str);
        found.ok_or_else(|| Failure::new(format!("{load} was not read")))
    }

    async fn confirm(&self, desk: &Desk, load: &'static str, place: u8) -> Result<(), Failure> {
        let path = format!("/api/readings/{}/decisions", self.reading(load)?);
        let says = json!({ "says": "confirm", "place": place });
        desk.post_as(&self.analyst, &path, says).await.map(|_| ())
    }

    /// The analyst saw the first liquid two seconds earlier than the engine.
    async fn set_earlier(&self, desk: &Desk, load: &'static str, place: u8) -> Result<(), Failure> {
        let id = self.reading(load)?;
        let reading = desk.get(&format!("/api/readings/{id}")).await?;
        let tube = reading["tubes"]
            .as_array()
            .and_then(|tubes| tubes.iter().find(|tube| tube["place"] == place))
            .ok_or_else(|| Failure::new(format!("{load} has no tube {place}")))?;
        let time_s = |moment: &str| tube["read"][moment]["time_s"].as_f64();
        let (Some(first_s), Some(last_s)) = (time_s("first_liquid"), time_s("last_crystal")) else {
            return Ok(());
        };
        let says = json!({
            "says": "set", "place": place,
            "first_liquid": { "at": "time", "time_s": first_s - 2.0 },
            "last_crystal": { "at": "time", "time_s": last_s },
            "reason": "a droplet at the wall before the column moved; the drop at the start was settling",
        });
        let path = format!("/api/readings/{id}/decisions");
        desk.post_as(&self.analyst, &path, says).await.map(|_| ())
    }

    /// The student reads a recording blind, in pictures; an invented reading, a little off on purpose.
    async fn read_as_student(&self, desk: &Desk, load: &'static str) -> Result<(), Failure> {
        let Some(recording) = self.recordings.get(load) else {
            return Err(Failure::new(format!("{load} was not imported")));
        };
        let frames = desk
            .get(&format!("/api/recordings/{recording}/frames"))
            .await?;
        let count = frames["count"].as_u64().unwrap_or(0);
        let seen = |first: u64, last: u64| {
            (
                json!({ "at": "frame", "frame": count * first / 100 }),
                json!({ "at": "frame", "frame": count * last / 100 }),
            )
        };
        let tubes: Vec<Value> = [(1, seen(22, 59)), (2, seen(23, 60))]
            .into_iter()
            .map(|(place, (first, last))| {
                json!({ "place": place, "first_liquid": first, "last_crystal": last })
            })
            .collect();
        let path = format!("/api/recordings/{recording}/readings");
        desk.post_as(&self.student, &path, json!({ "tubes": tubes }))
            .await
            .map(|_| ())
    }

    /// State a result from all readings that count.
    async fn determine(&self, desk: &Desk, label: &'static str) -> Result<(), Failure> {
        let id = self.samples.get(label).map_or("", String::as_str);
        let path = format!("/api/samples/{id}/determinations");
        desk.post(&path, json!({})).await.map(|_| ())
    }

    /// A second person stands behind the result; the other one's report stays a draft.
    async fn sign_off(&self, desk: &Desk, label: &'static str) -> Result<(), Failure> {
        let path = format!(
            "/api/samples/{}",
            self.samples.get(label).map_or("", String::as_str)
        );
        let found = desk.get(&path).await?;
        let signature = json!({
            "sample_record": found["record"],
            "result_record": found["determinations"][0]["record"],
            "meaning": "reviewed_and_approved",
            "statement": "pictures compared with the moments",
        });
        desk.post_as(&self.reviewer, &format!("{path}/sign-offs"), signature)
            .await
            .map(|_| ())
    }
}
