//! Standards, checks, states and drift. All values are invented.

use crate::bench_work::{days_ago, near};
use crate::workshop::{Served, text, wait};
use serde_json::{Value, json};

#[test]
fn a_standard_is_added_said_anew_and_retired() {
    wait(async {
        let served = Served::new().await;
        let student = served.person("M. Lindgren", "student").await;
        let found = served.get("/api/standards").await.expect(200);
        assert_eq!(found["rows"], json!([]));
        let usual = found["usual"].as_array().expect("a list");
        assert!(usual.iter().any(|one| one["name"] == "benzil"), "{usual:?}");
        let content = json!({
            "substance": "benzil", "reference_c": 95.0, "convention": { "kind": "thermodynamic" },
            "end": "last_crystal", "expires": days_ago(1),
        });
        let added = served
            .post("/api/standards", content.clone())
            .await
            .expect(201);
        assert_eq!(added["expired"], true, "yesterday was its last day");
        let path = format!("/api/standards/{}", text(&added["id"]));
        let mut retired = content.clone();
        retired["retired"] = json!(true);
        let says =
            json!({ "supersedes": added["record"], "standard": retired, "reason": "used up" });
        served
            .post_as(&student, &path, says.clone())
            .await
            .problem(403, "role");
        let now = served.post(&path, says.clone()).await.expect(200);
        assert_eq!(now["standard"]["retired"], true);
        served.post(&path, says).await.problem(409, "stale");
        let bench = served.bench("Bench A").await;
        let check = json!({ "standard": added["id"], "made_on": days_ago(0), "indicated_c": 94.0 });
        let checks = format!("/api/thermometers/{bench}/checks");
        served.post(&checks, check).await.problem(422, "field");
        for (change, kind) in [
            (json!({ "reference_c": 1e9 }), "field"),
            (json!({ "reference_c": null }), "body"),
            (json!({ "standard_uncertainty_c": 0.0 }), "field"),
            (json!({ "substance": "" }), "field"),
            (json!({ "expires": "soon" }), "field"),
            (
                json!({ "convention": { "kind": "at_rate", "rate_c_per_min": -1.0 } }),
                "field",
            ),
            (json!({ "convention": { "kind": "triple_point" } }), "body"),
            (json!({ "colour": "yellow" }), "body"),
        ] {
            let mut bad = content.clone();
            for (key, value) in change.as_object().expect("fields") {
                bad[key] = value.clone();
            }
            served.post("/api/standards", bad).await.problem(422, kind);
        }
    });
}

#[test]
fn checks_are_entered_by_students_and_kept_within_reason() {
    wait(async {
        let served = Served::new().await;
        let student = served.person("M. Lindgren", "student").await;
        let other = served.person("S. Ito", "student").await;
        let bench = served.bench("Bench A").await;
        let benzil = served
            .standard("benzil", 95.0, json!({ "kind": "not_stated" }))
            .await;
        let path = format!("/api/thermometers/{bench}/checks");
        let check = |change: Value| {
            let mut check =
                json!({ "standard": benzil, "made_on": days_ago(0), "indicated_c": 94.5 });
            for (key, value) in change.as_object().expect("fields") {
                check[key] = value.clone();
            }
            check
        };
        let found = served
            .post_as(&student, &path, check(json!({})))
            .await
            .expect(201);
        let one = &found["checks"][0];
        assert_eq!(
            (&one["who"], &one["thermometer"]),
            (&json!(student), &json!("Pt 100"))
        );
        assert!(near(&one["off_c"], -0.5), "{one}");
        let reading = json!({ "reading": "01a213b1-0583-72ec-a9c7-757e1a471c04", "place": 1 });
        for (change, kind) in [
            (json!({ "indicated_c": 300.1 }), "field"),
            (json!({ "made_on": days_ago(-1) }), "field"),
            (json!({ "made_on": "30 Feb" }), "field"),
            (json!({ "standard": bench }), "field"),
            (json!({ "heating_rate_c_per_min": 0.0 }), "field"),
            (json!({ "from": reading }), "field"),
            (json!({ "void": true }), "body"),
        ] {
            served.post(&path, check(change)).await.problem(422, kind);
        }
        // Above what the bench may become, in words.
        let hot = served
            .post(&path, check(json!({ "indicated_c": 301.0 })))
            .await;
        let words = text(&hot.problem(422, "field")["detail"]);
        assert!(
            words.contains("above the 300 °C that Bench A may become"),
            "{words}"
        );
        let path = format!("/api/checks/{}", text(&one["id"]));
        let says = |what: Value| {
            let mut says = json!({ "supersedes": one["record"], "reason": "the wrong vial" });
            for (key, value) in what.as_object().expect("fields") {
                says[key] = value.clone();
            }
            says
        };
        served
            .post(&path, says(json!({})))
            .await
            .problem(422, "field");
        let both = json!({ "void": true, "check": check(json!({})) });
        served.post(&path, says(both)).await.problem(422, "field");
        let void = says(json!({ "void": true }));
        served
            .post_as(&other, &path, void.clone())
            .await
            .problem(403, "role");
        let silent = says(json!({ "void": true, "reason": "" }));
        served
            .post_as(&student, &path, silent)
            .await
            .problem(422, "reason-missing");
        let now = served.post_as(&student, &path, void).await.expect(200);
        assert_eq!(
            (&now["checks"][0]["void"], &now["row"]["state"]),
            (&json!(true), &json!("never_checked"))
        );
        assert_eq!(now["checks"][0]["reason"], "the wrong vial");
        // Said anew, and it counts again.
        let again = json!({
            "supersedes": now["checks"][0]["record"], "reason": "it was the right one", "void": false,
        });
        let now = served.post(&path, again).await.expect(200);
        assert_eq!(now["row"]["state"], "in_order");
        let anew = json!({
            "supersedes": now["checks"][0]["record"], "reason": "read again",
            "check": check(json!({ "indicated_c": 94.6 })),
        });
        let now = served.post(&path, anew).await.expect(200);
        assert!(near(&now["checks"][0]["off_c"], -0.4), "{now}");
    });
}

