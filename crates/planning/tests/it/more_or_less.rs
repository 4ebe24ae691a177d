//! What must not make a session longer, and what must not matter.

use crate::exhaustive::shortest_min;
use crate::orders::random;
use meltrange_planning::{SessionBench, SessionEffort, SessionOrder, plan_session};
use rand::SeedableRng as _;
use rand::seq::SliceRandom as _;
use rand_xoshiro::Xoshiro256PlusPlus;

const ROUNDING_MIN: f64 = 1e-9;

fn found_min(order: &SessionOrder) -> f64 {
    let effort = SessionEffort {
        rounds: 15_000,
        seed: 1,
    };
    let plan = plan_session(order, effort, &mut || true).expect("a plan");
    plan.makespan_min
}

/// Small sessions, where the planner finds the shortest plan.
fn small() -> impl Iterator<Item = (u64, SessionOrder)> {
    (0..24u64).map(|seed| {
        let (samples, replicates) = [(2, 2), (4, 1), (3, 1), (1, 3)][seed as usize % 4];
        (
            seed,
            random(seed + 500, samples, replicates, 1 + seed as usize % 2),
        )
    })
}

/// Both the shortest plan there is and the one found.
fn no_longer(seed: u64, before: &SessionOrder, after: &SessionOrder) {
    let (shortest, shortest_after) = (shortest_min(before), shortest_min(after));
    assert!(
        shortest_after <= shortest + ROUNDING_MIN,
        "seed {seed}: {shortest_after} after {shortest}"
    );
    assert!(
        found_min(after) <= found_min(before) + ROUNDING_MIN,
        "seed {seed}: the planner finds longer plans"
    );
}

#[test]
fn one_more_bench_never_lengthens() {
    for (seed, order) in small() {
        let mut with = order.clone();
        with.benches.push(SessionBench {
            name: "more".into(),
            ..order.benches[0].clone()
        });
        no_longer(seed, &order, &with);
    }
}

#[test]
fn one_more_place_never_lengthens() {
    for (seed, mut order) in small() {
        order.benches[0].places = 1 + seed as u32 % 3;
        let mut with = order.clone();
        with.benches[0].places += 1;
        no_longer(seed, &order, &with);
    }
}

#[test]
fn one_more_operator_never_lengthens() {
    for (seed, mut order) in small() {
        order.operators = 1;
        let mut with = order.clone();
        with.operators = 2;
        no_longer(seed, &order, &with);
    }
}

#[test]
fn one_sample_fewer_never_lengthens() {
    for (seed, order) in small() {
        let mut without = order.clone();
        without.samples.pop();
        no_longer(seed, &order, &without);
    }
}

/// The order in which benches and samples are written down changes nothing, not even for sessions
/// whose shortest plan is not found.
#[test]
fn the_order_of_the_file_does_not_matter() {
    for seed in 0..12 {
        let order = random(seed, 3 + seed as usize, 2, 1 + seed as usize % 4);
        let mut other = order.clone();
        let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
        other.samples.shuffle(&mut chance);
        other.benches.shuffle(&mut chance);
        let effort = SessionEffort {
            rounds: 2_000,
            seed,
        };
        let plan = plan_session(&order, effort, &mut || true).expect("a plan");
        let again = plan_session(&other, effort, &mut || true).expect("a plan");
        assert_eq!(plan.makespan_min, again.makespan_min, "seed {seed}");
        let sorted = |mut names: Vec<String>| {
            names.sort();
            names
        };
        assert_eq!(
            sorted(plan.finished_in_time),
            sorted(again.finished_in_time)
        );
    }
}

/// Where not all fits, as many samples are finished as any choice of them allows.
#[test]
fn as_many_samples_are_finished_as_can_be() {
    for seed in 0..40u64 {
        let (samples, replicates) = [(3, 2), (5, 1), (4, 1), (3, 1)][seed as usize % 4];
        let mut order = random(seed + 900, samples, replicates, 1 + seed as usize % 2);
        order.length_min = [0.8, 0.6, 0.4][seed as usize % 3] * shortest_min(&order);
        let most = (0..1u32 << samples)
            .filter(|chosen| {
                let mut part = order.clone();
                let mut number = 0;
                part.samples.retain(|_| {
                    number += 1;
                    chosen >> (number - 1) & 1 == 1
                });
                shortest_min(&part) <= order.length_min
            })
            .map(u32::count_ones)
            .max();
        let effort = SessionEffort {
            rounds: 20_000,
            seed,
        };
        let plan = plan_session(&order, effort, &mut || true).expect("a plan");
        assert_eq!(
            Some(plan.finished_in_time.len() as u32),
            most,
            "seed {seed}"
        );
    }
}
