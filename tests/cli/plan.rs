//! `plan` as a process.

use crate::workshop::{Ended, Workshop, ended, meltrange};
use serde_json::Value;

const RANGE: [&str; 4] = ["--first-liquid", "121.5", "--last-crystal", "122.5"];

fn plan(more: &[&str]) -> Ended {
    ended(meltrange().arg("plan").args(more))
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

/// By hand: start 3 °C below, stop 2 °C above, 6 min at 1 °C/min after 3 min of soak; then Newton cooling from 124.5
/// to 101.5 °C in a room of 22 °C, 12 min · ln(102.5/79.5). Start, soak, rate and cooling: common practice, no source.
#[test]
fn an_expected_range_becomes_legs_with_times() {
    let found = plan(&[&RANGE[..], &["--json"]].concat()).json();
    let kinds: Vec<&str> = found["legs"]
        .as_array()
        .expect("legs")
        .iter()
        .filter_map(|leg| leg["kind"].as_str())
        .collect();
    assert_eq!(kinds, ["approach", "soak", "attend", "scan", "cool"]);
    let leg = |place: usize, field: &str| number(&found["legs"][place][field]);
    assert!((leg(0, "to_c") - 118.5).abs() < 1e-9);
    assert!((leg(3, "to_c") - 124.5).abs() < 1e-9);
    assert!((leg(3, "minutes") - 6.0).abs() < 1e-9);
    assert!((leg(4, "to_c") - 101.5).abs() < 1e-9);
    assert!((leg(4, "minutes") - 12.0 * (102.5f64 / 79.5).ln()).abs() < 1e-9);
    let estimated = number(&found["estimated_minutes"]);
    assert!((estimated - leg(0, "minutes") - 3.0 - 6.0).abs() < 1e-9);
    assert!(number(&found["standard_uncertainty_minutes"]) > 0.0);
    assert!(found["cautions"].to_string().contains("not learned"));
    assert!(
        found["curve"]
            .as_array()
            .is_some_and(|curve| curve.len() > 20)
    );
}

#[test]
fn a_bench_file_needs_four_fields_and_limits_the_plan() {
    let workshop = Workshop::new();
    let bench = workshop.file(
        "bench.toml",
        "name = \"North\"\nplaces = 3\nroom_c = 20.0\nmax_c = 120.0\n",
    );
    let bench = bench.display().to_string();
    let found = plan(&[&RANGE[..], &["--bench", &bench]].concat());
    assert_eq!(found.status, Some(1));
    assert!(found.stderr.contains("120"), "{}", found.stderr);
    let cooler = [
        "--first-liquid",
        "80",
        "--last-crystal",
        "81",
        "--bench",
        &bench,
        "--json",
    ];
    let found = plan(&cooler).json();
    assert_eq!(found["curve"][0]["temperature_c"], 20.0);
}

#[test]
fn what_is_given_up_for_the_time_is_said() {
    let found = plan(&[&RANGE[..], &["--within", "14", "--json"]].concat()).json();
    assert!(number(&found["estimated_minutes"]) <= 14.0 + 1e-6);
    assert!(
        found["cautions"].to_string().contains("given up"),
        "{found}"
    );
    let found = plan(&[&RANGE[..], &["--within", "3"]].concat());
    assert_eq!(found.status, Some(1));
    assert!(
        found.stderr.contains("the shortest takes"),
        "{}",
        found.stderr
    );
}

#[test]
fn scouting_is_one_fast_ramp() {
    let found = plan(&["--scouting", "--up-to", "222", "--json"]).json();
    let scan = &found["legs"][0];
    assert_eq!(
        (&scan["kind"], number(&scan["to_c"])),
        (&"scan".into(), 222.0)
    );
    // 200 °C at 10 °C/min.
    assert!((number(&found["estimated_minutes"]) - 20.0).abs() < 1e-9);
    assert!(found["cautions"].to_string().contains("fresh"));
}

#[test]
fn cautions_and_refusals() {
    let said = |more: &[&str]| {
        plan(&[&RANGE[..], more, &["--json"]].concat()).json()["cautions"].to_string()
    };
    assert!(said(&["--rate", "5"]).contains("too fast"));
    assert!(said(&["--from", "119.5"]).contains("let it cool"));
    for (wrong, expected, status) in [
        (
            &["--first-liquid", "122", "--last-crystal", "121"] as &[&str],
            "last_crystal_c",
            1,
        ),
        (&["--first-liquid", "122"], "--last-crystal", 2),
        (&[], "--first-liquid", 2),
        (
            &["--first-liquid", "nan", "--last-crystal", "121"],
            "a number",
            2,
        ),
    ] {
        let found = plan(wrong);
        assert_eq!(found.status, Some(status), "{wrong:?}: {}", found.stderr);
        assert!(
            found.stderr.contains(expected),
            "{wrong:?}: {}",
            found.stderr
        );
    }
}