#[test]
fn a_thermometer_grows_due_and_another_one_begins_anew() {
    wait(async {
        let served = Served::new().await;
        let bench = served.bench("Bench A").await;
        let benzil = served
            .standard("benzil", 95.0, json!({ "kind": "not_stated" }))
            .await;
        served.check(&bench, &benzil, &days_ago(50), 94.5).await;
        let path = format!("/api/thermometers/{bench}");
        let found = served.get(&path).await.expect(200);
        assert_eq!(
            found["row"]["state"], "in_order",
            "within the usual 90 days"
        );
        assert_eq!(
            (&found["chart"], &found["chart_days"]),
            (&Value::Null, &json!([]))
        );
        let settings = async |record: &Value, days: u32, thermometer: &str| {
            let says = json!({
                "supersedes": record, "thermometer": thermometer, "check_every_days": days,
                "max_c": 300.0,
            });
            served.post(&path, says).await.expect(200)
        };
        let found = settings(&found["bench_record"], 30, "Pt 100").await;
        assert_eq!(
            (&found["row"]["state"], &found["row"]["due_on"]),
            (&json!("due"), &json!(days_ago(20)))
        );
        let found = settings(&found["bench_record"], 25, "Pt 100").await;
        assert_eq!(found["row"]["state"], "overdue");
        assert!(
            found["row"]["reasons"]
                .to_string()
                .contains("last checked 50 days ago")
        );
        let today = served.get("/api/today").await.expect(200);
        assert_eq!(today["thermometers"]["overdue"][0]["name"], "Bench A");
        let swapped = settings(&found["bench_record"], 25, "glass").await;
        assert_eq!(swapped["row"]["state"], "never_checked");
        // Never checked and never used is nobody's concern; used is.
        let today = served.get("/api/today").await.expect(200);
        assert_eq!(today["thermometers"]["never_checked"], json!([]));
        let sample = served.sample("U-1").await;
        served
            .read_runs(Some(&bench), &sample, &[(113.4, 114.2)], 1.0)
            .await;
        let today = served.get("/api/today").await.expect(200);
        assert_eq!(
            today["thermometers"]["never_checked"][0]["bench"],
            json!(bench)
        );
        let student = served.person("M. Lindgren", "student").await;
        let says = json!({ "supersedes": swapped["bench_record"], "thermometer": "mine" });
        served
            .post_as(&student, &path, says)
            .await
            .problem(403, "role");
        let bad = json!({ "supersedes": swapped["bench_record"], "max_c": -3.0 });
        served.post(&path, bad).await.problem(422, "field");
    });
}

