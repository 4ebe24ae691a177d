//! `bench learn` as a process, and plans made with what it learned.

use crate::workshop::{Workshop, ended, meltrange};
use serde_json::Value;
use std::fmt::Write as _;
use std::path::PathBuf;

const BENCH: &str =
    "# north side\nname = \"North\" # by the window\nplaces = 3\nroom_c = 23.0\nmax_c = 300.0\n";

/// A block of 20 °C/min, 25 min and, with the fan, 8 min; its log once a second, and the time to the end of its scan [min].
fn run(heater_c_per_min: f64, start_c: f64, to_c: f64, fan: bool) -> (String, f64) {
    let (room_c, mut block_c, mut shown_c, mut integral) = (23.0, 23.0, 23.0, 0.0);
    let (mut acting, mut log, mut minutes) = (
        [0.0; 5],
        String::from("time_s,temperature_c,setpoint_c,fan\n"),
        0.0,
    );
    let (mut phase, mut since_s) = (0, 0);
    for time_s in 0.. {
        let reading_c =
            (f64::round(10.0 * (shown_c + 0.04 * f64::from(time_s).sin())) / 10.0).max(0.0);
        let over = match phase {
            0 => reading_c >= start_c - 0.5,
            1 => time_s - since_s >= 180,
            2 => reading_c >= to_c,
            _ => reading_c <= start_c - 25.0,
        };
        if over {
            (phase, since_s) = (phase + 1, time_s);
            if phase == 3 {
                minutes = f64::from(time_s) / 60.0;
            }
        }
        if phase == 4 {
            return (log, minutes);
        }
        let setpoint_c = match phase {
            0 | 1 => Some(start_c),
            2 => Some(start_c + f64::from(time_s - since_s) / 60.0),
            _ => None,
        };
        let cools = fan && phase == 3;
        let asked = setpoint_c.map_or(String::new(), |value| format!("{value:.4}"));
        writeln!(log, "{time_s},{reading_c:.1},{asked},{}", u8::from(cools)).expect("text");
        let power = setpoint_c.map_or(0.0, |setpoint_c| {
            let off_c = setpoint_c - reading_c;
            let power = 0.12 * off_c + integral;
            if (0.0..1.0).contains(&power) {
                integral += 0.12 / 60.0 * off_c;
            }
            f64::clamp(power, 0.0, 1.0)
        });
        acting.rotate_left(1);
        acting[4] = power;
        let loss_s = if cools { 480.0 } else { 1500.0 };
        block_c += acting[0] * heater_c_per_min / 60.0 - (block_c - room_c) / loss_s;
        shown_c += (block_c - shown_c) / 3.0;
    }
    unreachable!("a block that cools comes to an end")
}

