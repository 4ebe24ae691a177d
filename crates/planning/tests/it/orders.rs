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
