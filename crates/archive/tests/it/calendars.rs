//! Session plans as calendars. (Parsed by others in tests/cross_check/archive.py.)

use meltrange_archive::{CalendarOrder, calendar};
use meltrange_planning::{PlannedBench, PlannedLoad, PlannedTube, SessionPlan};

fn load(samples: &[&str], load_start_min: f64, end_min: f64) -> PlannedLoad {
    PlannedLoad {
        tubes: samples
            .iter()
            .map(|&sample| PlannedTube {
                sample: sample.into(),
                replicate: 1,
            })
            .collect(),
        cool_from_c: 25.0,
        load_start_min,
        scan_windows_c: vec![[108.0, 116.0]],
        end_min,
    }
}

fn plan() -> SessionPlan {
    let bench = |name: &str, loads| PlannedBench {
        bench: name.into(),
        loads,
    };
    SessionPlan {
        makespan_min: 60.0,
        lower_bound_min: 50.0,
        fits: true,
        benches: vec![
            bench(
                "north, by the window",
                vec![load(&["U-1", "U;2"], 0.0, 25.0), load(&["U-3"], 30.5, 60.0)],
            ),
            bench(
                "south",
                vec![load(
                    &["Ü-4 with a label that is far longer than any line of a calendar may be"],
                    0.0,
                    20.0,
                )],
            ),
        ],
        finished_in_time: Vec::new(),
        not_finished: Vec::new(),
        in_time_benches: None,
    }
}

fn order() -> CalendarOrder {
    CalendarOrder {
        start: "2026-11-26T18:00:00+01:00".parse().expect("a time"),
        stamp: "2026-11-25T08:00:00Z".parse().expect("a time"),
        load_min: 3.0,
        people: vec!["R. Amsel".into()],
    }
}

#[test]
fn each_load_and_each_end_is_an_event() {
    let text = calendar(&plan(), &order());
    // RFC 5545, 3.1: lines end with CRLF and have 75 octets at most.
    assert!(text.ends_with("END:VCALENDAR\r\n"));
    for line in text.split_terminator("\r\n") {
        assert!(line.len() <= 75 && !line.contains('\n'), "{line}");
    }
    let unfolded = text.replace("\r\n ", "");
    assert_eq!(unfolded.matches("BEGIN:VEVENT").count(), 5);
    for expected in [
        "PRODID:-//meltrange//session plan//EN",
        "VERSION:2.0",
        "DTSTAMP:20261125T080000Z",
        "DTSTART:20261126T170000Z",
        "DTEND:20261126T170300Z",
        // 30.5 min after 18:00 in UTC+1.
        "DTSTART:20261126T173030Z",
        // 3.3.11: commas and semicolons are escaped.
        "LOCATION:north\\, by the window",
        "SUMMARY:north\\, by the window: set in U-1 (1)\\, U\\;2 (1)",
        "CONTACT:R. Amsel",
        "CONTACT:person 2",
    ] {
        assert!(
            unfolded.contains(expected),
            "{expected} is not in\n{unfolded}"
        );
    }
    assert_eq!(calendar(&plan(), &order()), text);
}

#[test]
fn a_plan_made_anew_moves_events_instead_of_doubling_them() {
    let uids = |text: String| {
        let mut uids: Vec<String> = text
            .replace("\r\n ", "")
            .lines()
            .filter(|line| line.starts_with("UID:"))
            .map(str::to_owned)
            .collect();
        uids.sort();
        uids
    };
    let mut later = plan();
    later.benches[0].loads[1].load_start_min += 7.0;
    let before = uids(calendar(&plan(), &order()));
    assert_eq!(uids(calendar(&later, &order())), before);
    let mut distinct = before.clone();
    distinct.dedup();
    assert_eq!(distinct.len(), 5);
}