fn logs(workshop: &Workshop, fan: bool) -> Vec<PathBuf> {
    [80.0, 120.0, 160.0, 100.0, 190.0]
        .into_iter()
        .enumerate()
        .map(|(at, start_c)| {
            workshop.file(
                &format!("run-{at}.csv"),
                run(20.0, start_c, start_c + 6.3, fan).0,
            )
        })
        .collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

#[test]
fn what_is_learned_stands_in_the_bench_file_and_predicts_other_runs() {
    let workshop = Workshop::new();
    let bench = workshop.file("bench.toml", BENCH);
    let learned = ended(
        meltrange()
            .args(["bench", "learn"])
            .arg(&bench)
            .args(logs(&workshop, true))
            .arg("--json"),
    )
    .json();
    assert_eq!(learned["written"], true);
    assert_eq!(learned["doubts"], serde_json::json!([]));
    let rate = number(&learned["learned"]["full_power_rate_c_per_min"]["value"]);
    assert!((rate - 20.0).abs() < 0.5, "{rate}");
    let text = std::fs::read_to_string(&bench).expect("there");
    assert!(text.starts_with(BENCH), "the rest stays as it is: {text}");
    // Another run than those learned from.
    let (_, real_min) = run(20.0, 140.0, 146.0, true);
    let range = ["--first-liquid", "143", "--last-crystal", "144", "--json"];
    let plan = ended(
        meltrange()
            .arg("plan")
            .args(range)
            .arg("--bench")
            .arg(&bench),
    )
    .json();
    let found_min = number(&plan["estimated_minutes"]);
    assert!(
        (found_min / real_min - 1.0).abs() < 0.03,
        "{found_min} for {real_min}"
    );
    let unsure_min = number(&plan["standard_uncertainty_minutes"]);
    assert!(unsure_min > 0.0 && unsure_min < 1.0, "{unsure_min}");
    assert!(
        !plan["cautions"].to_string().contains("not learned"),
        "{plan}"
    );
    // What was not learned takes an ordinary block's time, which is another.
    let ordinary = ended(meltrange().arg("plan").args(range)).json();
    assert!(number(&ordinary["standard_uncertainty_minutes"]) > 2.0 * unsure_min);
    // Learning again replaces, and a weak heater shows against what stands there.
    let weak = workshop.file("weak.csv", run(13.0, 120.0, 126.0, true).0);
    let again = ended(
        meltrange()
            .args(["bench", "learn"])
            .arg(&bench)
            .arg(&weak)
            .args(logs(&workshop, true))
            .args(["--json", "--dry-run"]),
    );
    let doubts = again.json()["doubts"].to_string();
    assert!(
        doubts.contains("weak.csv") && doubts.contains("heats more slowly"),
        "{doubts}"
    );
    assert_eq!(std::fs::read_to_string(&bench).expect("there"), text);
    ended(
        meltrange()
            .args(["bench", "learn"])
            .arg(&bench)
            .args(logs(&workshop, true))
            .arg("--json"),
    )
    .json();
    let twice = std::fs::read_to_string(&bench).expect("there");
    assert_eq!(twice.matches("[learned]").count(), 1, "{twice}");
}

#[test]
fn logs_that_do_not_tell_are_refused_and_nothing_is_written() {
    let workshop = Workshop::new();
    let bench = workshop.file("bench.toml", BENCH);
    let learn =
        |logs: &[PathBuf]| ended(meltrange().args(["bench", "learn"]).arg(&bench).args(logs));
    let no_fan = learn(&logs(&workshop, false));
    assert_eq!(no_fan.status, Some(1));
    assert!(no_fan.stderr.contains("fan cooling"), "{}", no_fan.stderr);
    for (name, text, said) in [
        (
            "fan.csv",
            "time_s,temperature_c,setpoint_c,fan\n0,20,80,0\n1,20,80,on\n",
            "line 3: fan is \"on\"",
        ),
        (
            "back.csv",
            "time_s,temperature_c,setpoint_c,fan\n5,20,80,0\n4,20,80,0\n",
            "line 3: time_s is 4",
        ),
        (
            "comma.csv",
            "time_s;temperature_c;setpoint_c;fan\n0;20;80;0\n",
            "semicolons",
        ),
        (
            "few.csv",
            "time_s,temperature_c,setpoint_c,fan\n0,20,80,0\n",
            "1 samples",
        ),
        (
            "none.csv",
            "time_s,temperature_c,setpoint_c\n0,20,80\n",
            "no column fan",
        ),
    ] {
        let ended = learn(&[workshop.file(name, text)]);
        assert_eq!(ended.status, Some(1));
        assert!(
            ended.stderr.contains(said) && ended.stderr.contains(name),
            "{}",
            ended.stderr
        );
    }
    assert_eq!(std::fs::read_to_string(&bench).expect("there"), BENCH);
    let broken = workshop.file("broken.toml", format!("{BENCH}[learned]\nlogs = 5\n"));
    let ended = ended(
        meltrange()
            .args([
                "plan",
                "--first-liquid",
                "80",
                "--last-crystal",
                "81",
                "--bench",
            ])
            .arg(broken),
    );
    assert_eq!(ended.status, Some(1));
    assert!(ended.stderr.contains("missing field"), "{}", ended.stderr);
}
