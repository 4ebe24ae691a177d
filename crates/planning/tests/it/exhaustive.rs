//! Every plan of a small session.

use meltrange_planning::SessionOrder;

/// The shortest makespan of all plans [min]: every way to share tubes among loads, loads among benches,
/// and every order in which the operators take loads up. Each load is set in at the first moment at
/// which block and operator are free, given those before it in the order; for a makespan that
/// loses nothing.
pub fn shortest_min(order: &SessionOrder) -> f64 {
    let tubes: Vec<usize> = order
        .samples
        .iter()
        .enumerate()
        .flat_map(|(number, sample)| {
            std::iter::repeat_n(
                number,
                sample.replicates.unwrap_or(order.policy.replicates) as usize,
            )
        })
        .collect();
    let mut best = f64::INFINITY;
    share(order, &tubes, &mut Vec::new(), &mut best);
    best
}

fn share(order: &SessionOrder, tubes: &[usize], loads: &mut Vec<Vec<usize>>, best: &mut f64) {
    let Some((&tube, rest)) = tubes.split_first() else {
        let mut queue = Vec::new();
        line_up(order, loads, &mut queue, best);
        return;
    };
    for place in 0..loads.len() {
        let alone = order.policy.independent_loads && loads[place].contains(&tube);
        let most = order
            .benches
            .iter()
            .map(|bench| bench.places as usize)
            .max()
            .unwrap_or(0);
        if !alone && loads[place].len() < most {
            loads[place].push(tube);
            share(order, rest, loads, best);
            loads[place].pop();
        }
    }
    loads.push(vec![tube]);
    share(order, rest, loads, best);
    loads.pop();
}

fn line_up(
    order: &SessionOrder,
    loads: &[Vec<usize>],
    queue: &mut Vec<(usize, usize)>,
    best: &mut f64,
) {
    if queue.len() == loads.len() {
        if let Some(end) = makespan(order, loads, queue) {
            *best = best.min(end);
        }
        return;
    }
    for load in 0..loads.len() {
        if queue.iter().all(|(queued, _)| *queued != load) {
            for bench in 0..order.benches.len() {
                queue.push((load, bench));
                line_up(order, loads, queue, best);
                queue.pop();
            }
        }
    }
}

fn makespan(order: &SessionOrder, loads: &[Vec<usize>], queue: &[(usize, usize)]) -> Option<f64> {
    let policy = &order.policy;
    let mut free: Vec<(f64, f64)> = order
        .benches
        .iter()
        .map(|bench| (0.0, bench.start_c))
        .collect();
    let mut loading: Vec<f64> = Vec::new();
    let mut end: f64 = 0.0;
    for &(load, number) in queue {
        let bench = &order.benches[number];
        let samples: Vec<_> = loads[load]
            .iter()
            .map(|&sample| &order.samples[sample])
            .collect();
        if samples.len() > bench.places as usize {
            return None;
        }
        let mut windows: Vec<(f64, f64)> = samples
            .iter()
            .map(|s| {
                (
                    s.first_liquid_c - policy.start_below_c,
                    s.last_crystal_c + policy.stop_above_c,
                )
            })
            .collect();
        windows.sort_by(|a, b| a.0.total_cmp(&b.0));
        let top = windows.iter().map(|window| window.1).fold(0.0, f64::max);
        if samples
            .iter()
            .filter_map(|s| s.leave_below_c)
            .any(|limit| top > limit + 1e-6)
        {
            return None;
        }
        let lowest = samples
            .iter()
            .map(|s| s.first_liquid_c)
            .fold(f64::INFINITY, f64::min);
        let load_c = (lowest - policy.cool_below_c).max(bench.room_c + 1.0);
        let (mut at, mut block_c) = free[number];
        if block_c > load_c {
            at += bench.cool_time_constant_min
                * ((block_c - bench.room_c) / (load_c - bench.room_c)).ln();
            block_c = load_c;
        }
        at = first_free(&loading, at, policy.load_min, order.operators as usize);
        loading.push(at);
        at += policy.load_min + policy.soak_min;
        let mut reached = windows[0].0;
        at += (reached - block_c) / bench.heat_rate_c_per_min;
        for (from, to) in windows {
            if from > reached + 1e-6 {
                at += (from - reached) / bench.heat_rate_c_per_min + policy.resettle_min;
                reached = from;
            }
            at += (to - reached).max(0.0) / policy.scan_rate_c_per_min;
            reached = reached.max(to);
        }
        free[number] = (at, top);
        end = end.max(at);
    }
    Some(end)
}

/// The first moment from `at` on at which an operator has `load_min` to spare.
fn first_free(loading: &[f64], at: f64, load_min: f64, operators: usize) -> f64 {
    let mut candidates: Vec<f64> = loading
        .iter()
        .map(|start| start + load_min)
        .filter(|&end| end >= at)
        .collect();
    candidates.push(at);
    candidates.sort_by(f64::total_cmp);
    candidates
        .into_iter()
        .find(|&from| {
            let mut moments: Vec<f64> = loading
                .iter()
                .copied()
                .filter(|&s| s > from && s < from + load_min)
                .collect();
            moments.push(from);
            moments.iter().all(|&moment| {
                loading
                    .iter()
                    .filter(|&&s| s <= moment + 1e-12 && s + load_min > moment + 1e-12)
                    .count()
                    < operators
            })
        })
        .expect("after the last loading somebody is free")
}
