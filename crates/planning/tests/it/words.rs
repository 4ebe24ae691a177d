//! Plans in words, what more would save, what to relax. Numbers are worked by hand.

use crate::drafts;
use crate::orders::random;
use meltrange_planning::{
    ActualLoad, SessionDraft, SessionEffort, SessionOrder, SessionPlan, SessionSoFar, better_of,
    explain, plan_session, relaxations, replan, retime, what_more_saves,
};

const EFFORT: SessionEffort = SessionEffort {
    rounds: 4_000,
    seed: 1,
};

fn planned(order: &SessionOrder) -> SessionPlan {
    plan_session(order, EFFORT, &mut || true).expect("a plan")
}

/// `drafts`: B holds low and high: 2 min waiting, 2 set in, 6 + 6.4 heating, 3 + 1 soaking, 12 scanning.
/// Apart: low 2 + 6 + 3 + 6 = 17, then high from 86 °C: 2 + 6.4 + 3 + 6 = 17.4; together 30.4: 4 min less.
#[test]
fn shares_and_reasons_are_those_of_the_plan() {
    let mut draft = drafts::draft(
        vec![drafts::load(&["mid"])],
        vec![drafts::load(&["low", "high"])],
    );
    draft.benches[0].loads[0].turn = Some(0);
    let order = drafts::order();
    let plan = retime(&order, &draft, 0.0).expect("times").plan;
    let words = explain(&order, &plan, 0.0);
    assert_eq!(words.loads[0], [""]);
    assert_eq!(
        words.loads[1],
        [
            "2 scans upwards from 80.0 to 156.0 °C, no cooling between; in loads of their own here they \
          would take 4.0 min longer"
        ]
    );
    let b = &words.shares[1];
    let parts = [
        (b.cooling_min, 0.0),
        (b.waiting_min, 2.0),
        (b.loading_min, 2.0),
        (b.approaching_min, 12.4),
        (b.soaking_min, 4.0),
        (b.scanning_min, 12.0),
        (b.idle_min, 0.0),
    ];
    for (found, by_hand) in parts {
        assert!((found - by_hand).abs() < 1e-9, "{b:?}");
    }
    assert!((words.shares[0].idle_min - 11.4).abs() < 1e-9);
    assert!(
        words.bottleneck.starts_with("One bench: B"),
        "{}",
        words.bottleneck
    );
}

/// The same at minute 60 with nothing begun: the hour passed, and nobody was waited for in it.
#[test]
fn time_that_passed_is_not_waiting_for_hands() {
    let mut draft = drafts::draft(
        vec![drafts::load(&["mid"])],
        vec![drafts::load(&["low", "high"])],
    );
    draft.benches[0].loads[0].turn = Some(0);
    let order = drafts::order();
    let plan = retime(&order, &draft, 60.0).expect("times").plan;
    let words = explain(&order, &plan, 60.0);
    let [a, b] = [&words.shares[0], &words.shares[1]];
    assert!(
        a.waiting_min.abs() < 1e-9 && (b.waiting_min - 2.0).abs() < 1e-9,
        "{a:?} {b:?}"
    );
    assert!(
        (b.idle_min - 60.0).abs() < 1e-9 && (a.idle_min - 71.4).abs() < 1e-9,
        "{a:?} {b:?}"
    );
    assert!(
        !words.bottleneck.starts_with("Hands"),
        "{}",
        words.bottleneck
    );
}

/// A draft that lacks tubes may end before what no plan of the whole order beats, and nothing longer is offered for it.
#[test]
fn a_draft_without_all_tubes_keeps_the_bound_of_the_order() {
    let mut order = random(6, 10, 2, 2);
    let whole = planned(&order);
    let mut draft = meltrange_planning::SessionDraft::from(&whole);
    for bench in &mut draft.benches {
        bench.loads.truncate(1);
    }
    order.length_min = 2.0 * whole.makespan_min;
    let plan = retime(&order, &draft, 0.0).expect("times").plan;
    assert!(plan.makespan_min < plan.lower_bound_min && !plan.fits);
    assert!((plan.lower_bound_min - whole.lower_bound_min).abs() < 1e-9);
    let relaxed = relaxations(&order, &SessionSoFar::default(), &plan, EFFORT, &mut || {
        true
    })
    .expect("relaxations");
    assert!(
        relaxed
            .iter()
            .all(|one| !one.what.starts_with("a session of")),
        "{relaxed:?}"
    );
}

