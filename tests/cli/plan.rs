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
    // What is given here is kept, even where it is what it would be anyway.
    let kept = ["--within", "13", "--start-below", "3", "--stop-above", "2"];
    let found = plan(&[&RANGE[..], &kept, &["--json"]].concat()).json();
    let said = found["cautions"].to_string();
    assert!(
        said.contains("given up for the time there is: rate"),
        "{said}"
    );
    assert!(!said.contains("the range:"), "{said}");
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

#[test]
fn what_may_explode_is_not_planned_and_other_hazards_are_said() {
    for refused in [["--substance", "picric acid"], ["--hazards", "H240"]] {
        let ended = plan(&[&RANGE[..], &refused].concat());
        assert_eq!(ended.status, Some(1));
        assert!(
            ended.stderr.contains("not planned") && ended.stderr.contains("responsible person"),
            "{}",
            ended.stderr
        );
    }
    let flagged = plan(
        &[
            &RANGE[..],
            &["--substance", "benzoic acid", "--hazards", "H351", "--json"],
        ]
        .concat(),
    )
    .json();
    let cautions = flagged["cautions"].to_string();
    assert!(
        cautions.contains("sublimes") && cautions.contains("H351"),
        "{cautions}"
    );
    let plain = plan(&[&RANGE[..], &["--substance", "urea", "--json"]].concat()).json();
    assert!(plain["cautions"].to_string().contains("does not mean safe"));
}

/// Numbers of procedures are as remembered of standards: only that they are shown, kept to and checked is tested.
#[test]
fn a_procedure_is_a_starting_point_with_its_numbers_shown() {
    let listed = plan(&["--procedure", "list"]);
    assert!(
        listed.stdout.contains("usp-741-ia") && listed.stdout.contains("check your own edition")
    );
    let found = plan(&[&RANGE[..], &["--procedure", "chp-0612", "--json"]].concat()).json();
    assert!((number(&found["legs"][0]["to_c"]) - 111.5).abs() < 1e-9);
    let found = plan(
        &[
            &RANGE[..],
            &["--procedure", "usp-741-ia", "--rate", "4", "--json"],
        ]
        .concat(),
    )
    .json();
    let cautions = found["cautions"].to_string();
    assert!(
        cautions.contains("not as USP <741> class Ia has it") && cautions.contains("own edition"),
        "{cautions}"
    );
    let unknown = plan(&[&RANGE[..], &["--procedure", "mine"]].concat());
    assert_eq!(unknown.status, Some(1));
    assert!(
        unknown.stderr.contains("expected one of"),
        "{}",
        unknown.stderr
    );
}

#[test]
fn a_substance_of_the_list_and_a_scouted_range_are_starting_points() {
    let found = plan(&["--substance", "Benzoic acid", "--json"]).json();
    // About 122 °C, start 1 + 3 °C below: the list's orientation value, from memory to the degree.
    let start_c = number(&found["legs"][0]["to_c"]);
    assert!(
        found["cautions"]
            .to_string()
            .contains("label of your lot counts"),
        "{start_c}"
    );
    // Of the library: biphenyl melts at 68.94 °C (NIST WebBook, as carried by the Python package chemicals), within the scan.
    let library = plan(&["--substance", "biphenyl", "--json"]).json();
    let scan = &library["legs"][3];
    assert!(scan["to_c"].as_f64().expect("a scan") > 69.9, "{library}");
    assert!(library["legs"][0]["to_c"].as_f64().expect("an approach") < 68.0);
    assert!(library["cautions"].to_string().contains("in literature"));
    let energetic = plan(&["--substance", "118-96-7"]);
    assert_eq!(energetic.status, Some(1));
    assert!(
        energetic.stderr.contains("is not planned"),
        "{}",
        energetic.stderr
    );
    let unknown = plan(&["--substance", "squarine"]);
    assert_eq!(unknown.status, Some(1));
    assert!(unknown.stderr.contains("scout first"), "{}", unknown.stderr);
    let scouted = plan(&[&RANGE[..], &["--scouted-at", "10", "--json"]].concat()).json();
    // 3 °C and a third of a minute of 10 °C/min below 121.5 °C.
    assert!((number(&scouted["legs"][0]["to_c"]) - 115.2).abs() < 1e-6);
}

#[test]
fn a_scan_outside_the_calibrated_range_is_said() {
    let workshop = Workshop::new();
    let standards = workshop.file(
        "standards.csv",
        "substance,reference_c,indicated_c\na,69.3,69.9\nb,114.3,115.1\nc,122.4,123.2\n",
    );
    let calibration = ended(meltrange().arg("calibrate").arg(standards).arg("--json"));
    let calibration = workshop.file("cal.json", calibration.stdout);
    let calibration = calibration.display().to_string();
    let with = |first: &str, last: &str| {
        let range = ["--first-liquid", first, "--last-crystal", last, "--json"];
        plan(&[&range[..], &["--calibration", &calibration]].concat()).json()["cautions"]
            .to_string()
    };
    assert!(!with("100", "101").contains("calibrated range"));
    assert!(with("190", "191").contains("not inside the calibrated range"));
}
