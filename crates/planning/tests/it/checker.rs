//! Recomputes a plan from the model of a session, independently of the planner.

use meltrange_planning::{
    ActualLoad, PlannedBench, SessionDraft, SessionOrder, SessionPlan, session_lower_bound_min,
};
use std::collections::BTreeMap;

/// Times may be rounded to this [min].
const ROUNDED_MIN: f64 = 0.01;
const TOLERANCE_C: f64 = 1e-6;

/// What happened so far.
#[derive(Default)]
pub struct SoFar {
    pub now_min: f64,
    pub draft: SessionDraft,
}

impl SoFar {
    /// Loads of a bench that began, in order.
    fn began(&self, bench: &str) -> Vec<ActualLoad> {
        self.draft
            .benches
            .iter()
            .filter(|own| own.bench == bench)
            .flat_map(|own| own.loads.iter().filter_map(|load| load.actual))
            .collect()
    }

    fn is_beginning(&self) -> bool {
        let mut benches = self.draft.benches.iter();
        self.now_min == 0.0 && benches.all(|own| self.began(&own.bench).is_empty())
    }
}

/// Everything that is wrong with a plan, in words.
pub fn faults(order: &SessionOrder, plan: &SessionPlan) -> Vec<String> {
    faults_since(order, plan, &SoFar::default())
}

/// Everything that is wrong with a plan of the rest of a session, in words.
pub fn faults_since(order: &SessionOrder, plan: &SessionPlan, so_far: &SoFar) -> Vec<String> {
    let mut faults = Vec::new();
    let makespan = check_benches(order, &plan.benches, so_far, &mut faults);
    if (makespan - plan.makespan_min).abs() > ROUNDED_MIN {
        faults.push(format!("makespan {} is {makespan}", plan.makespan_min));
    }
    // What is given out is cut off at the makespan; the bound itself must not need it.
    let bound = session_lower_bound_min(order).expect("it was planned");
    if so_far.is_beginning() && bound > plan.makespan_min + ROUNDED_MIN {
        faults.push(format!("bound {bound} above makespan"));
    }
    for (sample, count) in counts(&plan.benches) {
        let wanted = wanted(order, &sample);
        if count != wanted {
            faults.push(format!("{sample}: {count} tubes of {wanted}"));
        }
    }
    if counts(&plan.benches).len() != order.samples.len() {
        faults.push("samples are missing".into());
    }
    if plan.fits != (plan.makespan_min <= order.length_min + 0.01) {
        faults.push("fits is wrong".into());
    }
    if plan.fits != plan.in_time_benches.is_none() {
        faults.push("in_time_benches where all fits, or none where not".into());
    }
    if let Some(benches) = &plan.in_time_benches {
        let end = check_benches(order, benches, so_far, &mut faults);
        // What is locked may stay too late.
        let mut loads = so_far.draft.benches.iter().flat_map(|own| &own.loads);
        if so_far.is_beginning()
            && !loads.any(|load| load.locked)
            && end > order.length_min + ROUNDED_MIN
        {
            faults.push(format!("the plan within time ends at {end}"));
        }
        let done = counts(benches);
        for sample in &plan.finished_in_time {
            if done.get(sample) != Some(&wanted(order, sample)) {
                faults.push(format!("{sample} is not finished"));
            }
        }
    }
    let mut named: Vec<&String> = plan
        .finished_in_time
        .iter()
        .chain(&plan.not_finished)
        .collect();
    named.sort();
    let mut all: Vec<&String> = order.samples.iter().map(|sample| &sample.id).collect();
    all.sort();
    if named != all {
        faults.push("finished and not finished are not all samples".into());
    }
    faults
}

fn wanted(order: &SessionOrder, sample: &str) -> u32 {
    order
        .samples
        .iter()
        .find(|one| one.id == sample)
        .and_then(|one| one.replicates)
        .unwrap_or(order.policy.replicates)
}

fn counts(benches: &[PlannedBench]) -> BTreeMap<String, u32> {
    let mut counts = BTreeMap::new();
    for tube in benches
        .iter()
        .flat_map(|bench| &bench.loads)
        .flat_map(|load| &load.tubes)
    {
        *counts.entry(tube.sample.clone()).or_default() += 1;
    }
    counts
}