/// Every minute of every bench is somewhere.
#[test]
fn shares_add_up_to_the_makespan() {
    for seed in 0..10 {
        let order = random(seed, 8, 2, 3);
        let plan = planned(&order);
        for share in explain(&order, &plan, 0.0).shares {
            let sum = share.cooling_min
                + share.waiting_min
                + share.loading_min
                + share.approaching_min
                + share.soaking_min
                + share.scanning_min
                + share.idle_min;
            assert!((sum - plan.makespan_min).abs() < 1e-6, "{share:?}");
        }
    }
}

/// Long setting in by one person for four benches: hands. One bench far from any limit: not.
#[test]
fn hands_are_named_where_they_are_waited_for() {
    let mut order = random(4, 12, 2, 4);
    (order.operators, order.policy.load_min) = (1, 10.0);
    let words = explain(&order, &planned(&order), 0.0).bottleneck;
    assert!(words.starts_with("Hands: "), "{words}");
    order = random(4, 12, 2, 1);
    let words = explain(&order, &planned(&order), 0.0).bottleneck;
    assert!(
        !words.starts_with("Hands") && !words.starts_with("One bench"),
        "{words}"
    );
}

#[test]
fn more_never_costs_and_a_second_bench_helps() {
    let order = random(5, 10, 2, 1);
    let plan = planned(&order);
    let savings = what_more_saves(&order, &plan, EFFORT, &mut || true).expect("savings");
    assert_eq!(savings.len(), 3);
    assert!(savings.iter().all(|saving| saving.saves_min >= 0.0));
    assert_eq!(savings[0].what, "one more bench like B0");
    assert!(savings[0].saves_min > 0.3 * plan.makespan_min);
    let hands = savings.iter().find(|saving| saving.what.contains("person"));
    assert!(hands.expect("named").saves_min < 0.01);
}

#[test]
fn what_to_relax_is_named_with_its_price() {
    let mut order = random(6, 10, 2, 2);
    let whole = planned(&order);
    assert!(
        relaxations(
            &order,
            &SessionSoFar::default(),
            &whole,
            EFFORT,
            &mut || true
        )
        .expect("none")
        .is_empty()
    );
    order.length_min = (0.9 * whole.makespan_min).floor();
    let plan = planned(&order);
    assert!(!plan.fits);
    let found = relaxations(&order, &SessionSoFar::default(), &plan, EFFORT, &mut || {
        true
    })
    .expect("relaxations");
    let starts = [
        "one tube of each sample fewer, 1 instead of 2",
        "scan at ",
        "soak for ",
        "scan from ",
        "leave out ",
        "a session of ",
    ];
    assert_eq!(found.len(), starts.len());
    for (relaxed, start) in found.iter().zip(starts) {
        assert!(relaxed.what.starts_with(start), "{}", relaxed.what);
        assert!(!relaxed.price.is_empty());
        assert!(relaxed.order.check().is_ok());
        assert!(
            relaxed.makespan_min <= plan.makespan_min + 1e-9,
            "{}",
            relaxed.what
        );
        assert_eq!(
            relaxed.fits,
            relaxed.makespan_min <= relaxed.order.length_min + 0.01
        );
        assert_eq!(
            relaxed.fits,
            relaxed.finished == relaxed.order.samples.len()
        );
    }
    assert!(found[0].fits && found[4].fits && found[5].fits);
    assert_eq!(found[4].order.samples.len(), plan.finished_in_time.len());
}

/// A shorter soak or scan finishes no fewer samples in time than the plan did without.
#[test]
fn what_is_relaxed_finishes_no_fewer_samples() {
    for seed in 0..4 {
        let mut order = random(seed, 24, 3, 3);
        order.length_min = (0.5 * planned(&order).makespan_min).floor();
        let strong = SessionEffort {
            rounds: 40_000,
            seed,
        };
        let plan = plan_session(&order, strong, &mut || true).expect("a plan");
        let so_far = SessionSoFar::default();
        let weak = SessionEffort { rounds: 200, seed };
        let found = relaxations(&order, &so_far, &plan, weak, &mut || true).expect("relaxations");
        for relaxed in found
            .iter()
            .filter(|one| !one.what.starts_with("leave out"))
        {
            assert!(
                relaxed.finished >= plan.finished_in_time.len(),
                "seed {seed}: {}: {} of {}",
                relaxed.what,
                relaxed.finished,
                plan.finished_in_time.len()
            );
        }
    }
}

