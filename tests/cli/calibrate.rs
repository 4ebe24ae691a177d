//! `calibrate` as a process.

use crate::workshop::{Ended, Workshop, ended, meltrange};

fn calibrate(workshop: &Workshop, table: &str, more: &[&str]) -> Ended {
    let standards = workshop.file("standards.csv", table);
    ended(meltrange().arg("calibrate").arg(standards).args(more))
}

/// JCGM 100:2008 (GUM), annex H.3, data and results mark V: columns in another order, comments between.
#[test]
fn the_thermometer_of_gum_h3() {
    let points = [
        (21.521, -0.171),
        (22.012, -0.169),
        (22.512, -0.166),
        (23.003, -0.159),
        (23.507, -0.164),
        (23.999, -0.165),
        (24.513, -0.156),
        (25.002, -0.157),
        (25.503, -0.159),
        (26.010, -0.161),
        (26.511, -0.160),
    ];
    let mut table = String::from("# a water bath\nindicated_c,substance,remarks,reference_c\n");
    for (indicated, correction) in points {
        table.push_str(&format!(
            "{indicated},bath,,{:.3}\n# next\n",
            indicated + correction
        ));
    }
    let workshop = Workshop::new();
    let more = [
        "--degree", "1", "--origin", "20", "--at", "30", "--at", "25", "--json",
    ];
    let found = calibrate(&workshop, &table, &more).json();
    let near = |value: &serde_json::Value, expected: f64, within: f64| {
        let value = value.as_f64().expect("a number");
        assert!((value - expected).abs() < within, "{value}, {expected}");
    };
    near(&found["coefficients"][0], -0.1712, 0.000_05);
    near(&found["coefficients"][1], 0.002_18, 0.000_005);
    near(&found["standard_uncertainties"][0], 0.0029, 0.000_05);
    near(&found["standard_uncertainties"][1], 0.000_67, 0.000_005);
    near(&found["residual_sd_c"], 0.0035, 0.000_05);
    near(&found["at"][0]["correction_c"], -0.1494, 0.000_05);
    near(&found["at"][0]["standard_uncertainty_c"], 0.0041, 0.000_05);
    assert_eq!(found["at"][0]["extrapolated"], true);
    assert_eq!(found["at"][1]["extrapolated"], false);
    assert_eq!(found["degree"], 1);
    assert_eq!(found["degrees_of_freedom"], 9);
    near(&found["valid_from_c"], 21.521, 1e-9);
    near(&found["valid_to_c"], 26.511, 1e-9);
    assert_eq!(found["covariance"][0][1], found["covariance"][1][0]);
    assert_eq!(found["points"].as_array().map(Vec::len), Some(11));
    assert_eq!(found["points"][0]["substance"], "bath");
    assert_eq!(found["points"][0]["suspect"], false);
}

#[test]
fn a_person_reads_why_and_how_sure() {
    let workshop = Workshop::new();
    let table = "substance,reference_c,indicated_c,convention\nbenzil,94.86,94.3,thermodynamic\n\
                 acetanilide,114.37,113.7,thermodynamic\nurea,134.39,133.6,thermodynamic\n\
                 hydroquinone,172.83,171.9,thermodynamic\n";
    let found = calibrate(&workshop, table, &["--at", "122"]);
    assert_eq!(found.status, Some(0), "{}", found.stderr);
    for words in [
        "degree 1 (a straight line)",
        "F test",
        "thermodynamic",
        "urea",
        "from 94.3 to 171.9 °C",
    ] {
        assert!(found.stdout.contains(words), "{words}: {}", found.stdout);
    }
}

#[test]
fn a_decimal_comma_is_refused_where_it_stands() {
    let workshop = Workshop::new();
    calibrate(
        &workshop,
        "substance,reference_c,indicated_c\nbenzil,94,86,94,2\n",
        &[],
    )
    .assert_refused(&["standards.csv, line 2", "decimal comma", "decimal point"]);
    calibrate(
        &workshop,
        "substance,reference_c,indicated_c\nbenzil,\"94,86\",94.2\n",
        &[],
    )
    .assert_refused(&[
        "standards.csv, line 2",
        "reference_c is \"94,86\"",
        "decimal point",
    ]);
    calibrate(
        &workshop,
        "substance;reference_c;indicated_c\nbenzil;94,86;94,2\n",
        &[],
    )
    .assert_refused(&["standards.csv, line 1", "semicolons"]);
}