/// Check each load; when the last one ends.
fn check_benches(
    order: &SessionOrder,
    benches: &[PlannedBench],
    so_far: &SoFar,
    faults: &mut Vec<String>,
) -> f64 {
    let policy = &order.policy;
    // From, to, whether it is planned.
    let mut loading: Vec<(f64, f64, bool)> = Vec::new();
    let mut makespan: f64 = 0.0;
    let mut replicates: BTreeMap<&str, Vec<u32>> = BTreeMap::new();
    for planned in benches {
        let bench = order
            .benches
            .iter()
            .find(|bench| bench.name == planned.bench)
            .expect("a bench");
        let began = so_far.began(&bench.name);
        if planned.loads.len() < began.len() {
            faults.push(format!("{}: loads that began are missing", bench.name));
        }
        let (mut free, mut before_c) = (0.0, bench.start_c);
        for (number, load) in planned.loads.iter().enumerate() {
            let name = format!("load {number} of {}", bench.name);
            if load.tubes.is_empty() || load.tubes.len() > bench.places as usize {
                faults.push(format!("{name}: {} tubes", load.tubes.len()));
            }
            let samples: Vec<_> = load
                .tubes
                .iter()
                .map(|tube| {
                    order
                        .samples
                        .iter()
                        .find(|one| one.id == tube.sample)
                        .expect("a sample")
                })
                .collect();
            for tube in &load.tubes {
                replicates
                    .entry(&tube.sample)
                    .or_default()
                    .push(tube.replicate);
            }
            let mut ids: Vec<_> = samples.iter().map(|sample| &sample.id).collect();
            ids.sort();
            if policy.independent_loads && ids.windows(2).any(|pair| pair[0] == pair[1]) {
                faults.push(format!("{name}: two tubes of one sample"));
            }
            let mut windows: Vec<[f64; 2]> = samples
                .iter()
                .map(|s| {
                    [
                        s.first_liquid_c - policy.start_below_c,
                        s.last_crystal_c + policy.stop_above_c,
                    ]
                })
                .collect();
            windows.sort_by(|a, b| a[0].total_cmp(&b[0]));
            let mut merged = vec![windows[0]];
            for window in &windows[1..] {
                let last = merged.last_mut().expect("one");
                if window[0] - last[1] <= TOLERANCE_C {
                    last[1] = last[1].max(window[1]);
                } else {
                    merged.push(*window);
                }
            }
            if merged != load.scan_windows_c {
                faults.push(format!(
                    "{name}: windows {:?} are {merged:?}",
                    load.scan_windows_c
                ));
            }
            let top = merged.last().expect("one")[1];
            let limit = samples
                .iter()
                .filter_map(|s| s.leave_below_c)
                .fold(bench.max_c, f64::min);
            if top > limit + TOLERANCE_C || merged[0][0] < bench.room_c + 1.0 - TOLERANCE_C {
                faults.push(format!("{name}: {merged:?} against {limit}"));
            }
            if (load.cool_from_c - before_c).abs() > TOLERANCE_C {
                faults.push(format!(
                    "{name}: cools from {} not {before_c}",
                    load.cool_from_c
                ));
            }
            let lowest = samples
                .iter()
                .map(|s| s.first_liquid_c)
                .fold(f64::INFINITY, f64::min);
            let load_c = (lowest - policy.cool_below_c).max(bench.room_c + 1.0);
            let cooling = if before_c > load_c {
                bench.cool_time_constant_min
                    * ((before_c - bench.room_c) / (load_c - bench.room_c)).ln()
            } else {
                0.0
            };
            let real = began.get(number);
            if let Some(real) = real
                && real.load_start_min != load.load_start_min
            {
                faults.push(format!("{name}: its real beginning was changed"));
            }
            if real.is_none() && load.load_start_min < so_far.now_min - ROUNDED_MIN {
                faults.push(format!("{name}: set in before now"));
            }
            if real.is_none() && load.load_start_min < free + cooling - ROUNDED_MIN {
                faults.push(format!("{name}: set in before the block is cool"));
            }
            let mut at_c = before_c.min(load_c);
            let mut time = load.load_start_min + policy.load_min;
            for (place, window) in merged.iter().enumerate() {
                time += (window[0] - at_c) / bench.heat_rate_c_per_min;
                time += if place == 0 {
                    policy.soak_min
                } else {
                    policy.resettle_min
                };
                time += (window[1] - window[0]) / policy.scan_rate_c_per_min;
                at_c = window[1];
            }
            if let Some(real) = real {
                time = real.end_min.unwrap_or(time.max(so_far.now_min));
            }
            if (time - load.end_min).abs() > ROUNDED_MIN {
                faults.push(format!("{name}: ends at {} not {time}", load.end_min));
            }
            let loaded = load.load_start_min + policy.load_min;
            loading.push((load.load_start_min, loaded, real.is_none()));
            let ended_at_c = real.and_then(|real| real.ended_at_c);
            (free, before_c) = (load.end_min, ended_at_c.unwrap_or(top));
            makespan = makespan.max(load.end_min);
        }
    }
    for (start, ..) in loading.iter().filter(|(.., planned)| *planned) {
        // Half-open; rounding of two decimals is forgiven.
        let busy = loading
            .iter()
            .filter(|(from, to, _)| *from <= start + 1e-9 && *to > start + ROUNDED_MIN)
            .count();
        if policy.load_min > 2.0 * ROUNDED_MIN && busy > order.operators as usize {
            faults.push(format!("{busy} loads are set in at {start}"));
        }
    }
    for (sample, mut numbers) in replicates {
        numbers.sort_unstable();
        if numbers.windows(2).any(|pair| pair[0] == pair[1]) {
            faults.push(format!("{sample}: a replicate twice"));
        }
    }
    makespan
}
