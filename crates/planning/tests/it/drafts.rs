//! Drafts and their times. Numbers in comments are worked by hand from the model of a session.

use crate::orders::{odd, random};
use meltrange_planning::{
    ActualLoad, DraftBench, DraftLoad, PlannedTube, SessionDraft, SessionEffort, SessionOrder,
    plan_session, retime,
};
use proptest::prelude::*;

/// Two benches, one operator; loading 2 min, soak 3 min, 1 °C/min, cooling with 10 min to a room of 20 °C.
pub fn order() -> SessionOrder {
    let bench = |name: &str| {
        format!(
            "[[bench]]\nname = '{name}'\nplaces = 2\nroom_c = 20.0\nstart_c = 20.0\n\
             heat_rate_c_per_min = 10.0\ncool_time_constant_min = 10.0\nmax_c = 200.0\n"
        )
    };
    let sample = |id: &str, first_c: f64| {
        format!(
            "[[sample]]\nid = '{id}'\nfirst_liquid_c = {first_c}\nlast_crystal_c = {}\nreplicates = 1\n",
            first_c + 1.0
        )
    };
    let text = format!(
        "length_min = 100\n{}{}{}{}{}",
        bench("A"),
        bench("B"),
        sample("low", 83.0),
        sample("mid", 123.0),
        sample("high", 153.0)
    );
    toml::from_str(&text).expect("a session")
}

pub fn load(samples: &[&str]) -> DraftLoad {
    DraftLoad {
        tubes: samples.iter().map(|&sample| tube(sample, 1)).collect(),
        ..DraftLoad::default()
    }
}

fn tube(sample: &str, replicate: u32) -> PlannedTube {
    PlannedTube {
        sample: sample.into(),
        replicate,
    }
}

pub fn draft(a: Vec<DraftLoad>, b: Vec<DraftLoad>) -> SessionDraft {
    let bench = |name: &str, loads| DraftBench {
        bench: name.into(),
        loads,
    };
    SessionDraft {
        benches: vec![bench("A", a), bench("B", b)],
    }
}

fn near(found: f64, by_hand: f64) {
    assert!((found - by_hand).abs() < 1e-9, "{found} is not {by_hand}");
}

/// A: mid alone, 20 → 120 °C in 10 min: 2 + 10 + 3 + 6 = 21. B waits for the hands until 2: low and high,
/// 20 → 80 in 6 min, soak 3, scan 6, 86 → 150 in 6.4 min, resettle 1, scan 6: 2 + 2 + 28.4 = 32.4.
#[test]
fn two_benches_share_one_pair_of_hands() {
    let mut draft = draft(vec![load(&["mid"])], vec![load(&["low", "high"])]);
    draft.benches[0].loads[0].turn = Some(0);
    let found = retime(&order(), &draft, 0.0).expect("times");
    assert_eq!(found.faults, []);
    near(found.plan.benches[0].loads[0].end_min, 21.0);
    let second = &found.plan.benches[1].loads[0];
    near(second.load_start_min, 2.0);
    near(second.end_min, 32.4);
    assert_eq!(second.scan_windows_c, [[80.0, 86.0], [150.0, 156.0]]);
    near(found.plan.makespan_min, 32.4);
    assert!(found.plan.fits && found.plan.not_finished.is_empty());
    // Without turns the bench with most to do goes first: 30.4 and 23.
    draft.benches[0].loads[0].turn = None;
    let found = retime(&order(), &draft, 0.0).expect("times");
    near(found.plan.benches[0].loads[0].end_min, 23.0);
    near(found.plan.makespan_min, 30.4);
}

/// A: mid was set in at 5 and is under way: until 5 + 21 = 26 at 126 °C. Then low: cool to 63 °C,
/// 10 ln(106/43), 2 + 1.7 + 3 + 6. B: at 6 the hands are busy until 7.
#[test]
fn what_began_keeps_its_times_and_holds_the_hands() {
    let mut began = load(&["mid"]);
    began.actual = Some(ActualLoad {
        load_start_min: 5.0,
        end_min: None,
        ended_at_c: None,
    });
    let mut draft = draft(vec![began, load(&["low"])], vec![load(&["high"])]);
    let found = retime(&order(), &draft, 6.0).expect("times");
    assert_eq!(found.faults, []);
    let a = &found.plan.benches[0].loads;
    near(a[0].load_start_min, 5.0);
    near(a[0].end_min, 26.0);
    let set_in = 26.0 + 10.0 * (106.0f64 / 43.0).ln();
    near(a[1].load_start_min, set_in);
    near(a[1].end_min, set_in + 12.7);
    near(found.plan.benches[1].loads[0].load_start_min, 7.0);
    // Ended early, at 24 and 100 °C: 10 ln(80/43) from there.
    let actual = draft.benches[0].loads[0].actual.as_mut().expect("it began");
    (actual.end_min, actual.ended_at_c) = (Some(24.0), Some(100.0));
    let found = retime(&order(), &draft, 25.0).expect("times");
    let a = &found.plan.benches[0].loads;
    near(a[0].end_min, 24.0);
    near(a[1].cool_from_c, 100.0);
    near(a[1].load_start_min, 24.0 + 10.0 * (80.0f64 / 43.0).ln());
    // What has not begun by 25 begins then.
    near(found.plan.benches[1].loads[0].load_start_min, 25.0);
}

