//! Plans of the rest of a session.

use crate::checker::{SoFar, faults_since};
use crate::drafts;
use crate::orders::{odd, random};
use meltrange_planning::{
    ActualLoad, DraftLoad, SessionDraft, SessionEffort, SessionOrder, SessionPlan,
    finished_in_time, plan_session, replan, retime,
};
use proptest::prelude::*;

fn effort(rounds: u64, seed: u64) -> SessionEffort {
    SessionEffort { rounds, seed }
}

/// At 6 min, mid on A under way since 5: A is done with it at 26, at 126 °C. Best for low and high: together on B,
/// from 7 when the hands are free: 2 + 28.4 as in `drafts`.
#[test]
fn the_rest_goes_where_there_is_room() {
    let draft = drafts::draft(
        vec![
            began("mid", 5.0, None),
            drafts::load(&["low"]),
            drafts::load(&["high"]),
        ],
        vec![],
    );
    let found = replan(&drafts::order(), &draft, 6.0, effort(5_000, 1), &mut || {
        true
    });
    let found = found.expect("a plan");
    assert!(
        (found.makespan_min - (7.0 + 30.4)).abs() < 1e-9,
        "{}",
        found.makespan_min
    );
    assert_eq!(found.benches[0].loads.len(), 1);
    assert_eq!(found.benches[1].loads.len(), 1);
}

#[test]
fn a_locked_load_stays_and_so_does_what_is_before_it() {
    let mut locked = drafts::load(&["high"]);
    locked.locked = true;
    let draft = drafts::draft(
        vec![drafts::load(&["low"]), locked, drafts::load(&["mid"])],
        vec![],
    );
    let found = replan(&drafts::order(), &draft, 0.0, effort(5_000, 1), &mut || {
        true
    });
    let found = found.expect("a plan");
    let of = |bench: usize, load: usize| found.benches[bench].loads[load].tubes[0].sample.as_str();
    assert_eq!((of(0, 0), of(0, 1), of(1, 0)), ("low", "high", "mid"));
}

/// Nothing locked, nothing begun: the same as planning.
#[test]
fn planning_anew_from_nothing_is_planning() {
    for seed in 0..8 {
        let order = random(seed, 9, 2, 3);
        let plan = plan_session(&order, effort(4_000, seed), &mut || true).expect("a plan");
        let draft = SessionDraft::from(&plan);
        let again = replan(&order, &draft, 0.0, effort(4_000, seed), &mut || true);
        assert_eq!(again.expect("a plan"), plan);
    }
}

fn began(sample: &str, start_min: f64, end_min: Option<f64>) -> DraftLoad {
    let mut began = drafts::load(&[sample]);
    began.actual = Some(ActualLoad {
        load_start_min: start_min,
        end_min,
        ended_at_c: None,
    });
    began
}

/// "A" is called "North" now: what ended on it is not planned again, counts as done, and stays in the draft.
#[test]
fn what_began_on_a_bench_that_is_gone_is_kept() {
    let mut order = drafts::order();
    order.benches[0].name = "North".into();
    let draft = drafts::draft(
        vec![began("mid", 0.0, Some(21.0)), drafts::load(&["low"])],
        vec![],
    );
    let found = replan(&order, &draft, 22.0, effort(2_000, 1), &mut || true).expect("a plan");
    let planned = found.benches.iter().flat_map(|bench| &bench.loads);
    assert!(
        planned
            .flat_map(|load| &load.tubes)
            .all(|tube| tube.sample != "mid")
    );
    assert!(found.fits && found.not_finished.is_empty(), "{found:?}");
    let mut anew = SessionDraft::from(&found);
    anew.keep_marks(&draft);
    assert_eq!(anew.benches[2].bench, "A");
    assert_eq!(anew.benches[2].loads, [began("mid", 0.0, Some(21.0))]);
    let again = retime(&order, &anew, 22.0).expect("times");
    assert!(again.plan.fits, "{again:?}");
    let texts: Vec<&str> = again
        .faults
        .iter()
        .map(|fault| fault.text.as_str())
        .collect();
    assert_eq!(texts, ["bench A is not known; expected one of North, B"]);
    // The same again: neither doubled nor lost.
    let found = replan(&order, &anew, 22.0, effort(2_000, 1), &mut || true).expect("a plan");
    let mut third = SessionDraft::from(&found);
    third.keep_marks(&anew);
    assert_eq!(third.benches[2], anew.benches[2]);
}

/// A load that holds one tube twice is no load with that tube and another.
#[test]
fn marks_go_by_all_tubes_of_a_load() {
    let mut twice = drafts::load(&["mid", "mid"]);
    twice.locked = true;
    let before = drafts::draft(vec![twice], vec![]);
    let mut after = drafts::draft(vec![drafts::load(&["mid", "low"])], vec![]);
    after.keep_marks(&before);
    assert!(!after.benches[0].loads[0].locked);
    let mut turned = drafts::draft(vec![drafts::load(&["low", "mid"])], vec![]);
    after.benches[0].loads[0].locked = true;
    turned.keep_marks(&after);
    assert!(turned.benches[0].loads[0].locked);
}