/// A short search takes over what people already have, of the whole and of what is done in time.
#[test]
fn what_people_have_is_taken_over_where_it_is_better() {
    let mut more = 0;
    for seed in 0..8 {
        let mut order = random(seed, 24, 2, 3);
        order.length_min = (0.6 * planned(&order).makespan_min).floor();
        let strong = SessionEffort {
            rounds: 60_000,
            seed: 1,
        };
        let theirs = plan_session(&order, strong, &mut || true).expect("a plan");
        let of = |benches: &Vec<_>| {
            SessionDraft::from(&SessionPlan {
                benches: benches.clone(),
                ..theirs.clone()
            })
        };
        let so_far = SessionSoFar {
            draft: of(&theirs.benches),
            now_min: 0.0,
        };
        let in_time = of(theirs.in_time_benches.as_ref().expect("not all fits"));
        let poor = SessionEffort { rounds: 1, seed: 9 };
        let found = plan_session(&order, poor, &mut || true).expect("a plan");
        assert!(found.makespan_min > theirs.makespan_min);
        let fewer = found.finished_in_time.len() < theirs.finished_in_time.len();
        let better = better_of(&order, found, &so_far, Some(&in_time)).expect("a plan");
        assert_eq!(better.makespan_min, theirs.makespan_min);
        if fewer {
            more += 1;
            assert_eq!(better.finished_in_time, theirs.finished_in_time);
            assert_eq!(better.in_time_benches, theirs.in_time_benches);
        }
    }
    assert!(more > 0, "a short search finishes as many everywhere");
}

/// A session that began late and fits no longer: what could give is of what is left. With one load begun it stays in each.
#[test]
fn what_could_give_is_of_what_is_left() {
    let order = random(6, 10, 2, 2);
    let whole = planned(&order);
    let mut late = order.clone();
    late.length_min = (whole.makespan_min + 5.0).ceil();
    let mut began = SessionDraft::from(&whole);
    began.benches[0].loads[0].actual = Some(ActualLoad {
        load_start_min: 20.0,
        end_min: None,
        ended_at_c: None,
    });
    for draft in [SessionDraft::from(&whole), began] {
        let so_far = SessionSoFar {
            draft,
            now_min: 30.0,
        };
        let plan = replan(&late, &so_far.draft, 30.0, EFFORT, &mut || true).expect("a plan");
        assert!(!plan.fits);
        let found = relaxations(&late, &so_far, &plan, EFFORT, &mut || true).expect("relaxations");
        assert!(found.iter().any(|one| one.fits), "{found:?}");
        let soak = found.iter().find(|one| one.what.starts_with("soak"));
        let soak = soak.expect("a shorter soak");
        // Some load is set in at 30 or later, so that no plan of the rest is as short as one of the whole.
        assert!(soak.makespan_min > 30.0 + 10.0, "{soak:?}");
        for one in &found {
            let again = replan(&one.order, &so_far.draft, 30.0, EFFORT, &mut || true);
            let again = again.expect("a plan");
            if let Some(actual) = so_far.draft.benches[0].loads[0].actual {
                let first = &again.benches[0].loads[0];
                assert_eq!(first.load_start_min, actual.load_start_min, "{}", one.what);
            }
        }
    }
}

#[test]
fn the_price_of_a_single_tube_is_said_where_some_samples_come_to_it() {
    let mut order = random(6, 6, 3, 2);
    order.samples[0].replicates = Some(2);
    order.length_min = (0.5 * planned(&order).makespan_min).floor();
    let plan = planned(&order);
    let found = relaxations(&order, &SessionSoFar::default(), &plan, EFFORT, &mut || {
        true
    });
    let fewer = &found.expect("relaxations")[0];
    assert!(
        fewer.what.ends_with("1 to 2 instead of 2 to 3"),
        "{}",
        fewer.what
    );
    for part in ["means rest on fewer tubes", "one tube alone shows neither"] {
        assert!(fewer.price.contains(part), "{}", fewer.price);
    }
}
