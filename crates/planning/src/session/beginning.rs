//! Plans made in one go: tubes to loads by temperature, each load where it lengthens least.

use super::model::{Load, Model};
use super::moves::{best_place, may_join};
use super::state::{Plan, PlanLoad, State};

/// Loads of neighbours in temperature, each put where its bench is done first, behind the loads that stay
/// where they are.
pub(crate) fn beginning(model: &Model, pinned: Plan) -> Plan {
    let mut order: Vec<u32> = (0..model.samples.len() as u32).collect();
    let key = |&sample: &u32| model.samples[sample as usize].window_c;
    order.sort_by(|a, b| {
        let (a, b) = (key(a), key(b));
        a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
    });
    let mut loads: Vec<Load> = Vec::new();
    if model.policy.independent_loads {
        let replicates = model.samples.iter().map(|sample| sample.replicates);
        for pass in 0..replicates.max().unwrap_or(0) {
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
    let mut state = State::new(model, &pinned);
    for load in loads {
        insert_best(model, &mut state, load);
    }
    state.plan()
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

/// Put a load where its bench is done first.
fn insert_best(model: &Model, state: &mut State, load: Load) {
    let mut best: Option<(f64, usize, usize)> = None;
    for bench in 0..model.benches.len() {
        if !model.takes(bench, &load) {
            continue;
        }
        let (added, place) = best_place(model, state, bench, &load);
        let end = state.alone_min[bench] + added;
        if best.is_none_or(|(least, ..)| end < least) {
            best = Some((end, bench, place));
        }
    }
    let Some((_, bench, place)) = best else {
        return;
    };
    let number = state.loads.len() as u32;
    for &sample in &load.samples {
        state.holders[sample as usize].push(number);
    }
    state.loads.push(load);
    state.patience.push(0.0);
    state.benches[bench].insert(place, number);
    state.refresh(model, bench);
}

/// Tubes of a sample into the loads that they lengthen least, or into loads of their own.
pub(crate) fn insert_tubes(model: &Model, plan: &Plan, sample: u32) -> State {
    let mut state = State::new(model, plan);
    let whole = |[cooling, heating]: [f64; 2]| cooling + heating;
    let mut joined = Load::default();
    for _ in 0..model.samples[sample as usize].replicates {
        let mut best: Option<(f64, usize, usize)> = None;
        for bench in 0..state.benches.len() {
            for place in model.pinned[bench]..state.benches[bench].len() {
                let load = state.at(bench, place);
                if load.samples.len() >= model.benches[bench].places as usize
                    || !may_join(model, load, sample)
                {
                    continue;
                }
                joined.samples.clone_from(&load.samples);
                joined.samples.push(sample);
                model.fill(&mut joined);
                if !model.takes(bench, &joined) {
                    continue;
                }
                let before = place.checked_sub(1).map(|before| state.at(bench, before));
                let mut end = state.alone_min[bench]
                    + whole(model.times_after(bench, before, &joined))
                    - whole(model.times_after(bench, before, load));
                if place + 1 < state.benches[bench].len() {
                    let next = state.at(bench, place + 1);
                    end += whole(model.times_after(bench, Some(&joined), next))
                        - whole(model.times_after(bench, Some(load), next));
                }
                if best.is_none_or(|(least, ..)| end < least) {
                    best = Some((end, bench, place));
                }
            }
        }
        let own = model.load(vec![sample]);
        let own_end = (0..state.benches.len())
            .filter(|&bench| model.takes(bench, &own))
            .map(|bench| state.alone_min[bench] + best_place(model, &state, bench, &own).0)
            .fold(f64::INFINITY, f64::min);
        match best {
            Some((end, bench, place)) if end <= own_end => {
                let number = state.benches[bench][place];
                let load = &mut state.loads[number as usize];
                load.samples.push(sample);
                model.fill(load);
                state.holders[sample as usize].push(number);
                state.refresh(model, bench);
            }
            _ => insert_best(model, &mut state, own),
        }
    }
    state.settle(model, f64::INFINITY);
    state
}

/// How much shorter the benches are without a sample [min], its tubes taken one by one.
pub(crate) fn saved_min(
    model: &Model,
    state: &State,
    places: &[(usize, usize)],
    sample: u32,
) -> f64 {
    let whole = |[cooling, heating]: [f64; 2]| cooling + heating;
    let mut saved = 0.0;
    for &number in &state.holders[sample as usize] {
        let (bench, place) = places[number as usize];
        let load = &state.loads[number as usize];
        let before = place.checked_sub(1).map(|before| state.at(bench, before));
        let next = (place + 1 < state.benches[bench].len()).then(|| state.at(bench, place + 1));
        let from = |load: &Load| {
            next.map_or(0.0, |next| {
                whole(model.times_after(bench, Some(load), next))
            })
        };
        let with = whole(model.times_after(bench, before, load)) + from(load);
        let rest: Vec<u32> = load
            .samples
            .iter()
            .copied()
            .filter(|&other| other != sample)
            .collect();
        let without = if rest.is_empty() {
            let alone = next.map_or(0.0, |next| whole(model.times_after(bench, before, next)));
            alone - model.policy.load_min
        } else {
            let rest = model.load(rest);
            whole(model.times_after(bench, before, &rest)) + from(&rest)
        };
        saved += with - without;
    }
    saved
}

/// A plan without some samples; what stays where it is stays.
pub(crate) fn without(model: &Model, plan: &Plan, gone: &[bool]) -> Plan {
    plan.iter()
        .zip(&model.pinned)
        .map(|(loads, &pinned)| {
            loads
                .iter()
                .enumerate()
                .filter_map(|(place, load)| {
                    if place < pinned {
                        return Some(load.clone());
                    }
                    let samples: Vec<u32> = load
                        .samples
                        .iter()
                        .copied()
                        .filter(|&sample| !gone[sample as usize])
                        .collect();
                    (!samples.is_empty()).then_some(PlanLoad {
                        samples,
                        patience_min: load.patience_min,
                    })
                })
                .collect()
        })
        .collect()
}
