//! A simulated bench run through the interface, kept in the book, and read.

use crate::workshop::{Served, wait};
use meltrange_labbook::{Entry, RunState};
use serde_json::{Value, json};
use std::time::{Duration, Instant};

const BENCH: &str = r#"
name = "North window"
places = 3
room_c = 22.0
max_c = 250.0
heat_rate_c_per_min = 20.0
cool_time_constant_min = 6.0
[thermometer]
kind = "simulated"
[heater]
kind = "simulated"
[camera]
kind = "simulated"
frames_per_s = 0.5
[camera.scene]
seed = 3
[camera.scene.picture]
width = 320
height = 240
light = "back"
bore_px = 40.0
backdrop = "plain"
[[camera.scene.tube]]
melts_at_c = 94.9
impurity_mole_fraction = 0.001
[[camera.scene.tube]]
melts_at_c = 94.5
impurity_mole_fraction = 0.002
"#;

const PATH: &str = "/api/live/North%20window";

async fn with_bench() -> Served {
    let served = Served::new().await;
    let folder = served.folder.join("benches");
    std::fs::create_dir_all(&folder).expect("there is room");
    std::fs::write(folder.join("north.toml"), BENCH).expect("there is room");
    std::fs::write(folder.join("south.toml"), "name = \"South\"\nplaces = 9\n")
        .expect("there is room");
    served
}

/// The latest view, by way of the event connection.
async fn view(served: &Served) -> Value {
    use futures_util::StreamExt as _;
    use tower::ServiceExt as _;
    let request = served
        .request("GET", &format!("{PATH}/events"))
        .body(axum::body::Body::empty())
        .expect("a request");
    let answer = served
        .app
        .clone()
        .oneshot(request)
        .await
        .expect("infallible");
    assert_eq!(answer.status(), 200);
    let mut body = answer.into_body().into_data_stream();
    let mut text = String::new();
    while !text.contains("\n\n") {
        let piece = body.next().await.expect("an event").expect("a piece");
        text.push_str(&String::from_utf8_lossy(&piece));
    }
    let data = text
        .lines()
        .find_map(|line| line.strip_prefix("data:"))
        .expect("data");
    serde_json::from_str(data).expect("JSON")
}

