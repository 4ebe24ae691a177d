//! Live changes: told as they happen, and what was missed after a break.

use crate::workshop::{Served, wait};
use axum::body::Body;
use futures_util::StreamExt as _;
use serde_json::Value;
use std::time::Duration;
use tower::ServiceExt as _;

/// One event: name, id and data.
#[derive(Debug, PartialEq)]
struct Told {
    name: String,
    id: Option<u64>,
    data: Value,
}

struct Listening {
    body: axum::body::BodyDataStream,
    text: String,
}

impl Listening {
    async fn to(served: &Served, last: Option<&str>) -> Self {
        let mut request = served.request("GET", "/api/events");
        if let Some(last) = last {
            request = request.header("last-event-id", last);
        }
        let request = request.body(Body::empty()).expect("a request");
        let answer = served
            .app
            .clone()
            .oneshot(request)
            .await
            .expect("infallible");
        assert_eq!(answer.status(), 200);
        assert_eq!(answer.headers()["content-type"], "text/event-stream");
        assert!(!answer.headers().contains_key("content-encoding"));
        Self {
            body: answer.into_body().into_data_stream(),
            text: String::new(),
        }
    }

    async fn next(&mut self) -> Option<Told> {
        loop {
            if let Some((event, rest)) = self.text.split_once("\n\n") {
                let (event, rest) = (event.to_owned(), rest.to_owned());
                self.text = rest;
                let field = |name: &str| {
                    event
                        .lines()
                        .find_map(|line| Some(line.strip_prefix(name)?.trim().to_owned()))
                };
                let Some(name) = field("event:") else {
                    continue;
                };
                return Some(Told {
                    name,
                    id: field("id:").map(|id| id.parse().expect("a number")),
                    data: serde_json::from_str(&field("data:").expect("data")).expect("JSON"),
                });
            }
            let piece = tokio::time::timeout(Duration::from_secs(20), self.body.next())
                .await
                .expect("something is told within 20 s")?
                .expect("a body");
            self.text
                .push_str(std::str::from_utf8(&piece).expect("UTF-8"));
        }
    }
}

#[test]
fn changes_are_told_and_missed_ones_after_a_break() {
    wait(async {
        let served = Served::new().await;
        let mut page = Listening::to(&served, None).await;
        let begin = page.next().await.expect("told");
        assert_eq!((begin.name.as_str(), begin.id), ("begin", Some(2)));
        let sample = served.sample("U-1").await;
        let change = page.next().await.expect("told");
        assert_eq!((change.name.as_str(), change.id), ("change", Some(3)));
        assert_eq!(change.data["kind"], "sample");
        assert_eq!(change.data["subject"], sample.as_str());
        drop(page);
        for label in ["U-2", "U-3"] {
            served.sample(label).await;
        }
        let mut page = Listening::to(&served, Some("3")).await;
        served.sample("U-4").await;
        for expected in [4, 5, 6] {
            let change = page.next().await.expect("told");
            assert_eq!(
                (change.name.as_str(), change.id),
                ("change", Some(expected))
            );
        }
        // An id that this book never had: another book was served here before.
        let mut page = Listening::to(&served, Some("99")).await;
        let told = page.next().await.expect("told");
        assert_eq!((told.name.as_str(), told.id), ("afresh", Some(6)));
        let mut page = Listening::to(&served, Some("no number")).await;
        assert_eq!(page.next().await.expect("told").name, "begin");
        served.state.close();
        assert_eq!(page.next().await, None, "streams end when the program does");
    });
}

#[test]
fn work_is_told_until_it_is_done() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        let mut page = Listening::to(&served, None).await;
        page.next().await.expect("begin");
        let recording = served.imported(&sample, false).await;
        let mut states = Vec::new();
        loop {
            let told = page.next().await.expect("told");
            if told.name == "work" {
                assert_eq!(told.id, None, "work is not resumed by number");
                let state = told.data["state"].as_str().expect("a state").to_owned();
                if states.last() != Some(&state) {
                    states.push(state.clone());
                }
                if state == "done" {
                    assert_eq!(told.data["recording"], recording.as_str());
                    break;
                }
            }
        }
        assert_eq!(states, ["queued", "copying", "making_pictures", "done"]);
    });
}

#[test]
fn a_listener_that_falls_far_behind_loses_nothing() {
    wait(async {
        let served = Served::new().await;
        let mut page = Listening::to(&served, None).await;
        page.next().await.expect("begin");
        let list: String = (0..1500).map(|at| format!("M-{at}\n")).collect();
        let request = served
            .request("POST", "/api/samples/import")
            .header("x-person", &served.who)
            .body(Body::from(format!("label\n{list}")))
            .expect("a request");
        served.send(request).await.expect(201);
        for expected in 3..1503 {
            assert_eq!(page.next().await.expect("told").id, Some(expected));
        }
    });
}
