//! What a change of a plan replaced, so that it can be taken back.

use super::model::{Load, Model};
use super::state::{LoadTimes, State};

/// A bench as it was.
#[derive(Debug, Clone, Default)]
struct Bench {
    number: usize,
    order: Vec<u32>,
    times: Vec<LoadTimes>,
    alone_min: f64,
    work_min: f64,
}

/// What one change replaced: at most two benches and two loads. Kept and filled anew for every change.
#[derive(Debug, Clone, Default)]
pub(crate) struct Undo {
    benches: [Bench; 2],
    benches_used: usize,
    loads: [(u32, Load); 2],
    loads_used: usize,
    patience: Option<(u32, f64)>,
    /// A load that came to be, and one that went.
    made: Option<u32>,
    emptied: Option<u32>,
    /// Sample, load it was in, load it is in.
    shifted: [(u32, u32, u32); 2],
    shifted_used: usize,
    energy: f64,
    score: f64,
    makespan_min: f64,
}

impl Undo {
    pub fn begin(&mut self, state: &State) {
        (self.benches_used, self.loads_used, self.shifted_used) = (0, 0, 0);
        (self.patience, self.made, self.emptied) = (None, None, None);
        (self.energy, self.score) = (state.energy, state.score);
        self.makespan_min = state.makespan_min;
    }

    /// Before a bench's order or one of its loads is changed.
    pub fn keep_bench(&mut self, state: &State, number: usize) {
        let used = &self.benches[..self.benches_used];
        if used.iter().any(|bench| bench.number == number) {
            return;
        }
        let bench = &mut self.benches[self.benches_used];
        self.benches_used += 1;
        bench.number = number;
        bench.order.clone_from(&state.benches[number]);
        bench.times.clone_from(&state.times[number]);
        bench.alone_min = state.alone_min[number];
        bench.work_min = state.work_min[number];
    }

    /// Before a load's patience is changed.
    pub fn keep_patience(&mut self, state: &State, load: u32) {
        self.patience = Some((load, state.patience[load as usize]));
    }

    fn keep_load(&mut self, state: &State, number: u32) {
        let (kept, load) = &mut self.loads[self.loads_used];
        self.loads_used += 1;
        *kept = number;
        load.copy_from(&state.loads[number as usize]);
    }

    /// Put other samples into a load; what was in it is kept. `holders` are not touched.
    pub fn change_load(
        &mut self,
        model: &Model,
        state: &mut State,
        number: u32,
        change: impl FnOnce(&mut Vec<u32>),
    ) {
        self.keep_load(state, number);
        let load = &mut state.loads[number as usize];
        change(&mut load.samples);
        if !load.samples.is_empty() {
            model.fill(load);
        }
    }

    /// A new load without tubes.
    pub fn make_load(&mut self, state: &mut State) -> u32 {
        let number = state.spare.pop().unwrap_or_else(|| {
            state.loads.push(Load::default());
            state.patience.push(0.0);
            state.loads.len() as u32 - 1
        });
        state.loads[number as usize].samples.clear();
        state.patience[number as usize] = 0.0;
        self.made = Some(number);
        number
    }

    /// Take a load that holds nothing any more out of its bench.
    pub fn remove_empty(&mut self, state: &mut State, bench: usize, place: usize) {
        let number = state.benches[bench].remove(place);
        state.spare.push(number);
        self.emptied = Some(number);
    }

    /// A tube of a sample is in another load now.
    pub fn shift(&mut self, state: &mut State, sample: u32, from: u32, to: u32) {
        shift(state, sample, from, to);
        self.shifted[self.shifted_used] = (sample, from, to);
        self.shifted_used += 1;
    }

    /// Work out anew what the change touched; false where the energy is above `allowed`.
    pub fn settle(&self, model: &Model, state: &mut State, allowed: f64) -> bool {
        for bench in &self.benches[..self.benches_used] {
            state.refresh(model, bench.number);
        }
        state.settle(model, allowed)
    }

    /// Take the change back.
    pub fn take_back(&mut self, state: &mut State) {
        for bench in &mut self.benches[..self.benches_used] {
            std::mem::swap(&mut state.benches[bench.number], &mut bench.order);
            std::mem::swap(&mut state.times[bench.number], &mut bench.times);
            state.alone_min[bench.number] = bench.alone_min;
            state.work_min[bench.number] = bench.work_min;
        }
        for &(sample, from, to) in self.shifted[..self.shifted_used].iter().rev() {
            shift(state, sample, to, from);
        }
        for (number, load) in &mut self.loads[..self.loads_used] {
            std::mem::swap(&mut state.loads[*number as usize], load);
        }
        if let Some((number, patience)) = self.patience {
            state.patience[number as usize] = patience;
        }
        if self.emptied.is_some() {
            state.spare.pop();
        }
        if let Some(number) = self.made {
            state.spare.push(number);
        }
        (state.energy, state.score) = (self.energy, self.score);
        state.makespan_min = self.makespan_min;
    }
}

fn shift(state: &mut State, sample: u32, from: u32, to: u32) {
    let holders = &mut state.holders[sample as usize];
    if let Some(holder) = holders.iter_mut().find(|holder| **holder == from) {
        *holder = to;
    }
}
