//! Samples: added, found, said anew, taken from lists; what cannot be kept is refused in words.

use crate::workshop::{Served, text, wait};
use axum::body::Body;
use serde_json::{Value, json};

#[test]
fn markup_in_a_label_comes_back_as_the_text_it_is() {
    wait(async {
        let served = Served::new().await;
        let label = "<img src=x onerror=alert(1)> & \"U-1\" ü 水";
        let id = served.sample(label).await;
        let answer = served.get(&format!("/api/samples/{id}")).await;
        assert_eq!(answer.expect(200)["row"]["label"], label);
        assert_eq!(answer.header("content-type"), "application/json");
        assert_eq!(answer.header("x-content-type-options"), "nosniff");
        assert_eq!(answer.header("cache-control"), "no-store");
        let found = served.get("/api/samples?text=onerror").await.expect(200);
        assert_eq!(found["total"], 1);
    });
}

#[test]
fn fields_that_cannot_be_kept_are_named() {
    wait(async {
        let served = Served::new().await;
        let refused = async |body: Value, kind: &str| {
            served.post("/api/samples", body).await.problem(422, kind)
        };
        for label in [String::new(), " a".into(), "a\nb".into(), "x".repeat(201)] {
            let found = refused(json!({ "label": label }), "field").await;
            assert_eq!(found["faults"][0]["field"], "sample.label");
            assert!(found["detail"].as_str().expect("a text").len() < 400);
        }
        refused(
            json!({ "label": "a", "remarks": "x".repeat(4001) }),
            "field",
        )
        .await;
        let tall = json!({ "label": "a", "preparation": { "column_height_mm": 51.0 } });
        refused(tall, "field").await;
        refused(json!({ "label": "a", "colour": "white" }), "body").await;
        refused(json!({ "label": 1 }), "body").await;
        refused(json!({}), "body").await;
        let huge = json!({ "label": "a", "remarks": "x".repeat(300_000) });
        served
            .post("/api/samples", huge)
            .await
            .problem(413, "too-large");
        let broken = served
            .request("POST", "/api/samples")
            .header("x-person", &served.who)
            .header("content-type", "application/json")
            .body(Body::from("{\"label\":"))
            .expect("a request");
        served.send(broken).await.problem(400, "body");
        served.sample("U-1").await;
        served
            .post("/api/samples", json!({ "label": "u-1" }))
            .await
            .problem(409, "taken");
        for query in [
            "page=0",
            "per_page=0",
            "per_page=501",
            &format!("text={}", "x".repeat(201)),
        ] {
            served
                .get(&format!("/api/samples?{query}"))
                .await
                .problem(422, "field");
        }
        served
            .get("/api/samples?page=x")
            .await
            .problem(400, "query");
        served
            .get("/api/samples?order=size")
            .await
            .problem(400, "query");
        for id in [
            "x",
            "01a213b1-0583-72ec-a9c7-757e1a471c04",
            &served.who,
            "%2e%2e%2fbook",
        ] {
            served
                .get(&format!("/api/samples/{id}"))
                .await
                .problem(404, "unknown");
        }
        served.get("/api/nothing").await.problem(404, "unknown");
    });
}

#[test]
fn a_revision_takes_the_place_of_the_latest_record_only() {
    wait(async {
        let served = Served::new().await;
        let id = served.sample("U-1").await;
        let first = served.get(&format!("/api/samples/{id}")).await.expect(200);
        let path = format!("/api/samples/{id}");
        let revision = json!({
            "supersedes": first["record"],
            "sample": { "label": "U-1", "hazards": "irritant", "preparation": { "dried": true } },
            "reason": "noted from the vial",
        });
        let second = served.post(&path, revision.clone()).await.expect(200);
        assert_eq!(second["sample"]["hazards"], "irritant");
        assert_eq!(second["sample"]["preparation"]["dried"], true);
        served.post(&path, revision).await.problem(409, "stale");
    });
}

#[test]
fn a_list_is_taken_whole_or_its_faults_are_named_by_line_and_column() {
    wait(async {
        let served = Served::new().await;
        let send = async |list: String| {
            let request = served
                .request("POST", "/api/samples/import")
                .header("x-person", &served.who)
                .header("content-type", "text/csv")
                .body(Body::from(list))
                .expect("a request");
            served.send(request).await
        };
        let good = "label,expected_substance,column_height_mm\nU-1,urea,2.5\nU-2,,\n";
        let added = send(good.into()).await.expect(201);
        assert_eq!(added["samples"].as_array().expect("a list").len(), 2);
        let found = send("label,column_height_mm\nU-3,2,5\nU-4,high\nU-5,2\n".into()).await;
        let found = found.problem(422, "list");
        let lines: Vec<&Value> = found["faults"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|fault| &fault["line"])
            .collect();
        assert_eq!(lines, [2, 3]);
        assert_eq!(found["faults"][1]["field"], "column_height_mm");
        let taken = send("label\nU-6\nu-1\n".into()).await.problem(422, "list");
        assert_eq!(taken["faults"][0]["line"], 3);
        assert_eq!(served.get("/api/samples").await.expect(200)["total"], 2);
        send("x".repeat(3 << 20)).await.problem(413, "too-large");
        let many: String = (0..5001).map(|at| format!("M-{at}\n")).collect();
        send(format!("label\n{many}")).await.problem(422, "field");
    });
}

#[test]
fn pages_and_orders_are_as_asked() {
    wait(async {
        let served = Served::new().await;
        for label in ["U-10", "U-9", "T-1"] {
            served.sample(label).await;
        }
        let labels = async |query: &str| -> Vec<String> {
            let found = served
                .get(&format!("/api/samples?{query}"))
                .await
                .expect(200);
            assert_eq!(found["total"], 3);
            let rows = found["rows"].as_array().expect("rows").clone();
            rows.iter().map(|row| text(&row["label"])).collect()
        };
        assert_eq!(labels("order=label").await, ["T-1", "U-9", "U-10"]);
        assert_eq!(labels("").await, ["T-1", "U-9", "U-10"]);
        assert_eq!(labels("per_page=2&page=2").await, ["U-10"]);
        assert!(labels("per_page=2&page=4294967295").await.is_empty());
    });
}
