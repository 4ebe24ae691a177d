//! Standards, checks and calibrations of the practical's two benches. All values are invented: what
//! stands on the labels of an imaginary store room, and what two thermometers showed of it over months.

use super::desk::Desk;
use crate::failure::Failure;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Name, CAS number, value on the label [°C], its standard uncertainty [°C], cautions.
const STANDARDS: [(&str, &str, f64, f64, &str); 5] = [
    ("vanillin", "121-33-5", 82.0, 0.15, "eye irritant"),
    ("benzil", "134-81-6", 95.0, 0.1, "irritant"),
    (
        "acetanilide",
        "103-84-4",
        114.6,
        0.1,
        "harmful if swallowed",
    ),
    (
        "benzoic acid",
        "65-85-0",
        122.4,
        0.1,
        "sublimes: close the tube; eye damage",
    ),
    (
        "salicylic acid",
        "69-72-7",
        158.9,
        0.15,
        "sublimes: close the tube; eye damage",
    ),
];

/// Bench A: checked once a month, calibrated four months ago, sound. Days ago, standard, shown [°C].
const BENCH_A: [(i64, &str, f64); 9] = [
    (121, "vanillin", 81.7),
    (121, "benzil", 94.7),
    (121, "acetanilide", 114.2),
    (121, "salicylic acid", 158.3),
    (92, "benzil", 94.6),
    (92, "benzoic acid", 122.0),
    (63, "acetanilide", 114.2),
    (34, "benzil", 94.7),
    (6, "benzoic acid", 122.0),
];

/// Bench B: calibrated half a year ago; for two months it has read ever lower.
const BENCH_B: [(i64, &str, f64); 12] = [
    (178, "vanillin", 82.4),
    (178, "benzil", 95.5),
    (178, "benzoic acid", 122.9),
    (178, "salicylic acid", 159.5),
    (150, "benzil", 95.4),
    (122, "benzoic acid", 122.9),
    (101, "benzil", 95.5),
    (80, "benzil", 95.3),
    (59, "benzoic acid", 122.6),
    (45, "benzil", 95.1),
    (31, "benzil", 94.9),
    (10, "benzoic acid", 122.0),
];

/// Standards, and what is known of Bench A and of a second bench.
pub(super) async fn begin(desk: &Desk, bench_a: &str, analyst: &str) -> Result<(), Failure> {
    let mut standards = BTreeMap::new();
    for (substance, cas, reference_c, standard_uncertainty_c, cautions) in STANDARDS {
        let standard = json!({
            "substance": substance, "cas": cas, "reference_c": reference_c,
            "standard_uncertainty_c": standard_uncertainty_c,
            "convention": { "kind": "at_rate", "rate_c_per_min": 1.0 }, "end": "last_crystal",
            "lot": "invented", "expires": day(-200), "source": "label (invented)",
            "cautions": cautions,
        });
        let added = desk.post("/api/standards", standard).await?;
        standards.insert(substance, added["id"].clone());
    }
    let bench_b = json!({
        "name": "Bench B", "places": 2, "thermometer": "mercury in glass, 0.5 °C steps, 76 mm immersion",
        "check_every_days": 30, "max_c": 250.0,
    });
    let bench_b = desk.post("/api/benches", bench_b).await?;
    let bench_b = bench_b["id"].as_str().unwrap_or_default().to_owned();
    for (bench, checks, own) in [(bench_a, &BENCH_A[..], 4), (&bench_b, &BENCH_B[..], 4)] {
        let calibrated = checks.first().map_or(0, |(days_ago, ..)| *days_ago);
        let mut ids = Vec::new();
        for &(days_ago, substance, shown_c) in checks {
            let check = json!({
                "standard": standards.get(substance), "made_on": day(days_ago),
                "indicated_c": shown_c, "heating_rate_c_per_min": 1.0,
            });
            let path = format!("/api/thermometers/{bench}/checks");
            let found = desk.post_as(analyst, &path, check).await?;
            ids.push(newest(&found));
        }
        let order = json!({
            "checks": ids.get(..own), "in_force_from": day(calibrated),
        });
        let path = format!("/api/thermometers/{bench}/calibrations");
        desk.post_as(analyst, &path, order).await?;
    }
    Ok(())
}

/// The check that was recorded last: ids sort by the time they were made.
fn newest(thermometer: &Value) -> Value {
    let checks = thermometer["checks"].as_array();
    let ids = checks
        .into_iter()
        .flatten()
        .map(|check| check["id"].clone());
    ids.max_by_key(|id| id.as_str().unwrap_or_default().to_owned())
        .unwrap_or(Value::Null)
}

/// The day so many days ago; with a minus sign, to come.
fn day(days_ago: i64) -> String {
    let today = meltrange_labbook::When::now().date();
    // At the ends of the calendar there is no such day.
    today
        .checked_sub(jiff::Span::new().days(days_ago))
        .unwrap_or(today)
        .to_string()
}
