//! Planning the rest of a session anew.

use super::beginning::without;
use super::bound::lower_bound_min;
use super::draft::{
    DraftBench, DraftLoad, SessionDraft, finished_in_time, given_out, numbers, timed, with_times,
};
use super::model::Model;
use super::order::{SessionError, SessionOrder, SessionSample};
use super::plan::{FITS_WITHIN_MIN, PlannedBench, PlannedTube, SessionEffort, SessionPlan};
use super::search::{Aim, search};
use super::so_far::kept as kept_of;
use super::state::{Plan, PlanLoad, State};
use super::timetable::{Entry, turns};
use std::cmp::Ordering;

/// Plan the rest anew: loads that began or are locked stay, and so does every load before them on their bench;
/// everything else is planned, nothing of it before `now_min` [min]. Tubes that began on a bench that the order does not
/// have (any more) are not planned again.
///
/// Loads that began keep their real times and tubes keep their numbers. `going_on` is asked now and then;
/// once it says no, the best plan so far is given.
///
/// # Errors
/// [`SessionError`] for an order that makes no sense or holds a sample that no bench can take, and for
/// numbers of the draft that are none.
pub fn replan(
    order: &SessionOrder,
    draft: &SessionDraft,
    now_min: f64,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<SessionPlan, SessionError> {
    order.check()?;
    draft.check(now_min)?;
    let sorted = sorted(order);
    let situation = Situation::new(&sorted, draft, now_min);
    let aim = Aim {
        length_min: order.length_min,
        lost: situation.lost.clone(),
        rounds: effort.rounds,
        seed: effort.seed,
    };
    let found = search(&situation.model, situation.pinned.clone(), &aim, going_on);
    let benches = |plan: &Plan| planned(order, &situation.draft_of(plan), now_min);
    let bound_min = lower_bound_min(&Model::new(&sorted));
    let mut plan = given_out(order, benches(&found.whole), draft, bound_min);
    if let Some(in_time) = &found.in_time {
        // What of the plan for all is done in time may be more.
        let unfinished = |sample: &SessionSample| plan.not_finished.contains(&sample.id);
        let gone: Vec<bool> = sorted.samples.iter().map(unfinished).collect();
        let other = benches(&without(&situation.model, &found.whole, &gone));
        let benches = benches(in_time);
        let done = |benches: &[PlannedBench]| finished_in_time(order, benches, draft)[0].len();
        let benches = if done(&other) > done(&benches) {
            other
        } else {
            benches
        };
        [plan.finished_in_time, plan.not_finished] = finished_in_time(order, &benches, draft);
        plan.in_time_benches = Some(benches);
    }
    Ok(plan)
}

/// Benches with times for a draft without faults.
fn planned(order: &SessionOrder, draft: &SessionDraft, now_min: f64) -> Vec<PlannedBench> {
    let (model, numbers) = (Model::new(order), numbers(order));
    let loads: Vec<_> = draft
        .by_bench(order)
        .iter()
        .enumerate()
        .map(|(bench, own)| timed(&model, &numbers, bench, own, now_min))
        .collect();
    with_times(order, &model, &loads, now_min)
}

/// The same session whatever the order in which benches and samples were written down: rising, names last.
fn sorted(order: &SessionOrder) -> SessionOrder {
    let mut sorted = order.clone();
    let rising = |a: &[f64], b: &[f64]| {
        let pairs = a.iter().zip(b);
        let ordering = pairs.map(|(a, b)| a.total_cmp(b));
        ordering.fold(Ordering::Equal, Ordering::then)
    };
    sorted.samples.sort_by(|a, b| {
        let key = |sample: &SessionSample| {
            [
                sample.first_liquid_c,
                sample.last_crystal_c,
                sample.leave_below_c.unwrap_or(f64::INFINITY),
                f64::from(order.replicates_of(sample)),
            ]
        };
        rising(&key(a), &key(b)).then_with(|| a.id.cmp(&b.id))
    });
    sorted.benches.sort_by(|a, b| {
        let key = |bench: &super::SessionBench| {
            [
                f64::from(bench.places),
                bench.room_c,
                bench.start_c,
                bench.heat_rate_c_per_min,
                bench.cool_time_constant_min,
                bench.max_c,
            ]
        };
        rising(&key(a), &key(b)).then_with(|| a.name.cmp(&b.name))
    });
    sorted
}

/// Where a session stands: what stays, and what is to be planned.
struct Situation<'a> {
    order: &'a SessionOrder,
    /// Of what is to be planned, with benches as they will be when what began on them is done.
    model: Model,
    /// Loads of each bench that stay: those that began, then the others.
    kept: Vec<Vec<DraftLoad>>,
    /// The latter, for the search.
    pinned: Plan,
    /// Tubes of each sample that are to be planned.
    free: Vec<Vec<u32>>,
    /// Samples with a tube that began and ends after the session.
    lost: Vec<bool>,
}

