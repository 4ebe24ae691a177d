//! Planning one run away from the bench.

use crate::bench_work::days_ago;
use crate::workshop::{Served, wait};
use serde_json::{Value, json};

const BENCH: &str = r#"
name = "North window"
places = 2
room_c = 20.0
max_c = 250.0
heat_rate_c_per_min = 10.0
cool_time_constant_min = 8.0
[thermometer]
kind = "keyed"
[heater]
kind = "by_hand"
"#;

async fn with_bench() -> Served {
    let served = Served::new().await;
    let folder = served.folder.join("benches");
    std::fs::create_dir_all(&folder).expect("there is room");
    std::fs::write(folder.join("north.toml"), BENCH).expect("there is room");
    served
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

/// Times by hand: soak 3 min, scan of 6.0 °C (118.5 to 124.5) at 1 °C/min; cooling by Newton from 124.5 to 101.5 °C in a
/// room of 20 °C with 8 min. The approach is tapered: not shorter than 98.5 °C at 10 °C/min, and not more than 3 min longer.
#[test]
fn a_range_becomes_legs_with_times() {
    wait(async {
        let served = with_bench().await;
        let plan = json!({ "kind": "measuring", "first_liquid_c": 121.5, "last_crystal_c": 122.5 });
        let asked = json!({ "plan": plan, "bench": "North window" });
        let found = served.post("/api/programmes/plan", asked).await.expect(200);
        let minutes = |leg: usize| found["legs"][leg]["minutes"].as_f64();
        let approach = minutes(0).expect("an approach");
        assert!((9.85..12.85).contains(&approach), "{approach}");
        assert!((minutes(1).expect("a soak") - 3.0).abs() < 1e-9);
        assert_eq!(minutes(2), None, "waiting for the person has no time");
        assert!((minutes(3).expect("a scan") - 6.0).abs() < 1e-9);
        let cooling = 8.0 * (104.5_f64 / 81.5).ln();
        assert!((minutes(4).expect("cooling") - cooling).abs() < 1e-6);
        assert!((number(&found["minutes"]) - approach - 9.0).abs() < 1e-9);
        assert_eq!(found["bench"]["max_c"], 250.0);
        assert_eq!(found["cautions"], json!([]));
        // From a warm block it is shorter, and somebody says that it is warm.
        let warm = json!({ "plan": plan, "bench": "North window", "from_c": 110.0 });
        let warm = served.post("/api/programmes/plan", warm).await.expect(200);
        assert!(number(&warm["minutes"]) < number(&found["minutes"]));
        assert!(
            warm["cautions"][0]
                .as_str()
                .expect("words")
                .contains("fresh tubes")
        );
    });
}

#[test]
fn what_there_is_no_time_for_is_given_up_and_said() {
    wait(async {
        let served = with_bench().await;
        let plan = json!({ "kind": "measuring", "first_liquid_c": 121.5, "last_crystal_c": 122.5 });
        let ask = |more: Value| {
            let mut asked = json!({ "plan": plan });
            for (key, value) in more.as_object().expect("fields") {
                asked[key] = value.clone();
            }
            served.post("/api/programmes/plan", asked)
        };
        let whole = ask(json!({})).await.expect(200);
        let whole_min = number(&whole["minutes"]);
        assert!(
            whole["cautions"]
                .as_array()
                .expect("a list")
                .iter()
                .any(|one| one
                    .as_str()
                    .is_some_and(|text| text.contains("ordinary block"))),
            "{whole}"
        );
        let shorter = ask(json!({ "within_min": whole_min - 1.0 }))
            .await
            .expect(200);
        assert!((number(&shorter["order"]["soak_min"]) - 2.0).abs() < 1e-6);
        assert_eq!(shorter["given_up"].as_array().map(Vec::len), Some(1));
        let kept = json!({ "within_min": whole_min - 1.0, "keep_soak": true });
        let kept = ask(kept).await.expect(200);
        assert_eq!(kept["order"]["soak_min"], 3.0);
        assert!((number(&kept["minutes"]) - whole_min + 1.0).abs() < 1e-3);
        let kept = json!({ "within_min": whole_min - 3.5, "keep_start_below": true, "keep_stop_above": true });
        let kept = ask(kept).await.expect(200);
        assert_eq!(kept["order"]["start_below_c"], 3.0, "{kept}");
        assert_eq!(kept["order"]["stop_above_c"], 2.0, "{kept}");
        assert!(number(&kept["order"]["rate_c_per_min"]) > 1.0, "{kept}");
        ask(json!({ "within_min": 2.0 })).await.problem(422, "plan");
        ask(json!({ "bench": "Nowhere" }))
            .await
            .problem(422, "field");
        ask(json!({ "from_c": 5000.0 })).await.problem(422, "field");
    });
}

/// Three standards from 95 to 133 °C: a scan within is not spoken of, one beyond is.
#[test]
fn a_scan_beyond_the_calibrated_range_is_said() {
    wait(async {
        let served = Served::new().await;
        let bench = served.bench("Bench A").await;
        let checks = served.three_checks(&bench).await;
        let calibration = json!({ "checks": checks, "in_force_from": days_ago(0) });
        let path = format!("/api/thermometers/{bench}/calibrations");
        served.post(&path, calibration).await.expect(201);
        for (first_c, beyond) in [(110.0, false), (150.0, true)] {
            let plan = json!({ "kind": "measuring", "first_liquid_c": first_c, "last_crystal_c": first_c + 1.0 });
            let asked = json!({ "plan": plan, "bench": "Bench A" });
            let found = served.post("/api/programmes/plan", asked).await.expect(200);
            let said = found["cautions"].to_string();
            assert_eq!(said.contains("calibrated range"), beyond, "{said}");
        }
    });
}

/// Which numbers a procedure has is not looked at here; that what departs from it is said is.
#[test]
fn a_published_procedure_is_a_starting_point() {
    wait(async {
        let served = with_bench().await;
        let found = served.get("/api/programmes/procedures").await.expect(200);
        assert!(
            found["note"]
                .as_str()
                .expect("words")
                .contains("your own edition")
        );
        let procedure = found["procedures"][0].clone();
        let ask = |rate: f64, id: Value| {
            let plan = json!({
                "kind": "measuring", "first_liquid_c": 121.5, "last_crystal_c": 122.5,
                "start_below_c": procedure["start_below_c"], "rate_c_per_min": rate,
            });
            served.post(
                "/api/programmes/plan",
                json!({ "plan": plan, "bench": "North window", "procedure": id }),
            )
        };
        let as_it_has_it = ask(
            number(&procedure["rate_c_per_min"]),
            procedure["id"].clone(),
        )
        .await
        .expect(200);
        assert_eq!(as_it_has_it["cautions"], json!([]));
        let fastest = number(&procedure["rate_within_c_per_min"][1]);
        let faster = ask(fastest + 0.2, procedure["id"].clone())
            .await
            .expect(200);
        let standard = procedure["standard"].as_str().expect("a name");
        assert!(
            faster["cautions"][0]
                .as_str()
                .expect("words")
                .contains(standard),
            "{faster}"
        );
        ask(1.0, json!("none such")).await.problem(422, "field");
    });
}

/// Names from the refuse list's own sources (Prudent Practices, table 3.11: azides); the refusal is the planner's.
#[test]
fn what_is_noted_of_a_sample_is_screened() {
    wait(async {
        let served = with_bench().await;
        let sample = json!({ "label": "X-1", "expected_substance": "lead azide" });
        let added = served.post("/api/samples", sample).await.expect(201);
        let path = format!(
            "/api/programmes/expected/{}",
            added["row"]["id"].as_str().expect("an id")
        );
        let found = served.get_as(&served.who, &path).await.expect(200);
        assert_eq!(found["screening"][0]["state"], "refused", "{found}");
    });
}

#[test]
fn scouting_and_given_legs() {
    wait(async {
        let served = with_bench().await;
        let scouting = json!({ "plan": { "kind": "scouting", "up_to_c": 220.0 }, "bench": "North window", "from_c": 20.0 });
        let found = served
            .post("/api/programmes/plan", scouting)
            .await
            .expect(200);
        // 200 °C at the usual 10 °C/min.
        assert!((number(&found["minutes"]) - 20.0).abs() < 1e-9);
        assert_eq!(found["order"], Value::Null);
        let legs = json!([
            { "kind": "approach", "to_c": 67.0 }, { "kind": "soak", "minutes": 3.0 },
            { "kind": "scan", "to_c": 73.0, "rate_c_per_min": 1.0 },
            { "kind": "approach", "to_c": 118.0 }, { "kind": "soak", "minutes": 1.0 },
            { "kind": "scan", "to_c": 124.0, "rate_c_per_min": 1.0 },
        ]);
        let asked = json!({ "plan": { "kind": "legs", "legs": legs }, "bench": "North window" });
        let found = served.post("/api/programmes/plan", asked).await.expect(200);
        assert_eq!(found["programme"]["legs"], legs);
        let hot =
            json!({ "plan": { "kind": "scouting", "up_to_c": 300.0 }, "bench": "North window" });
        let refused = served.post("/api/programmes/plan", hot).await;
        let refused = refused.problem(422, "plan");
        assert!(
            refused["detail"].as_str().expect("words").contains("250"),
            "{refused}"
        );
    });
}

#[test]
fn benches_and_expected_ranges_of_the_book() {
    wait(async {
        let served = with_bench().await;
        let named = json!({ "name": "Attic", "places": 1, "max_c": 200.0 });
        served.post("/api/benches", named).await.expect(201);
        let found = served.get("/api/programmes/benches").await.expect(200);
        let [attic, north] = &found["benches"].as_array().expect("a list")[..] else {
            panic!("two benches: {found}")
        };
        assert_eq!(
            (&attic["name"], &attic["described"]),
            (&json!("Attic"), &json!(false))
        );
        assert_eq!(
            (number(&attic["max_c"]), number(&attic["places"])),
            (200.0, 1.0)
        );
        assert_eq!(number(&north["heat_rate_c_per_min"]), 10.0);
        assert_eq!(north["now_c"], Value::Null);

        let sample = served.sample("U-1").await;
        let path = format!("/api/programmes/expected/{sample}");
        let nothing = served.get_as(&served.who, &path).await.expect(200);
        assert_eq!(
            (&nothing["label"], &nothing["range"]),
            (&json!("U-1"), &Value::Null)
        );
        served.imported(&sample, true).await;
        let read = served.get_as(&served.who, &path).await.expect(200);
        assert_eq!(read["range"]["origin"], "run");
        let last = number(&read["range"]["last_crystal_c"]);
        let truth = crate::workshop::small_recording().last_crystal_c;
        assert!((last - truth).abs() < 0.5, "{last} and {truth}");
        // Students read before they see what others say.
        let student = served.person("S. Drossel", "student").await;
        let kept_back = served.get_as(&student, &path).await.expect(200);
        assert_eq!(kept_back["range"], Value::Null);
        let odd = served.get("/api/programmes/expected/none").await;
        odd.problem(404, "unknown");
    });
}
