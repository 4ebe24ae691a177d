//! Looking for a short plan: a good beginning, then simulated annealing over loads and their order.

use super::model::{Load, LoadTimes, Model, Plan, Timing, alone_min, bench_times, timing};
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_xoshiro::Xoshiro256PlusPlus;

/// What a load costs beside the makespan [min]: of plans as short, the one with fewer loads.
const PER_LOAD_MIN: f64 = 1e-4;

/// Weight of the mean end of the benches while searching: of plans as long, the one that leaves room leads on.
const PER_MEAN_END: f64 = 2e-3;

/// Temperature of the annealing at its end [min].
const COLD_MIN: f64 = 2e-3;

/// A plan with its times.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub plan: Plan,
    times: Vec<Vec<LoadTimes>>,
    alone: Vec<f64>,
    pub timing: Timing,
    pub energy: f64,
    /// What plans are compared by: makespan, and of plans as short the number of loads [min].
    pub score: f64,
}

impl State {
    pub fn new(model: &Model, plan: Plan) -> Self {
        let mut state = Self {
            times: vec![Vec::new(); plan.len()],
            alone: vec![0.0; plan.len()],
            plan,
            timing: Timing::default(),
            energy: 0.0,
            score: 0.0,
        };
        for bench in 0..state.plan.len() {
            state.refresh(model, bench);
        }
        state.settle(model);
        state
    }

    /// How long a bench takes when no operator is waited for [min].
    pub fn alone_min(&self, bench: usize) -> f64 {
        self.alone[bench]
    }

    fn refresh(&mut self, model: &Model, bench: usize) {
        bench_times(model, bench, &self.plan[bench], &mut self.times[bench]);
        self.alone[bench] = alone_min(model, &self.times[bench]);
    }

    fn settle(&mut self, model: &Model) {
        self.timing = timing(model, &self.times);
        let loads: usize = self.plan.iter().map(Vec::len).sum();
        self.energy = self.timing.makespan_min + self.side_cost(loads);
        self.score = self.timing.makespan_min + PER_LOAD_MIN * loads as f64;
    }

    fn side_cost(&self, loads: usize) -> f64 {
        let mean_end = self.alone.iter().sum::<f64>() / self.alone.len().max(1) as f64;
        PER_LOAD_MIN * loads as f64 + PER_MEAN_END * mean_end
    }
}

/// Loads of neighbours in temperature, each put where its bench is done first.
pub(crate) fn beginning(model: &Model) -> Plan {
    let mut order: Vec<u32> = (0..model.samples.len() as u32).collect();
    let key = |&sample: &u32| model.samples[sample as usize].window_c;
    order.sort_by(|a, b| {
        let (a, b) = (key(a), key(b));
        a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
    });
    let mut loads: Vec<Load> = Vec::new();
    if model.policy.independent_loads {
        let passes = model
            .samples
            .iter()
            .map(|sample| sample.replicates)
            .max()
            .unwrap_or(0);
        for pass in 0..passes {
            let of_pass = order
                .iter()
                .copied()
                .filter(|&sample| model.samples[sample as usize].replicates > pass);
            pack(model, of_pass, &mut loads);
        }
    } else {
        let tubes = order.iter().flat_map(|&sample| {
            std::iter::repeat_n(sample, model.samples[sample as usize].replicates as usize)
        });
        pack(model, tubes, &mut loads);
    }
    loads.sort_by(|a, b| b.to_c.total_cmp(&a.to_c));
    let mut state = State::new(model, vec![Vec::new(); model.benches.len()]);
    for load in loads {
        insert_best(model, &mut state, load);
    }
    state.plan
}

/// Fill loads with tubes in order; one that no bench takes with the others begins a new load.
fn pack(model: &Model, tubes: impl Iterator<Item = u32>, loads: &mut Vec<Load>) {
    let fits_somewhere =
        |load: &Load| (0..model.benches.len()).any(|bench| model.takes(bench, load));
    let mut open: Vec<u32> = Vec::new();
    for tube in tubes {
        let mut with = open.clone();
        with.push(tube);
        if !open.is_empty() && !fits_somewhere(&model.load(with.clone())) {
            loads.push(model.load(std::mem::take(&mut open)));
            with = vec![tube];
        }
        open = with;
    }
    if !open.is_empty() {
        loads.push(model.load(open));
    }
}

