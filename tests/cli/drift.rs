//! `drift` as a process.

use crate::workshop::{Ended, Workshop, ended, meltrange};
use serde_json::Value;

const SOUND: &str = "date,substance,reference_c,indicated_c\n\
    2026-01-10,benzoic acid,122.37,121.6\n\
    2026-02-11,benzoic acid,122.37,121.7\n\
    2026-03-12,benzoic acid,122.37,121.6\n\
    2026-04-10,benzoic acid,122.37,121.5\n\
    2026-05-09,benzoic acid,122.37,121.6\n";

fn drift(workshop: &Workshop, table: &str, more: &[&str]) -> Ended {
    let checks = workshop.file("checks.csv", table);
    ended(meltrange().arg("drift").arg(checks).args(more))
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: flow rates of ten batches as differences
/// from 0, all of them setting the limits; mean 50.81, mean moving range 1.8778.
#[test]
fn the_handbooks_individuals() {
    let flow = [
        "49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1",
    ];
    let rows: String = flow.iter().map(|value| format!("0,{value}\n")).collect();
    let table = format!("reference_c,indicated_c\n{rows}");
    let found = drift(&Workshop::new(), &table, &["--baseline", "10", "--json"]).json();
    let number = |value: &Value| value.as_f64().expect("a number");
    assert!((number(&found["centre_c"]) - 50.81).abs() < 1e-9);
    assert!((number(&found["moving_range"]["mean_c"]) - 1.8778).abs() < 1e-4);
    assert!((number(&found["limits"]["high_c"]) - 55.8041).abs() < 2e-3);
    assert_eq!(found["in_control"], true);
    assert_eq!(found["provisional"], true);
    assert_eq!(found["rules"].as_array().map(Vec::len), Some(4));
}

#[test]
fn a_jump_of_the_latest_check_is_an_alarm() {
    let workshop = Workshop::new();
    assert_eq!(
        drift(&workshop, SOUND, &["--json"]).json()["in_control"],
        true
    );
    let table = format!("{SOUND}2026-06-10,benzoic acid,122.37,121.0\n");
    let found = drift(&workshop, &table, &["--json"]).json();
    assert_eq!(found["in_control"], false);
    let alarms = found["points"][5]["alarms"].to_string();
    assert!(
        alarms.contains("beyond_limits") && alarms.contains("moving_range"),
        "{alarms}"
    );
    let text = drift(&workshop, &table, &[]).stdout;
    assert!(
        text.contains("out of control: check again with a fresh tube"),
        "{text}"
    );
}

#[test]
fn a_check_falls_due() {
    let workshop = Workshop::new();
    for (on, expected) in [
        ("2026-06-01", "in_order"),
        ("2026-08-07", "due"),
        ("2026-12-24", "overdue"),
    ] {
        let found = drift(&workshop, SOUND, &["--every", "90", "--on", on, "--json"]).json();
        assert_eq!(found["schedule"], expected, "{on}");
    }
}

#[test]
fn checks_that_make_no_chart_are_refused_in_words() {
    let workshop = Workshop::new();
    for (table, more, expected) in [
        (
            "reference_c,indicated_c\n122.37,121.6\n",
            &[] as &[&str],
            "at least 2",
        ),
        (
            "reference_c,indicated_c\n122.37,nan\n122.37,121.6\n",
            &[],
            "indicated_c",
        ),
        (
            "reference_c,indicated_c\n122.37,1e308\n122.37,121.6\n",
            &[],
            "-273.15 to 1000",
        ),
        ("reference_c\n122.37\n", &[], "no column indicated_c"),
        ("", &[], "no table"),
        (
            "date,reference_c,indicated_c\n2026-02-01,122.37,121.6\n2026-01-01,122.37,121.6\n",
            &[],
            "after 2026-02-01",
        ),
        (
            "date,reference_c,indicated_c\n30.11.2026,122.37,121.6\n",
            &[],
            "a date such as",
        ),
        (
            "reference_c,indicated_c\n122.37,121.5\n122.37,121.6\n",
            &["--every", "90"],
            "no check has a date",
        ),
    ] {
        let found = drift(&workshop, table, more);
        assert_eq!(found.status, Some(1), "{table}");
        assert!(found.stderr.contains(expected), "{table}: {}", found.stderr);
        assert!(found.stdout.is_empty());
    }
}
