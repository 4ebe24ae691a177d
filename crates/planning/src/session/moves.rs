//! Changes of a plan, made at random.

use super::model::{Load, Model};
use super::state::State;
use super::undo::Undo;
use rand::RngExt as _;
use rand_xoshiro::Xoshiro256PlusPlus as Chance;

/// Most samples between two neighbours in temperature whose tubes are exchanged.
const NEIGHBOURS: usize = 6;

/// Most loads that are moved as one.
const LONGEST_BLOCK: usize = 5;

/// Change the plan at random, with what was there before in `undo`; false where the change drawn is not
/// possible and nothing was touched.
pub(crate) fn propose(
    model: &Model,
    state: &mut State,
    undo: &mut Undo,
    chance: &mut Chance,
) -> bool {
    undo.begin(state);
    let changed = match chance.random_range(0..20u32) {
        0..=3 => move_load(model, state, undo, chance),
        4..=5 => swap_loads(model, state, undo, chance),
        6..=9 => move_tube(model, state, undo, chance),
        10..=13 => swap_tubes(model, state, undo, chance),
        14..=15 => change_patience(model, state, undo, chance),
        16 => reverse_stretch(model, state, undo, chance),
        17 => move_block(model, state, undo, chance),
        _ => swap_tails(model, state, undo, chance),
    };
    changed.is_some()
}

/// Bench and place of a load that may be moved.
fn any_load(model: &Model, state: &State, chance: &mut Chance) -> Option<(usize, usize)> {
    let free = |bench: usize| state.benches[bench].len() - model.pinned[bench];
    let count: usize = (0..state.benches.len()).map(free).sum();
    if count == 0 {
        return None;
    }
    let mut number = chance.random_range(0..count);
    for bench in 0..state.benches.len() {
        if number < free(bench) {
            return Some((bench, model.pinned[bench] + number));
        }
        number -= free(bench);
    }
    None
}

/// Where a load with this number is.
fn place_of(model: &Model, state: &State, number: u32) -> Option<(usize, usize)> {
    state.benches.iter().enumerate().find_map(|(bench, own)| {
        let own = &own[model.pinned[bench]..];
        let place = own.iter().position(|&other| other == number)?;
        Some((bench, model.pinned[bench] + place))
    })
}

/// What a load at a place adds to its bench [min].
pub(crate) fn added_min(
    model: &Model,
    state: &State,
    bench: usize,
    place: usize,
    load: &Load,
) -> f64 {
    let whole = |[cooling, heating]: [f64; 2]| cooling + heating;
    let before = place.checked_sub(1).map(|before| state.at(bench, before));
    let own = whole(model.times_after(bench, before, load)) + model.policy.load_min;
    if place == state.benches[bench].len() {
        return own;
    }
    let next = state.at(bench, place);
    own + whole(model.times_after(bench, Some(load), next))
        - whole(model.times_after(bench, before, next))
}

/// The place of a bench at which a load adds least, and what [min].
pub(crate) fn best_place(model: &Model, state: &State, bench: usize, load: &Load) -> (f64, usize) {
    let mut best = (f64::INFINITY, state.benches[bench].len());
    for place in model.pinned[bench]..=state.benches[bench].len() {
        let added = added_min(model, state, bench, place, load);
        if added < best.0 {
            best = (added, place);
        }
    }
    best
}

/// A load to another place: any, or the best of one bench.
fn move_load(model: &Model, state: &mut State, undo: &mut Undo, chance: &mut Chance) -> Option<()> {
    let (from, place) = any_load(model, state, chance)?;
    let to = chance.random_range(0..state.benches.len());
    let number = state.benches[from][place];
    if !model.takes(to, &state.loads[number as usize]) {
        return None;
    }
    undo.keep_bench(state, from);
    undo.keep_bench(state, to);
    state.benches[from].remove(place);
    let new_place = if chance.random_bool(0.5) {
        chance.random_range(model.pinned[to]..=state.benches[to].len())
    } else {
        best_place(model, state, to, &state.loads[number as usize]).1
    };
    state.benches[to].insert(new_place, number);
    if from == to && new_place == place {
        return None;
    }
    Some(())
}