/// At minute 50 of 72 S1 is set in on A, or is to be first there: 2 + 13 + 3 + 6 later, at 74, is too late. S2 and S3 share
/// a load on B from 52 at the latest: 2 + 6 + 3 + 6 later, at 69, both are done, and neither is given up for what is lost.
#[test]
fn what_ends_late_anyway_leaves_the_others_their_time() {
    let mut order = drafts::order();
    order.length_min = 72.0;
    for (sample, (id, first_c)) in
        (order.samples.iter_mut()).zip([("S1", 153.0), ("S2", 83.0), ("S3", 83.0)])
    {
        sample.id = id.into();
        (sample.first_liquid_c, sample.last_crystal_c) = (first_c, first_c + 1.0);
    }
    let mut locked = drafts::load(&["S1"]);
    locked.locked = true;
    for first in [began("S1", 50.0, None), locked] {
        let draft = drafts::draft(vec![first], vec![]);
        let found = replan(&order, &draft, 50.0, effort(5_000, 1), &mut || true);
        let found = found.expect("a plan");
        assert!(!found.fits);
        assert_eq!(found.finished_in_time, ["S2", "S3"], "{found:?}");
        let in_time = found.in_time_benches.expect("a plan within the time");
        assert_eq!(in_time[0].loads.len(), 1, "{in_time:?}");
        assert!(in_time[1].loads[0].end_min <= 69.0 + 1e-9, "{in_time:?}");
    }
}

/// A plan as it may stand at some moment: what was to begin by then began a little late, and what was
/// to end ended; some of the rest is locked.
fn at_moment(order: &SessionOrder, plan: &SessionPlan, now_min: f64, locks: u64) -> SessionDraft {
    let mut draft = SessionDraft::from(plan);
    let mut count = 0;
    for (own, planned) in draft.benches.iter_mut().zip(&plan.benches) {
        let mut late_min = 0.0;
        for (load, planned) in own.loads.iter_mut().zip(&planned.loads) {
            count += 1;
            late_min += 0.1 * ((locks >> (count % 13)) % 4) as f64;
            let start_min = planned.load_start_min + late_min;
            if start_min <= now_min {
                let end_min = planned.end_min + late_min;
                let ended = end_min <= now_min;
                load.actual = Some(ActualLoad {
                    load_start_min: start_min,
                    end_min: ended.then_some(end_min),
                    ended_at_c: (ended && count % 3 == 0).then_some(order.benches[0].room_c + 30.0),
                });
            } else {
                load.locked = (locks >> (count % 17)).is_multiple_of(5);
            }
        }
    }
    draft
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Every plan of the rest holds what the model asks, what began and what is locked is as it was.
    #[test]
    fn plans_of_the_rest_hold_what_the_model_asks(
        seed in 0u64..1_000_000,
        samples in 1usize..14,
        replicates in 1u32..4,
        benches in 1usize..5,
        ordinary in any::<bool>(),
        part in 0.0f64..1.1,
        length in 0.3f64..1.4,
        locks in any::<u64>(),
    ) {
        let make = if ordinary { random } else { odd };
        let mut order = make(seed, samples, replicates, benches);
        let plan = plan_session(&order, effort(1_000, seed), &mut || true).expect("a plan");
        order.length_min = length * plan.makespan_min;
        let now_min = part * plan.makespan_min;
        let draft = at_moment(&order, &plan, now_min, locks);
        let found = replan(&order, &draft, now_min, effort(1_500, seed), &mut || true).expect("a plan");
        for (own, planned) in draft.benches.iter().zip(&found.benches) {
            let stays = |load: &DraftLoad| load.locked || load.actual.is_some();
            let count = own.loads.iter().rposition(stays).map_or(0, |last| last + 1);
            for (load, planned) in own.loads[..count].iter().zip(&planned.loads) {
                prop_assert_eq!(&load.tubes, &planned.tubes);
            }
        }
        // The plan within the time finishes no fewer than the one for all, and holds nothing new that is too late.
        if let Some(in_time) = &found.in_time_benches {
            let whole = finished_in_time(&order, &found.benches, &draft)[0].len();
            prop_assert!(found.finished_in_time.len() >= whole, "{} of {whole}", found.finished_in_time.len());
            for (own, planned) in draft.benches.iter().zip(in_time) {
                let stays = |load: &DraftLoad| load.locked || load.actual.is_some();
                let count = own.loads.iter().rposition(stays).map_or(0, |last| last + 1);
                for load in planned.loads.iter().skip(count) {
                    prop_assert!(load.end_min <= order.length_min + 0.01, "{:?}", load);
                }
            }
        }
        let so_far = SoFar { now_min, draft };
        let faults = faults_since(&order, &found, &so_far);
        prop_assert!(faults.is_empty(), "{:?}", faults);
    }
}
