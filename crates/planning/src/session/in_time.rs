//! As many samples as possible within the session, when not all of them fit.

use super::beginning::{insert_tubes, saved_min, without};
use super::model::Model;
use super::search::{Way, anneal};
use super::state::{Plan, State};

/// Rounding of a session's length [min].
const ROUNDING_MIN: f64 = 1e-9;

/// Effort of the search after each change, as a part of that for all.
const PARTS: u64 = 24;

/// How each search goes about it.
const WAY: Way = Way {
    warm: 0.02,
    per_end: 0.1,
};

/// A plan of the samples that are done within `length_min`, each with all its tubes.
///
/// From the plan for all, the samples whose absence shortens it most are left out until the rest
/// fits; then others are tried in their place. Loads that stay where they are stay even if they end too late.
pub(crate) fn within(
    model: &Model,
    whole: &Plan,
    length_min: f64,
    rounds: u64,
    seed: u64,
    going_on: &mut dyn FnMut() -> bool,
) -> Plan {
    let part = (rounds / PARTS).max(1);
    let mut searches_left = PARTS;
    let mut seeds = seed..;
    let mut searched = |state: State, left: &mut u64, going_on: &mut dyn FnMut() -> bool| {
        if *left == 0 || fits(&state, length_min) {
            return state;
        }
        *left -= 1;
        let seed = seeds.next().unwrap_or(seed);
        let found = anneal(model, &state.plan(), (part, WAY), seed, going_on);
        State::new(model, &found.plan())
    };
    let mut state = State::new(model, whole);
    let mut left_out: Vec<u32> = Vec::new();
    while !fits(&state, length_min) {
        let gains = gains(model, &state);
        if gains.is_empty() {
            break;
        }
        // Far from fitting, several go at once; near it one by one.
        let over = 1.0 - length_min / state.makespan_min;
        let go = ((gains.len() as f64 * over * 0.5) as usize).clamp(1, gains.len());
        let mut gone = vec![false; model.samples.len()];
        for &(_, sample) in gains.iter().take(go) {
            gone[sample as usize] = true;
            left_out.push(sample);
        }
        state = State::new(model, &without(model, &state.plan(), &gone));
        if over < 0.5 {
            // Half of the searches are for trying others afterwards.
            let mut left = searches_left.saturating_sub(PARTS / 2);
            let before = left;
            state = searched(state, &mut left, going_on);
            searches_left -= before - left;
        }
    }
    // Those that were cheapest to keep were left out last: they are tried first.
    for sample in left_out.into_iter().rev() {
        if !going_on() {
            break;
        }
        let with = insert_tubes(model, &state.plan(), sample);
        let with = searched(with, &mut searches_left, going_on);
        if fits(&with, length_min) {
            state = with;
        }
    }
    state.plan()
}

fn fits(state: &State, length_min: f64) -> bool {
    state.makespan_min <= length_min + ROUNDING_MIN
}

/// Samples that may be left out, with what that saves [min]; most first.
fn gains(model: &Model, state: &State) -> Vec<(f64, u32)> {
    let mut places = vec![(0, 0); state.loads.len()];
    for (bench, own) in state.benches.iter().enumerate() {
        for (place, &number) in own.iter().enumerate() {
            places[number as usize] = (bench, place);
        }
    }
    let mut gains: Vec<(f64, u32)> = (0..)
        .zip(&state.holders)
        .filter(|(_, holders)| !holders.is_empty())
        .map(|(sample, _)| (saved_min(model, state, &places, sample), sample))
        .collect();
    gains.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    gains
}
