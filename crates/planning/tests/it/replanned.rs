//! Plans of the rest of a session.

use crate::checker::{SoFar, faults_since};
use crate::drafts;
use crate::orders::{odd, random};
use meltrange_planning::{
    ActualLoad, DraftLoad, SessionDraft, SessionEffort, SessionOrder, SessionPlan, plan_session,
    replan,
};
use proptest::prelude::*;

fn effort(rounds: u64, seed: u64) -> SessionEffort {
    SessionEffort { rounds, seed }
}

/// At 6 min, mid on A under way since 5: A is done with it at 26, at 126 °C. Best for low and high: together on B,
/// from 7 when the hands are free: 2 + 28.4 as in `drafts`.
#[test]
fn the_rest_goes_where_there_is_room() {
    let mut began = drafts::load(&["mid"]);
    began.actual = Some(ActualLoad {
        load_start_min: 5.0,
        end_min: None,
        ended_at_c: None,
    });
    let draft = drafts::draft(
        vec![began, drafts::load(&["low"]), drafts::load(&["high"])],
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
        locks in any::<u64>(),
    ) {
        let make = if ordinary { random } else { odd };
        let order = make(seed, samples, replicates, benches);
        let plan = plan_session(&order, effort(1_000, seed), &mut || true).expect("a plan");
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
        let so_far = SoFar { now_min, draft };
        let faults = faults_since(&order, &found, &so_far);
        prop_assert!(faults.is_empty(), "{:?}", faults);
    }
}
