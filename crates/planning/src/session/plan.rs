//! A session's plan as it is given out.

use super::bound::lower_bound_min;
use super::in_time::{samples_in, within};
use super::model::Model;
use super::order::{SessionError, SessionOrder};
use super::search::{State, anneal, beginning};
use serde::{Deserialize, Serialize};

/// Rounding of a session's length [min].
pub(super) const FITS_WITHIN_MIN: f64 = 0.01;

/// Starts of the search: share of the effort, and how far it wanders at first as a part of the makespan.
/// Small sessions have high walls between their plans.
const STARTS_SMALL: [(f64, f64); 4] = [(0.2, 0.3), (0.2, 0.1), (0.2, 0.03), (0.2, 0.01)];

/// Large ones need one long search more than several short ones.
const STARTS_LARGE: [(f64, f64); 2] = [(0.1, 0.1), (0.7, 0.03)];

/// Up to so many tubes a session is small.
const SMALL_TUBES: usize = 24;

/// How far the last search wanders, from the best plan found; it, or the search for a plan within
/// the time, has the rest of the effort.
const LAST: (f64, f64) = (0.2, 0.005);

/// How long to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SessionEffort {
    /// Moves tried.
    pub rounds: u64,
    /// Fixes the search: the same order, rounds and seed give the same plan.
    pub seed: u64,
}

/// Moves that an ordinary machine tries in a second per load, divided by the number of loads: a move
/// retimes the loads of two benches.
const ROUNDS_PER_S: f64 = 5e7;

/// Most moves a second, however small the session.
const MOST_ROUNDS_PER_S: f64 = 1.5e6;

impl SessionEffort {
    /// What an ordinary machine does in so many seconds.
    pub fn for_seconds(seconds: f64, order: &SessionOrder, seed: u64) -> Self {
        let tubes: f64 = order
            .samples
            .iter()
            .map(|sample| f64::from(order.replicates_of(sample)))
            .sum();
        let per_s = (ROUNDS_PER_S / tubes.max(1.0)).min(MOST_ROUNDS_PER_S);
        Self {
            rounds: (seconds.max(0.0) * per_s) as u64 + 1,
            seed,
        }
    }
}

/// One tube of a load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlannedTube {
    /// Which sample.
    pub sample: String,
    /// Which of its tubes, 1...
    pub replicate: u32,
}

/// One load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlannedLoad {
    /// What is set in together.
    pub tubes: Vec<PlannedTube>,
    /// Block temperature when the load before ended, or at the start [°C].
    pub cool_from_c: f64,
    /// When it is set in [min].
    pub load_start_min: f64,
    /// Scans, rising [°C].
    pub scan_windows_c: Vec<[f64; 2]>,
    /// When its last scan ends [min].
    pub end_min: f64,
}

/// The loads of one bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlannedBench {
    /// Its name.
    pub bench: String,
    /// In order.
    pub loads: Vec<PlannedLoad>,
}

/// A plan of a session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SessionPlan {
    /// When the last load ends [min].
    pub makespan_min: f64,
    /// No plan ends before this [min].
    pub lower_bound_min: f64,
    /// Whether all fits into the session.
    pub fits: bool,
    /// Each bench with its loads.
    pub benches: Vec<PlannedBench>,
    /// Samples all of whose tubes are done within the session.
    pub finished_in_time: Vec<String>,
    /// The others.
    pub not_finished: Vec<String>,
    /// Where not all fits: a plan that finishes as many samples as possible.
    pub in_time_benches: Option<Vec<PlannedBench>>,
}

