//! The book as a whole, its people and benches, and what is to be done today.

use super::{RecordingRow, Role, Run, SampleRow, ThermometersToday, Work};
use meltrange_labbook as kept;
use meltrange_labbook::{BenchId, PersonId, RecordId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The book that is open.
#[derive(Debug, Serialize, ToSchema)]
pub struct Book {
    /// What it is called.
    pub title: String,
    /// The program that made it.
    pub made_by: String,
    /// The program that serves it.
    pub served_by: String,
    /// How many records its chain has.
    pub records: u64,
    /// SHA-256 at the end of the chain; noted down elsewhere, it proves later that nothing was taken away.
    #[schema(required)]
    pub head_sha256: Option<String>,
    /// How many people.
    pub people: u64,
    /// How many samples.
    pub samples: u64,
    /// How many recordings.
    pub recordings: u64,
    /// Farthest apart that agreeing runs may be at either end [°C]; common practice.
    pub agree_within_c: f64,
    /// The usual cautions; local rules and the responsible person come first.
    pub cautions: Vec<String>,
}

/// Everybody.
#[derive(Debug, Serialize, ToSchema)]
pub struct People {
    /// By name.
    pub people: Vec<Person>,
}

/// Somebody.
#[derive(Debug, Serialize, ToSchema)]
pub struct Person {
    /// Their id.
    #[schema(value_type = String, format = Uuid)]
    pub id: PersonId,
    /// The latest record of them.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Their name.
    pub name: String,
    /// What they may do.
    pub role: Role,
}

impl From<kept::PersonRow> for Person {
    fn from(found: kept::PersonRow) -> Self {
        Self {
            id: found.id,
            record: found.record,
            name: found.name,
            role: found.role.into(),
        }
    }
}

/// Somebody new.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPerson {
    /// As others know them; one line, different from all others in the book.
    #[schema(min_length = 1, max_length = 200)]
    pub name: String,
    /// What they may do.
    pub role: Role,
}

/// All benches.
#[derive(Debug, Serialize, ToSchema)]
pub struct Benches {
    /// By name.
    pub benches: Vec<Bench>,
}

/// A bench.
#[derive(Debug, Serialize, ToSchema)]
pub struct Bench {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: BenchId,
    /// The latest record of it.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// What it is called.
    pub name: String,
    /// How many tubes it takes.
    pub places: u8,
    /// Its thermometer, in words.
    #[schema(required)]
    pub thermometer: Option<String>,
    /// Until when the thermometer's last check holds.
    #[schema(required, format = Date)]
    pub thermometer_due: Option<String>,
    /// How often its thermometer is to be checked [days].
    #[schema(required)]
    pub check_every_days: Option<u32>,
    /// Hottest it may become [°C].
    #[schema(required)]
    pub max_c: Option<f64>,
}

/// What is kept of a bench.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BenchContent {
    /// What it is called; different from all others in the book.
    #[schema(min_length = 1, max_length = 200)]
    pub name: String,
    /// How many tubes it takes.
    #[schema(minimum = 1, maximum = 3)]
    pub places: u8,
    /// Its thermometer, in words.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub thermometer: Option<String>,
    /// Until when the thermometer's last check holds; a date.
    #[serde(default)]
    #[schema(format = Date)]
    pub thermometer_due: Option<String>,
    /// How often its thermometer is to be checked [days].
    #[serde(default)]
    #[schema(minimum = 1, maximum = 3650)]
    pub check_every_days: Option<u32>,
    /// Hottest it may become [°C].
    #[serde(default)]
    #[schema(minimum = 1, maximum = 1000)]
    pub max_c: Option<f64>,
}

impl From<kept::BenchRow> for Bench {
    fn from(found: kept::BenchRow) -> Self {
        Self {
            id: found.id,
            record: found.record,
            name: found.bench.name,
            places: found.bench.places,
            thermometer: found.bench.thermometer,
            thermometer_due: found.bench.thermometer_due.map(|date| date.to_string()),
            check_every_days: found.bench.check_every_days,
            max_c: found.bench.max_c,
        }
    }
}

/// What is under way and what waits.
#[derive(Debug, Serialize, ToSchema)]
pub struct Today {
    /// Runs under way.
    pub runs_under_way: Vec<Run>,
    /// Imports and readings under way here.
    pub work: Vec<Work>,
    /// Recordings that nobody has read yet, oldest first.
    pub waiting_for_reading: WaitingRecordings,
    /// Samples with readings and no agreed result.
    pub not_agreed: WaitingSamples,
    /// Tubes of engine readings on which nobody has decided.
    pub undecided_tubes: u64,
    /// Thermometers that somebody should look at.
    pub thermometers: ThermometersToday,
}

/// The first of the recordings that wait.
#[derive(Debug, Serialize, ToSchema)]
pub struct WaitingRecordings {
    /// These.
    pub rows: Vec<RecordingRow>,
    /// How many there are.
    pub total: u64,
}

/// The first of the samples that wait.
#[derive(Debug, Serialize, ToSchema)]
pub struct WaitingSamples {
    /// These.
    pub rows: Vec<SampleRow>,
    /// How many there are.
    pub total: u64,
}