/// Where a load lengthens the session least.
fn insert_best(model: &Model, state: &mut State, load: Load) {
    let mut best: Option<(f64, usize, usize)> = None;
    for bench in 0..model.benches.len() {
        if !model.takes(bench, &load) {
            continue;
        }
        for place in 0..=state.plan[bench].len() {
            let added = added_min(model, &state.plan[bench], bench, place, &load);
            let end = state.alone[bench] + added;
            if best.is_none_or(|(least, ..)| end < least) {
                best = Some((end, bench, place));
            }
        }
    }
    if let Some((_, bench, place)) = best {
        state.plan[bench].insert(place, load);
        state.refresh(model, bench);
    }
}

/// How long a bench takes with these loads when no operator is waited for [min].
pub(crate) fn alone_of(model: &Model, bench: usize, loads: &[Load]) -> f64 {
    let mut times = Vec::with_capacity(loads.len());
    bench_times(model, bench, loads, &mut times);
    alone_min(model, &times)
}

/// All tubes of a sample into the loads that they lengthen least, or into loads of their own.
pub(crate) fn insert_tubes(model: &Model, state: &mut State, sample: u32) {
    for _ in 0..model.samples[sample as usize].replicates {
        let mut best: Option<(f64, usize, usize, Load)> = None;
        for bench in 0..state.plan.len() {
            for (place, load) in state.plan[bench].iter().enumerate() {
                if !may_join(model, load, sample, None) {
                    continue;
                }
                let joined = with_tube(model, load, sample, None);
                if !model.takes(bench, &joined) {
                    continue;
                }
                let mut loads = state.plan[bench].clone();
                loads[place] = joined.clone();
                let end = alone_of(model, bench, &loads);
                if best.as_ref().is_none_or(|(least, ..)| end < *least) {
                    best = Some((end, bench, place, joined));
                }
            }
        }
        let own = model.load(vec![sample]);
        let own_end = (0..state.plan.len())
            .filter(|&bench| model.takes(bench, &own))
            .flat_map(|bench| (0..=state.plan[bench].len()).map(move |place| (bench, place)))
            .map(|(bench, place)| {
                state.alone[bench] + added_min(model, &state.plan[bench], bench, place, &own)
            })
            .fold(f64::INFINITY, f64::min);
        match best {
            Some((end, bench, place, joined)) if end <= own_end => {
                state.plan[bench][place] = joined;
                state.refresh(model, bench);
            }
            _ => insert_best(model, state, own),
        }
    }
    state.settle(model);
}

/// What a load at a place adds to its bench [min].
fn added_min(model: &Model, loads: &[Load], bench: usize, place: usize, load: &Load) -> f64 {
    let before_c = match place.checked_sub(1) {
        Some(before) => loads[before].to_c,
        None => model.benches[bench].start_c,
    };
    let whole = |[cooling, heating]: [f64; 2]| cooling + heating;
    let own = whole(model.times_min(bench, before_c, load)) + model.policy.load_min;
    match loads.get(place) {
        Some(next) => {
            own + whole(model.times_min(bench, load.to_c, next))
                - whole(model.times_min(bench, before_c, next))
        }
        None => own,
    }
}

/// A change of a plan, by what it replaces: benches with all their loads.
type Undo = Vec<(usize, Vec<Load>)>;

/// Anneal for `rounds` moves from `state`; the best plan seen.
///
/// `warm` is the temperature at the beginning as a part of the makespan. `going_on` is asked now and
/// then and ends the search early.
pub(crate) fn anneal(
    model: &Model,
    state: State,
    (rounds, warm): (u64, f64),
    seed: u64,
    going_on: &mut dyn FnMut() -> bool,
) -> State {
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut best = state.clone();
    let mut now = state;
    let warm_min = (warm * now.timing.makespan_min).max(COLD_MIN);
    for round in 0..rounds {
        if round % 256 == 0 && !going_on() {
            break;
        }
        let done = round as f64 / rounds as f64;
        let heat_min = warm_min * (COLD_MIN / warm_min).powf(done);
        let allowed = now.energy - heat_min * chance.random::<f64>().max(1e-300).ln();
        if let Some(undo) = propose(model, &mut now, &mut chance) {
            let (old_energy, old_score, old_alone) = (now.energy, now.score, now.alone.clone());
            for (bench, _) in &undo {
                now.refresh(model, *bench);
            }
            // No plan ends before its longest bench would alone.
            let loads: usize = now.plan.iter().map(Vec::len).sum();
            let least = now.alone.iter().copied().fold(0.0, f64::max) + now.side_cost(loads);
            let kept = least <= allowed && {
                now.settle(model);
                now.energy <= allowed
            };
            if kept {
                if now.score < best.score - 1e-12 {
                    best = now.clone();
                }
            } else {
                for (bench, loads) in undo {
                    now.plan[bench] = loads;
                    bench_times(model, bench, &now.plan[bench], &mut now.times[bench]);
                }
                (now.energy, now.score) = (old_energy, old_score);
                now.alone = old_alone;
            }
        }
    }
    best
}

