//! Tables of results from before the book: looked through, then taken in. Names and ranges are invented.

use crate::workshop::{Served, wait};
use axum::body::Body;
use serde_json::{Value, json};

const TABLE: &str = "Probe;Schmp. (°C);Datum;gemessen von;Regal\n\
    U-1;113,5-114,5;12.03.2019;E. Zeisig;3\n\
    U-9;> 300 Zers.;;;\n\
    U-9;klar;;;\n";

impl Served {
    async fn table(&self, path: &str, who: Option<&str>, text: &str) -> crate::workshop::Answer {
        let mut request = self
            .request("POST", path)
            .header("content-type", "text/csv");
        if let Some(who) = who {
            request = request.header("x-person", who);
        }
        let request = request
            .body(Body::from(text.to_owned()))
            .expect("a request");
        self.send(request).await
    }
}

#[test]
fn a_table_is_looked_through_then_taken_in_once() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        let records = served.records().await;
        let path = "/api/past-results/preview?name=alt.csv";
        let seen = served.table(path, None, TABLE).await.expect(200);
        assert_eq!(
            served.records().await,
            records,
            "nothing is recorded by looking"
        );
        let taken_for: Vec<&Value> = seen["columns"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|column| &column["taken_for"])
            .collect();
        assert_eq!(
            json!(taken_for),
            json!(["label", "range", "day", "by", null])
        );
        assert_eq!(
            (&seen["separator"], &seen["new_samples"]),
            (&json!(";"), &json!(1))
        );
        assert_eq!(seen["rows"][0]["sample"], json!(sample));
        assert_eq!(seen["rows"][0]["from_c"], json!(113.5));
        assert_eq!(seen["rows"][0]["measured_on"], json!("2019-03-12"));
        let above = &seen["rows"][1];
        assert_eq!(
            (&above["above"], &above["to_c"], &above["decomposed"]),
            (&json!(true), &Value::Null, &json!(true))
        );
        let fault = &seen["faults"][0];
        assert_eq!(
            (&fault["line"], &fault["found"], &fault["left_out"]),
            (&json!(4), &json!("klar"), &json!(true))
        );
        let path = "/api/past-results?name=alt.csv";
        served
            .table(path, None, TABLE)
            .await
            .problem(400, "person-missing");
        let who = served.who.clone();
        let taken = served.table(path, Some(&who), TABLE).await.expect(201);
        assert_eq!(
            taken,
            json!({ "past_results": 2, "samples_added": 1, "there_already": 0, "left_out": 1 })
        );
        // A second time nothing is doubled.
        let again = served.table(path, Some(&who), TABLE).await.expect(201);
        assert_eq!(
            again,
            json!({ "past_results": 0, "samples_added": 0, "there_already": 2, "left_out": 1 })
        );
        let path = format!("/api/samples/{sample}");
        let found = served.get(&path).await.expect(200);
        let past = &found["past_results"][0];
        assert_eq!(
            (&past["as_written"], &past["line"]),
            (&json!("113,5-114,5"), &json!(2))
        );
        assert_eq!(
            found["determinations"],
            json!([]),
            "it is no result of this book"
        );
        let path = format!(
            "/api/past-results/{}/void",
            past["id"].as_str().expect("an id")
        );
        let void = json!({ "supersedes": past["record"], "reason": "of another lot" });
        let void = served.post(&path, void).await.expect(200);
        assert_eq!(void["void_because"], "of another lot");
    });
}

#[test]
fn what_is_no_table_is_said() {
    wait(async {
        let served = Served::new().await;
        let path = "/api/past-results/preview?name=alt.csv";
        for text in ["", "colour\nred\n", "\u{0}\u{1}"] {
            let told = served.table(path, None, text).await.problem(422, "list");
            assert!(told["detail"].to_string().contains("alt.csv"), "{told}");
        }
        let long = format!("sample;mp\n{}", "U;100\n".repeat(6000));
        served.table(path, None, &long).await.problem(422, "field");
    });
}
