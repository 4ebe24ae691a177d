//! Recordings: imported, looked at picture by picture.

use crate::workshop::{Served, small_recording, text, wait};
use axum::body::Body;

#[test]
fn an_imported_video_can_be_looked_at_at_once() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        let id = served.imported(&sample, false).await;
        assert_eq!(served.uploaded_files(), Vec::<String>::new());
        let detail = served
            .get(&format!("/api/recordings/{id}"))
            .await
            .expect(200);
        assert_eq!(detail["row"]["state"], "waits_for_reading");
        assert_eq!(detail["row"]["source"]["file_name"], "run.mp4");
        assert_eq!(detail["row"]["load"][0]["label"], "U-1");
        assert_eq!(detail["pictures"], "ready");
        let frames = served
            .get(&format!("/api/recordings/{id}/frames"))
            .await
            .expect(200);
        let count = frames["count"].as_u64().expect("a number");
        let times = frames["time_s"].as_array().expect("times");
        assert_eq!(
            (
                times.len() as u64,
                frames["temperature_c"].as_array().expect("list").len() as u64
            ),
            (count, count)
        );
        assert!(count > 100, "one a second over more than two minutes");
        assert_eq!(frames["source_width_px"], 320.0);
        let path = format!("/api/recordings/{id}/frames/5");
        let picture = served.get(&path).await;
        assert_eq!(picture.status, 200);
        assert!(picture.bytes.starts_with(&[0xFF, 0xD8]));
        assert_eq!(picture.header("content-type"), "image/jpeg");
        assert!(picture.header("cache-control").contains("immutable"));
        let again = served
            .request("GET", &path)
            .header("if-none-match", picture.header("etag"))
            .body(Body::empty())
            .expect("a request");
        assert_eq!(served.send(again).await.status, 304);
        for n in [
            count.to_string(),
            "-1".into(),
            "x".into(),
            "18446744073709551616".into(),
        ] {
            served
                .get(&format!("/api/recordings/{id}/frames/{n}"))
                .await
                .problem(404, "unknown");
        }
        let log = served
            .get(&format!("/api/recordings/{id}/log"))
            .await
            .expect(200);
        let rows = String::from_utf8_lossy(&small_recording().log)
            .lines()
            .count()
            - 1;
        assert_eq!(log["rows"].as_u64(), Some(rows as u64));
        let listed = served
            .get(&format!("/api/recordings?sample={sample}"))
            .await
            .expect(200);
        assert_eq!(text(&listed["rows"][0]["id"]), id);
        let today = served.get("/api/today").await.expect(200);
        assert_eq!(today["waiting_for_reading"]["total"], 1);
        let verdict = served.verdict().await;
        assert!(verdict.sound(), "{:?}", verdict.findings);
    });
}