/// Change the plan at random; what was there before, or nothing where the change is not possible.
fn propose(model: &Model, state: &mut State, chance: &mut Xoshiro256PlusPlus) -> Option<Undo> {
    match chance.random_range(0..11u32) {
        0..=3 => move_load(model, state, chance),
        4..=5 => swap_loads(model, state, chance),
        6..=7 => move_tube(model, state, chance),
        8 => swap_tubes(model, state, chance),
        9 => change_patience(model, state, chance),
        _ => reverse_stretch(state, chance),
    }
}

fn any_load(state: &State, chance: &mut Xoshiro256PlusPlus) -> Option<(usize, usize)> {
    let count: usize = state.plan.iter().map(Vec::len).sum();
    if count == 0 {
        return None;
    }
    let mut number = chance.random_range(0..count);
    for (bench, loads) in state.plan.iter().enumerate() {
        if number < loads.len() {
            return Some((bench, number));
        }
        number -= loads.len();
    }
    None
}

fn keep(state: &State, benches: &[usize]) -> Undo {
    let mut undo: Undo = Vec::with_capacity(2);
    for &bench in benches {
        if undo.iter().all(|(kept, _)| *kept != bench) {
            undo.push((bench, state.plan[bench].clone()));
        }
    }
    undo
}

/// A load to another place: any, or the best of one bench.
fn move_load(model: &Model, state: &mut State, chance: &mut Xoshiro256PlusPlus) -> Option<Undo> {
    let (from, place) = any_load(state, chance)?;
    let to = chance.random_range(0..state.plan.len());
    if !model.takes(to, &state.plan[from][place]) {
        return None;
    }
    let undo = keep(state, &[from, to]);
    let load = state.plan[from].remove(place);
    let into = state.plan[to].len();
    let new_place = if chance.random_bool(0.5) {
        chance.random_range(0..=into)
    } else {
        (0..=into).min_by(|&a, &b| {
            let added = |place| added_min(model, &state.plan[to], to, place, &load);
            added(a).total_cmp(&added(b))
        })?
    };
    if from == to && new_place == place {
        state.plan[from].insert(place, load);
        return None;
    }
    state.plan[to].insert(new_place, load);
    Some(undo)
}

fn swap_loads(model: &Model, state: &mut State, chance: &mut Xoshiro256PlusPlus) -> Option<Undo> {
    let (one, other) = (any_load(state, chance)?, any_load(state, chance)?);
    if one == other
        || !model.takes(other.0, &state.plan[one.0][one.1])
        || !model.takes(one.0, &state.plan[other.0][other.1])
    {
        return None;
    }
    let undo = keep(state, &[one.0, other.0]);
    let load = state.plan[one.0][one.1].clone();
    let swapped = std::mem::replace(&mut state.plan[other.0][other.1], load);
    state.plan[one.0][one.1] = swapped;
    Some(undo)
}

