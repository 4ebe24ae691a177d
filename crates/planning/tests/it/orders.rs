//! Sessions made at random.

use meltrange_planning::{SessionBench, SessionOrder, SessionPolicy, SessionSample};
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_xoshiro::Xoshiro256PlusPlus;

/// A session of `samples` and `benches`; the same for the same seed.
pub fn random(seed: u64, samples: usize, replicates: u32, benches: usize) -> SessionOrder {
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let tenth = |value: f64| (value * 10.0).round() / 10.0;
    SessionOrder {
        length_min: 150.0,
        operators: chance.random_range(1..=2),
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
                heat_rate_c_per_min: tenth(chance.random_range(10.0..20.0)),
                cool_time_constant_min: tenth(chance.random_range(8.0..15.0)),
                max_c: 350.0,
            })
            .collect(),
        samples: (0..samples)
            .map(|number| {
                let first_liquid_c = tenth(chance.random_range(50.0..250.0));
                SessionSample {
                    id: format!("U{number}"),
                    first_liquid_c,
                    last_crystal_c: tenth(first_liquid_c + chance.random_range(0.3..3.0)),
                    replicates: None,
                    leave_below_c: chance
                        .random_bool(0.2)
                        .then(|| tenth(first_liquid_c + 40.0)),
                }
            })
            .collect(),
    }
}

/// As [`random`], with what is out of the ordinary: scans faster than heating, windows that touch, blocks that
/// start hot or below their room, few and mixed places, tubes of one sample in one load.
pub fn odd(seed: u64, samples: usize, replicates: u32, benches: usize) -> SessionOrder {
    let mut order = random(seed, samples, replicates, benches);
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed + 1_000_000);
    if chance.random_bool(0.5) {
        order.policy.scan_rate_c_per_min = chance.random_range(5.0..40.0);
    }
    order.policy.independent_loads = chance.random_bool(0.6);
    order.policy.soak_min = chance.random_range(0.0..4.0);
    order.policy.resettle_min = chance.random_range(0.0..6.0);
    for bench in &mut order.benches {
        bench.start_c = chance.random_range(10.0..200.0);
        bench.places = chance.random_range(1..=3);
        bench.heat_rate_c_per_min = chance.random_range(2.0..20.0);
    }
    let mut touching_c = order.samples.first().map(|sample| sample.last_crystal_c);
    for sample in order.samples.iter_mut().skip(1) {
        let touches = touching_c.filter(|_| chance.random_bool(0.5));
        // Not so high that no bench can take it.
        if let Some(before_c) = touches.filter(|before_c| *before_c < 320.0) {
            // Stop 2 °C above, start 3 °C below: the windows touch, up to rounding.
            sample.first_liquid_c = before_c + 2.0 + 3.0;
            sample.last_crystal_c = sample.first_liquid_c + chance.random_range(0.3..20.0);
            sample.leave_below_c = None;
        }
        touching_c = Some(sample.last_crystal_c);
    }
    order
}
