//! Readings: by the engine, by people, blind; decisions; agreement and results.

use crate::workshop::{Served, small_recording, text, wait};
use serde_json::{Value, json};

#[test]
fn the_engine_reads_and_a_person_confirms_or_sets() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        let recording = served.imported(&sample, true).await;
        let detail = served
            .get(&format!("/api/recordings/{recording}"))
            .await
            .expect(200);
        let listed = &detail["readings"][0];
        assert_eq!(listed["reader"]["by"], "engine");
        assert_eq!(listed["tubes"][0]["sample"], sample.as_str());
        let id = text(&listed["id"]);
        let reading = served.get(&format!("/api/readings/{id}")).await.expect(200);
        let last = &reading["tubes"][0]["read"]["last_crystal"];
        let last_c = last["temperature_c"].as_f64().expect("it melted");
        // Loosely: how well the engine reads is graded in tests/scenes, here it must be its reading.
        let truth_c = small_recording().last_crystal_c;
        assert!(
            (last_c - truth_c).abs() < 0.5,
            "{last_c}, simulated {truth_c}"
        );
        let curve = &reading["curves"][0];
        let points = curve["time_s"].as_array().expect("a column").len();
        assert!(points > 50);
        assert_eq!(
            curve["liquid_fraction"].as_array().expect("a column").len(),
            points
        );

        let path = format!("/api/readings/{id}/decisions");
        let same = json!({
            "says": "set", "place": 1,
            "first_liquid": { "at": "time", "time_s": reading["tubes"][0]["read"]["first_liquid"]["time_s"] },
            "last_crystal": { "at": "time", "time_s": last["time_s"] },
        });
        let confirmed = served.post(&path, same).await.expect(201);
        assert_eq!(confirmed["tubes"][0]["decision"]["instead"], Value::Null);
        let other = json!({
            "says": "set", "place": 1,
            "first_liquid": { "at": "frame", "frame": 40 }, "last_crystal": { "at": "not_seen" },
        });
        served
            .post(&path, other.clone())
            .await
            .problem(422, "reason-missing");
        let mut because = other;
        because["reason"] = json!("a crystal stayed at the glass");
        let set = served.post(&path, because).await.expect(201);
        let decision = &set["tubes"][0]["decision"];
        assert_eq!(decision["reason"], "a crystal stayed at the glass");
        assert_eq!(decision["instead"]["outcome"], "partly_melted");
        assert_eq!(set["tubes"][0]["holds"]["last_crystal"], Value::Null);
        let frames = served
            .get(&format!("/api/recordings/{recording}/frames"))
            .await
            .expect(200);
        assert_eq!(
            decision["instead"]["first_liquid"]["time_s"],
            frames["time_s"][40]
        );
        served
            .post(&path, json!({ "says": "confirm", "place": 3 }))
            .await
            .problem(422, "field");
        let beyond = json!({ "says": "set", "place": 1, "reason": "x",
            "first_liquid": { "at": "frame", "frame": 99999 }, "last_crystal": { "at": "not_seen" } });
        served.post(&path, beyond).await.problem(422, "field");
        let backwards = json!({ "says": "set", "place": 1, "reason": "x",
            "first_liquid": { "at": "frame", "frame": 60 }, "last_crystal": { "at": "frame", "frame": 50 } });
        served.post(&path, backwards).await.problem(422, "field");
    });
}

#[test]
fn a_student_sees_no_opinion_before_having_decided() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        let recording = served.imported(&sample, true).await;
        let [one, two] = [
            served.person("C. First", "student").await,
            served.person("D. Second", "student").await,
        ];
        let path = format!("/api/recordings/{recording}");
        let open = served.get_as(&served.who, &path).await.expect(200);
        assert_eq!(open["blind"], false);
        let id = text(&open["readings"][0]["id"]);

        let hidden = async |who: &str| {
            let detail = served.get_as(who, &path).await.expect(200);
            assert_eq!(detail["blind"], true);
            let reading = served
                .get_as(who, &format!("/api/readings/{id}"))
                .await
                .expect(200);
            let of_sample = served
                .get_as(who, &format!("/api/samples/{sample}"))
                .await
                .expect(200);
            (detail, reading, of_sample)
        };
        let (detail, reading, of_sample) = hidden(&one).await;
        for reading in [&detail["readings"][0], &reading] {
            assert_eq!(reading["hidden"], true);
            assert_eq!(reading["tubes"][0]["read"], Value::Null);
            assert_eq!(reading["tubes"][0]["holds"], Value::Null);
            assert_eq!(reading["tubes"][0]["remarks"], json!([]));
            assert_eq!(reading["curves"], json!([]));
            assert_eq!(reading["quality"], json!([]));
            assert!(
                !reading["tubes"][0]["frame_px"].is_null(),
                "the tube may be framed"
            );
        }
        assert_eq!(of_sample["agreement"], Value::Null);
        assert_eq!(of_sample["tubes"][0]["tube"]["read"], Value::Null);

        let seen = json!({ "tubes": [{ "place": 1,
            "first_liquid": { "at": "frame", "frame": 60 }, "last_crystal": { "at": "frame", "frame": 80 } }] });
        let own_path = format!("{path}/readings");
        let own = served
            .post_as(&one, &own_path, seen.clone())
            .await
            .expect(201);
        assert_eq!(own["reader"]["blind"], true);
        assert_eq!(own["tubes"][0]["read"]["outcome"], "melted");
        assert!(
            own["tubes"][0]["read"]["first_liquid"]["standard_uncertainty_c"].as_f64() > Some(0.0)
        );
        let (detail, reading, _) = hidden_after(&served, &one, &path, &id).await;
        assert!(
            detail["readings"]
                .as_array()
                .expect("two")
                .iter()
                .all(|one| one["hidden"] == false)
        );
        assert!(!reading["curves"].as_array().expect("curves").is_empty());

        // Neither the engine's nor the first student's.
        let (detail, ..) = hidden(&two).await;
        let readings = detail["readings"].as_array().expect("two");
        assert_eq!(readings.len(), 2);
        assert!(readings.iter().all(|one| one["hidden"] == true));
        // Whoever looks first does not read blind, and the record says so.
        served
            .get_as(&two, &format!("{path}?blind=false"))
            .await
            .expect(200);
        let own = served.post_as(&two, &own_path, seen).await.expect(201);
        assert_eq!(own["reader"]["blind"], false);
        // Anybody may look blind.
        let detail = served
            .get_as(&served.who, &format!("{path}?blind=true"))
            .await
            .expect(200);
        assert_eq!(detail["readings"][0]["hidden"], true);
    });
}