fn swap_loads(
    model: &Model,
    state: &mut State,
    undo: &mut Undo,
    chance: &mut Chance,
) -> Option<()> {
    let one = any_load(model, state, chance)?;
    let other = any_load(model, state, chance)?;
    if one == other
        || !model.takes(other.0, state.at(one.0, one.1))
        || !model.takes(one.0, state.at(other.0, other.1))
    {
        return None;
    }
    undo.keep_bench(state, one.0);
    undo.keep_bench(state, other.0);
    let number = state.benches[one.0][one.1];
    state.benches[one.0][one.1] = std::mem::replace(&mut state.benches[other.0][other.1], number);
    Some(())
}

/// A load, and one to share or exchange tubes with: any, or one with a neighbour in temperature.
fn partner(
    model: &Model,
    state: &State,
    sample: u32,
    chance: &mut Chance,
) -> Option<(usize, usize, Option<u32>)> {
    if chance.random_bool(0.3) {
        let (bench, place) = any_load(model, state, chance)?;
        return Some((bench, place, None));
    }
    let away = chance.random_range(0..=NEIGHBOURS) as i64;
    let away = if chance.random_bool(0.5) { away } else { -away };
    let neighbour = u32::try_from(i64::from(sample) + away).ok()?;
    let holders = state.holders.get(neighbour as usize)?;
    if holders.is_empty() {
        return None;
    }
    let number = holders[chance.random_range(0..holders.len())];
    let (bench, place) = place_of(model, state, number)?;
    Some((bench, place, Some(neighbour)))
}

/// A tube into another load, or into one of its own.
fn move_tube(model: &Model, state: &mut State, undo: &mut Undo, chance: &mut Chance) -> Option<()> {
    let (from, place) = any_load(model, state, chance)?;
    let number = state.benches[from][place];
    let tubes = state.loads[number as usize].samples.len();
    let tube = chance.random_range(0..tubes);
    let sample = state.loads[number as usize].samples[tube];
    if tubes > 1 && chance.random_bool(0.08) {
        return into_its_own(model, state, undo, chance, (from, place, sample));
    }
    let (to, target, _) = partner(model, state, sample, chance)?;
    let target = state.benches[to][target];
    let joined = &state.loads[target as usize];
    if target == number
        || joined.samples.len() >= model.benches[to].places as usize
        || !may_join(model, joined, sample)
    {
        return None;
    }
    undo.keep_bench(state, from);
    undo.keep_bench(state, to);
    undo.change_load(model, state, target, |samples| samples.push(sample));
    take_tube(model, state, undo, (from, place, sample));
    undo.shift(state, sample, number, target);
    model.takes(to, &state.loads[target as usize]).then_some(())
}

fn into_its_own(
    model: &Model,
    state: &mut State,
    undo: &mut Undo,
    chance: &mut Chance,
    (from, place, sample): (usize, usize, u32),
) -> Option<()> {
    let to = chance.random_range(0..state.benches.len());
    if !model.samples[sample as usize].fits[to] {
        return None;
    }
    let number = state.benches[from][place];
    undo.keep_bench(state, from);
    undo.keep_bench(state, to);
    let own = undo.make_load(state);
    let load = &mut state.loads[own as usize];
    load.samples.push(sample);
    model.fill(load);
    take_tube(model, state, undo, (from, place, sample));
    let (_, new_place) = best_place(model, state, to, &state.loads[own as usize]);
    state.benches[to].insert(new_place, own);
    undo.shift(state, sample, number, own);
    Some(())
}

/// Two tubes of two loads change places.
fn swap_tubes(
    model: &Model,
    state: &mut State,
    undo: &mut Undo,
    chance: &mut Chance,
) -> Option<()> {
    let one = any_load(model, state, chance)?;
    let number_one = state.benches[one.0][one.1];
    let load_one = &state.loads[number_one as usize];
    let sample_one = load_one.samples[chance.random_range(0..load_one.samples.len())];
    let (bench, place, neighbour) = partner(model, state, sample_one, chance)?;
    let number_other = state.benches[bench][place];
    let load_other = &state.loads[number_other as usize];
    let sample_other = neighbour
        .unwrap_or_else(|| load_other.samples[chance.random_range(0..load_other.samples.len())]);
    if number_one == number_other
        || sample_one == sample_other
        || !may_join(model, load_one, sample_other)
        || !may_join(model, load_other, sample_one)
    {
        return None;
    }
    undo.keep_bench(state, one.0);
    undo.keep_bench(state, bench);
    undo.change_load(model, state, number_one, |samples| {
        replace(samples, sample_one, sample_other);
    });
    undo.change_load(model, state, number_other, |samples| {
        replace(samples, sample_other, sample_one);
    });
    undo.shift(state, sample_one, number_one, number_other);
    undo.shift(state, sample_other, number_other, number_one);
    let fits = model.takes(one.0, &state.loads[number_one as usize])
        && model.takes(bench, &state.loads[number_other as usize]);
    fits.then_some(())
}

