//! A plan while it is searched for, with its times.

use super::model::{Load, Model};

/// What a load costs beside the makespan [min]: of plans as short, the one with fewer loads.
const PER_LOAD_MIN: f64 = 1e-4;

/// Rounding of sums of minutes.
const ROUNDING_MIN: f64 = 1e-9;

/// A load of a plan, by its samples.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct PlanLoad {
    pub samples: Vec<u32>,
    /// An operator takes it up as if its bench were ready so much later [min]; negative to be waited for.
    pub patience_min: f64,
}

/// A plan: for each bench its loads in order.
pub(crate) type Plan = Vec<Vec<PlanLoad>>;

/// What one load takes of its bench [min].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LoadTimes {
    cooling: f64,
    /// From the end of setting in to the end of the last scan.
    heating: f64,
    patience: f64,
}

/// Room for lining up the loads of all benches.
#[derive(Debug, Clone, Default)]
struct Queue {
    next: Vec<usize>,
    free_min: Vec<f64>,
    left_min: Vec<f64>,
    hands_min: Vec<f64>,
}

/// A plan with its times. Loads have numbers that they keep while they move.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub loads: Vec<Load>,
    pub patience: Vec<f64>,
    /// Numbers without a load.
    pub spare: Vec<u32>,
    /// For each bench its loads in order.
    pub benches: Vec<Vec<u32>>,
    /// For each sample the loads that hold its tubes, those that stay where they are left out.
    pub holders: Vec<Vec<u32>>,
    pub times: Vec<Vec<LoadTimes>>,
    /// When each bench ends if no operator is waited for [min].
    pub alone_min: Vec<f64>,
    /// How long each bench is at work [min].
    pub work_min: Vec<f64>,
    queue: Queue,
    /// Weight of the end of each bench beside the makespan.
    pub per_end: f64,
    pub makespan_min: f64,
    /// What the search lowers [min].
    pub energy: f64,
    /// What plans are compared by: makespan, and of plans as short the number of loads [min].
    pub score: f64,
}

impl State {
    pub fn new(model: &Model, plan: &Plan) -> Self {
        let mut state = Self {
            loads: Vec::new(),
            patience: Vec::new(),
            spare: Vec::new(),
            benches: vec![Vec::new(); plan.len()],
            holders: vec![Vec::new(); model.samples.len()],
            times: vec![Vec::new(); plan.len()],
            alone_min: vec![0.0; plan.len()],
            work_min: vec![0.0; plan.len()],
            queue: Queue::default(),
            per_end: 0.0,
            makespan_min: 0.0,
            energy: 0.0,
            score: 0.0,
        };
        for (bench, loads) in plan.iter().enumerate() {
            for (place, load) in loads.iter().enumerate() {
                let number = state.loads.len() as u32;
                state.loads.push(model.load(load.samples.clone()));
                state.patience.push(load.patience_min);
                state.benches[bench].push(number);
                if place >= model.pinned[bench] {
                    for &sample in &load.samples {
                        state.holders[sample as usize].push(number);
                    }
                }
            }
            state.refresh(model, bench);
        }
        state.settle(model, f64::INFINITY);
        state
    }

    pub fn plan(&self) -> Plan {
        let load = |&number: &u32| PlanLoad {
            samples: self.loads[number as usize].samples.clone(),
            patience_min: self.patience[number as usize],
        };
        let benches = self.benches.iter();
        benches.map(|own| own.iter().map(load).collect()).collect()
    }

    pub fn count(&self) -> usize {
        self.benches.iter().map(Vec::len).sum()
    }

    /// The load at a place.
    pub fn at(&self, bench: usize, place: usize) -> &Load {
        &self.loads[self.benches[bench][place] as usize]
    }

    /// Work a bench's times out anew.
    pub fn refresh(&mut self, model: &Model, bench: usize) {
        let times = &mut self.times[bench];
        times.clear();
        let mut before: Option<&Load> = None;
        let (mut at, mut work) = (model.free_min[bench], 0.0);
        for &number in &self.benches[bench] {
            let load = &self.loads[number as usize];
            let [cooling, heating] = model.times_after(bench, before, load);
            at = (at + cooling).max(model.now_min) + model.policy.load_min + heating;
            work += cooling + model.policy.load_min + heating;
            times.push(LoadTimes {
                cooling,
                heating,
                patience: self.patience[number as usize],
            });
            before = Some(load);
        }
        self.alone_min[bench] = at;
        self.work_min[bench] = work;
    }

    fn side_cost(&self) -> f64 {
        let ends: f64 = self.alone_min.iter().sum();
        PER_LOAD_MIN * self.count() as f64 + self.per_end * ends
    }

    /// Work makespan and energy out; false, and nothing changed, once the energy is above `allowed`.
    pub fn settle(&mut self, model: &Model, allowed: f64) -> bool {
        let side_cost = self.side_cost();
        // No plan ends before its longest bench would alone.
        let longest = self.alone_min.iter().copied().fold(0.0, f64::max);
        if longest + side_cost > allowed {
            return false;
        }
        let Some(makespan_min) = self.line_up(model, allowed - side_cost, &mut |_, _, _| ()) else {
            return false;
        };
        self.makespan_min = makespan_min;
        self.energy = makespan_min + side_cost;
        self.score = makespan_min + PER_LOAD_MIN * self.count() as f64;
        true
    }

