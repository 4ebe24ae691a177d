//! `session` as a process.

use crate::workshop::{Ended, Workshop, ended, meltrange};
use serde_json::Value;

const BENCH: &str = "[[bench]]\nname = \"A\"\nplaces = 3\nroom_c = 22.0\nstart_c = 22.0\n\
    heat_rate_c_per_min = 15.0\ncool_time_constant_min = 12.0\nmax_c = 350.0\n";
const SAMPLE: &str = "[[sample]]\nid = \"U1\"\nfirst_liquid_c = 121.5\nlast_crystal_c = 122.5\n";

fn session(workshop: &Workshop, text: &str, more: &[&str]) -> Ended {
    let file = workshop.file("session.toml", text);
    ended(
        meltrange()
            .arg("session")
            .arg(file)
            .args(["--time-limit", "0.2"])
            .args(more),
    )
}

/// By hand: 2 min setting in, 96.5 °C at 15 °C/min, 3 min soak, 6 min scan; then cooling from 124.5
/// to 101.5 with Newton, and the same again from 101.5 °C.
#[test]
fn two_tubes_of_one_sample_are_two_loads() {
    let text = format!("length_min = 60\n{BENCH}{SAMPLE}");
    let found = session(&Workshop::new(), &text, &["--json"]).json();
    let first = 2.0 + 96.5 / 15.0 + 3.0 + 6.0;
    let cooling = 12.0 * (102.5f64 / 79.5).ln();
    let second = 2.0 + 17.0 / 15.0 + 3.0 + 6.0;
    let makespan = found["makespan_min"].as_f64().expect("a number");
    assert!(
        (makespan - first - cooling - second).abs() < 0.01,
        "{makespan}"
    );
    assert_eq!(found["fits"], true);
    assert_eq!(found["in_time_benches"], Value::Null);
    let loads = found["benches"][0]["loads"].as_array().expect("loads");
    assert_eq!(loads.len(), 2);
    assert_eq!(loads[1]["cool_from_c"], 124.5);
    assert_eq!(loads[1]["tubes"][0]["replicate"], 2);
    assert_eq!(
        loads[0]["scan_windows_c"],
        serde_json::json!([[118.5, 124.5]])
    );
    assert!(found["lower_bound_min"].as_f64().expect("a number") > 0.8 * makespan);
}

#[test]
fn what_does_not_fit_is_said() {
    let text = format!("length_min = 20\n{BENCH}{SAMPLE}");
    let workshop = Workshop::new();
    let found = session(&workshop, &text, &["--json"]).json();
    assert_eq!(found["fits"], false);
    assert_eq!(found["not_finished"], serde_json::json!(["U1"]));
    let said = session(&workshop, &text, &[]).stdout;
    assert!(
        said.contains("it does not fit") && said.contains("left out: U1"),
        "{said}"
    );
    let none = session(&workshop, &format!("length_min = 20\n{BENCH}"), &["--json"]).json();
    assert_eq!(none["makespan_min"], 0.0);
}

#[test]
fn sessions_that_cannot_be_are_named() {
    let workshop = Workshop::new();
    let cool = "[policy]\ncool_below_c = 1.0\n";
    for (text, expected) in [
        (
            format!("length_min = 60\noperators = 0\n{BENCH}{SAMPLE}"),
            "operators is 0",
        ),
        (
            format!("length_min = 60\n{cool}{BENCH}{SAMPLE}"),
            "policy.cool_below_c is 1",
        ),
        (
            format!("length_min = 60\n{BENCH}{SAMPLE}{SAMPLE}"),
            "sample U1 stands there twice",
        ),
        (
            format!("length_min = 60\n{BENCH}{BENCH}{SAMPLE}"),
            "bench A stands there twice",
        ),
        (format!("length_min = 60\n{SAMPLE}"), "there is no bench"),
        (
            format!("length_min = 60\n{BENCH}{SAMPLE}leave_below_c = 100.0\n"),
            "no bench can take sample U1",
        ),
        (
            format!("length_min = 60\n{BENCH}{SAMPLE}replicates = 0\n"),
            "replicates of sample U1",
        ),
        (format!("{BENCH}{SAMPLE}"), "length_min"),
        (
            format!("length_min = 60\n{BENCH}[[sample]]\nid = \"U1\"\n"),
            "line 10",
        ),
        ("length_min = \n".to_owned(), "line 1"),
        (
            format!("length_min = 60\n{BENCH}{SAMPLE}").replace("= 15.0", "= -15.0"),
            "heat_rate_c_per_min of bench A is -15; expected a number above 0",
        ),
        (
            format!("length_min = 60\n{BENCH}{SAMPLE}").replace("places = 3\n", ""),
            "line 2",
        ),
        (
            format!("length_min = 60\n{BENCH}{SAMPLE}").replace("places = 3", "places = -3"),
            "line 4",
        ),
    ] {
        let found = session(&workshop, &text, &["--json"]);
        assert_eq!(found.status, Some(1), "{text}");
        assert!(
            found.stderr.contains(expected),
            "{expected}: {}",
            found.stderr
        );
        assert!(found.stdout.is_empty());
    }
}

/// In words: why tubes share a load, what the length hangs on; the fields of the plan stay as they are.
#[test]
fn plans_are_explained() {
    let other = SAMPLE.replace("U1", "U2").replace("12", "13");
    let text = format!("length_min = 60\n{BENCH}{SAMPLE}{other}");
    let workshop = Workshop::new();
    let said = session(&workshop, &text, &[]).stdout;
    for expected in [
        "why tubes share a load:",
        "2 scans upwards from 118.5 to 134.5 °C, no cooling between",
        "what the length hangs on. ",
        "setting in",
    ] {
        assert!(said.contains(expected), "{expected}: {said}");
    }
    assert!(!said.contains("relaxed"));
    let found = session(&workshop, &text, &["--json"]).json();
    assert!(found["words"]["bottleneck"].is_string());
    assert!(found["what_more"].is_null() && found["makespan_min"].is_number());
    let found = session(&workshop, &text, &["--json", "--what-more"]).json();
    let more = found["what_more"].as_array().expect("three");
    assert_eq!(more.len(), 3);
    assert!(more[0]["what"] == "one more bench like A");
    assert!(more[0]["saves_min"].as_f64().expect("a number") > 1.0);
    assert!(found["relaxations"].is_null());
}

/// One tube of the two takes 17.4 min: it fits into 20, two tubes do not.
#[test]
fn what_to_relax_is_said_with_its_price() {
    let text = format!("length_min = 20\n{BENCH}{SAMPLE}");
    let workshop = Workshop::new();
    let said = session(&workshop, &text, &[]).stdout;
    for expected in [
        "what could be relaxed",
        "one tube of each sample fewer, 1 instead of 2: fits, 17.4 min",
        "price: one tube alone",
        "a session of ",
    ] {
        assert!(said.contains(expected), "{expected}: {said}");
    }
    let found = session(&workshop, &text, &["--json"]).json();
    assert!(found["relaxations"].is_null());
    let found = session(&workshop, &text, &["--json", "--what-more"]).json();
    let relaxed = &found["relaxations"][0];
    assert_eq!(relaxed["fits"], true);
    assert_eq!(relaxed["order"]["sample"][0]["replicates"], 1);
}