/// Plan a session: makespan near the shortest, of plans as short the one with fewer loads.
///
/// `going_on` is asked now and then; once it says no, the best plan so far is given.
///
/// # Errors
/// [`SessionError`] for an order that makes no sense or holds a sample that no bench can take.
pub fn plan_session(
    order: &SessionOrder,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<SessionPlan, SessionError> {
    order.check()?;
    let model = Model::new(order);
    let first = State::new(&model, beginning(&model));
    let mut best = first.clone();
    let rounds = |share: f64| (share * effort.rounds as f64) as u64;
    let mut seeds = effort.seed..;
    let mut next_seed = || seeds.next().unwrap_or(effort.seed);
    let tubes: usize = model
        .samples
        .iter()
        .map(|sample| sample.replicates as usize)
        .sum();
    let starts: &[(f64, f64)] = if tubes <= SMALL_TUBES {
        &STARTS_SMALL
    } else {
        &STARTS_LARGE
    };
    for &(share, warm) in starts {
        let found = anneal(
            &model,
            first.clone(),
            (rounds(share), warm),
            next_seed(),
            going_on,
        );
        if found.score < best.score {
            best = found;
        }
    }
    let fits = |state: &State| state.timing.makespan_min <= order.length_min + FITS_WITHIN_MIN;
    let rest = rounds(LAST.0);
    let in_time = if fits(&best) {
        let again = anneal(&model, best.clone(), (rest, LAST.1), next_seed(), going_on);
        if again.score < best.score && fits(&again) {
            best = again;
        }
        None
    } else {
        Some(within(
            &model,
            &best,
            order.length_min,
            rest,
            next_seed(),
            going_on,
        ))
    };
    let done = samples_in(in_time.as_ref().map_or(&best.plan, |state| &state.plan));
    let (finished, not_finished): (Vec<_>, Vec<_>) = (0..)
        .zip(&order.samples)
        .partition(|(number, _)| done.binary_search(number).is_ok());
    let names = |of: Vec<(u32, &super::SessionSample)>| -> Vec<String> {
        of.into_iter()
            .map(|(_, sample)| sample.id.clone())
            .collect()
    };
    Ok(SessionPlan {
        makespan_min: best.timing.makespan_min,
        lower_bound_min: lower_bound_min(&model).min(best.timing.makespan_min),
        fits: in_time.is_none(),
        benches: given_out(order, &model, &best),
        finished_in_time: names(finished),
        not_finished: names(not_finished),
        in_time_benches: in_time.map(|state| given_out(order, &model, &state)),
    })
}

/// The time [min] that no plan of a session can beat, whatever was found; derivation in
/// docs/models/session.md.
///
/// # Errors
/// As [`plan_session`].
pub fn session_lower_bound_min(order: &SessionOrder) -> Result<f64, SessionError> {
    order.check()?;
    Ok(lower_bound_min(&Model::new(order)))
}

/// Names in place of numbers; tubes of a sample numbered by the time they are set in.
fn given_out(order: &SessionOrder, model: &Model, state: &State) -> Vec<PlannedBench> {
    let mut starts: Vec<(f64, usize, usize)> = Vec::new();
    for (bench, loads) in state.timing.loads.iter().enumerate() {
        for (place, [set_in, _]) in loads.iter().enumerate() {
            starts.push((*set_in, bench, place));
        }
    }
    starts.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut used = vec![0u32; order.samples.len()];
    let mut tubes: Vec<Vec<Vec<PlannedTube>>> = state
        .plan
        .iter()
        .map(|loads| vec![Vec::new(); loads.len()])
        .collect();
    for (_, bench, place) in starts {
        tubes[bench][place] = state.plan[bench][place]
            .samples
            .iter()
            .map(|&sample| {
                used[sample as usize] += 1;
                PlannedTube {
                    sample: order.samples[sample as usize].id.clone(),
                    replicate: used[sample as usize],
                }
            })
            .collect();
    }
    order
        .benches
        .iter()
        .zip(state.plan.iter().zip(&state.timing.loads))
        .zip(tubes)
        .map(|((bench, (loads, times)), tubes)| {
            let mut before_c = bench.start_c;
            PlannedBench {
                bench: bench.name.clone(),
                loads: loads
                    .iter()
                    .zip(times)
                    .zip(tubes)
                    .map(|((load, [set_in, ended]), tubes)| PlannedLoad {
                        tubes,
                        cool_from_c: std::mem::replace(&mut before_c, load.to_c),
                        load_start_min: *set_in,
                        scan_windows_c: model.windows_c(&load.samples),
                        end_min: *ended,
                    })
                    .collect(),
            }
        })
        .collect()
}
