//! A time that no plan of a session can beat.
//!
//! Derivation in docs/models/session.md: every term holds for every plan, so their sum over the
//! benches does.

use super::model::{Model, Sample};
use super::order::{ABOVE_ROOM_C, SLACK_C};
use std::collections::BTreeMap;

/// Largest of the bounds [min].
pub(crate) fn lower_bound_min(model: &Model) -> f64 {
    if model.samples.is_empty() {
        return 0.0;
    }
    let loads = fewest_loads(model);
    let benches = model.benches.len() as f64;
    let each = |scanned_through: bool| {
        model
            .samples
            .iter()
            .map(move |sample| alone_min(model, sample, scanned_through))
    };
    // Another sample's window may cover a sample's approach and be scanned faster than it is heated.
    let longest_alone = each(true).fold(0.0, f64::max);
    // The lowest sample of a load makes its approach as if it were alone.
    let shortest_load = each(false).fold(f64::INFINITY, f64::min);
    let one_bench = (loads as f64 / benches).ceil() * shortest_load;
    let load_min = model.policy.load_min;
    let by_operators = (loads as f64 / model.operators as f64).ceil() * load_min
        + (shortest_load - load_min).max(0.0);
    let others = longest_alone.max(one_bench).max(by_operators);
    let spread_evenly = (work_min(model, loads) + first_waits_min(model, others)) / benches;
    spread_evenly.max(others)
}

/// How long benches wait in all for their first load to be set in [min], given that the session takes at
/// least `session_min`.
///
/// Of benches that need not cool before any load, the j-th to begin, counted from 0, begins after at least
/// ⌊j/operators⌋ others were set in one after another; one that never begins waits to the end. Nothing else of a
/// bench's time falls into that wait.
fn first_waits_min(model: &Model, session_min: f64) -> f64 {
    let lowest_first_liquid_c = model
        .samples
        .iter()
        .map(|sample| sample.first_liquid_c)
        .fold(f64::INFINITY, f64::min);
    let cool_from_the_start = model.benches.iter().filter(|bench| {
        let load_c = lowest_first_liquid_c - model.policy.cool_below_c;
        bench.start_c <= load_c.max(bench.room_c + ABOVE_ROOM_C)
    });
    let set_in = |others: usize| (others / model.operators) as f64 * model.policy.load_min;
    (0..cool_from_the_start.count())
        .map(|others| set_in(others).min(session_min))
        .sum()
}

/// Fewest loads that hold all tubes.
fn fewest_loads(model: &Model) -> u64 {
    let tubes: u64 = model
        .samples
        .iter()
        .map(|sample| u64::from(sample.replicates))
        .sum();
    let by_places = tubes.div_ceil(model.most_places as u64);
    by_places.max(most_replicates(model, model.samples.iter()))
}

/// Most tubes of one sample where they may not share a load, else 1.
fn most_replicates<'a>(model: &Model, samples: impl Iterator<Item = &'a Sample>) -> u64 {
    let most = samples.map(|sample| u64::from(sample.replicates)).max();
    if model.policy.independent_loads {
        most.unwrap_or(0)
    } else {
        most.map_or(0, |_| 1)
    }
}

/// Time of a load that holds a sample, from setting in to its end, at the bench that is best for it [min];
/// its approach heated, or `scanned_through` where that is faster.
fn alone_min(model: &Model, sample: &Sample, scanned_through: bool) -> f64 {
    let policy = &model.policy;
    let [from_c, to_c] = sample.window_c;
    let scan_rate = policy.scan_rate_c_per_min;
    let best = model
        .benches
        .iter()
        .zip(&sample.fits)
        .filter(|(_, fits)| **fits)
        .map(|(bench, _)| {
            let load_c =
                (sample.first_liquid_c - policy.cool_below_c).max(bench.room_c + ABOVE_ROOM_C);
            let rate = if scanned_through {
                bench.heat_rate_c_per_min.max(scan_rate)
            } else {
                bench.heat_rate_c_per_min
            };
            (from_c - load_c).max(0.0) / rate
        })
        .fold(f64::INFINITY, f64::min);
    policy.load_min + policy.soak_min + best + (to_c - from_c) / scan_rate
}

/// Fastest heating anywhere [°C/min].
fn fastest(model: &Model) -> f64 {
    model
        .benches
        .iter()
        .map(|bench| bench.heat_rate_c_per_min)
        .fold(0.0, f64::max)
}

/// What scanning a width takes beyond heating through it as fast as possible [min].
fn scan_surplus(model: &Model, width_c: f64) -> f64 {
    let through = fastest(model).max(model.policy.scan_rate_c_per_min);
    width_c * (1.0 / model.policy.scan_rate_c_per_min - 1.0 / through)
}

