//! `bench check`: exit status, the words, and that a device that is not there is no crash.

use crate::workshop::{ended, meltrange};

const LEAST: &str = "name = \"North\"\nplaces = 3\nroom_c = 22.0\nmax_c = 300.0\n";

#[test]
fn a_bench_without_wires_is_usable() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("north.toml");
    std::fs::write(&path, LEAST).expect("written");
    let found = ended(meltrange().args(["bench", "check", "--json"]).arg(&path)).json();
    assert_eq!(found["bench"], "North");
    assert_eq!(found["usable"], true);
    let states: Vec<_> = found["devices"]
        .as_array()
        .expect("three devices")
        .iter()
        .map(|device| (device["device"].as_str(), device["state"].as_str()))
        .collect();
    assert_eq!(
        states,
        [
            (Some("thermometer"), Some("not_tried")),
            (Some("heater"), Some("not_tried")),
            (Some("camera"), Some("not_tried")),
        ]
    );
}

#[test]
fn a_missing_device_ends_with_1_and_the_next_step() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("north.toml");
    let port = folder.path().join("ttyNone");
    let text = format!("{LEAST}[thermometer]\nkind = \"serial\"\nconnection.port = {port:?}\n");
    std::fs::write(&path, text).expect("written");
    let done = ended(meltrange().args(["bench", "check"]).arg(&path));
    assert_eq!(done.status, Some(1));
    assert!(
        done.stdout.contains("thermometer (serial): not usable"),
        "{}",
        done.stdout
    );
    assert!(done.stdout.contains("next: "), "{}", done.stdout);
    assert!(
        done.stderr.contains("cannot be used as it is: thermometer"),
        "{}",
        done.stderr
    );

    std::fs::write(&path, "places = 3\n").expect("written");
    ended(meltrange().args(["bench", "check"]).arg(&path))
        .assert_refused(&["missing field", "name"]);
}
