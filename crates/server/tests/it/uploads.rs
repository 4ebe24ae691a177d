//! Files on their way into the book: whole or not there, whatever they are called.

use crate::workshop::{Served, small_recording, text, wait};
use axum::body::{Body, Bytes};
use axum::http::Request;
use serde_json::json;
use std::io;

fn percent(name: &str) -> String {
    name.bytes().map(|byte| format!("%{byte:02x}")).collect()
}

#[test]
fn nothing_is_left_of_an_upload_that_breaks_off() {
    wait(async {
        let served = Served::new().await;
        let pieces = vec![
            Ok(Bytes::from(vec![1_u8; 100_000])),
            Err(io::Error::new(io::ErrorKind::ConnectionReset, "gone")),
        ];
        let body = Body::from_stream(futures_util::stream::iter(pieces));
        let request: Request<Body> = served
            .request("POST", "/api/uploads?name=run.mp4")
            .header("x-person", &served.who)
            .body(body)
            .expect("a request");
        served.send(request).await.problem(400, "broken-off");
        assert_eq!(served.uploaded_files(), Vec::<String>::new());
    });
}

/// As when the browser's page is closed: the request is dropped while it waits for more.
#[test]
fn nothing_is_left_of_an_upload_that_is_given_up() {
    wait(async {
        let served = Served::new().await;
        let first =
            futures_util::stream::iter([Ok::<_, io::Error>(Bytes::from(vec![1_u8; 50_000]))]);
        let body = Body::from_stream(futures_util::StreamExt::chain(
            first,
            futures_util::stream::pending(),
        ));
        let request = served
            .request("POST", "/api/uploads?name=run.mp4")
            .header("x-person", &served.who)
            .body(body)
            .expect("a request");
        let waiting = tokio::time::timeout(std::time::Duration::from_millis(300), async {
            served.send(request).await
        });
        assert!(waiting.await.is_err(), "it waits for the rest");
        assert_eq!(served.uploaded_files(), Vec::<String>::new());
    });
}

#[test]
fn hostile_names_stay_names() {
    wait(async {
        let served = Served::new().await;
        for (name, kept) in [
            ("../../../etc/passwd", "passwd"),
            ("..\\..\\run.mp4", "run.mp4"),
            ("run\0.csv", "run.csv"),
            ("", "file"),
            ("<script>alert(1)</script>.mp4", "script>.mp4"),
            ("run.mp4;rm -rf x", "run.mp4;rm -rf x"),
        ] {
            let sent = served
                .upload(&percent(name), b"text".to_vec())
                .await
                .expect(201);
            assert_eq!(sent["name"], kept, "{name:?}");
            assert_eq!(sent["bytes"], 4);
        }
        for file in served.uploaded_files() {
            let plain = |letter: char| letter.is_ascii_alphanumeric() || "-.".contains(letter);
            assert!(file.chars().all(plain), "{file}");
        }
        let outside: Vec<_> = std::fs::read_dir(served.folder.parent().expect("a folder"))
            .expect("readable")
            .collect();
        assert_eq!(outside.len(), 1, "only the book");
    });
}

#[test]
fn what_is_sent_can_be_looked_into_and_removed() {
    wait(async {
        let served = Served::new().await;
        let small = small_recording();
        let video = text(
            &served
                .upload("run.mp4", small.video.clone())
                .await
                .expect(201)["id"],
        );
        let log = text(
            &served
                .upload("log.csv", small.log.clone())
                .await
                .expect(201)["id"],
        );
        let info = served
            .get(&format!("/api/uploads/{video}/preview"))
            .await
            .expect(200);
        assert_eq!(
            (&info["width_px"], &info["height_px"]),
            (&json!(320.0), &json!(240.0))
        );
        for time in ["", "?time_s=60", "?time_s=-5", "?time_s=1e9"] {
            let picture = served
                .get(&format!("/api/uploads/{video}/picture{time}"))
                .await;
            assert_eq!(picture.status, 200, "{time}");
            assert!(picture.bytes.starts_with(&[0xFF, 0xD8]), "{time}");
        }
        let series = served
            .get(&format!("/api/uploads/{log}/log"))
            .await
            .expect(200);
        assert!(series["rows"].as_u64().expect("a number") > 100);
        let no_log = served.get(&format!("/api/uploads/{video}/log")).await;
        let found = no_log.problem(422, "log");
        let detail = found["detail"].as_str().expect("a text");
        assert!(
            detail.contains("run.mp4") && !detail.contains("uploads"),
            "{detail}"
        );
        served
            .get(&format!("/api/uploads/{log}/preview"))
            .await
            .problem(422, "media");
        let remove = || {
            let request = served
                .request("DELETE", &format!("/api/uploads/{log}"))
                .header("x-person", &served.who);
            served.send(request.body(Body::empty()).expect("a request"))
        };
        assert_eq!(remove().await.status, 204);
        remove().await.problem(404, "unknown");
        assert_eq!(served.uploaded_files().len(), 1);
        served
            .upload("empty.mp4", Vec::new())
            .await
            .problem(422, "field");
    });
}

#[test]
fn files_that_cannot_be_used_fail_with_their_names() {
    wait(async {
        let served = Served::new().await;
        let bad = text(
            &served
                .upload("holiday.mp4", vec![7; 5000])
                .await
                .expect(201)["id"],
        );
        let log = text(
            &served
                .upload("log.csv", small_recording().log.clone())
                .await
                .expect(201)["id"],
        );
        let order = |tubes| json!({ "video": bad, "log": log, "tubes": tubes });
        served
            .post("/api/imports", order(json!([{ "place": 4 }])))
            .await
            .problem(422, "field");
        let twice = json!([{ "place": 1 }, { "place": 1 }]);
        served
            .post("/api/imports", order(twice))
            .await
            .problem(422, "field");
        let nobody = json!([{ "place": 1, "sample": served.who }]);
        served
            .post("/api/imports", order(nobody))
            .await
            .problem(422, "field");
        let work = served
            .post("/api/imports", order(json!([])))
            .await
            .expect(202);
        let failed = served.finished(&text(&work["id"])).await;
        assert_eq!(failed["state"], "failed");
        let detail = failed["problem"]["detail"].as_str().expect("a text");
        assert!(detail.contains("holiday.mp4"), "{detail}");
        // Still there, so that another log or video can be tried with it.
        assert_eq!(served.uploaded_files().len(), 2);
        assert_eq!(served.get("/api/recordings").await.expect(200)["total"], 0);
    });
}