/// A tube into another load, or into one of its own.
fn move_tube(model: &Model, state: &mut State, chance: &mut Xoshiro256PlusPlus) -> Option<Undo> {
    let (from, place) = any_load(state, chance)?;
    let tube = chance.random_range(0..state.plan[from][place].samples.len());
    let sample = state.plan[from][place].samples[tube];
    let alone = state.plan[from][place].samples.len() == 1;
    if !alone && chance.random_bool(0.1) {
        let to = chance.random_range(0..state.plan.len());
        let load = model.load(vec![sample]);
        if !model.takes(to, &load) {
            return None;
        }
        let undo = keep(state, &[from, to]);
        take_tube(model, state, from, place, tube);
        let new_place = (0..=state.plan[to].len()).min_by(|&a, &b| {
            let added = |place| added_min(model, &state.plan[to], to, place, &load);
            added(a).total_cmp(&added(b))
        })?;
        state.plan[to].insert(new_place, load);
        return Some(undo);
    }
    let (to, target) = any_load(state, chance)?;
    if (from, place) == (to, target) || !may_join(model, &state.plan[to][target], sample, None) {
        return None;
    }
    let joined = with_tube(model, &state.plan[to][target], sample, None);
    if !model.takes(to, &joined) {
        return None;
    }
    let undo = keep(state, &[from, to]);
    state.plan[to][target] = joined;
    take_tube(model, state, from, place, tube);
    Some(undo)
}

/// Two tubes of two loads change places.
fn swap_tubes(model: &Model, state: &mut State, chance: &mut Xoshiro256PlusPlus) -> Option<Undo> {
    let (one, other) = (any_load(state, chance)?, any_load(state, chance)?);
    if one == other {
        return None;
    }
    let pick = |at: (usize, usize), chance: &mut Xoshiro256PlusPlus| {
        let samples = &state.plan[at.0][at.1].samples;
        let tube = chance.random_range(0..samples.len());
        (tube, samples[tube])
    };
    let (tube_one, sample_one) = pick(one, chance);
    let (tube_other, sample_other) = pick(other, chance);
    if sample_one == sample_other
        || !may_join(
            model,
            &state.plan[one.0][one.1],
            sample_other,
            Some(tube_one),
        )
        || !may_join(
            model,
            &state.plan[other.0][other.1],
            sample_one,
            Some(tube_other),
        )
    {
        return None;
    }
    let new_one = with_tube(
        model,
        &state.plan[one.0][one.1],
        sample_other,
        Some(tube_one),
    );
    let new_other = with_tube(
        model,
        &state.plan[other.0][other.1],
        sample_one,
        Some(tube_other),
    );
    if !model.takes(one.0, &new_one) || !model.takes(other.0, &new_other) {
        return None;
    }
    let undo = keep(state, &[one.0, other.0]);
    state.plan[one.0][one.1] = new_one;
    state.plan[other.0][other.1] = new_other;
    Some(undo)
}

/// Another turn at the operator for a load, where operators are waited for at all.
fn change_patience(
    model: &Model,
    state: &mut State,
    chance: &mut Xoshiro256PlusPlus,
) -> Option<Undo> {
    if model.operators >= model.benches.len() || model.policy.load_min == 0.0 {
        return None;
    }
    let (bench, place) = any_load(state, chance)?;
    let undo = keep(state, &[bench]);
    let most_min = model.policy.load_min * model.benches.len() as f64;
    state.plan[bench][place].patience_min = if chance.random_bool(0.3) {
        0.0
    } else {
        chance.random_range(-most_min..=most_min)
    };
    Some(undo)
}

/// A stretch of one bench's loads the other way round.
fn reverse_stretch(state: &mut State, chance: &mut Xoshiro256PlusPlus) -> Option<Undo> {
    let (bench, a) = any_load(state, chance)?;
    let b = chance.random_range(0..state.plan[bench].len());
    if a == b {
        return None;
    }
    let undo = keep(state, &[bench]);
    state.plan[bench][a.min(b)..=a.max(b)].reverse();
    Some(undo)
}

fn may_join(model: &Model, load: &Load, sample: u32, instead_of: Option<usize>) -> bool {
    !model.policy.independent_loads
        || load
            .samples
            .iter()
            .enumerate()
            .all(|(tube, &other)| Some(tube) == instead_of || other != sample)
}

fn with_tube(model: &Model, load: &Load, sample: u32, instead_of: Option<usize>) -> Load {
    let mut samples = load.samples.clone();
    match instead_of {
        Some(tube) => samples[tube] = sample,
        None => samples.push(sample),
    }
    model.load(samples)
}

fn take_tube(model: &Model, state: &mut State, bench: usize, place: usize, tube: usize) {
    let mut samples = state.plan[bench][place].samples.clone();
    samples.remove(tube);
    if samples.is_empty() {
        state.plan[bench].remove(place);
    } else {
        state.plan[bench][place] = model.load(samples);
    }
}