/// Another turn at the operator for a load, where operators are waited for at all.
fn change_patience(
    model: &Model,
    state: &mut State,
    undo: &mut Undo,
    chance: &mut Chance,
) -> Option<()> {
    if model.operators >= model.benches.len() || model.policy.load_min == 0.0 {
        return None;
    }
    // Loads that stay where they are have their turns too.
    let bench = chance.random_range(0..state.benches.len());
    if state.benches[bench].is_empty() {
        return None;
    }
    let place = chance.random_range(0..state.benches[bench].len());
    let number = state.benches[bench][place];
    undo.keep_bench(state, bench);
    undo.keep_patience(state, number);
    let most_min = model.policy.load_min * model.benches.len() as f64;
    state.patience[number as usize] = if chance.random_bool(0.3) {
        0.0
    } else {
        chance.random_range(-most_min..=most_min)
    };
    Some(())
}

/// A stretch of one bench's loads the other way round.
fn reverse_stretch(
    model: &Model,
    state: &mut State,
    undo: &mut Undo,
    chance: &mut Chance,
) -> Option<()> {
    let (bench, a) = any_load(model, state, chance)?;
    let b = chance.random_range(model.pinned[bench]..state.benches[bench].len());
    if a == b {
        return None;
    }
    undo.keep_bench(state, bench);
    state.benches[bench][a.min(b)..=a.max(b)].reverse();
    Some(())
}

/// A few loads that follow each other to another place.
fn move_block(
    model: &Model,
    state: &mut State,
    undo: &mut Undo,
    chance: &mut Chance,
) -> Option<()> {
    let (from, place) = any_load(model, state, chance)?;
    let to = chance.random_range(0..state.benches.len());
    let most = (state.benches[from].len() - place).min(LONGEST_BLOCK);
    if most < 2 {
        return None;
    }
    let end = place + chance.random_range(2..=most);
    if from != to && !(place..end).all(|one| model.takes(to, state.at(from, one))) {
        return None;
    }
    undo.keep_bench(state, from);
    undo.keep_bench(state, to);
    let block: Vec<u32> = state.benches[from].drain(place..end).collect();
    let new_place = chance.random_range(model.pinned[to]..=state.benches[to].len());
    state.benches[to].splice(new_place..new_place, block);
    (from != to || new_place != place).then_some(())
}

/// Two benches exchange all that comes after some moment.
fn swap_tails(
    model: &Model,
    state: &mut State,
    undo: &mut Undo,
    chance: &mut Chance,
) -> Option<()> {
    let (one, cut_one) = any_load(model, state, chance)?;
    let other = chance.random_range(0..state.benches.len());
    if one == other {
        return None;
    }
    let cut_other = chance.random_range(model.pinned[other]..=state.benches[other].len());
    let takes = |to: usize, from: usize, cut: usize| {
        (cut..state.benches[from].len()).all(|place| model.takes(to, state.at(from, place)))
    };
    if !takes(other, one, cut_one) || !takes(one, other, cut_other) {
        return None;
    }
    undo.keep_bench(state, one);
    undo.keep_bench(state, other);
    let tail = state.benches[one].split_off(cut_one);
    let tail_other = state.benches[other].split_off(cut_other);
    state.benches[one].extend(tail_other);
    state.benches[other].extend(tail);
    Some(())
}

/// Whether a load may hold one more tube of a sample, its places aside.
pub(crate) fn may_join(model: &Model, load: &Load, sample: u32) -> bool {
    !model.policy.independent_loads || !load.samples.contains(&sample)
}

fn replace(samples: &mut [u32], old: u32, new: u32) {
    if let Some(sample) = samples.iter_mut().find(|sample| **sample == old) {
        *sample = new;
    }
}

/// Take a tube out of a load, and the load off its bench where it was the last.
fn take_tube(
    model: &Model,
    state: &mut State,
    undo: &mut Undo,
    (bench, place, sample): (usize, usize, u32),
) {
    let number = state.benches[bench][place];
    undo.change_load(model, state, number, |samples| {
        if let Some(tube) = samples.iter().position(|&other| other == sample) {
            samples.remove(tube);
        }
    });
    if state.loads[number as usize].samples.is_empty() {
        undo.remove_empty(state, bench, place);
    }
}
