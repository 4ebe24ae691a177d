//! Sessions larger than any course, and requests that cannot be.

use crate::checker::faults;
use crate::orders::random;
use meltrange_planning::{SessionEffort, SessionOrder, explain, plan_session};
use std::time::{Duration, Instant};

fn refused(order: &SessionOrder) -> String {
    let effort = SessionEffort {
        rounds: 10,
        seed: 1,
    };
    let refused = plan_session(order, effort, &mut || true);
    refused.expect_err("it cannot be").to_string()
}

/// 5,000 samples, two tubes each, ten benches: it ends when it is asked to, and the plan is sound.
#[test]
fn five_thousand_samples_are_planned_in_the_time_given() {
    let order = random(11, 5_000, 2, 10);
    let effort = SessionEffort::for_seconds(1.0, &order, 1);
    let start = Instant::now();
    let limit = Duration::from_secs(1);
    let plan = plan_session(&order, effort, &mut || start.elapsed() < limit).expect("a plan");
    let took = start.elapsed();
    // Reading the order and the first plan come on top; unoptimised and beside other work.
    assert!(took < Duration::from_secs(20), "{took:?}");
    assert_eq!(faults(&order, &plan), Vec::<String>::new());
    let tubes: usize = plan
        .benches
        .iter()
        .flat_map(|bench| &bench.loads)
        .map(|load| load.tubes.len())
        .sum();
    assert_eq!(tubes, 10_000);
    assert_eq!(explain(&order, &plan, 0.0).loads.len(), 10);
}

#[test]
fn nothing_to_measure_takes_no_time() {
    let order = random(1, 0, 2, 2);
    let effort = SessionEffort {
        rounds: 10,
        seed: 1,
    };
    let plan = plan_session(&order, effort, &mut || true).expect("a plan");
    assert_eq!((plan.makespan_min, plan.lower_bound_min), (0.0, 0.0));
    assert!(plan.fits && plan.benches.iter().all(|bench| bench.loads.is_empty()));
    assert!(faults(&order, &plan).is_empty());
}

#[test]
fn impossible_requests_are_named_precisely() {
    let mut order = random(3, 4, 2, 2);
    order.samples[2].first_liquid_c = 360.0;
    order.samples[2].last_crystal_c = 361.0;
    assert_eq!(
        refused(&order),
        "no bench can take sample U2: B0: its scan ends at 363 °C, above max_c 350 °C; \
         B1: its scan ends at 363 °C, above max_c 350 °C"
    );
    let mut order = random(3, 4, 2, 1);
    order.samples[1].first_liquid_c = 120.0;
    order.samples[1].last_crystal_c = 121.0;
    order.samples[1].leave_below_c = Some(122.5);
    assert_eq!(
        refused(&order),
        "no bench can take sample U1: B0: its scan ends at 123 °C, above its own leave_below_c 122.5 °C"
    );
    let mut order = random(3, 4, 2, 2);
    order.operators = 0;
    assert_eq!(refused(&order), "operators is 0; expected 1 or more");
    let mut order = random(3, 4, 2, 2);
    order.policy.load_min = -2.0;
    assert_eq!(refused(&order), "policy.load_min is -2; expected 0 or more");
}
