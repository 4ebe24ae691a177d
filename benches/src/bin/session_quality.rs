//! How short session plans are, and how fast: makespans after 1 s and 10 s beside the best known.
//!
//! Instances are made at random from a seed; "best known" is the best of long searches with other seeds.

#![expect(clippy::print_stdout, reason = "a table for people and Markdown")]

use meltrange_planning::{
    SessionBench, SessionEffort, SessionOrder, SessionPlan, SessionPolicy, SessionSample,
    plan_session,
};
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_xoshiro::Xoshiro256PlusPlus;
use std::path::Path;
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

/// Small ones for planners that prove what is shortest; not in the table.
const PROVABLE: [(usize, u32, usize, u32); 4] =
    [(4, 2, 1, 1), (5, 1, 2, 1), (4, 2, 2, 1), (7, 1, 2, 1)];

/// The large one: samples, replicates, benches, operators.
const LARGE: (usize, u32, usize, u32) = (200, 2, 10, 3);

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["--dump", folder] => dump(Path::new(folder)),
        ["--plan", file, seconds, seed] => plan(Path::new(file), seconds.parse()?, seed.parse()?),
        ["--spread", seconds, seeds, names @ ..] => {
            spread(seconds.parse()?, seeds.parse()?, names);
            Ok(())
        }
        [] => {
            table(30.0);
            Ok(())
        }
        [long_s] => {
            table(long_s.parse()?);
            Ok(())
        }
        _ => Err("expected nothing, SECONDS, --dump FOLDER, --plan FILE SECONDS SEED or --spread SECONDS SEEDS [NAME..]".into()),
    }
}

/// Each instance with the name of its file.
fn instances() -> impl Iterator<Item = (String, SessionOrder)> {
    let provable = (200..).zip(PROVABLE);
    (100..)
        .zip(SIZES)
        .chain([(7, LARGE)])
        .chain(provable)
        .map(|(seed, size)| {
            let (samples, replicates, benches, operators) = size;
            let name = format!("{seed}-{samples}x{replicates}-{benches}-{operators}");
            (name, instance(seed, size))
        })
}

/// The plan of one session file, as JSON.
fn plan(file: &Path, seconds: f64, seed: u64) -> Result<(), Box<dyn std::error::Error>> {
    let order: SessionOrder = toml::from_str(&std::fs::read_to_string(file)?)?;
    let (found, _) = searched(&order, seconds, seed);
    println!("{}", serde_json::to_string(&found)?);
    Ok(())
}

/// All instances as session files, for other planners.
fn dump(folder: &Path) -> Result<(), Box<dyn std::error::Error>> {
    std::fs::create_dir_all(folder)?;
    for (name, order) in instances() {
        std::fs::write(
            folder.join(name).with_extension("toml"),
            toml::to_string(&order)?,
        )?;
    }
    Ok(())
}

/// How much the seed matters; no clock ends the searches.
fn spread(seconds: f64, seeds: u64, names: &[&str]) {
    println!("| instance | bound | shortest | mean | longest | s |");
    println!("|---|---|---|---|---|---|");
    let asked = |name: &str| names.is_empty() || names.iter().any(|part| name.contains(part));
    for (name, order) in instances().filter(|(name, _)| asked(name)) {
        let start = Instant::now();
        let found: Vec<SessionPlan> = (1..=seeds)
            .map(|seed| {
                let effort = SessionEffort::for_seconds(seconds, &order, seed);
                plan_session(&order, effort, &mut || true).expect("a session that can be planned")
            })
            .collect();
        let each_s = start.elapsed().as_secs_f64() / seeds.max(1) as f64;
        let makespans = found.iter().map(|plan| plan.makespan_min);
        println!(
            "| {name} | {:.1} | {:.2} | {:.2} | {:.2} | {each_s:.2} |",
            found.first().map_or(0.0, |plan| plan.lower_bound_min),
            makespans.clone().fold(f64::INFINITY, f64::min),
            makespans.clone().sum::<f64>() / seeds.max(1) as f64,
            makespans.fold(0.0, f64::max),
        );
    }
}

fn table(long_s: f64) {
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
    let order = instance(7, LARGE);
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

fn searched(order: &SessionOrder, seconds: f64, seed: u64) -> (SessionPlan, f64) {
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
