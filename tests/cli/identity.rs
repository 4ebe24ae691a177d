//! `identify`, `mixture`, `mixed-melting`, `purity` and `library` as processes.

use crate::workshop::{Ended, Workshop, ended, meltrange};
use serde_json::Value;

fn said(arguments: &[&str]) -> Ended {
    ended(meltrange().args(arguments))
}

fn told(arguments: &[&str]) -> Value {
    ended(meltrange().args(arguments).arg("--json")).json()
}

fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("{value} is no number"))
}

fn texts(value: &Value) -> Vec<&str> {
    let items = value.as_array().expect("a list");
    items.iter().filter_map(Value::as_str).collect()
}

/// Acetanilide melts at 114.37 °C (NIST WebBook, as carried by the Python package chemicals): not used by the library.
#[test]
fn probabilities_are_those_of_one_world() {
    let found = told(&[
        "identify",
        "--first-liquid",
        "113.9",
        "--last-crystal",
        "114.5",
    ]);
    let candidates = found["candidates"].as_array().expect("candidates");
    let sum: f64 = candidates
        .iter()
        .map(|one| number(&one["probability"]))
        .sum();
    let all = sum + number(&found["unlisted_probability"]);
    assert!((all - 1.0).abs() < 1e-6, "{all}");
    assert!(number(&found["library_size"]) > 5_000.0);
    assert!(
        texts(&found["credible_95"]).contains(&"103-84-4"),
        "acetanilide"
    );
    let falling = candidates
        .windows(2)
        .all(|pair| number(&pair[0]["probability"]) >= number(&pair[1]["probability"]));
    assert!(falling);
    for test in found["next_tests"].as_array().expect("tests") {
        assert_eq!(test["kind"], "mixed_melting");
        assert!(number(&test["expected_information_bits"]) > 0.0);
        assert!(number(&test["if_different_c"][0]) < number(&test["if_same_c"][0]));
    }
    let few = told(&[
        "identify",
        "--first-liquid",
        "113.9",
        "--last-crystal",
        "114.5",
        "--top",
        "3",
    ]);
    let few_told = few["candidates"].as_array().expect("candidates");
    assert_eq!(few_told.len(), 3);
    assert!(
        few_told[0]["because"]
            .as_str()
            .expect("a reason")
            .contains("in literature")
    );
}

#[test]
fn a_list_goes_before_the_library() {
    let workshop = Workshop::new();
    // The last is invented.
    let list = workshop.file(
        "stock.csv",
        "# stock room\nname,cas,melting_c\nacetanilide,,\n,134-81-6,\nurea,,\nin-house intermediate 7,,113.0\n",
    );
    let list = list.to_str().expect("a path");
    let range = [
        "identify",
        "--first-liquid",
        "112.4",
        "--last-crystal",
        "113.1",
    ];
    let ask = |more: &[&str]| {
        let mut arguments = range.to_vec();
        arguments.extend(["--candidates", list]);
        arguments.extend(more);
        told(&arguments)
    };
    let found = ask(&[]);
    assert_eq!(found["library_size"], 4);
    assert_eq!(found["candidates"][0]["name"], "in-house intermediate 7");
    assert_eq!(found["candidates"][1]["name"], "acetanilide");
    assert_eq!(texts(&found["credible_95"])[0], "in-house intermediate 7");
    let without = ask(&["--unlisted", "0"]);
    assert!(number(&without["unlisted_probability"]) <= 0.0);
    for (text, words) in [
        ("name\nacetanilidd\n", "acetanilide"),
        ("name,melting_c\nurea,132,5\n", "line 2"),
        ("name;melting_c\nurea;132\n", "semicolons"),
        ("substance,mp\nurea,132\n", "name or cas"),
        ("cas\n103-84-5\n", "check digit"),
        ("name\nurea\n57-13-6\n", "twice"),
        ("name\n", "no substance"),
    ] {
        let bad = workshop.file("bad.csv", text);
        let mut arguments = range.to_vec();
        arguments.extend(["--candidates", bad.to_str().expect("a path")]);
        let refused = said(&arguments);
        assert_eq!(refused.status, Some(1), "{text}");
        assert!(refused.stderr.contains(words), "{text}: {}", refused.stderr);
        assert!(refused.stdout.is_empty());
    }
}

#[test]
fn ranges_that_no_substance_has_are_refused() {
    for (first, last, uncertainty, words) in [
        ("115", "113", "0.5", "expected 115 or more"),
        ("80", "121", "0.5", "wide"),
        ("360", "361", "0.5", "20 to 350"),
        ("15", "21", "0.5", "20 to 350"),
        ("113", "114", "0", "above 0"),
        ("113", "114", "-1", "above 0"),
    ] {
        let refused = said(&[
            "identify",
            "--first-liquid",
            first,
            "--last-crystal",
            last,
            "--uncertainty",
            uncertainty,
        ]);
        assert_eq!(refused.status, Some(1), "{first} {last} {uncertainty}");
        assert!(refused.stderr.contains(words), "{}", refused.stderr);
    }
    assert_eq!(said(&["identify", "--first-liquid", "113"]).status, Some(2));
}

