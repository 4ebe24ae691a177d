//! As many samples as possible within the session, when not all of them fit.

use super::model::{Load, Model, Plan};
use super::search::{State, anneal, insert_tubes};

/// Rounding of a session's length [min].
const ROUNDING_MIN: f64 = 1e-9;

/// Effort of the search after each change, as a part of that for all.
const PARTS: u64 = 24;

/// How far each search wanders at first, as a part of the makespan.
const WARM: f64 = 0.02;

/// A plan of the samples that are done within `length_min`, each with all its tubes.
///
/// From the plan for all, the samples whose absence shortens it most are left out until the rest
/// fits; then others are tried in their place.
pub(crate) fn within(
    model: &Model,
    whole: &State,
    length_min: f64,
    rounds: u64,
    seed: u64,
    going_on: &mut dyn FnMut() -> bool,
) -> State {
    let fits = |state: &State| state.timing.makespan_min <= length_min + ROUNDING_MIN;
    let part = (rounds / PARTS).max(1);
    let mut seeds = seed..;
    let mut next_seed = || seeds.next().unwrap_or(seed);
    let mut state = whole.clone();
    let mut left_out: Vec<u32> = Vec::new();
    while !fits(&state) {
        let inside = samples_in(&state.plan);
        if inside.is_empty() {
            break;
        }
        // Far from fitting, several go at once; near it one by one.
        let over = 1.0 - length_min / state.timing.makespan_min;
        let go = ((inside.len() as f64 * over * 0.5) as usize).clamp(1, inside.len());
        let mut gains: Vec<(f64, u32)> = inside
            .iter()
            .map(|&sample| (saved_min(model, &state, sample), sample))
            .collect();
        gains.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let gone: Vec<u32> = gains.iter().take(go).map(|(_, sample)| *sample).collect();
        state = State::new(model, without(model, &state.plan, &gone));
        left_out.extend(gone);
        if over < 0.5 {
            state = anneal(model, state, (part, WARM), next_seed(), going_on);
        }
    }
    // Those that were cheapest to keep were left out last: they are tried first.
    for sample in left_out.into_iter().rev() {
        if !going_on() {
            break;
        }
        let mut with = state.clone();
        insert_tubes(model, &mut with, sample);
        if !fits(&with) {
            with = anneal(model, with, (part, WARM), next_seed(), going_on);
        }
        if fits(&with) {
            state = with;
        }
    }
    state
}

/// Samples of a plan, rising.
pub(crate) fn samples_in(plan: &Plan) -> Vec<u32> {
    let mut samples: Vec<u32> = plan
        .iter()
        .flatten()
        .flat_map(|load| load.samples.iter().copied())
        .collect();
    samples.sort_unstable();
    samples.dedup();
    samples
}

/// How much shorter all benches together are without a sample [min].
fn saved_min(model: &Model, state: &State, sample: u32) -> f64 {
    let mut saved = 0.0;
    for (bench, loads) in state.plan.iter().enumerate() {
        if loads.iter().any(|load| load.samples.contains(&sample)) {
            let shorter = without_in(model, loads, &[sample]);
            saved += state.alone_min(bench) - super::search::alone_of(model, bench, &shorter);
        }
    }
    saved
}

fn without(model: &Model, plan: &Plan, gone: &[u32]) -> Plan {
    plan.iter()
        .map(|loads| without_in(model, loads, gone))
        .collect()
}

fn without_in(model: &Model, loads: &[Load], gone: &[u32]) -> Vec<Load> {
    loads
        .iter()
        .filter_map(|load| {
            let rest: Vec<u32> = load
                .samples
                .iter()
                .copied()
                .filter(|sample| !gone.contains(sample))
                .collect();
            if rest.len() == load.samples.len() {
                Some(load.clone())
            } else {
                (!rest.is_empty()).then(|| model.load(rest))
            }
        })
        .collect()
}
