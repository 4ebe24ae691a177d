//! Recordings of a shared book read again by a worker, looked at, accepted.

use crate::workshop::{Served, text, wait};
use meltrange_labbook::{Access, Book};
use meltrange_server::{RereadOrders, RereadStep, reread};
use serde_json::json;
use std::time::Duration;
use tokio::sync::watch;

async fn until(what: &str, mut is_so: impl AsyncFnMut() -> bool) {
    for _ in 0..400 {
        if is_so().await {
            return;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    panic!("{what}: not within 20 s");
}

#[test]
fn a_worker_elsewhere_reads_again_and_a_supervisor_accepts() {
    wait(async {
        let served = Served::shared().await;
        let sample = served.sample("U-1").await;
        let recording = served.imported(&sample, true).await;
        until("handed over", async || {
            served
                .state
                .book()
                .sharing()
                .await
                .is_some_and(|sharing| sharing.to_hand_over == 0)
        })
        .await;
        let analyst = served.person("A. Star", "analyst").await;
        let student = served.person("S. Drossel", "student").await;
        served
            .post_as(&analyst, "/api/rereadings", json!({"all": true}))
            .await
            .problem(403, "role");
        // This version has read it already.
        served
            .post("/api/rereadings", json!({}))
            .await
            .problem(422, "field");
        let begun = served.post("/api/rereadings", json!({"all": true})).await;
        let id = text(&begun.expect(201)["id"]);
        served
            .get_as(&student, &format!("/api/rereadings/{id}"))
            .await
            .problem(403, "role");
        served
            .post(&format!("/api/rereadings/{id}/accept"), json!({}))
            .await
            .problem(422, "field");
        let worker = Book::open(served.place(), Access::Write)
            .await
            .expect("a worker's copy");
        let (_stop, told) = watch::channel(false);
        let orders = RereadOrders {
            name: "elsewhere 7".into(),
            waits: false,
        };
        let mut steps = Vec::new();
        reread(&worker, &orders, told, |step| steps.push(step))
            .await
            .expect("it works");
        assert!(
            matches!(steps.as_slice(), [RereadStep::Read { .. }]),
            "{steps:?}"
        );
        // Its files were brought and are gone again.
        let id_there = recording.parse().expect("an id");
        assert!(!worker.recording_folder(id_there).exists());
        worker.close().await;
        let detail = served
            .get(&format!("/api/rereadings/{id}"))
            .await
            .expect(200);
        assert_eq!(detail["counts"]["read"], 1, "{detail}");
        assert_eq!(detail["workers"][0]["name"], "elsewhere 7");
        // The same engine finds the same in what went through the store.
        assert_eq!(detail["changes"], json!([{"change": "same", "tubes": 1}]));
        assert_eq!(detail["first_liquid"]["furthest_c"], 0.0);
        let tubes = served
            .get(&format!("/api/rereadings/{id}/tubes?change=same"))
            .await
            .expect(200);
        assert_eq!(tubes["rows"][0]["recording"], json!(recording));
        served
            .post_as(&analyst, &format!("/api/rereadings/{id}/accept"), json!({}))
            .await
            .problem(403, "role");
        served
            .post(&format!("/api/rereadings/{id}/accept"), json!({}))
            .await
            .expect(200);
        until("accepted", async || {
            let found = served.get("/api/rereadings").await.expect(200);
            found["rows"][0]["state"] == "accepted"
        })
        .await;
        let found = served
            .get(&format!("/api/recordings/{recording}"))
            .await
            .expect(200);
        assert_eq!(
            found["readings"].as_array().map(Vec::len),
            Some(2),
            "{found}"
        );
        assert!(served.verdict().await.sound());
    });
}

#[test]
fn what_was_accepted_is_recorded_by_the_next_server_where_the_first_one_ended() {
    wait(async {
        let served = Served::shared().await;
        let sample = served.sample("U-1").await;
        served.imported(&sample, true).await;
        let book = served.state.book();
        let who = served.who.parse().expect("an id");
        let rereadings = book.rereadings().expect("shared");
        let (begun, _) = rereadings
            .begin(
                who,
                meltrange_labbook::PROGRAM,
                meltrange_labbook::RereadChoice::All,
            )
            .await
            .expect("begun");
        let (_stop, told) = watch::channel(false);
        let orders = RereadOrders {
            name: "here".into(),
            waits: false,
        };
        reread(book, &orders, told, |_| ()).await.expect("it works");
        // Accepted, and nothing else: as if the server had ended just then.
        rereadings.accept(begun.id, who).await.expect("accepted");
        let next = Book::open(served.place(), Access::Write)
            .await
            .expect("opened");
        let state = meltrange_server::AppState::new(next).expect("there is room");
        until("accepted", async || {
            let found = rereadings.one(begun.id).await.expect("there");
            found.state == meltrange_labbook::RereadState::Accepted
        })
        .await;
        state.close();
        state.close_book().await;
    });
}

#[test]
fn a_book_in_a_folder_has_no_queue() {
    wait(async {
        let room = tempfile::tempdir().expect("a temporary folder");
        let (folder, who) = crate::network::new_book(&room).await;
        let book = Book::open(&folder, Access::Write).await.expect("opened");
        let state = meltrange_server::AppState::new(book).expect("there is room");
        let app = meltrange_server::app(state);
        let ask = async |method: &str, body: &str| {
            use tower::ServiceExt as _;
            let request = axum::http::Request::builder()
                .method(method)
                .uri("/api/rereadings")
                .header("host", "127.0.0.1:8437")
                .header("x-person", &who)
                .header("content-type", "application/json")
                .body(axum::body::Body::from(body.to_owned()))
                .expect("a request");
            let answer = app.clone().oneshot(request).await.expect("infallible");
            let status = answer.status().as_u16();
            let bytes = axum::body::to_bytes(answer.into_body(), 1 << 20).await;
            let found: serde_json::Value =
                serde_json::from_slice(&bytes.expect("a body")).expect("JSON");
            (status, found)
        };
        let (status, found) = ask("GET", "").await;
        assert_eq!((status, &found["shared"]), (200, &json!(false)));
        let (status, found) = ask("POST", "{}").await;
        assert_eq!(
            (status, &found["type"]),
            (409, &json!("/problems/not-shared"))
        );
    });
}