/// Lee & Warner, J. Am. Chem. Soc. 1935, 57, 318, as in the IUPAC-NIST Solubility Database, record 59_142 (heads put right): whole liquidus
/// within 0.9 °C of the ideal law by root mean square, and 0.4 °C with one parameter; eutectic 39.65 °C at 0.555 of biphenyl.
#[test]
fn naphthalene_and_biphenyl() {
    let workshop = Workshop::new();
    let points: Vec<[f64; 2]> = include_str!("../published/data/liquidus_naphthalene_biphenyl.csv")
        .lines()
        .filter(|line| !line.starts_with('#') && !line.starts_with('t'))
        .map(|line| {
            let (kelvin, naphthalene) = line.split_once(',').expect("two columns");
            let kelvin: f64 = kelvin.parse().expect("a number");
            let naphthalene: f64 = naphthalene.trim().parse().expect("a number");
            [1.0 - naphthalene, kelvin - 273.15]
        })
        .collect();
    let table = |exchanged: bool| {
        let rows = points.iter().map(|[biphenyl, at_c]| {
            let fraction = if exchanged { 1.0 - biphenyl } else { *biphenyl };
            format!("{fraction:.4},{at_c:.2}\n")
        });
        format!("mole_fraction_b,liquidus_c\n{}", rows.collect::<String>())
    };
    let naphthalene = "melting_c=80.24,hfus_j_per_mol=19010,molar_mass_g_per_mol=128.17";
    let biphenyl = "melting_c=68.94,hfus_j_per_mol=18570,molar_mass_g_per_mol=154.21";
    let ideal = told(&["mixture", naphthalene, biphenyl, "--mass-fraction-b", "0.5"]);
    assert_eq!(ideal["model"], "ideal");
    assert!((number(&ideal["eutectic"]["temperature_c"]) - 39.65).abs() < 2.0);
    assert!((number(&ideal["eutectic"]["mole_fraction_b"]) - 0.555).abs() < 0.02);
    let half = 0.5 / 154.21 / (0.5 / 154.21 + 0.5 / 128.17);
    assert!((number(&ideal["at"]["mole_fraction_b"]) - half).abs() < 1e-9);
    let file = workshop.file("points.csv", table(false));
    let fitted = told(&[
        "mixture",
        naphthalene,
        biphenyl,
        "--data",
        file.to_str().expect("a path"),
    ]);
    assert_eq!(fitted["model"], "one_parameter");
    assert!(
        number(&fitted["fit"]["left_ideal_c"]) <= 0.9,
        "{}",
        fitted["fit"]
    );
    assert!(number(&fitted["fit"]["left_c"]) <= 0.4, "{}", fitted["fit"]);
    assert!(
        (number(&fitted["eutectic"]["temperature_c"]) - 39.65).abs() < 0.6,
        "{}",
        fitted["eutectic"]
    );
    let file = workshop.file("exchanged.csv", table(true));
    let refused = said(&[
        "mixture",
        naphthalene,
        biphenyl,
        "--data",
        file.to_str().expect("a path"),
    ]);
    assert_eq!(refused.status, Some(1));
    assert!(refused.stderr.contains("exchanged"), "{}", refused.stderr);
}

#[test]
fn pairs_of_the_library_and_what_is_known_of_them() {
    let pair = told(&["mixture", "naphthalene", "2-naphthol"]);
    assert_eq!(pair["known"][0]["kind"], "mixed_crystals");
    let cautions = texts(&pair["cautions"]).join(" ");
    assert!(cautions.contains("little or no depression"), "{cautions}");
    assert!(
        cautions.contains("the ideal law is good to about"),
        "{cautions}"
    );
    assert!(
        number(&pair["expected_error"]["temperature_c"]) >= 10.0,
        "{cautions}"
    );
    let refused = said(&["mixture", "urea", "57-13-6"]);
    assert_eq!(refused.status, Some(1));
    assert!(
        refused.stderr.contains("two different"),
        "{}",
        refused.stderr
    );
    let near = said(&["mixture", "ureea", "benzil"]);
    assert_eq!(near.status, Some(1));
    assert!(
        near.stderr.contains("near it are") && near.stderr.contains("urea"),
        "{}",
        near.stderr
    );
    let wrong = said(&["mixture", "melting_c=80,hfus=3", "benzil"]);
    assert!(
        wrong.stderr.contains("hfus_j_per_mol=.."),
        "{}",
        wrong.stderr
    );
    // No enthalpy is known of a solid described by its melting temperature alone: that of its class is said aloud.
    let estimated = told(&["mixture", "melting_c=120", "benzil"]);
    assert!(texts(&estimated["cautions"]).join(" ").contains("Walden"));
    assert_eq!(
        said(&[
            "mixture",
            "melting_c=120",
            "benzil",
            "--mass-fraction-b",
            "0.5"
        ])
        .status,
        Some(1)
    );
    let judged = told(&[
        "mixed-melting",
        "--sample",
        "132.4",
        "133.2",
        "--reference",
        "132.8",
        "133.6",
        "--mixture",
        "95",
        "118",
    ]);
    assert_eq!(judged["verdict"], "different");
}

