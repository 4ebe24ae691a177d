//! What plans of sessions must be.

use crate::checker::faults;
use crate::exhaustive::shortest_min;
use crate::orders::{odd, random};
use meltrange_planning::{
    SessionEffort, SessionOrder, SessionPlan, plan_session, session_lower_bound_min,
};

fn planned(order: &SessionOrder, rounds: u64) -> SessionPlan {
    let effort = SessionEffort { rounds, seed: 1 };
    let plan = plan_session(order, effort, &mut || true).expect("a session that can be planned");
    let faults = faults(order, &plan);
    assert!(faults.is_empty(), "{faults:?}");
    plan
}

/// Sessions so small that every plan can be tried.
#[test]
fn small_sessions_are_planned_as_short_as_can_be() {
    for seed in 0..60 {
        let (samples, replicates) = [(2, 2), (4, 1), (3, 1), (5, 1), (1, 3)][seed as usize % 5];
        let order = random(seed, samples, replicates, 1 + seed as usize % 2);
        let plan = planned(&order, 20_000);
        let shortest = shortest_min(&order);
        assert!(
            (plan.makespan_min - shortest).abs() < 0.01,
            "seed {seed}: {} against {shortest}",
            plan.makespan_min
        );
        let bound = session_lower_bound_min(&order).expect("it can be planned");
        assert!(
            bound <= shortest + 1e-9,
            "seed {seed}: {bound} against {shortest}"
        );
    }
}

/// The same for sessions out of the ordinary; the bound is held against the shortest plan there is, not the one found.
#[test]
fn odd_sessions_have_sound_bounds_and_short_plans() {
    for seed in 0..150 {
        let (samples, replicates) = [(2, 2), (4, 1), (3, 1), (2, 1), (1, 3)][seed as usize % 5];
        let order = odd(seed, samples, replicates, 1 + seed as usize % 2);
        let shortest = shortest_min(&order);
        let bound = session_lower_bound_min(&order).expect("it can be planned");
        assert!(
            bound <= shortest + 1e-9,
            "seed {seed}: {bound} against {shortest}"
        );
        let plan = planned(&order, 20_000);
        assert!(
            (plan.makespan_min - shortest).abs() < 0.01,
            "seed {seed}: {} against {shortest}",
            plan.makespan_min
        );
    }
}

#[test]
fn plans_of_all_sizes_hold_what_the_model_asks() {
    for (seed, samples, replicates, benches) in [
        (1, 0, 2, 1),
        (2, 1, 1, 1),
        (3, 12, 2, 2),
        (4, 30, 3, 4),
        (5, 60, 2, 10),
    ] {
        let order = random(seed, samples, replicates, benches);
        let plan = planned(&order, 5_000);
        assert!(samples == 0 || plan.lower_bound_min > 0.5 * plan.makespan_min);
    }
}

#[test]
fn the_same_order_gives_the_same_plan() {
    let order = random(9, 10, 2, 2);
    assert_eq!(planned(&order, 4_000), planned(&order, 4_000));
}

/// The worked times of one load, by hand: 22 °C, loaded at 22 (below 101.5), 2 min loading, heated
/// to 118.5 at 15 °C/min, 3 min soak, 6 °C at 1 °C/min.
#[test]
fn one_tube_takes_what_the_model_says() {
    let text = "length_min = 30\n[[bench]]\nname = 'A'\nplaces = 3\nroom_c = 22.0\nstart_c = 22.0\n\
        heat_rate_c_per_min = 15.0\ncool_time_constant_min = 12.0\nmax_c = 350.0\n\
        [[sample]]\nid = 'U1'\nfirst_liquid_c = 121.5\nlast_crystal_c = 122.5\nreplicates = 1\n";
    let order: SessionOrder = toml::from_str(text).expect("a session");
    let plan = planned(&order, 100);
    let by_hand = 2.0 + (118.5 - 22.0) / 15.0 + 3.0 + 6.0;
    assert!((plan.makespan_min - by_hand).abs() < 1e-9);
    assert!(plan.fits && plan.in_time_benches.is_none());
    assert_eq!(plan.finished_in_time, ["U1"]);
}

#[test]
fn what_does_not_fit_is_left_out_and_named() {
    for seed in 0..6 {
        let mut order = random(seed, 14, 2, 1);
        order.length_min = 120.0;
        let plan = planned(&order, 20_000);
        assert!(!plan.fits);
        assert!(!plan.finished_in_time.is_empty() && !plan.not_finished.is_empty());
    }
}

#[test]
fn orders_without_sense_are_refused_by_name() {
    type Break = fn(&mut SessionOrder);
    let broken: [(&str, Break); 12] = [
        ("operators", |order| order.operators = 0),
        ("policy.replicates", |order| order.policy.replicates = 0),
        ("policy.cool_below_c", |order| {
            order.policy.cool_below_c = 1.0
        }),
        ("policy.scan_rate_c_per_min", |order| {
            order.policy.scan_rate_c_per_min = -1.0
        }),
        ("heat_rate_c_per_min of bench B0", |order| {
            order.benches[0].heat_rate_c_per_min = 0.0
        }),
        ("sample U0 stands there twice", |order| {
            order.samples[1].id = "U0".into()
        }),
        ("bench B0 stands there twice", |order| {
            order.benches[1].name = "B0".into()
        }),
        ("last_crystal_c of sample U1", |order| {
            order.samples[1].last_crystal_c = 1.0
        }),
        ("no bench", |order| order.benches.clear()),
        ("no bench can take sample U0", |order| {
            order.samples[0].leave_below_c = Some(30.0)
        }),
        ("no bench can take sample U0", |order| {
            order.samples[0].first_liquid_c = 400.0;
            order.samples[0].last_crystal_c = 401.0;
        }),
        ("first_liquid_c of sample U0", |order| {
            order.samples[0].first_liquid_c = f64::NAN
        }),
    ];
    for (expected, break_it) in broken {
        let mut order = random(3, 4, 2, 2);
        break_it(&mut order);
        let effort = SessionEffort {
            rounds: 10,
            seed: 1,
        };
        let error = plan_session(&order, effort, &mut || true).expect_err(expected);
        assert!(error.to_string().contains(expected), "{expected}: {error}");
    }
}
