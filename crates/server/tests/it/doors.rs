//! Who may come in: this machine's own pages and programs, and people of the book.

use crate::workshop::{Served, wait};
use axum::body::Body;
use serde_json::json;

#[test]
fn only_names_of_this_machine_are_answered() {
    wait(async {
        let served = Served::new().await;
        for host in [
            "127.0.0.1",
            "127.0.0.1:9",
            "localhost:8437",
            "[::1]:80",
            "LOCALHOST",
        ] {
            let request = served.request("GET", "/api/book");
            let mut request = request.body(Body::empty()).expect("a request");
            request
                .headers_mut()
                .insert("host", host.parse().expect("a value"));
            assert_eq!(served.send(request).await.status, 200, "{host}");
        }
        // Names bent to this machine by a page elsewhere (DNS rebinding), and none at all.
        for host in [
            "meltrange.example",
            "127.0.0.1.example",
            "localhost:8437@a.example",
            "127.0.0.1:99999",
            "a",
        ] {
            for path in ["/api/book", "/", "/openapi.json", "/api/events"] {
                let request = served.request("GET", path);
                let mut request = request.body(Body::empty()).expect("a request");
                request
                    .headers_mut()
                    .insert("host", host.parse().expect("a value"));
                served.send(request).await.problem(403, "elsewhere");
            }
        }
        let bare = axum::http::Request::get("/api/book")
            .body(Body::empty())
            .expect("a request");
        served.send(bare).await.problem(403, "elsewhere");
    });
}

#[test]
fn other_pages_cannot_write() {
    wait(async {
        let served = Served::new().await;
        let send = async |header: &'static str, value: &'static str| {
            let request = served
                .request("POST", "/api/samples")
                .header("x-person", &served.who)
                .header("content-type", "application/json")
                .header(header, value)
                .body(Body::from(json!({ "label": value }).to_string()))
                .expect("a request");
            served.send(request).await
        };
        send("origin", "http://evil.example")
            .await
            .problem(403, "elsewhere");
        send("origin", "null").await.problem(403, "elsewhere");
        send("origin", "https://127.0.0.1:8437")
            .await
            .problem(403, "elsewhere");
        send("origin", "http://127.0.0.1:1")
            .await
            .problem(403, "elsewhere");
        send("sec-fetch-site", "cross-site")
            .await
            .problem(403, "elsewhere");
        send("sec-fetch-site", "same-site")
            .await
            .problem(403, "elsewhere");
        send("origin", "http://127.0.0.1:8437").await.expect(201);
        send("sec-fetch-site", "same-origin").await.expect(201);
        let found = served.get("/api/samples").await.expect(200);
        assert_eq!(found["total"], 2);
    });
}

#[test]
fn whoever_writes_is_somebody_and_no_viewer() {
    wait(async {
        let served = Served::new().await;
        let viewer = served.person("B. Looks", "viewer").await;
        let sample = json!({ "label": "U-1" });
        let nobody = served
            .request("POST", "/api/samples")
            .header("content-type", "application/json")
            .body(Body::from(sample.to_string()))
            .expect("a request");
        served.send(nobody).await.problem(400, "person-missing");
        for unknown in ["", "x", "01a213b1-0583-72ec-a9c7-757e1a471c04"] {
            let answer = served
                .post_as(unknown, "/api/samples", sample.clone())
                .await;
            answer.problem(403, "person-unknown");
        }
        // A sample is nobody either.
        let id = served.sample("U-2").await;
        served
            .post_as(&id, "/api/samples", sample.clone())
            .await
            .problem(403, "person-unknown");
        served
            .post_as(&viewer, "/api/samples", sample)
            .await
            .problem(403, "viewer");
        assert_eq!(served.get("/api/samples").await.expect(200)["total"], 1);
    });
}
