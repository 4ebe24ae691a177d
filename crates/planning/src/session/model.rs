//! The times of loads and sequences of loads, exactly.

use super::order::{ABOVE_ROOM_C, SLACK_C, SessionBench, SessionOrder, SessionPolicy};

/// One sample as the planner sees it.
#[derive(Debug, Clone)]
pub(crate) struct Sample {
    pub first_liquid_c: f64,
    /// Where its scan begins and ends [°C].
    pub window_c: [f64; 2],
    /// Not above this [°C]; infinite if not said.
    pub leave_below_c: f64,
    pub replicates: u32,
    /// For each bench whether it can take it.
    pub fits: Vec<bool>,
}

/// A session as the planner sees it.
#[derive(Debug, Clone)]
pub(crate) struct Model {
    pub benches: Vec<SessionBench>,
    pub samples: Vec<Sample>,
    pub policy: SessionPolicy,
    pub operators: usize,
    /// Most places of any bench.
    pub most_places: usize,
}

/// Tubes that are set in together: samples by number. What follows from them is kept beside.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Load {
    /// Rising.
    pub samples: Vec<u32>,
    pub lowest_first_liquid_c: f64,
    /// Where its first scan begins [°C].
    pub from_c: f64,
    /// Where its last scan ends [°C].
    pub to_c: f64,
    /// Widths of all scans together [°C].
    pub scanned_c: f64,
    /// Heated between scans [°C].
    pub between_c: f64,
    /// Scans.
    pub windows: u32,
    /// Not above this [°C].
    pub leave_below_c: f64,
    /// An operator takes it up as if its bench were ready so much later [min]; negative to be waited for.
    pub patience_min: f64,
}

impl Model {
    pub fn new(order: &SessionOrder) -> Self {
        let samples = order
            .samples
            .iter()
            .map(|sample| Sample {
                first_liquid_c: sample.first_liquid_c,
                window_c: [
                    sample.first_liquid_c - order.policy.start_below_c,
                    sample.last_crystal_c + order.policy.stop_above_c,
                ],
                leave_below_c: sample.leave_below_c.unwrap_or(f64::INFINITY),
                replicates: order.replicates_of(sample),
                fits: order
                    .benches
                    .iter()
                    .map(|bench| order.obstacle(bench, sample).is_none())
                    .collect(),
            })
            .collect();
        Self {
            most_places: order
                .benches
                .iter()
                .map(|bench| bench.places as usize)
                .max()
                .unwrap_or(0),
            benches: order.benches.clone(),
            samples,
            policy: order.policy,
            operators: order.operators as usize,
        }
    }

    /// Scans of some samples: windows in rising order, merged where they touch.
    pub fn windows_c(&self, samples: &[u32]) -> Vec<[f64; 2]> {
        let mut windows: Vec<[f64; 2]> = samples
            .iter()
            .filter_map(|&sample| self.samples.get(sample as usize))
            .map(|sample| sample.window_c)
            .collect();
        windows.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let mut merged: Vec<[f64; 2]> = Vec::with_capacity(windows.len());
        for window in windows {
            match merged.last_mut() {
                Some(last) if window[0] <= last[1] + SLACK_C => last[1] = last[1].max(window[1]),
                _ => merged.push(window),
            }
        }
        merged
    }

    pub fn load(&self, mut samples: Vec<u32>) -> Load {
        samples.sort_unstable();
        let windows = self.windows_c(&samples);
        let of = |sample: &u32| self.samples.get(*sample as usize);
        let lowest = |value: fn(&Sample) -> f64| {
            samples
                .iter()
                .filter_map(of)
                .map(value)
                .fold(f64::INFINITY, f64::min)
        };
        let from_c = windows.first().map_or(0.0, |window| window[0]);
        let to_c = windows.last().map_or(0.0, |window| window[1]);
        let scanned_c: f64 = windows.iter().map(|window| window[1] - window[0]).sum();
        Load {
            lowest_first_liquid_c: lowest(|sample| sample.first_liquid_c),
            leave_below_c: lowest(|sample| sample.leave_below_c),
            from_c,
            to_c,
            scanned_c,
            between_c: to_c - from_c - scanned_c,
            windows: windows.len() as u32,
            patience_min: 0.0,
            samples,
        }
    }

    /// Whether a bench can take a load.
    pub fn takes(&self, bench: usize, load: &Load) -> bool {
        let Some(apparatus) = self.benches.get(bench) else {
            return false;
        };
        load.samples.len() <= apparatus.places as usize
            && load.to_c <= load.leave_below_c + SLACK_C
            && load.samples.iter().all(|&sample| {
                self.samples
                    .get(sample as usize)
                    .is_some_and(|sample| sample.fits.get(bench) == Some(&true))
            })
    }