    /// When each load is set in and ends [min].
    pub fn times(&mut self, model: &Model) -> Vec<Vec<[f64; 2]>> {
        let mut times: Vec<Vec<[f64; 2]>> = vec![Vec::new(); self.benches.len()];
        let mut note = |bench: usize, from: f64, to: f64| times[bench].push([from, to]);
        self.line_up(model, f64::INFINITY, &mut note);
        times
    }

    /// Whether there is an operator for every bench at work, so that no load waits for one and turns mean nothing.
    pub fn hands_suffice(&self, model: &Model) -> bool {
        let at_work = self.times.iter().filter(|own| !own.is_empty()).count();
        at_work <= model.hands_min.len()
            && model.hands_min.iter().all(|&free| free <= model.now_min)
    }

    /// Set loads in as soon as block and operator are free; when the last one ends, or nothing once that
    /// is known to be after `latest_min`. The operator who is free first takes up the
    /// load that could begin first, its patience counted; of equal ones that of the bench with most to do.
    fn line_up(
        &mut self,
        model: &Model,
        latest_min: f64,
        note: &mut impl FnMut(usize, f64, f64),
    ) -> Option<f64> {
        let load_min = model.policy.load_min;
        let mut makespan = model.free_min.iter().copied().fold(0.0, f64::max);
        if self.hands_suffice(model) {
            for (bench, own) in self.times.iter().enumerate() {
                let mut at = model.free_min[bench];
                for load in own {
                    let set_in = (at + load.cooling).max(model.now_min);
                    at = set_in + load_min + load.heating;
                    note(bench, set_in, at);
                }
                makespan = makespan.max(at);
            }
            return Some(makespan);
        }
        let queue = &mut self.queue;
        queue.next.clear();
        queue.next.resize(self.times.len(), 0);
        queue.free_min.clone_from(&model.free_min);
        queue.hands_min.clone_from(&model.hands_min);
        queue.left_min.clone_from(&self.work_min);
        loop {
            let mut hand = 0;
            for other in 1..queue.hands_min.len() {
                if queue.hands_min[other] < queue.hands_min[hand] {
                    hand = other;
                }
            }
            let free = queue.hands_min[hand].max(model.now_min);
            // Bench, the moment it could begin, and that with patience.
            let mut chosen: Option<(usize, f64, f64)> = None;
            for (bench, own) in self.times.iter().enumerate() {
                let Some(next) = own.get(queue.next[bench]) else {
                    continue;
                };
                let from = (queue.free_min[bench] + next.cooling).max(free);
                let key = from + next.patience;
                let better = chosen.is_none_or(|(other, _, least)| {
                    key < least || (key == least && queue.left_min[bench] > queue.left_min[other])
                });
                if better {
                    chosen = Some((bench, from, key));
                }
            }
            let Some((bench, from, _)) = chosen else {
                return Some(makespan);
            };
            let load = self.times[bench][queue.next[bench]];
            let ended = from + load_min + load.heating;
            queue.hands_min[hand] = from + load_min;
            queue.free_min[bench] = ended;
            queue.left_min[bench] -= load.cooling + load_min + load.heating;
            queue.next[bench] += 1;
            makespan = makespan.max(ended);
            // What the bench has left goes on top of that at best.
            if ended + queue.left_min[bench] > latest_min + ROUNDING_MIN {
                return None;
            }
            note(bench, from, ended);
        }
    }
}

/// A plan in as little room as can be, to be kept while the search goes on.
#[derive(Debug, Clone, Default)]
pub(crate) struct Kept {
    samples: Vec<u32>,
    /// Of each load: its tubes and its patience [min].
    loads: Vec<(u32, f64)>,
    /// Loads of each bench.
    benches: Vec<u32>,
    pub makespan_min: f64,
    pub score: f64,
}

impl Kept {
    pub fn take(&mut self, state: &State) {
        self.samples.clear();
        self.loads.clear();
        self.benches.clear();
        (self.makespan_min, self.score) = (state.makespan_min, state.score);
        for own in &state.benches {
            self.benches.push(own.len() as u32);
            for &number in own {
                let load = &state.loads[number as usize];
                let patience = state.patience[number as usize];
                self.loads.push((load.samples.len() as u32, patience));
                self.samples.extend_from_slice(&load.samples);
            }
        }
    }

    pub fn plan(&self) -> Plan {
        let (mut samples, mut loads) = (self.samples.iter().copied(), self.loads.iter());
        self.benches
            .iter()
            .map(|&count| {
                let own = loads.by_ref().take(count as usize);
                own.map(|&(tubes, patience_min)| PlanLoad {
                    samples: samples.by_ref().take(tubes as usize).collect(),
                    patience_min,
                })
                .collect()
            })
            .collect()
    }
}
