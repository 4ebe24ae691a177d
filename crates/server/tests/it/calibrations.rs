//! Calibrating: what is refused, and what it makes of results. All values are invented.

use crate::bench_work::{days_ago, near};
use crate::workshop::{Served, text, wait};
use meltrange_labbook::Place;
use serde_json::{Value, json};

#[test]
fn calibrating_and_withdrawing_change_results_as_revisions_and_the_book_verifies() {
    wait(async {
        let served = Served::new().await;
        let (bench, other) = (served.bench("Bench A").await, served.bench("Bench B").await);
        let sample = served.stated(&bench, "U-1").await;
        let elsewhere = served.stated(&other, "U-2").await;
        let before = served.result(&sample).await;
        assert_eq!(before["convention"], "as_logged");
        assert!(near(&before["last_crystal"]["value_c"], 114.3), "{before}");
        assert_eq!(
            before["basis"]["corrections"][0]["calibration"],
            Value::Null
        );
        let untouched = served.result(&elsewhere).await;
        let checks = served.three_checks(&bench).await;
        let order = json!({
            "checks": checks, "left_out": [], "degree": 0, "in_force_from": days_ago(0),
        });
        // Trying records nothing.
        let records = served.records().await;
        let path = format!("/api/thermometers/{bench}/calibrations");
        let tried = served
            .post(&format!("{path}/try"), order.clone())
            .await
            .expect(200);
        assert_eq!(served.records().await, records);
        assert_eq!(tried["changes"]["results"], 1);
        assert!(near(&tried["curve"]["coefficients"][0], 0.5), "{tried}");
        for column in ["indicated_c", "correction_c", "low_c", "high_c"] {
            assert_eq!(tried["plot"][column].as_array().map(Vec::len), Some(41));
        }
        // Recording is the calibration and one revision.
        let done = served.post(&path, order).await.expect(201);
        assert_eq!(served.records().await, records + 2);
        assert_eq!(done["calibration"]["in_force"], true);
        assert_eq!(
            (&done["changes"]["results"], &done["changes"]["changed"]),
            (&json!(1), &json!(1))
        );
        let row = &done["changes"]["rows"][0];
        assert_eq!(
            (&row["label"], &row["before"]),
            (&json!("U-1"), &before["range_text"])
        );
        assert!(near(&row["last_crystal_by_c"], 0.5), "{row}");
        let after = served.result(&sample).await;
        assert_eq!(
            (&after["id"], &after["convention"]),
            (&before["id"], &json!("at_rate"))
        );
        assert_ne!(after["record"], before["record"]);
        assert_eq!(
            after["reason"],
            format!("calibration of Bench A in force from {}", days_ago(0))
        );
        assert!(near(&after["last_crystal"]["value_c"], 114.8), "{after}");
        let correction = &after["basis"]["corrections"][0];
        assert_eq!(correction["calibration"], done["calibration"]["id"]);
        assert_eq!(
            correction["record"], done["calibration"]["record"],
            "the very record"
        );
        assert_eq!(after["thermometers"][0]["name"], "Bench A");
        assert_eq!(after["other_correction_in_force"], false);
        assert_eq!(served.result(&elsewhere).await, untouched);
        // Results from now on are corrected at once.
        let second = served.stated(&bench, "U-3").await;
        assert!(near(
            &served.result(&second).await["last_crystal"]["value_c"],
            114.8
        ));
        // Withdrawn with a reason: as logged again.
        let id = text(&done["calibration"]["id"]);
        let withdraw = format!("/api/calibrations/{id}/withdraw");
        let order = json!({
            "supersedes": done["calibration"]["record"], "reason": "the lot was mixed up",
        });
        let back = served.post(&withdraw, order.clone()).await.expect(200);
        assert_eq!(back["calibration"]["withdrawn"], true);
        assert_eq!(back["changes"]["results"], 2);
        let last = served.result(&sample).await;
        assert_eq!(last["convention"], "as_logged");
        assert_eq!(last["reason"], "withdrawn: the lot was mixed up");
        assert_eq!(last["range_text"], before["range_text"]);
        let reasons = last["thermometers"][0]["reasons"].to_string();
        assert!(
            reasons.contains("was withdrawn: the lot was mixed up"),
            "{reasons}"
        );
        served.post(&withdraw, order).await.problem(422, "field");
        // The runs here have no pictures; everything else of the book is looked at.
        let found = served.verdict().await;
        let of_files = |finding: &meltrange_labbook::Finding| {
            matches!(finding.place, Place::Recording { .. })
                && finding.what.starts_with("is missing")
        };
        assert!(
            found.records > 20 && found.findings.iter().all(of_files),
            "{:?}",
            found.findings
        );
    });
}