async fn hidden_after(served: &Served, who: &str, path: &str, id: &str) -> (Value, Value, ()) {
    (
        served.get_as(who, path).await.expect(200),
        served
            .get_as(who, &format!("/api/readings/{id}"))
            .await
            .expect(200),
        (),
    )
}

#[test]
fn a_result_is_stated_from_runs_and_says_whether_they_agree() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        let mut tubes = Vec::new();
        for (first, last) in [(60, 80), (61, 82), (20, 81)] {
            let recording = served.imported(&sample, false).await;
            let seen = json!({ "tubes": [{ "place": 1,
                "first_liquid": { "at": "frame", "frame": first }, "last_crystal": { "at": "frame", "frame": last } }] });
            let path = format!("/api/recordings/{recording}/readings");
            let reading = served.post(&path, seen).await.expect(201);
            tubes.push(json!({ "reading": reading["id"], "place": 1 }));
        }
        // 40 s at 2 °C/min are 1.3 °C apart: the third run is an outlier at the first liquid.
        let found = served
            .get(&format!("/api/samples/{sample}"))
            .await
            .expect(200);
        let agreement = &found["agreement"];
        assert_eq!(agreement["agreed"], true, "{agreement}");
        let agrees: Vec<&Value> = agreement["runs"]
            .as_array()
            .expect("runs")
            .iter()
            .map(|run| &run["agrees"])
            .collect();
        assert_eq!(agrees, [true, true, false]);
        assert_eq!(agreement["from"], json!(tubes[..2]));
        let path = format!("/api/samples/{sample}/determinations");
        let all = served
            .post(&path, json!({ "from": tubes }))
            .await
            .expect(201);
        // Of three the two that agree are used; the third is named and stays in sight.
        assert_eq!(
            (&all["agreed"], &all["further_runs_needed"]),
            (&json!(true), &json!(0))
        );
        let used: Vec<&Value> = all["basis"]["result"]["runs"]
            .as_array()
            .expect("runs")
            .iter()
            .map(|run| &run["used"])
            .collect();
        assert_eq!(used, [true, true, false]);
        assert_eq!(all["from"], json!(tubes));
        let apart = served
            .post(&path, json!({ "from": [tubes[0], tubes[2]] }))
            .await
            .expect(201);
        assert_eq!(apart["agreed"], false);
        assert!(apart["further_runs_needed"].as_u64() > Some(0), "{apart}");
        let two = served
            .post(&path, json!({ "from": agreement["from"] }))
            .await
            .expect(201);
        assert_eq!(two["agreed"], true);
        assert_eq!(two["convention"], "as_logged");
        assert_eq!(two["range_text"], agreement["range_text"]);
        assert!(two["first_liquid"]["expanded_uncertainty_c"].as_f64() > Some(0.0));
        let row = &served.get("/api/samples").await.expect(200)["rows"][0];
        assert_eq!(
            (&row["standing"], &row["range_text"]),
            (&json!("agreed"), &two["range_text"])
        );
        let student = served.person("C. First", "student").await;
        let row = &served.get_as(&student, "/api/samples").await.expect(200)["rows"][0];
        assert_eq!(row["range_text"], Value::Null);
        let stranger = json!({ "from": [{ "reading": sample, "place": 1 }] });
        served.post(&path, stranger).await.problem(422, "field");
        served
            .post(&path, json!({ "from": [] }))
            .await
            .problem(422, "field");
    });
}