#[test]
fn a_jump_is_out_of_control_and_the_chart_says_of_what_its_points_are() {
    wait(async {
        let served = Served::new().await;
        let bench = served.bench("Bench A").await;
        let benzil = served
            .standard("benzil", 95.0, json!({ "kind": "not_stated" }))
            .await;
        let shown_c = [94.5, 94.6, 94.5, 94.4, 94.5, 94.6, 94.5, 94.4];
        for (at, shown_c) in (0..).zip(shown_c) {
            served
                .check(&bench, &benzil, &days_ago(80 - 10 * at), shown_c)
                .await;
        }
        let path = format!("/api/thermometers/{bench}");
        let found = served.get(&path).await.expect(200);
        assert_eq!(found["row"]["state"], "in_order", "{}", found["row"]);
        assert!(
            near(&found["chart"]["centre_c"], -3.4 / 7.0),
            "as logged: about the mean of all but the latest"
        );
        served.check(&bench, &benzil, &days_ago(0), 96.0).await;
        let found = served.get(&path).await.expect(200);
        assert_eq!(found["row"]["state"], "out_of_control");
        let points = found["chart"]["points"].as_array().expect("a list");
        let days = found["chart_days"].as_array().expect("a list");
        assert_eq!((points.len(), days.len()), (9, 9));
        assert_eq!(days[8]["made_on"], days_ago(0));
        assert!(near(&points[8]["value_c"], 1.0), "{points:?}");
        let today = served.get("/api/today").await.expect(200);
        assert_eq!(
            today["thermometers"]["out_of_control"][0]["bench"],
            json!(bench)
        );
        // A calibration on that day: about zero, and its own points say so.
        let newest = &found["checks"][0]["id"];
        let order = json!({ "checks": [newest], "in_force_from": days_ago(0) });
        let calibrate = format!("{path}/calibrations");
        served.post(&calibrate, order).await.expect(201);
        served.check(&bench, &benzil, &days_ago(0), 96.1).await;
        let found = served.get(&path).await.expect(200);
        assert_eq!(found["chart"]["centre_c"], 0.0);
        let days = found["chart_days"].as_array().expect("a list");
        let own: Vec<&Value> = days.iter().map(|day| &day["own"]).collect();
        assert_eq!(own, [true, false]);
        assert_eq!(found["row"]["in_force"]["degree"], 0);
    });
}

/// Made while one calibration was in force and made after another are two series: the step between them is
/// the calibration's, and no alarm.
#[test]
fn a_recalibrated_thermometer_begins_another_chart() {
    wait(async {
        let served = Served::new().await;
        let bench = served.bench("Bench A").await;
        let benzil = served
            .standard("benzil", 95.0, json!({ "kind": "not_stated" }))
            .await;
        let path = format!("/api/thermometers/{bench}");
        let calibrate = format!("{path}/calibrations");
        let first = served.check(&bench, &benzil, &days_ago(90), 94.5).await;
        let order = json!({ "checks": [first], "in_force_from": days_ago(90) });
        served.post(&calibrate, order).await.expect(201);
        for at in 0..5 {
            served
                .check(&bench, &benzil, &days_ago(80 - 10 * at), 94.0)
                .await;
        }
        let fresh = served.check(&bench, &benzil, &days_ago(0), 94.0).await;
        let found = served.get(&path).await.expect(200);
        assert_eq!(found["row"]["state"], "out_of_control", "drifted by 0.5 °C");
        let order = json!({ "checks": [fresh], "in_force_from": days_ago(0) });
        served.post(&calibrate, order).await.expect(201);
        for _ in 0..2 {
            served.check(&bench, &benzil, &days_ago(0), 94.0).await;
        }
        let found = served.get(&path).await.expect(200);
        assert_eq!(found["row"]["state"], "in_order", "{}", found["row"]);
        assert_eq!(found["chart"]["points"].as_array().map(Vec::len), Some(3));
    });
}

#[test]
fn a_value_that_checks_were_compared_with_stays() {
    wait(async {
        let served = Served::new().await;
        let bench = served.bench("Bench A").await;
        let benzil = served
            .standard("benzil", 95.0, json!({ "kind": "not_stated" }))
            .await;
        served.check(&bench, &benzil, &days_ago(1), 94.5).await;
        let found = served.get("/api/standards").await.expect(200);
        let row = &found["rows"][0];
        let mut standard = row["standard"].clone();
        standard["reference_c"] = json!(95.4);
        let revision = json!({
            "supersedes": row["record"], "reason": "new lot", "standard": standard,
        });
        served
            .post(&format!("/api/standards/{benzil}"), revision)
            .await
            .problem(422, "field");
    });
}

/// Mistyped before the bench had a highest temperature: it can be declared void all the same.
#[test]
fn a_check_above_the_benchs_highest_temperature_can_be_voided() {
    wait(async {
        let served = Served::new().await;
        let bench = served.bench("Bench A").await;
        let benzil = served
            .standard("benzil", 95.0, json!({ "kind": "not_stated" }))
            .await;
        let id = served.check(&bench, &benzil, &days_ago(1), 294.5).await;
        let path = format!("/api/thermometers/{bench}");
        let found = served.get(&path).await.expect(200);
        let lower = json!({
            "supersedes": found["bench_record"], "thermometer": "Pt 100", "max_c": 200.0,
        });
        let found = served.post(&path, lower).await.expect(200);
        let voided = json!({
            "supersedes": found["checks"][0]["record"], "reason": "94.5 was meant", "void": true,
        });
        let found = served
            .post(&format!("/api/checks/{id}"), voided)
            .await
            .expect(200);
        assert_eq!(found["checks"][0]["void"], true);
    });
}
