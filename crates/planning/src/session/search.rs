//! Looking for a short plan: simulated annealing over loads and their order.

use super::beginning::beginning;
use super::in_time::within;
use super::model::Model;
use super::moves::propose;
use super::plan::FITS_WITHIN_MIN;
use super::state::{Kept, Plan, State};
use super::undo::Undo;
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_xoshiro::Xoshiro256PlusPlus;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::Duration;

/// Temperature of the annealing at its end [min].
const COLD_MIN: f64 = 2e-3;

/// Searches that go on at the same time. Fixed, so that every machine gives the same plan.
const AT_ONCE: usize = 2;

/// Moves after which the search asks whether it may go on and cools.
const STEP: u64 = 128;

/// How long to wait for the other searches between two questions [ms].
const WAIT_MS: u64 = 2;

/// How a search goes about it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Way {
    /// How far it wanders at first, as a part of the makespan.
    pub warm: f64,
    /// What the end of each bench weighs beside the makespan, so that benches that do not end last get
    /// shorter too and leave room. Without it they drift up to the one that does.
    pub per_end: f64,
}

const fn way(warm: f64, per_end: f64) -> Way {
    Way { warm, per_end }
}

/// A stage of the search: its share of the effort and what goes on at the same time.
type Stage = (f64, [Way; AT_ONCE]);

/// From the beginning. Small sessions have high walls between their plans; large ones need one long search
/// more than several short ones. Tried on the instances of `session_quality`, whose table is in-sample for that.
const SMALL: &[Stage] = &[
    (0.4, [way(0.3, 0.001), way(0.1, 1.0)]),
    (0.4, [way(0.03, 0.001), way(0.1, 0.1)]),
];
const MIDDLE: &[Stage] = &[(0.8, [way(0.1, 3.0), way(0.1, 3.0)])];
const LARGE: &[Stage] = &[(0.8, [way(0.03, 3.0), way(0.008, 3.0)])];

/// From the best plan so far.
const LAST: Stage = (0.2, [way(0.005, 1.0), way(0.01, 1.0)]);

/// Up to so many tubes a session is small, or of middle size.
const SMALL_TUBES: usize = 24;
const MIDDLE_TUBES: usize = 150;

/// What a search is for.
#[derive(Debug, Clone)]
pub(crate) struct Aim {
    /// How long the session lasts; where not all fits, a plan within it is looked for too [min].
    pub length_min: f64,
    /// Samples with a tube that began and ends later than that.
    pub lost: Vec<bool>,
    /// Moves of each of the searches.
    pub rounds: u64,
    pub seed: u64,
}

/// What a search found.
pub(crate) struct Found {
    pub whole: Plan,
    /// Where not all fits: a plan that finishes as many samples as possible.
    pub in_time: Option<Plan>,
}

/// The best plan found, behind the loads that stay where they are.
pub(crate) fn search(
    model: &Model,
    pinned: Plan,
    aim: &Aim,
    going_on: &mut dyn FnMut() -> bool,
) -> Found {
    let first = beginning(model, pinned);
    let mut best = Kept::default();
    best.take(&State::new(model, &first));
    let rounds = |share: f64| (share * aim.rounds as f64) as u64;
    let mut seeds = (0..).map(|number| aim.seed.wrapping_add(number));
    let mut next_seed = || seeds.next().unwrap_or(aim.seed);
    let tubes: usize = model
        .samples
        .iter()
        .map(|sample| sample.replicates as usize)
        .sum();
    let stages = if tubes <= SMALL_TUBES {
        SMALL
    } else if tubes <= MIDDLE_TUBES {
        MIDDLE
    } else {
        LARGE
    };
    let mut stage = |from: &Plan, (share, ways): Stage, best: &mut Kept| {
        let jobs = ways
            .into_iter()
            .map(|way| {
                let (effort, seed) = ((rounds(share), way), next_seed());
                job(move |ask| anneal(model, from, effort, seed, ask))
            })
            .collect();
        for found in at_once(jobs, going_on) {
            if found.score < best.score {
                *best = found;
            }
        }
    };
    for &of_stage in stages {
        stage(&first, of_stage, &mut best);
    }
    let fits = |found: &Kept| found.makespan_min <= aim.length_min + FITS_WITHIN_MIN;
    let whole = best.plan();
    if fits(&best) {
        stage(&whole, LAST, &mut best);
        return Found {
            whole: best.plan(),
            in_time: None,
        };
    }
    let (rest, seed) = (rounds(LAST.0), aim.seed ^ 1);
    let in_time = Aim {
        rounds: rest,
        seed: aim.seed ^ 2,
        ..aim.clone()
    };
    let jobs = vec![
        job(|ask| (anneal(model, &whole, (rest, LAST.1[0]), seed, ask), None)),
        job(|ask| {
            let plan = within(model, &whole, &in_time, ask);
            (Kept::default(), Some(plan))
        }),
    ];
    let mut found = at_once(jobs, going_on).into_iter();
    if let Some((again, _)) = found.next()
        && again.score < best.score
    {
        best = again;
    }
    let in_time = found.next().and_then(|(_, plan)| plan);
    Found {
        whole: best.plan(),
        in_time: if fits(&best) { None } else { in_time },
    }
}

