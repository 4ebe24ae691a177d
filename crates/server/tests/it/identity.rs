//! The compound library, candidates, mixed melting and purity over the interface.

use crate::workshop::{Served, wait};
use serde_json::{Value, json};

fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("{value} is no number"))
}

#[test]
fn an_own_list_goes_before_the_library() {
    wait(async {
        let served = Served::new().await;
        let found = served
            .get("/api/library?find=acetanilide")
            .await
            .expect(200);
        assert_eq!(found["substances"][0]["cas"], "103-84-4");
        let shipped = number(&found["library_size"]);
        let own = served.get("/api/library/own").await.expect(200);
        assert_eq!(own["substances"], 0);
        let list = "name,melting_c\nacetanilide,113.9\nin-house intermediate 7,88.0\n";
        let asked = json!({ "csv": list, "revision": own["revision"] });
        let kept = served
            .put("/api/library/own", asked.clone())
            .await
            .expect(200);
        assert_eq!(kept["substances"], 2);
        // Somebody who read the list before does not overwrite it.
        served
            .put("/api/library/own", asked)
            .await
            .problem(409, "stale");
        let found = served
            .get("/api/library?find=acetanilide")
            .await
            .expect(200);
        let first = &found["substances"][0];
        assert_eq!(first["own"], true);
        assert_eq!(
            first["melting_c"],
            json!([{ "value_c": 113.9, "source": "own list" }])
        );
        assert!(number(&found["library_size"]) > shipped);
        let range = json!({ "first_liquid_c": 87.3, "last_crystal_c": 88.1, "standard_uncertainty_c": 0.3, "only_own": true });
        let ranked = served.post("/api/candidates", range).await.expect(200);
        assert_eq!(ranked["candidates"][0]["name"], "in-house intermediate 7");
        assert_eq!(ranked["library_size"], 2);
        let wrong = json!({ "csv": "name,melting_c\nurea,132,5\n", "revision": kept["revision"] });
        let refused = served.put("/api/library/own", wrong).await;
        let detail = refused.problem(422, "own-list");
        assert!(detail.to_string().contains("line 2"), "{detail}");
        assert_eq!(
            served.get("/api/library/own").await.expect(200)["csv"],
            list
        );
        // Broken by hand: told why, and mended over the interface.
        let file = served.folder.join("own-substances.csv");
        std::fs::write(&file, "name;melting_c\nurea;132\n").expect("there is room");
        let broken = served.get("/api/library/own").await.expect(200);
        assert!(
            broken["fault"]
                .as_str()
                .expect("a fault")
                .contains("semicolons")
        );
        served
            .get("/api/library?find=urea")
            .await
            .problem(422, "own-list");
        let asked = json!({ "csv": list, "revision": broken["revision"] });
        let mended = served.put("/api/library/own", asked).await.expect(200);
        assert_eq!(mended["fault"], Value::Null);
    });
}

#[test]
fn a_run_is_planned_from_a_substance_but_not_of_a_refused_one() {
    wait(async {
        let served = Served::new().await;
        let path = |name: &str| format!("/api/library/expected?name={name}");
        // Triple point of acetanilide: 114.37 °C (NIST WebBook, as `chemicals` 1.5.2 carries it).
        let found = served.get(&path("acetanilide")).await.expect(200);
        let [least_c, most_c] = [&found["range_c"][0], &found["range_c"][1]].map(number);
        assert!(least_c < 114.37 && 114.37 < most_c && most_c - least_c < 8.0);
        assert_eq!(found["refused"], Value::Null);
        let refused = served.get(&path("118-96-7")).await.expect(200);
        assert_eq!(refused["range_c"], Value::Null);
        assert!(refused["refused"].is_string(), "{refused}");
        served
            .get(&path("acetanilidd"))
            .await
            .problem(422, "identity");
    });
}

#[test]
fn what_cannot_be_is_said() {
    wait(async {
        let served = Served::new().await;
        let range = |first: f64, last: f64, u: f64| json!({ "first_liquid_c": first, "last_crystal_c": last, "standard_uncertainty_c": u });
        for asked in [
            range(100.0, 99.0, 0.3),
            range(50.0, 99.0, 0.3),
            range(99.0, 100.0, 0.0),
            range(380.0, 381.0, 0.3),
        ] {
            served
                .post("/api/candidates", asked)
                .await
                .problem(422, "identity");
        }
        let pair = |a: &str, b: &str| json!({ "a": { "name": a }, "b": { "name": b } });
        let unknown = served.post("/api/mixtures", pair("ureea", "benzil")).await;
        let detail = unknown.problem(422, "identity").to_string();
        assert!(
            detail.contains("near it are") && detail.contains("urea"),
            "{detail}"
        );
        served
            .post("/api/mixtures", pair("urea", "57-13-6"))
            .await
            .problem(422, "identity");
        let split = json!({ "sample_c": [132.0, 131.0], "reference_c": [132.0, 133.0], "mixture_c": [90.0, 100.0], "standard_uncertainty_c": 0.2 });
        served
            .post("/api/mixed-meltings", split)
            .await
            .problem(422, "identity");
        served.get("/api/library").await.problem(422, "field");
    });
}

/// Numbers as in `tests/cli/identity.rs`, with their sources there.
#[test]
fn mixture_and_purity_are_as_the_commands_have_them() {
    wait(async {
        let served = Served::new().await;
        let asked = json!({
            "a": { "name": "naphthalene", "melting_c": 80.24, "hfus_j_per_mol": 19010.0 },
            "b": { "name": "biphenyl", "melting_c": 68.94, "hfus_j_per_mol": 18570.0 },
            "mass_fraction_b": 0.5,
        });
        let drawn = served.post("/api/mixtures", asked).await.expect(200);
        assert!((number(&drawn["eutectic"]["temperature_c"]) - 39.65).abs() < 2.0);
        assert_eq!(drawn["class"], "similar");
        assert_eq!(drawn["known"][0]["kind"], "eutectic");
        let ends = drawn["liquidus"].as_array().expect("points");
        assert!((number(&ends[0]["temperature_c"]) - 80.24).abs() < 1e-6);
        let asked = json!({
            "substance": { "name": "benzoic acid", "hfus_j_per_mol": 18020.0 },
            "first_liquid_c": 118.76, "last_crystal_c": 121.648, "pure_c": 122.37, "standard_uncertainty_c": 0.1,
        });
        let pure = served.post("/api/purities", asked).await.expect(200);
        assert!((number(&pure["by_clear_point"]["impurity_mole_fraction"]) - 0.01).abs() < 2e-4);
        let [low, high] = [0, 1].map(|end| number(&pure["by_width"]["interval_95"][end]));
        assert!(low < 0.01 && 0.01 < high);
        let judged = json!({ "sample_c": [132.4, 133.2], "reference_c": [132.8, 133.6], "mixture_c": [132.5, 133.4], "standard_uncertainty_c": 0.2 });
        let judged = served.post("/api/mixed-meltings", judged).await.expect(200);
        assert_eq!(judged["verdict"], "consistent_with_same");
    });
}