impl<'a> Situation<'a> {
    fn new(order: &'a SessionOrder, draft: &SessionDraft, now_min: f64) -> Self {
        let mut model = Model::new(order);
        let numbers = numbers(order);
        let mut free: Vec<Vec<u32>> = order
            .samples
            .iter()
            .map(|sample| (1..=order.replicates_of(sample)).collect())
            .collect();
        let (mut kept, mut pinned) = (Vec::new(), Vec::new());
        let mut lost = vec![false; order.samples.len()];
        let mut setting_in: Vec<f64> = Vec::new();
        for (bench, loads) in draft.by_bench(order).iter().enumerate() {
            let known = |load: &DraftLoad| {
                let mut tubes = load.tubes.iter();
                tubes.any(|tube| numbers.contains_key(tube.sample.as_str()))
            };
            let (began, ahead): (Vec<&DraftLoad>, Vec<&DraftLoad>) = loads[..kept_of(loads)]
                .iter()
                .partition(|load| load.actual.is_some());
            let ahead: Vec<&DraftLoad> = ahead.into_iter().filter(|load| known(load)).collect();
            for began in timed(&model, &numbers, bench, &began, now_min) {
                if let Entry::Begun([from, to]) = began.entry {
                    setting_in.push(from + order.policy.load_min);
                    model.free_min[bench] = model.free_min[bench].max(to);
                    for &sample in &began.samples {
                        lost[sample as usize] |= to > order.length_min + FITS_WITHIN_MIN;
                    }
                }
                model.benches[bench].start_c = began.ends_at_c;
            }
            for tube in began.iter().chain(&ahead).flat_map(|load| &load.tubes) {
                if let Some(&sample) = numbers.get(tube.sample.as_str()) {
                    free[sample as usize].retain(|&number| number != tube.replicate);
                }
            }
            model.pinned[bench] = ahead.len();
            let samples = timed(&model, &numbers, bench, &ahead, now_min).into_iter();
            pinned.push(
                samples
                    .map(|timed| PlanLoad {
                        samples: timed.samples,
                        patience_min: 0.0,
                    })
                    .collect(),
            );
            kept.push(began.into_iter().chain(ahead).cloned().collect());
        }
        // What began on a bench that is no longer there is done with, but not planned again.
        for load in draft.begun_elsewhere(order) {
            let end_min = load.actual.and_then(|actual| actual.end_min);
            for tube in &load.tubes {
                if let Some(&sample) = numbers.get(tube.sample.as_str()) {
                    free[sample as usize].retain(|&number| number != tube.replicate);
                    let limit_min = order.length_min + FITS_WITHIN_MIN;
                    lost[sample as usize] |= end_min.is_some_and(|end_min| end_min > limit_min);
                }
            }
        }
        for (sample, free) in model.samples.iter_mut().zip(&free) {
            sample.replicates = free.len() as u32;
        }
        model.now_min = now_min;
        setting_in.sort_by(|a, b| b.total_cmp(a));
        for (hand, busy_until) in model.hands_min.iter_mut().zip(setting_in) {
            *hand = busy_until.max(now_min);
        }
        Self {
            order,
            model,
            kept,
            pinned,
            free,
            lost,
        }
    }

    /// A plan with what began before it; free tubes are numbered by the time they are set in.
    fn draft_of(&self, plan: &Plan) -> SessionDraft {
        let times = State::new(&self.model, plan).times(&self.model);
        let turns = turns(&times);
        let mut new: Vec<(u32, usize, usize)> = Vec::new();
        for (bench, turns) in turns.iter().enumerate() {
            let behind = turns.iter().enumerate().skip(self.model.pinned[bench]);
            new.extend(behind.map(|(place, &turn)| (turn, bench, place)));
        }
        new.sort_unstable();
        let mut free: Vec<_> = self.free.iter().map(|free| free.iter().copied()).collect();
        let mut loads: Vec<Vec<DraftLoad>> = self.kept.clone();
        for (own, turns) in loads.iter_mut().zip(&turns) {
            let ahead = own.iter_mut().filter(|load| load.actual.is_none());
            for (load, &turn) in ahead.zip(turns) {
                load.turn = Some(turn);
            }
        }
        for (turn, bench, place) in new {
            let samples = plan[bench][place].samples.iter();
            let tubes = samples.filter_map(|&sample| {
                Some(PlannedTube {
                    sample: self.order.samples[sample as usize].id.clone(),
                    replicate: free[sample as usize].next()?,
                })
            });
            loads[bench].push(DraftLoad {
                tubes: tubes.collect(),
                turn: Some(turn),
                ..DraftLoad::default()
            });
        }
        let names = self.order.benches.iter().map(|bench| bench.name.clone());
        SessionDraft {
            benches: names
                .zip(loads)
                .map(|(bench, loads)| DraftBench { bench, loads })
                .collect(),
        }
    }
}