/// A search that asks now and then whether it may go on.
type Job<'a, T> = Box<dyn FnOnce(&mut dyn FnMut() -> bool) -> T + Send + 'a>;

fn job<'a, T>(work: impl FnOnce(&mut dyn FnMut() -> bool) -> T + Send + 'a) -> Job<'a, T> {
    Box::new(work)
}

/// Several searches at the same time; what each found, in their order.
fn at_once<T: Send>(jobs: Vec<Job<'_, T>>, going_on: &mut dyn FnMut() -> bool) -> Vec<T> {
    let stopped = AtomicBool::new(false);
    let running = AtomicUsize::new(jobs.len().saturating_sub(1));
    let mut found: Vec<Option<T>> = jobs.iter().map(|_| None).collect();
    // The caller's question cannot be asked from other threads: this one passes the answer on.
    let mut ask = || {
        if !stopped.load(Ordering::Relaxed) && !going_on() {
            stopped.store(true, Ordering::Relaxed);
        }
        !stopped.load(Ordering::Relaxed)
    };
    rayon::in_place_scope(|scope| {
        let mut jobs = jobs.into_iter().zip(&mut found);
        let first = jobs.next();
        for (job, found) in jobs {
            let (stopped, running) = (&stopped, &running);
            scope.spawn(move |_| {
                *found = Some(job(&mut || !stopped.load(Ordering::Relaxed)));
                running.fetch_sub(1, Ordering::Release);
            });
        }
        if let Some((job, found)) = first {
            *found = Some(job(&mut ask));
        }
        // A thread of the pool itself may have to do the other searches after this.
        if rayon::current_thread_index().is_none() {
            while running.load(Ordering::Acquire) > 0 {
                ask();
                std::thread::sleep(Duration::from_millis(WAIT_MS));
            }
        }
    });
    found.into_iter().flatten().collect()
}

/// Anneal from a plan; the best plan seen.
///
/// `going_on` is asked now and
/// then and ends the search early.
pub(crate) fn anneal(
    model: &Model,
    from: &Plan,
    (rounds, way): (u64, Way),
    seed: u64,
    going_on: &mut dyn FnMut() -> bool,
) -> Kept {
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut now = State::new(model, from);
    now.per_end = way.per_end;
    now.settle(model, f64::INFINITY);
    let mut best = Kept::default();
    best.take(&now);
    let warm_min = (way.warm * now.makespan_min).max(COLD_MIN);
    let mut heat_min = warm_min;
    let mut undo = Undo::default();
    // Whether the plan now is better than what is kept.
    let mut unkept = false;
    for round in 0..rounds {
        if round % STEP == 0 {
            if !going_on() {
                break;
            }
            let done = round as f64 / rounds as f64;
            heat_min = warm_min * (COLD_MIN / warm_min).powf(done);
        }
        if !propose(model, &mut now, &mut undo, &mut chance) {
            undo.take_back(&mut now);
            continue;
        }
        let energy = now.energy;
        let allowed = energy - heat_min * chance.random::<f64>().max(1e-300).ln();
        if !undo.settle(model, &mut now, allowed) {
            undo.take_back(&mut now);
            continue;
        }
        if now.score < best.score - 1e-12 {
            best.score = now.score;
            unkept = true;
        } else if unkept && now.score > best.score {
            undo.take_back(&mut now);
            best.take(&now);
            unkept = false;
        }
    }
    if unkept {
        best.take(&now);
    }
    best
}