/// K_f tables and the law: sources in `tests/published/freezing_point.rs`; benzoic acid 122.37 °C, 18.02 kJ/mol.
#[test]
fn purity_by_three_ways() {
    let workshop = Workshop::new();
    let shift = told(&[
        "purity",
        "--last-crystal",
        "121.648",
        "--pure",
        "122.37",
        "--hfus",
        "18020",
        "--uncertainty",
        "0.1",
        "--molar-mass",
        "122.12",
    ]);
    assert!(
        (number(&shift["impurity_mole_fraction"]) - 0.01).abs() < 2e-4,
        "{shift}"
    );
    let curve: String = (4..=40)
        .map(|step| {
            let fraction = f64::from(step) / 40.0;
            format!("{:.4},{fraction:.4}\n", 122.37 - 0.722 / fraction)
        })
        .collect();
    let file = workshop.file(
        "melt.csv",
        format!("temperature_c,fraction_melted\n{curve}"),
    );
    let curve = told(&[
        "purity",
        "--curve",
        file.to_str().expect("a path"),
        "--hfus",
        "18020",
    ]);
    let u = number(&curve["standard_uncertainty"]);
    assert!(
        (number(&curve["impurity_mole_fraction"]) - 0.01).abs() < 2.0 * u,
        "{curve}"
    );
    assert!((number(&curve["pure_melting_c"]) - 122.37).abs() < 0.05);
    assert!(number(&curve["usable_from_fraction"]) >= 0.1);
    assert!(number(&curve["usable_to_fraction"]) <= 0.5);
    let width = told(&[
        "purity",
        "--first-liquid",
        "118.76",
        "--last-crystal",
        "121.65",
        "--hfus",
        "18020",
    ]);
    let [low, high] = [0, 1].map(|end| number(&width["interval_95"][end]));
    assert!(low < 0.01 && 0.01 < high, "{width}");
    assert!(
        texts(&width["cautions"])
            .join(" ")
            .contains("sharp is not always pure")
    );
    for (arguments, status, words) in [
        (
            vec![
                "--last-crystal",
                "118.7",
                "--pure",
                "122.37",
                "--hfus",
                "18020",
                "--uncertainty",
                "0.1",
            ],
            1,
            "purify",
        ),
        (
            vec![
                "--last-crystal",
                "124",
                "--pure",
                "122.37",
                "--hfus",
                "18020",
                "--uncertainty",
                "0.1",
            ],
            1,
            "above the pure",
        ),
        (
            vec![
                "--last-crystal",
                "121.6",
                "--pure",
                "122.37",
                "--hfus",
                "-1",
            ],
            2,
            "--hfus",
        ),
        (
            vec!["--last-crystal", "121.6", "--hfus", "18020"],
            2,
            "--pure",
        ),
        (
            vec!["--last-crystal", "121.6", "--pure", "122.37"],
            2,
            "--hfus",
        ),
        (
            vec![
                "--last-crystal",
                "121.6",
                "--pure",
                "122.37",
                "--substance",
                "benzoik acid",
            ],
            1,
            "benzoic acid",
        ),
    ] {
        let mut all = vec!["purity"];
        all.extend(&arguments);
        let refused = said(&all);
        assert_eq!(
            refused.status,
            Some(status),
            "{arguments:?}: {}",
            refused.stderr
        );
        assert!(refused.stderr.contains(words), "{}", refused.stderr);
    }
}

#[test]
fn substances_are_found_by_what_people_call_them() {
    for text in ["acetanilide", "103-84-4", "N-phenylacetamide"] {
        let found = told(&["library", "find", text]);
        let first = &found["substances"][0];
        assert_eq!(first["cas"], "103-84-4", "{text}");
        assert_eq!(first["formula"], "C8H9NO");
        assert!(
            (number(&first["molar_mass_g_per_mol"]) - 135.166).abs() < 0.02,
            "IUPAC atomic weights"
        );
        assert!(!first["smiles"].as_str().expect("a structure").is_empty());
        let values = first["melting_c"].as_array().expect("values");
        assert!(!values.is_empty() && values.iter().all(|value| value["source"].is_string()));
    }
    // Refused, but shown with the warning.
    let energetic = told(&["library", "find", "118-96-7"]);
    assert!(texts(&energetic["substances"][0]["hazards"])[0].starts_with("refused"));
    let near = told(&["library", "near", "122.4", "--within", "0.5"]);
    let cas: Vec<&str> = near["substances"]
        .as_array()
        .expect("substances")
        .iter()
        .filter_map(|one| one["cas"].as_str())
        .collect();
    assert!(
        cas.contains(&"65-85-0"),
        "benzoic acid melts at 122.37 °C (certified)"
    );
    assert_eq!(
        told(&["library", "find", "no such thing"])["substances"],
        serde_json::json!([])
    );
    assert_eq!(
        said(&["library", "near", "120", "--within=-1"]).status,
        Some(1)
    );
}
