//! What is learned of a bench from the logs its runs leave beside the book.

use crate::workshop::{Served, wait};
use meltrange_bench::write_run_log;
use meltrange_physics::{BlockConstants, Celsius, Fan, HeatedBlock};
use meltrange_planning::RunSample;
use std::path::Path;

const BENCH: &str = "# by the door\nname = \"South/1\"\nplaces = 2\nroom_c = 22.0\nmax_c = 250.0\n";

/// A run to `start_c`, held, 5 °C up at 1 °C/min, cooled with the fan; a proportional controller that foresees losses.
fn log(path: &Path, full_power_rate_c_per_min: f64, start_c: f64) {
    let constants = BlockConstants {
        room_c: 22.0,
        full_power_rate_c_per_min,
        loss_time_constant_min: 24.0,
        fan_time_constant_min: 7.0,
        dead_time_s: 4.0,
        sensor_time_constant_s: 3.0,
    };
    let mut block = HeatedBlock::new(constants, Celsius(22.0)).expect("in range");
    let (mut samples, mut soak_s, mut scan_s) = (Vec::new(), 0.0, 0.0);
    for second in 0..6000 {
        let shown_c = (10.0 * block.indicated().0).round() / 10.0;
        let mut setpoint_c = Some(start_c);
        if soak_s > 0.0 || shown_c >= start_c - 0.5 {
            soak_s += 1.0;
        }
        if soak_s > 180.0 {
            scan_s += 1.0;
            setpoint_c = Some(start_c + scan_s / 60.0).filter(|_| scan_s <= 300.0);
        }
        let fan = setpoint_c.is_none();
        samples.push(RunSample {
            time_s: f64::from(second),
            temperature_c: shown_c,
            setpoint_c,
            fan,
        });
        if fan && shown_c < start_c - 25.0 {
            break;
        }
        let power = setpoint_c.map_or(0.0, |setpoint_c| {
            0.1 * (setpoint_c - shown_c) + (setpoint_c - 22.0) / 24.0 / full_power_rate_c_per_min
        });
        block.advance(1.0, power, if fan { Fan::On } else { Fan::Off });
    }
    std::fs::create_dir_all(path.parent().expect("a folder")).expect("there is room");
    write_run_log(path, &samples).expect("there is room");
}

#[test]
fn a_bench_is_learned_from_its_logs_and_a_weak_heater_shows_in_the_latest() {
    wait(async {
        let served = Served::new().await;
        let file = served.folder.join("benches/south.toml");
        std::fs::create_dir_all(file.parent().expect("a folder")).expect("there is room");
        std::fs::write(&file, BENCH).expect("there is room");
        let path = "/api/live/South%2F1";
        let before = served.get(&format!("{path}/learned")).await.expect(200);
        assert_eq!(before["run_logs"], 0);
        assert!(before["learned"].is_null());
        let nothing = served
            .post(&format!("{path}/learn"), serde_json::json!({}))
            .await
            .expect(422);
        assert!(
            nothing["detail"]
                .as_str()
                .is_some_and(|text| text.contains("at least one")),
            "{nothing}"
        );
        // A name is no path.
        // The first four bytes of SHA-256 of the name, from the shell's sha256sum.
        let logs = served.folder.join("run-logs/south-1-402cffd4");
        for (number, start_c) in [80.0, 110.0, 140.0, 170.0].into_iter().enumerate() {
            log(&logs.join(format!("{number}.csv")), 20.0, start_c);
        }
        let found = served
            .post(&format!("{path}/learn"), serde_json::json!({}))
            .await
            .expect(200);
        let rate = found["learned"]["full_power_rate_c_per_min"]["value"]
            .as_f64()
            .expect("a number");
        assert!((rate - 20.0).abs() < 0.5, "{rate}");
        let written = std::fs::read_to_string(&file).expect("there");
        assert!(
            written.starts_with(BENCH) && written.contains("[learned]"),
            "{written}"
        );
        // Plans take it at once.
        let asked = serde_json::json!({
            "plan": { "kind": "measuring", "first_liquid_c": 121.5, "last_crystal_c": 122.5 }, "bench": "South/1",
        });
        let plan = served.post("/api/programmes/plan", asked).await.expect(200);
        let approach_min = plan["legs"][0]["minutes"].as_f64().expect("a number");
        // At full power to 118 °C: 24 min · ln(480/(480 − 96)); dead time, lag and a band of 10 °C come on top.
        let least_min = 24.0 * (480.0_f64 / 384.0).ln();
        assert!(
            (least_min..least_min + 1.0).contains(&approach_min),
            "{approach_min} {least_min}"
        );
        let sound = served.get(&format!("{path}/learned")).await.expect(200);
        assert_eq!(sound["doubts"], serde_json::json!([]));
        log(&logs.join("9.csv"), 13.0, 120.0);
        let weak = served.get(&format!("{path}/learned")).await.expect(200);
        assert_eq!(weak["run_logs"], 5);
        assert!(
            weak["doubts"][0]
                .as_str()
                .is_some_and(|text| text.contains("heats more slowly")),
            "{weak}"
        );
        served.get("/api/live/nowhere/learned").await.expect(404);
    });
}
