//! What leaves the book in open formats over the interface, and a sample from another book.

use crate::workshop::{Answer, Served, wait};
use axum::body::Body;
use serde_json::json;

impl Served {
    async fn take_in(&self, who: &str, archive: Vec<u8>) -> Answer {
        let request = self
            .request("POST", "/api/archives")
            .header("x-person", who)
            .header("content-type", "application/octet-stream")
            .body(Body::from(archive))
            .expect("a request");
        self.send(request).await
    }
}

fn nothing_left(served: &Served) {
    let left: Vec<_> = std::fs::read_dir(&served.folder)
        .expect("a book")
        .flatten()
        .filter(|entry| entry.file_name().to_string_lossy().starts_with(".leaving-"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

#[test]
fn a_sample_goes_from_one_book_to_another_and_back_out() {
    wait(async {
        let one = Served::new().await;
        let sample = one.sample("U-1").await;
        let recording = one.imported(&sample, true).await;
        let path = format!("/api/samples/{sample}");
        one.post(&format!("{path}/determinations"), json!({}))
            .await
            .expect(201);
        let archive = one.get(&format!("{path}/archive.zip")).await;
        assert_eq!(archive.header("content-type"), "application/zip");
        assert!(archive.header("content-disposition").contains("U-1.zip"));
        assert!(archive.bytes.starts_with(b"PK"));
        nothing_left(&one);

        let other = Served::new().await;
        // The same name with another id: whoever runs both books is two people to them.
        let clash = other.take_in(&other.who, archive.bytes.clone()).await;
        clash.problem(422, "archive");
        let free = Served::titled("Morning practical", "K. Falke").await;
        let taken = free
            .take_in(&free.who, archive.bytes.clone())
            .await
            .expect(201);
        assert_eq!(
            (&taken["samples"], &taken["there_already"]),
            (&json!(["U-1"]), &json!(0))
        );
        let again = free
            .take_in(&free.who, archive.bytes.clone())
            .await
            .expect(201);
        assert_eq!(again["records"], json!(0));
        let there = free.get(&path).await.expect(200);
        let here = one.get(&path).await.expect(200);
        assert_eq!(
            there["determinations"][0]["range_text"],
            here["determinations"][0]["range_text"]
        );
        assert_eq!(
            there["determinations"][0]["record"],
            here["determinations"][0]["record"]
        );
        let frame = format!("/api/recordings/{recording}/frames/0");
        assert_eq!(free.get(&frame).await.bytes, one.get(&frame).await.bytes);
        // What was altered on the way is refused.
        let mut altered = archive.bytes;
        let middle = altered.len() / 2;
        altered[middle] ^= 1;
        other
            .take_in(&other.who, altered)
            .await
            .problem(422, "archive");
        other
            .take_in(&other.who, b"no zip".to_vec())
            .await
            .problem(422, "archive");
        assert!(free.verdict().await.sound());
    });
}

#[test]
fn tables_curves_films_and_the_whole_book_leave_it() {
    wait(async {
        let served = Served::new().await;
        let sample = served.sample("U-1").await;
        let recording = served.imported(&sample, true).await;
        let book = served.get("/api/book/archive.zip").await;
        assert!(book.bytes.starts_with(b"PK"));
        let table = served.get("/api/book/tables/samples.csv").await;
        assert!(String::from_utf8_lossy(&table.bytes).contains("U-1"));
        let table = served.get("/api/book/tables/readings.parquet").await;
        assert!(table.bytes.starts_with(b"PAR1") && table.bytes.ends_with(b"PAR1"));
        for name in [
            "samples.doc",
            "nothing.csv",
            "samples",
            "..%2F..%2Fbook.csv",
            ".csv",
        ] {
            served
                .get(&format!("/api/book/tables/{name}"))
                .await
                .problem(404, "unknown");
        }
        let film = served
            .get(&format!("/api/recordings/{recording}/recording.mkv"))
            .await;
        // The EBML header (RFC 8794, 11.2.1).
        assert!(film.bytes.starts_with(&[0x1A, 0x45, 0xDF, 0xA3]));
        let path = format!("/api/samples/{sample}/curves");
        let drawn = served.get(&format!("{path}.svg")).await;
        assert!(drawn.bytes.starts_with(b"<svg"), "{:?}", &drawn.bytes[..20]);
        assert!(
            served
                .get(&format!("{path}.png"))
                .await
                .bytes
                .starts_with(b"\x89PNG")
        );
        let rows = served.get(&format!("{path}.csv")).await;
        assert!(String::from_utf8_lossy(&rows.bytes).contains("run,tube,time_s,temperature_c"));
        let bare = served.sample("U-2").await;
        served
            .get(&format!("/api/samples/{bare}/curves.svg"))
            .await
            .problem(404, "unknown");
        nothing_left(&served);
        // Students see the whole book's opinions only after their own.
        let student = served.person("C. First", "student").await;
        for path in [
            "/api/book/archive.zip".to_owned(),
            "/api/book/tables/readings.csv".to_owned(),
            format!("/api/samples/{sample}/archive.zip"),
            format!("{path}.csv"),
        ] {
            served.get_as(&student, &path).await.problem(403, "role");
        }
    });
}

#[test]
fn a_kept_session_has_a_calendar() {
    wait(async {
        let served = Served::new().await;
        served
            .get("/api/sessions/nothing/calendar.ics")
            .await
            .problem(404, "unknown");
        let order = json!({
            "length_min": 120.0,
            "bench": [{ "name": "Bench A", "places": 3, "room_c": 22.0, "start_c": 22.0,
                "heat_rate_c_per_min": 10.0, "cool_time_constant_min": 12.0, "max_c": 260.0 }],
            "sample": [{ "id": "U-1", "first_liquid_c": 113.0, "last_crystal_c": 114.5 }],
        });
        let asked = json!({ "order": order, "seconds": 0.2 });
        let found = served.post("/api/session-plans", asked).await.expect(200);
        let mut session = json!({ "order": order });
        let keep = json!({ "revision": 0, "session": session });
        served.put("/api/sessions/evening", keep).await.expect(200);
        let path = "/api/sessions/evening/calendar.ics";
        served.get(path).await.problem(422, "field");
        session["draft"] = found["draft"].clone();
        let keep = json!({ "revision": 1, "session": session });
        served.put("/api/sessions/evening", keep).await.expect(200);
        served.get(path).await.problem(422, "field");
        served
            .get(&format!("{path}?start=soon"))
            .await
            .problem(422, "field");
        let given = served
            .get(&format!("{path}?start=2026-11-26T18:00:00%2B01:00"))
            .await;
        let text = String::from_utf8_lossy(&given.bytes).into_owned();
        assert!(
            text.starts_with("BEGIN:VCALENDAR\r\n") && text.contains("U-1"),
            "{text}"
        );
        assert!(text.contains("DTSTART:20261126T17"), "{text}");
    });
}