/// Least time of all benches together [min].
fn work_min(model: &Model, fewest: u64) -> f64 {
    let policy = &model.policy;
    let crossings = crossings(model);
    let through = fastest(model).max(policy.scan_rate_c_per_min);
    let (up, surplus) = (1.0 / through, scan_surplus(model, 1.0));
    let coolest_room_c = model
        .benches
        .iter()
        .map(|bench| bench.room_c)
        .fold(f64::INFINITY, f64::min);
    let quickest_cooling_min = model
        .benches
        .iter()
        .map(|bench| bench.cool_time_constant_min)
        .fold(f64::INFINITY, f64::min);
    let mut work = 0.0;
    for part in &crossings.parts {
        let width_c = part.to_c - part.from_c;
        let below = model
            .benches
            .iter()
            .filter(|bench| bench.start_c < part.to_c)
            .count() as u64;
        let downs = part.ups.saturating_sub(below);
        work += part.ups as f64 * width_c * up + part.scans as f64 * width_c * surplus;
        if downs > 0 {
            let (from, to) = (part.from_c - coolest_room_c, part.to_c - coolest_room_c);
            work += downs as f64 * quickest_cooling_min * (to / from).ln();
        }
    }
    // Every load has one first scan; every scan beyond is resettled before.
    let per_load = policy.load_min + policy.soak_min;
    let loads_and_scans = if per_load >= policy.resettle_min {
        fewest as f64 * per_load
            + crossings.fewest_scans.saturating_sub(fewest) as f64 * policy.resettle_min
    } else {
        // More loads would save resettling: each scan costs at least a load's own time.
        crossings.fewest_scans.max(fewest) as f64 * per_load
    };
    work + loads_and_scans
}

/// A stretch of temperature in which the counts do not change.
struct Part {
    from_c: f64,
    to_c: f64,
    /// Loads that must heat through it.
    ups: u64,
    /// Loads that must scan it.
    scans: u64,
}

struct Crossings {
    parts: Vec<Part>,
    /// Fewest scans of all loads together: the most that any point of each cluster of windows needs.
    fewest_scans: u64,
}

/// Tubes that are open at a temperature, and the most of one sample.
#[derive(Default)]
struct Open {
    tubes: u64,
    by_replicates: BTreeMap<u32, u64>,
}

impl Open {
    fn change(&mut self, replicates: u32, enters: bool) {
        let count = self.by_replicates.entry(replicates).or_default();
        if enters {
            self.tubes += u64::from(replicates);
            *count += 1;
        } else {
            self.tubes -= u64::from(replicates);
            *count -= 1;
            if *count == 0 {
                self.by_replicates.remove(&replicates);
            }
        }
    }

    /// Fewest loads that hold one tube each time one is open.
    fn loads(&self, model: &Model) -> u64 {
        let by_places = self.tubes.div_ceil(model.most_places as u64);
        let most = self.by_replicates.keys().next_back().copied().unwrap_or(0);
        if model.policy.independent_loads {
            by_places.max(u64::from(most))
        } else {
            by_places
        }
    }
}

fn crossings(model: &Model) -> Crossings {
    let mut events: Vec<(f64, bool, bool, u32)> = Vec::new();
    for sample in &model.samples {
        let warmest_room_c = model
            .benches
            .iter()
            .zip(&sample.fits)
            .filter(|(_, fits)| **fits)
            .map(|(bench, _)| bench.room_c)
            .fold(f64::NEG_INFINITY, f64::max);
        let [from_c, to_c] = sample.window_c;
        let load_c = (sample.first_liquid_c - model.policy.cool_below_c)
            .max(warmest_room_c + ABOVE_ROOM_C)
            .min(from_c);
        for (at_c, scan, enters) in [
            (load_c, false, true),
            (to_c, false, false),
            (from_c, true, true),
            (to_c, true, false),
        ] {
            events.push((at_c, scan, enters, sample.replicates));
        }
    }
    events.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut heated, mut scanned) = (Open::default(), Open::default());
    let mut parts: Vec<Part> = Vec::new();
    let (mut fewest_scans, mut in_cluster) = (0, 0);
    // Windows that touch, up to rounding, may become one scan: a cluster ends only where more is free.
    let mut free_c = 0.0;
    let mut before_c = f64::NEG_INFINITY;
    for (at_c, scan, enters, replicates) in events {
        if at_c > before_c && heated.tubes > 0 {
            let scans = scanned.loads(model);
            in_cluster = scans.max(in_cluster);
            free_c = if scans == 0 {
                free_c + at_c - before_c
            } else {
                0.0
            };
            if free_c > SLACK_C {
                fewest_scans += in_cluster;
                in_cluster = 0;
            }
            parts.push(Part {
                from_c: before_c,
                to_c: at_c,
                ups: heated.loads(model),
                scans,
            });
        }
        before_c = at_c;
        let open = if scan { &mut scanned } else { &mut heated };
        open.change(replicates, enters);
    }
    Crossings {
        parts,
        fewest_scans: fewest_scans + in_cluster,
    }
}