#[test]
fn standards_that_cannot_be_used_are_named() {
    let head = "substance,reference_c,indicated_c,reference_u_c,convention,expires\n";
    for (rows, more, words) in [
        ("", &[] as &[&str], &["no rows"] as &[&str]),
        (
            "benzil,94.86,94.2,,,\n",
            &["--degree", "1"],
            &["1 different standard", "at least 2"],
        ),
        (
            "benzil,94.86,94.2,,,\nbenzil,94.86,94.3,,,\n",
            &["--degree", "1"],
            &["1 different standard"],
        ),
        (
            "benzil,94.86,94.2,,,\nurea,134.39,94.2,,,\n",
            &["--degree", "1"],
            &["1 different standard"],
        ),
        (
            "benzil,94.86,94.2,,thermodynamic,\nurea,134.4,133.6,,at_rate,\n",
            &[],
            &["line 3", "one convention only"],
        ),
        (
            "benzil,94.86,94.2,,thermodynamic,\nurea,134.4,133.6,,,\n",
            &[],
            &["line 3", "one convention only"],
        ),
        (
            "benzil,94.86,94.2,0.1,,\nurea,134.39,133.6,,,\n",
            &[],
            &["line 3", "reference_u_c"],
        ),
        ("benzil,94.86,94.2,0,,\n", &[], &["line 2", "above 0"]),
        ("benzil,94.86,94.2,-0.1,,\n", &[], &["line 2", "above 0"]),
        (
            "benzil,1e308,94.2,,,\n",
            &[],
            &["line 2", "reference_c", "1000"],
        ),
        (
            "benzil,NaN,94.2,,,\n",
            &[],
            &["line 2", "reference_c is \"NaN\""],
        ),
        ("benzil,,94.2,,,\n", &[], &["line 2", "reference_c is \"\""]),
        (",94.86,94.2,,,\n", &[], &["line 2", "substance"]),
        (
            "benzil,94.86,94.2,,hot,\n",
            &[],
            &["line 2", "convention is \"hot\""],
        ),
        (
            "benzil,94.86,94.2,,,soon\n",
            &[],
            &["line 2", "expires is \"soon\""],
        ),
    ] {
        let workshop = Workshop::new();
        calibrate(&workshop, &format!("{head}{rows}"), more).assert_refused(words);
    }
}

#[test]
fn doubts_come_with_the_result() {
    let workshop = Workshop::new();
    let table = "substance,reference_c,indicated_c,expires\nbenzil,94.86,94.2,2020-01-31\nbenzil,94.86,94.2,2020-01-31\n";
    let found = calibrate(&workshop, table, &["--on", "2026-11-25", "--json"]).json();
    let kinds: Vec<&str> = found["remarks"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|remark| remark["kind"].as_str())
        .collect();
    for kind in [
        "certificate_expired",
        "duplicate_row",
        "not_screened",
        "convention_not_stated",
        "one_temperature",
    ] {
        assert!(kinds.contains(&kind), "{kind}: {kinds:?}");
    }
    // The day before it was in force.
    let found = calibrate(&workshop, table, &["--on", "2020-01-31", "--json"]).json();
    assert!(!found["remarks"].to_string().contains("certificate_expired"));
}

#[test]
fn one_standard_alone_says_that_it_cannot_tell_how_sure() {
    let workshop = Workshop::new();
    let found = calibrate(
        &workshop,
        "substance,reference_c,indicated_c\nbenzil,94.86,94.2\n",
        &["--degree", "0", "--json"],
    )
    .json();
    assert!(found["covariance"].is_null());
    assert!(found["remarks"].to_string().contains("no_uncertainty"));
    let table = "substance,reference_c,indicated_c,reference_u_c,indicated_u_c\nbenzil,94.86,94.2,0.06,0.08\n";
    let found = calibrate(&workshop, table, &["--json"]).json();
    // √(0.06² + 0.08²).
    let u = found["standard_uncertainties"][0].as_f64().expect("stated");
    assert!((u - 0.1).abs() < 1e-12, "{u}");
}

#[test]
fn wrong_usage_ends_with_2() {
    for more in [
        &["--degree", "3"] as &[&str],
        &["--degree", "-1"],
        &["--origin", "20,5"],
        &["--at", "nan"],
        &["--at", "1e308"],
        &["--on", "yesterday"],
        &["--convention", "warm"],
    ] {
        let workshop = Workshop::new();
        let found = calibrate(
            &workshop,
            "substance,reference_c,indicated_c\nbenzil,94.86,94.2\n",
            more,
        );
        assert_eq!(found.status, Some(2), "{more:?}: {}", found.stderr);
        assert_eq!(found.stdout, "");
    }
    let found = ended(meltrange().arg("calibrate"));
    assert_eq!(found.status, Some(2));
    let workshop = Workshop::new();
    ended(meltrange().arg("calibrate").arg(workshop.path("gone.csv")))
        .assert_refused(&["gone.csv"]);
}