#[test]
fn what_makes_no_calibration_is_refused_and_nothing_is_stored() {
    wait(async {
        let served = Served::new().await;
        let (bench, other) = (served.bench("Bench A").await, served.bench("Bench B").await);
        let today = days_ago(0);
        let thermodynamic = json!({ "kind": "thermodynamic" });
        let at_rate = json!({ "kind": "at_rate", "rate_c_per_min": 1.0 });
        let benzil = served.standard("benzil", 95.0, thermodynamic).await;
        let urea = served.standard("urea", 133.0, at_rate).await;
        let first = served.check(&bench, &benzil, &today, 94.5).await;
        let second = served.check(&bench, &urea, &today, 132.5).await;
        let elsewhere = served.check(&other, &benzil, &today, 94.5).await;
        let void = served.check(&bench, &benzil, &today, 60.0).await;
        let found = served
            .get(&format!("/api/thermometers/{bench}"))
            .await
            .expect(200);
        let rows = found["checks"].as_array().expect("a list");
        let row = rows
            .iter()
            .find(|row| row["id"] == json!(void))
            .expect("it is listed");
        let says = json!({ "supersedes": row["record"], "reason": "slip", "void": true });
        served
            .post(&format!("/api/checks/{void}"), says)
            .await
            .expect(200);
        let records = served.records().await;
        let path = format!("/api/thermometers/{bench}/calibrations");
        let refused = async |change: Value, kind: &str| {
            let mut order = json!({ "checks": [first], "in_force_from": today });
            for (key, value) in change.as_object().expect("fields") {
                order[key] = value.clone();
            }
            let tried = served.post(&format!("{path}/try"), order.clone()).await;
            tried.problem(422, kind);
            served.post(&path, order).await.problem(422, kind)
        };
        let mixed = refused(json!({ "checks": [first, second] }), "calibration").await;
        let words = text(&mixed["detail"]);
        assert!(
            words.contains("one fit takes standards of one convention only"),
            "{words}"
        );
        refused(json!({ "degree": 2 }), "calibration").await;
        for change in [
            json!({ "checks": [] }),
            json!({ "checks": [elsewhere] }),
            json!({ "checks": [void] }),
            json!({ "checks": [first, first] }),
            json!({ "left_out": [first] }),
            json!({ "in_force_from": "yesterday" }),
        ] {
            refused(change, "field").await;
        }
        refused(json!({ "degree": -1 }), "body").await;
        // Another thermometer makes another series.
        let record = &served
            .get(&format!("/api/thermometers/{bench}"))
            .await
            .expect(200)["bench_record"];
        let swap = json!({ "supersedes": record, "thermometer": "glass, partial immersion" });
        served
            .post(&format!("/api/thermometers/{bench}"), swap)
            .await
            .expect(200);
        let third = served.check(&bench, &benzil, &today, 94.0).await;
        let both = refused(json!({ "checks": [first, third] }), "field").await;
        assert!(
            text(&both["detail"]).contains("of two thermometers"),
            "{both}"
        );
        let missing = "01a213b1-0583-72ec-a9c7-757e1a471c04";
        let order = json!({ "checks": [first], "in_force_from": today });
        let nowhere = format!("/api/thermometers/{missing}/calibrations");
        served
            .post(&nowhere, order.clone())
            .await
            .problem(404, "unknown");
        assert_eq!(
            served.records().await,
            records + 2,
            "the swap and one more check"
        );
    });
}

#[test]
fn only_analysts_and_supervisors_calibrate_and_withdraw() {
    wait(async {
        let served = Served::new().await;
        let bench = served.bench("Bench A").await;
        let student = served.person("M. Lindgren", "student").await;
        let analyst = served.person("J. Okonkwo", "analyst").await;
        let viewer = served.person("P. Adeyemi", "viewer").await;
        let checks = served.three_checks(&bench).await;
        let path = format!("/api/thermometers/{bench}/calibrations");
        let order = json!({ "checks": checks, "in_force_from": days_ago(0) });
        for path in [path.clone(), format!("{path}/try")] {
            served
                .post_as(&student, &path, order.clone())
                .await
                .problem(403, "role");
            served
                .post_as(&viewer, &path, order.clone())
                .await
                .problem(403, "viewer");
        }
        let done = served.post_as(&analyst, &path, order).await.expect(201);
        let id = text(&done["calibration"]["id"]);
        let says = json!({ "supersedes": done["calibration"]["record"], "reason": "why not" });
        let path = format!("/api/calibrations/{id}/withdraw");
        served
            .post_as(&student, &path, says.clone())
            .await
            .problem(403, "role");
        let silent = json!({ "supersedes": done["calibration"]["record"], "reason": " " });
        served
            .post(&path, silent)
            .await
            .problem(422, "reason-missing");
        served.post_as(&analyst, &path, says).await.expect(200);
    });
}

#[test]
fn a_result_that_would_mix_conventions_stays_and_is_named() {
    wait(async {
        let served = Served::new().await;
        let (bench, other) = (served.bench("Bench A").await, served.bench("Bench B").await);
        let sample = served.sample("U-1").await;
        served
            .read_runs(Some(&bench), &sample, &[(113.4, 114.2)], 1.0)
            .await;
        served
            .read_runs(Some(&other), &sample, &[(113.6, 114.4)], 1.0)
            .await;
        let path = format!("/api/samples/{sample}/determinations");
        let before = served.post(&path, json!({})).await.expect(201);
        assert_eq!(before["thermometers"].as_array().map(Vec::len), Some(2));
        let checks = served.three_checks(&bench).await;
        let order = json!({ "checks": checks, "in_force_from": days_ago(0) });
        let path = format!("/api/thermometers/{bench}/calibrations");
        let done = served.post(&path, order).await.expect(201);
        assert_eq!(done["changes"]["results"], 0);
        let left = &done["changes"]["left"][0];
        assert_eq!(
            (&left["label"], &left["determination"]),
            (&json!("U-1"), &before["id"])
        );
        let why = text(&left["why"]);
        assert!(
            why.contains("one result takes runs of one convention only"),
            "{why}"
        );
        let after = served.result(&sample).await;
        assert_eq!(after["record"], before["record"]);
        assert_eq!(after["other_correction_in_force"], true);
        let found = served
            .get(&format!("/api/samples/{sample}"))
            .await
            .expect(200);
        let refused = text(&found["agreement"]["refused"]);
        assert!(refused.contains("one convention only"), "{refused}");
    });
}
