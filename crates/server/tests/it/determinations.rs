//! Results tried and stated. All values are invented.

use crate::bench_work::{days_ago, near};
use crate::workshop::{Served, wait};
use serde_json::{Value, json};

#[test]
fn trying_records_nothing_and_stating_keeps_the_basis() {
    wait(async {
        let served = Served::new().await;
        let bench = served.bench("Bench A").await;
        let sample = served.sample("U-1").await;
        let path = format!("/api/samples/{sample}/determinations");
        let none = served
            .post(&format!("{path}/try"), json!({}))
            .await
            .expect(200);
        assert_eq!(none["result"], Value::Null);
        assert!(
            none["refused"]
                .as_str()
                .is_some_and(|why| why.contains("no readings")),
            "{none}"
        );
        served.post(&path, json!({})).await.problem(422, "result");
        let ends = [(113.4, 114.2), (113.6, 114.4)];
        served.read_runs(Some(&bench), &sample, &ends, 1.0).await;
        let records = served.records().await;
        let order = json!({
            "agree_within_c": 0.3, "required": { "from_c": 113.0, "to_c": 115.0, "guard": 0.95 },
        });
        let tried = served
            .post(&format!("{path}/try"), order.clone())
            .await
            .expect(200);
        assert_eq!(served.records().await, records);
        assert_eq!(
            (&tried["refused"], &tried["zero_rate"]),
            (&Value::Null, &Value::Null)
        );
        assert_eq!(tried["result"]["agreed"], true);
        assert_eq!(tried["from"].as_array().map(Vec::len), Some(2));
        assert_eq!(
            (&tried["runs"][0]["name"], &tried["runs"][0]["state"]),
            (&json!("Bench A"), &json!("never_checked"))
        );
        assert!(near(&tried["runs"][0]["heating_rate_c_per_min"], 1.0));
        let stated = served.post(&path, order).await.expect(201);
        assert_eq!(stated["basis"]["result"], tried["result"]);
        assert_eq!(stated["basis"]["required"], tried["required"]);
        assert_eq!(stated["basis"]["result"]["agree_within_c"], 0.3);
        assert_eq!(stated["range_text"], tried["result"]["range_text"]);
        assert_eq!(stated["reason"], Value::Null);
        for bad in [
            json!({ "agree_within_c": 0.0 }),
            json!({ "required": { "from_c": 115.0, "to_c": 113.0 } }),
            json!({ "required": { "from_c": 113.0, "to_c": 115.0, "guard": 1.5 } }),
        ] {
            let tried = served
                .post(&format!("{path}/try"), bad.clone())
                .await
                .expect(200);
            assert!(tried["refused"].is_string(), "{tried}");
            served.post(&path, bad).await.problem(422, "result");
        }
        served
            .post(&path, json!({ "from": [] }))
            .await
            .problem(422, "field");
    });
}

#[test]
fn two_heating_rates_give_a_value_at_none() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        served
            .read_runs(None, &sample, &[(113.4, 114.2)], 1.0)
            .await;
        served
            .read_runs(None, &sample, &[(113.5, 114.4)], 2.0)
            .await;
        let path = format!("/api/samples/{sample}/determinations/try");
        let tried = served.post(&path, json!({})).await.expect(200);
        // By hand: a line through 1 and 2 °C/min meets zero at 114.2 − 0.2.
        let line = &tried["zero_rate"]["last_crystal"]["line"];
        assert!(near(&line["temperature_c"], 114.0), "{line}");
        assert_eq!(
            tried["runs"][0]["state"],
            Value::Null,
            "no bench, no thermometer"
        );
    });
}

#[test]
fn a_student_decides_before_a_result_is_shown() {
    wait(async {
        let served = Served::new().await;
        let student = served.person("M. Lindgren", "student").await;
        let sample = served.sample("U-1").await;
        let ends = [(113.4, 114.2), (113.6, 114.4)];
        served.read_runs(None, &sample, &ends, 1.0).await;
        let path = format!("/api/samples/{sample}/determinations");
        for path in [format!("{path}/try"), path] {
            served
                .post_as(&student, &path, json!({}))
                .await
                .problem(403, "role");
        }
    });
}

/// Emergent column of 80 degrees at 40 °C, mercury: 0.00016 · 80 · (113.5 − 40)/(1 − 0.0128) = 0.953 °C (NBS
/// Monograph 150, by hand). A calibration contains it: it is refused beside one, and one that comes into force
/// later takes its place.
#[test]
fn an_emergent_column_is_corrected_for_once() {
    wait(async {
        let served = Served::new().await;
        let bench = served.bench("Bench A").await;
        let sample = served.sample("U-1").await;
        let ends = [(113.4, 114.2), (113.6, 114.4)];
        served.read_runs(Some(&bench), &sample, &ends, 1.0).await;
        let path = format!("/api/samples/{sample}/determinations");
        let order = json!({ "stem": { "length_c": 80.0, "mean_c": 40.0, "liquid": "mercury" } });
        let stated = served.post(&path, order.clone()).await.expect(201);
        assert!(near(
            &stated["first_liquid"]["value_c"],
            113.5 + 0.0128 * 73.5 / 0.9872
        ));
        assert_eq!(stated["convention"], "not_stated");
        assert_eq!(stated["basis"]["stem"]["length_c"], 80.0);
        let wrong = json!({ "stem": { "length_c": -1.0, "mean_c": 40.0, "liquid": "mercury" } });
        served.post(&path, wrong).await.problem(422, "result");
        let checks = served.three_checks(&bench).await;
        let calibration = json!({ "checks": checks, "degree": 0, "in_force_from": days_ago(0) });
        let calibrated = served
            .post(
                &format!("/api/thermometers/{bench}/calibrations"),
                calibration,
            )
            .await
            .expect(201);
        let after = served.result(&sample).await;
        assert!(near(&after["first_liquid"]["value_c"], 114.0), "{after}");
        assert_eq!(after["convention"], "at_rate");
        let refused = served.post(&format!("{path}/try"), order).await.expect(200);
        let why = refused["refused"].as_str().unwrap_or_default();
        assert!(why.contains("count it twice"), "{refused}");
        // Withdrawn, the calibration leaves the column to be corrected for again.
        let withdrawal = json!({
            "supersedes": calibrated["calibration"]["record"], "reason": "the wrong bench",
        });
        let id = calibrated["calibration"]["id"].as_str().unwrap_or_default();
        served
            .post(&format!("/api/calibrations/{id}/withdraw"), withdrawal)
            .await
            .expect(200);
        let again = served.result(&sample).await;
        assert_eq!(
            again["first_liquid"]["value_c"],
            stated["first_liquid"]["value_c"]
        );
    });
}
