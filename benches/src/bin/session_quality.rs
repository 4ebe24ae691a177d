//! How short session plans are, and how fast: makespans after 1 s and 10 s beside the best known.
//!
//! Instances are made at random from a seed; "best known" is the best of long searches with other seeds.

use meltrange_planning::{
    SessionBench, SessionEffort, SessionOrder, SessionPolicy, SessionSample, plan_session,
};
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_xoshiro::Xoshiro256PlusPlus;
use std::time::{Duration, Instant};

/// Samples, replicates, benches, operators.
const SIZES: [(usize, u32, usize, u32); 12] = [
    (6, 2, 1, 1),
    (10, 2, 2, 1),
    (12, 3, 2, 1),
    (15, 2, 3, 1),
    (20, 2, 2, 2),
    (20, 3, 3, 1),
    (24, 2, 4, 2),
    (30, 1, 2, 1),
    (30, 2, 4, 1),
    (30, 3, 3, 2),
    (30, 3, 5, 1),
    (30, 3, 6, 2),
];

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let long_s: f64 = arguments
        .get(1)
        .and_then(|text| text.parse().ok())
        .unwrap_or(30.0);
    println!(
        "| samples × replicates, benches, operators | bound | 1 s | 10 s | best known | 1 s over best | 10 s over best | rounds/s |"
    );
    println!("|---|---|---|---|---|---|---|---|");
    for (number, &size) in SIZES.iter().enumerate() {
        let order = instance(number as u64 + 100, size);
        let (one, _) = searched(&order, 1.0, 1);
        let (ten, rounds_per_s) = searched(&order, 10.0, 1);
        let best = (0..2)
            .map(|seed| searched(&order, long_s, 50 + seed).0.makespan_min)
            .fold(one.makespan_min.min(ten.makespan_min), f64::min);
        let over = |found: f64| format!("{:.2} %", 100.0 * (found / best - 1.0));
        println!(
            "| {} × {}, {}, {} | {:.1} | {:.2} | {:.2} | {best:.2} | {} | {} | {rounds_per_s:.0} |",
            size.0,
            size.1,
            size.2,
            size.3,
            ten.lower_bound_min,
            one.makespan_min,
            ten.makespan_min,
            over(one.makespan_min),
            over(ten.makespan_min)
        );
    }
    let order = instance(7, (200, 2, 10, 3));
    let (found, rounds_per_s) = searched(&order, 30.0, 1);
    let best = searched(&order, 3.0 * long_s, 9)
        .0
        .makespan_min
        .min(found.makespan_min);
    println!(
        "| 200 × 2, 10, 3 (30 s) | {:.1} | | {:.2} | {best:.2} | | {:.2} % | {rounds_per_s:.0} |",
        found.lower_bound_min,
        found.makespan_min,
        100.0 * (found.makespan_min / best - 1.0)
    );
}

fn searched(
    order: &SessionOrder,
    seconds: f64,
    seed: u64,
) -> (meltrange_planning::SessionPlan, f64) {
    let effort = SessionEffort::for_seconds(seconds, order, seed);
    let start = Instant::now();
    let limit = Duration::from_secs_f64(seconds);
    let plan = plan_session(order, effort, &mut || start.elapsed() < limit);
    let rounds_per_s = effort.rounds as f64 / start.elapsed().as_secs_f64();
    (plan.expect("a session that can be planned"), rounds_per_s)
}

fn instance(
    seed: u64,
    (samples, replicates, benches, operators): (usize, u32, usize, u32),
) -> SessionOrder {
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    SessionOrder {
        length_min: 1e6,
        operators,
        policy: SessionPolicy {
            replicates,
            ..SessionPolicy::default()
        },
        benches: (0..benches)
            .map(|number| SessionBench {
                name: format!("B{number}"),
                places: 3,
                room_c: 22.0,
                start_c: 22.0,
                heat_rate_c_per_min: chance.random_range(12.0..18.0),
                cool_time_constant_min: chance.random_range(10.0..14.0),
                max_c: 350.0,
            })
            .collect(),
        samples: (0..samples)
            .map(|number| {
                let first_liquid_c = chance.random_range(45.0..260.0);
                SessionSample {
                    id: format!("U{number}"),
                    first_liquid_c,
                    last_crystal_c: first_liquid_c + chance.random_range(0.3..2.5),
                    replicates: None,
                    leave_below_c: chance.random_bool(0.15).then_some(first_liquid_c + 40.0),
                }
            })
            .collect(),
    }
}