/// Under way beyond its planned end: it ends now at the earliest.
#[test]
fn a_late_load_has_not_ended_yet() {
    let mut began = load(&["mid"]);
    began.actual = Some(ActualLoad {
        load_start_min: 0.0,
        end_min: None,
        ended_at_c: None,
    });
    let draft = draft(vec![began], vec![load(&["low", "high"])]);
    let found = retime(&order(), &draft, 30.0).expect("times");
    near(found.plan.benches[0].loads[0].end_min, 30.0);
}

#[test]
fn what_stands_against_a_draft_is_said_where_it_stands() {
    let fault = |draft: &SessionDraft, order: &SessionOrder| -> Vec<String> {
        let found = retime(order, draft, 0.0).expect("times all the same");
        assert!(found.plan.makespan_min > 0.0);
        let place = |bench: Option<String>, load: Option<usize>| match (bench, load) {
            (Some(bench), Some(load)) => format!("{bench} {load}: "),
            (Some(bench), None) => format!("{bench}: "),
            _ => String::new(),
        };
        let faults = found.faults.into_iter();
        let texts = faults.map(|fault| place(fault.bench, fault.load) + &fault.text);
        texts.collect()
    };
    let whole = draft(vec![load(&["mid"])], vec![load(&["low", "high"])]);
    assert!(fault(&whole, &order()).is_empty());

    let missing = draft(vec![load(&["mid"])], vec![load(&["high"])]);
    assert_eq!(fault(&missing, &order()), ["low is missing: tube 1"]);
    let twice = draft(vec![load(&["mid", "low"])], vec![load(&["low", "high"])]);
    assert_eq!(
        fault(&twice, &order()),
        ["B 0: tube 1 of low is also in load 1 of A; expected once"]
    );
    let full = draft(vec![load(&["low", "mid", "high"])], vec![]);
    assert_eq!(fault(&full, &order()), ["A 0: 3 tubes; A has 2 places"]);
    let unknown = draft(vec![load(&["mid", "what"])], vec![load(&["low", "high"])]);
    assert_eq!(
        fault(&unknown, &order()),
        ["A 0: sample what is not known; expected one of the session's"]
    );
    let mut elsewhere = whole.clone();
    elsewhere.benches[1].bench = "C".into();
    assert_eq!(
        fault(&elsewhere, &order())[0],
        "C: bench C is not known; expected one of A, B"
    );

    let mut limited = order();
    limited.samples[0].leave_below_c = Some(100.0);
    assert_eq!(
        fault(&whole, &limited),
        ["B 0: its last scan ends at 156.0 °C; low must not be heated above 100.0 °C"]
    );
    limited = order();
    limited.benches[1].max_c = 150.0;
    assert_eq!(
        fault(&whole, &limited),
        ["B 0: its last scan ends at 156.0 °C; B may not be hotter than 150.0 °C"]
    );
    limited = order();
    limited.benches[1].room_c = 79.5;
    assert_eq!(
        fault(&whole, &limited),
        ["B 0: its first scan begins at 80.0 °C; expected 80.5 °C or more, 1 °C above the room"]
    );
    limited = order();
    limited.samples[1].replicates = Some(2);
    let mut together = whole.clone();
    together.benches[0].loads[0].tubes.push(tube("mid", 2));
    assert_eq!(
        fault(&together, &limited),
        ["A 0: 2 tubes of mid together; expected each in a load of its own"]
    );
    limited.policy.independent_loads = false;
    assert!(fault(&together, &limited).is_empty());
}

#[test]
fn numbers_that_are_none_are_refused() {
    let mut began = load(&["mid"]);
    began.actual = Some(ActualLoad {
        load_start_min: 5.0,
        end_min: Some(4.0),
        ended_at_c: None,
    });
    let draft = draft(vec![began], vec![]);
    let error = retime(&order(), &draft, 6.0).expect_err("ends before it began");
    assert_eq!(
        error.to_string(),
        "end_min of load 1 of A is 4; expected 5 or more, when it was set in"
    );
    let error = retime(&order(), &SessionDraft::default(), f64::NAN).expect_err("no moment");
    assert!(error.to_string().contains("now_min is NaN"), "{error}");
}

/// What pages send: fields that may be left out are, fields that do not exist are refused.
#[test]
fn drafts_are_read_from_json() {
    let text = r#"{"benches":[{"bench":"A","loads":[{"tubes":[{"sample":"mid","replicate":1}],"locked":true,
        "actual":{"load_start_min":5.0}}]}]}"#;
    let found: SessionDraft = serde_json::from_str(text).expect("a draft");
    assert!(found.benches[0].loads[0].locked);
    let again = serde_json::to_string(&found).expect("JSON");
    assert_eq!(
        serde_json::from_str::<SessionDraft>(&again).expect("a draft"),
        found
    );
    let wrong = text.replace("locked", "fixed");
    assert!(serde_json::from_str::<SessionDraft>(&wrong).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A plan's own draft has the plan's times and no faults, to the last digit.
    #[test]
    fn the_draft_of_a_plan_has_its_times(
        seed in 0u64..1_000_000,
        samples in 0usize..14,
        replicates in 1u32..4,
        benches in 1usize..6,
        ordinary in any::<bool>(),
    ) {
        let make = if ordinary { random } else { odd };
        let order = make(seed, samples, replicates, benches);
        let effort = SessionEffort { rounds: 2_000, seed };
        let plan = plan_session(&order, effort, &mut || true).expect("a plan");
        let again = retime(&order, &SessionDraft::from(&plan), 0.0).expect("times");
        prop_assert_eq!(&again.faults, &vec![]);
        prop_assert_eq!(again.plan.makespan_min, plan.makespan_min);
        prop_assert_eq!(again.plan.benches, plan.benches);
    }
}