    /// Temperature at or below which a load is set in [°C].
    pub fn load_c(bench: &SessionBench, policy: &SessionPolicy, load: &Load) -> f64 {
        (load.lowest_first_liquid_c - policy.cool_below_c).max(bench.room_c + ABOVE_ROOM_C)
    }

    /// Cooling before a load and everything after it is set in [min], with the block at `before_c`.
    pub fn times_min(&self, bench: usize, before_c: f64, load: &Load) -> [f64; 2] {
        let (policy, apparatus) = (&self.policy, &self.benches[bench]);
        let load_c = Self::load_c(apparatus, policy, load);
        let (cooling_min, start_c) = if before_c > load_c {
            let ratio = (before_c - apparatus.room_c) / (load_c - apparatus.room_c);
            (apparatus.cool_time_constant_min * ratio.ln(), load_c)
        } else {
            (0.0, before_c)
        };
        // Below 0 only for a load that the bench may not take.
        let heated_c = (load.from_c - start_c + load.between_c).max(0.0);
        let heating_min = heated_c / apparatus.heat_rate_c_per_min
            + policy.soak_min
            + load.scanned_c / policy.scan_rate_c_per_min
            + f64::from(load.windows.saturating_sub(1)) * policy.resettle_min;
        [cooling_min, heating_min]
    }
}

/// When the loads of a plan are set in and end [min].
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Timing {
    /// For each bench, for each load: set in from, ended.
    pub loads: Vec<Vec<[f64; 2]>>,
    pub makespan_min: f64,
}

/// A plan: for each bench its loads in order.
pub(crate) type Plan = Vec<Vec<Load>>;

/// What one load takes of its bench [min].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LoadTimes {
    pub cooling: f64,
    /// From the end of setting in to the end of the last scan.
    pub heating: f64,
    pub patience: f64,
}

/// The loads of one bench in order.
pub(crate) fn bench_times(model: &Model, bench: usize, loads: &[Load], into: &mut Vec<LoadTimes>) {
    into.clear();
    let mut before_c = model.benches[bench].start_c;
    for load in loads {
        let [cooling, heating] = model.times_min(bench, before_c, load);
        into.push(LoadTimes {
            cooling,
            heating,
            patience: load.patience_min,
        });
        before_c = load.to_c;
    }
}

/// How long a bench takes when no operator is waited for [min].
pub(crate) fn alone_min(model: &Model, times: &[LoadTimes]) -> f64 {
    times
        .iter()
        .map(|load| load.cooling + model.policy.load_min + load.heating)
        .sum()
}

/// Set loads in as soon as block and operator are free. The operator who is free first takes up the
/// load that could begin first, its patience counted; of equal ones that of the bench with most to do.
pub(crate) fn timing(model: &Model, times: &[Vec<LoadTimes>]) -> Timing {
    let load_min = model.policy.load_min;
    let mut timing = Timing {
        loads: times
            .iter()
            .map(|own| Vec::with_capacity(own.len()))
            .collect(),
        makespan_min: 0.0,
    };
    let at_work = times.iter().filter(|own| !own.is_empty()).count();
    if at_work <= model.operators {
        for (own, done) in times.iter().zip(&mut timing.loads) {
            let mut at = 0.0;
            for load in own {
                let set_in = at + load.cooling;
                at = set_in + load_min + load.heating;
                done.push([set_in, at]);
            }
            timing.makespan_min = timing.makespan_min.max(at);
        }
        return timing;
    }
    let mut left_min: Vec<f64> = times.iter().map(|own| alone_min(model, own)).collect();
    let mut free_min: Vec<f64> = vec![0.0; times.len()];
    let mut operators: Vec<f64> = vec![0.0; model.operators];
    loop {
        let first_free = operators.iter_mut().min_by(|a, b| a.total_cmp(b));
        let Some(operator) = first_free else {
            return timing;
        };
        // Bench, the moment it could begin, and that with patience.
        let mut chosen: Option<(usize, f64, f64)> = None;
        for (bench, own) in times.iter().enumerate() {
            let Some(next) = own.get(timing.loads[bench].len()) else {
                continue;
            };
            let from = (free_min[bench] + next.cooling).max(*operator);
            let key = from + next.patience;
            let better = chosen.is_none_or(|(other, _, least)| {
                key < least || (key == least && left_min[bench] > left_min[other])
            });
            if better {
                chosen = Some((bench, from, key));
            }
        }
        let Some((bench, from, _)) = chosen else {
            return timing;
        };
        let load = times[bench][timing.loads[bench].len()];
        let ended = from + load_min + load.heating;
        *operator = from + load_min;
        free_min[bench] = ended;
        left_min[bench] -= load.cooling + load_min + load.heating;
        timing.loads[bench].push([from, ended]);
        timing.makespan_min = timing.makespan_min.max(ended);
    }
}