async fn until(served: &Served, what: &str, done: impl Fn(&Value) -> bool) -> Value {
    let begun = Instant::now();
    loop {
        let found = view(served).await;
        if done(&found) {
            return found;
        }
        assert!(
            begun.elapsed() < Duration::from_secs(120),
            "{what}: {found:#}"
        );
        served.post(&format!("{PATH}/seen"), json!({})).await;
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
}

#[test]
fn a_run_from_opening_to_its_reading() {
    wait(async {
        let served = with_bench().await;
        let listed = served.get("/api/live").await.expect(200);
        assert_eq!(listed["benches"][0]["name"], "North window");
        assert_eq!(listed["benches"][0]["simulated"], true);
        let fault = listed["benches"][1]["problem"].as_str().expect("a problem");
        assert!(fault.contains("south.toml"), "{fault}");
        served
            .get(&format!("{PATH}/events"))
            .await
            .problem(409, "bench-closed");
        served
            .get("/api/live/Nowhere/events")
            .await
            .problem(404, "unknown");
        served
            .post(&format!("{PATH}/open"), json!({"speed": 60.0}))
            .await
            .expect(204);
        let sample = served.sample("U-4").await;
        until(&served, "a temperature", |view| {
            view["temperature_c"].is_number()
        })
        .await;
        let plan = json!({"kind": "measuring", "first_liquid_c": 94.0, "last_crystal_c": 95.0, "soak_min": 1.0});
        let planned = served
            .post(&format!("{PATH}/plan"), plan.clone())
            .await
            .expect(200);
        assert_eq!(planned["programme"]["legs"][0]["kind"], "approach");
        assert_eq!(planned["cautions"], json!([]));
        let minutes = planned["minutes_to_scan_end"].as_f64().expect("a number");
        // 69 °C at 20 °C/min with a taper, 1 min, 6 °C at 1 °C/min.
        assert!((10.0..14.0).contains(&minutes), "{minutes}");
        let order = json!({"plan": plan, "end_when_clear": true,
            "tubes": [{"place": 1, "sample": sample}, {"place": 2, "sample": null}]});
        let begun = served
            .post(&format!("{PATH}/runs"), order.clone())
            .await
            .expect(201);
        served
            .post(&format!("{PATH}/runs"), order.clone())
            .await
            .problem(409, "not-now");
        served
            .post(&format!("{PATH}/close"), json!({}))
            .await
            .problem(409, "run-under-way");
        until(&served, "attend", |view| {
            view["run"]["attend_left_s"].is_number()
        })
        .await;
        let picture = served.get(&format!("{PATH}/picture")).await;
        assert_eq!(picture.header("content-type"), "image/jpeg");
        let press = format!("{PATH}/press");
        served
            .post(&press, json!({"key": "resume"}))
            .await
            .problem(409, "not-now");
        served
            .post(&press, json!({"key": "attend"}))
            .await
            .expect(204);
        until(&served, "melting", |view| {
            view["run"]["tubes"][0]["first_liquid_s"].is_number()
        })
        .await;
        let mark = json!({"key": "mark", "place": 1, "moment": "first_liquid"});
        served.post(&press, mark).await.expect(204);
        let seen = until(&served, "cooling", |view| view["run"]["recording"] == false).await;
        assert_eq!(seen["run_id"], begun["run"]);
        assert!(seen["points"].as_u64().expect("a number") > 100);
        // Before it is read: a block that is cool has ended its run by itself.
        served
            .post(&press, json!({"key": "stop"}))
            .await
            .expect(204);
        let recording = begun["recording"].as_str().expect("an id");
        let path = format!("/api/recordings/{recording}");
        let begun_waiting = Instant::now();
        let detail = loop {
            let detail = served.get(&path).await.expect(200);
            if detail["readings"]
                .as_array()
                .is_some_and(|all| all.len() >= 2)
            {
                break detail;
            }
            assert!(
                begun_waiting.elapsed() < Duration::from_secs(60),
                "{detail:#}"
            );
            tokio::time::sleep(Duration::from_millis(200)).await;
        };
        let tubes: Vec<&Value> = detail["readings"]
            .as_array()
            .into_iter()
            .flatten()
            .map(|reading| &reading["tubes"][0])
            .collect();
        assert!(
            tubes.iter().all(|tube| tube["sample"] == sample.as_str()),
            "{tubes:#?}"
        );
        until(&served, "the end", |view| view["run"]["phase"] == "ended").await;
        let run: meltrange_labbook::RunId = begun["run"]
            .as_str()
            .expect("an id")
            .parse()
            .expect("an id");
        let mut state = RunState::UnderWay;
        for _ in 0..50 {
            state = served
                .state
                .book()
                .store()
                .run(run)
                .await
                .expect("there")
                .run
                .state;
            if state == RunState::Ended {
                break;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        assert_eq!(state, RunState::Ended);
        // What was asked of the block is kept to learn from.
        let log = served
            .folder
            .join(format!("run-logs/north-window-0ae53557/{run}.csv"));
        let log = std::fs::read_to_string(log).expect("a log beside the book");
        assert!(
            log.starts_with("time_s,temperature_c,setpoint_c,fan\n"),
            "{log}"
        );
        assert!(log.lines().count() > 60);
        let events = served
            .state
            .book()
            .store()
            .events(run)
            .await
            .expect("readable");
        let texts: Vec<String> = events
            .iter()
            .filter_map(|record| match &record.entry {
                Entry::Event(event) => Some(event.text.clone()),
                _ => None,
            })
            .collect();
        for expected in [
            "approach to 91.0 °C",
            "the person is here",
            "first liquid marked",
            "stop",
        ] {
            assert!(
                texts.iter().any(|text| text.contains(expected)),
                "{expected}: {texts:#?}"
            );
        }
    });
}

#[test]
fn requests_that_mean_nothing_say_what_would() {
    wait(async {
        let served = with_bench().await;
        let open = format!("{PATH}/open");
        served
            .post(&open, json!({"speed": 600.0}))
            .await
            .problem(422, "field");
        served
            .post("/api/live/south/open", json!({}))
            .await
            .problem(409, "bench-file");
        served.post(&open, json!({"speed": 2.0})).await.expect(204);
        let plan = format!("{PATH}/plan");
        let hot = json!({"kind": "measuring", "first_liquid_c": 260.0, "last_crystal_c": 261.0});
        let said = served.post(&plan, hot).await.problem(422, "plan");
        assert!(
            said["detail"].as_str().expect("words").contains("250"),
            "{said}"
        );
        let warm = served
            .post(
                &format!("{PATH}/temperature"),
                json!({"temperature_c": 30.0}),
            )
            .await;
        warm.problem(409, "not-now");
        served
            .post(&format!("{PATH}/press"), json!({"key": "stop"}))
            .await
            .problem(409, "not-now");
        served
            .post(&format!("{PATH}/press"), json!({"key": "dance"}))
            .await
            .problem(422, "body");
        let fault = json!({"fault": "heater_stuck", "on": true});
        served
            .post(&format!("{PATH}/faults"), fault)
            .await
            .expect(204);
        served
            .post(&format!("{PATH}/close"), json!({}))
            .await
            .expect(204);
    });
}
