//! As many samples as possible within the session, when not all of them fit.

use super::beginning::{insert_tubes, saved_min, without};
use super::model::Model;
use super::search::{Aim, Way, anneal};
use super::state::{Plan, PlanLoad, State};
use super::timetable::turns;

/// Rounding of a session's length [min].
const ROUNDING_MIN: f64 = 1e-9;

/// Effort of the search after each change, as a part of that for all.
const PARTS: u64 = 24;

/// Patience of a load that yields to all others [min].
const LAST_OF_ALL_MIN: f64 = 1e6;

/// Patience that tells turns apart and moves nothing [min].
const TURN_MIN: f64 = 1e-9;

/// How each search goes about it.
const WAY: Way = Way {
    warm: 0.02,
    per_end: 0.1,
};

/// A plan of the samples that are done within the session, each with all its tubes.
///
/// From the plan for all, the samples whose absence shortens it most are left out until the rest
/// fits; then others are tried in their place. Loads that stay where they are stay even if they end too late; nothing
/// is put behind those that do. Samples that are lost have a tube that began and ends too late: they are tried last.
pub(crate) fn within(
    model: &Model,
    whole: &Plan,
    aim: &Aim,
    going_on: &mut dyn FnMut() -> bool,
) -> Plan {
    let late = Late::of(model, whole, aim.length_min);
    let mut gone: Vec<bool> = (0..model.samples.len())
        .map(|sample| late.lost[sample] || aim.lost.get(sample).is_some_and(|&lost| lost))
        .collect();
    let left_out = numbers_of(&gone);
    let mut first = late.taken_out(whole);
    // What was to go behind what ends too late goes elsewhere, if it can.
    let mut moved = vec![false; gone.len()];
    for (bench, own) in first.iter().enumerate() {
        let behind = own.iter().skip(late.model.pinned[bench]);
        for &sample in behind.flat_map(|load| &load.samples) {
            moved[sample as usize] |= late.closed[bench];
        }
    }
    for (gone, moved) in gone.iter_mut().zip(&moved) {
        *gone |= moved;
    }
    first = without(&late.model, &first, &gone);
    for sample in numbers_of(&moved) {
        if left_out.contains(&sample) {
            continue;
        }
        let with = insert_tubes(&late.model, &first, sample);
        if is_whole(&late.model, &with, sample) {
            first = with.plan();
        }
    }
    let found = fitting(&late.model, &first, aim, left_out, going_on);
    late.put_back(found)
}

/// What stays where it is and ends too late whatever else is planned, taken out of a session.
struct Late {
    /// Of the rest.
    model: Model,
    /// Benches that nothing more is put on.
    closed: Vec<bool>,
    /// Of each bench the loads that end too late and all behind them that stay.
    loads: Vec<Vec<PlanLoad>>,
    /// Samples with a tube among them.
    lost: Vec<bool>,
}

impl Late {
    fn of(model: &Model, whole: &Plan, length_min: f64) -> Self {
        let pinned = whole.iter().zip(&model.pinned);
        let pinned: Plan = pinned
            .map(|(own, &count)| own.iter().take(count).cloned().collect())
            .collect();
        let times = State::new(model, &pinned).times(model);
        let mut late = Self {
            model: model.clone(),
            closed: Vec::new(),
            loads: Vec::new(),
            lost: vec![false; model.samples.len()],
        };
        for (bench, (own, times)) in pinned.iter().zip(&times).enumerate() {
            let in_time = |[_, to]: &&[f64; 2]| *to <= length_min + ROUNDING_MIN;
            let mut stays = times.iter().take_while(in_time).count();
            let mut closed = stays < own.len();
            if late.model.free_min[bench] > length_min + ROUNDING_MIN {
                // Nothing more is planned here, so that its end no longer matters.
                (stays, closed) = (0, true);
                late.model.free_min[bench] = 0.0;
            }
            if closed {
                late.model.close(bench);
            }
            late.model.pinned[bench] = stays;
            let behind = own.iter().skip(stays);
            for &sample in behind.clone().flat_map(|load| &load.samples) {
                late.lost[sample as usize] = true;
            }
            late.loads.push(behind.cloned().collect());
            late.closed.push(closed);
        }
        late
    }

    fn taken_out(&self, whole: &Plan) -> Plan {
        let late = self.model.pinned.iter().zip(&self.loads);
        let mut plan = whole.clone();
        for (own, (&stays, late)) in plan.iter_mut().zip(late) {
            own.drain(stays..stays + late.len());
        }
        plan
    }

    /// Behind all others at the operators: they are too late anyway. The others keep their turns, which among equals would go by
    /// what their benches have left to do, and that is more now.
    fn put_back(self, mut plan: Plan) -> Plan {
        let mut state = State::new(&self.model, &plan);
        let waits = !state.hands_suffice(&self.model);
        let turns = turns(&state.times(&self.model));
        for (own, turns) in plan.iter_mut().zip(turns) {
            for (load, turn) in own.iter_mut().zip(turns) {
                let patience_min = if waits { load.patience_min } else { 0.0 };
                load.patience_min = patience_min + TURN_MIN * f64::from(turn);
            }
        }
        for (own, loads) in plan.iter_mut().zip(self.loads) {
            own.extend(loads.into_iter().map(|load| PlanLoad {
                patience_min: LAST_OF_ALL_MIN,
                ..load
            }));
        }
        plan
    }
}

fn numbers_of(which: &[bool]) -> Vec<u32> {
    let numbers = (0..).zip(which).filter(|(_, is)| **is);
    numbers.map(|(number, _)| number).collect()
}

/// Whether all tubes of a sample that are to be planned are.
fn is_whole(model: &Model, state: &State, sample: u32) -> bool {
    let sample = sample as usize;
    state.holders[sample].len() >= model.samples[sample].replicates as usize
}

/// From a plan to one that fits; `left_out` are tried last.
fn fitting(
    model: &Model,
    first: &Plan,
    aim: &Aim,
    mut left_out: Vec<u32>,
    going_on: &mut dyn FnMut() -> bool,
) -> Plan {
    let length_min = aim.length_min;
    let part = (aim.rounds / PARTS).max(1);
    let mut searches_left = PARTS;
    let mut seeds = aim.seed..;
    let mut searched = |state: State, left: &mut u64, going_on: &mut dyn FnMut() -> bool| {
        if *left == 0 || fits(&state, length_min) {
            return state;
        }
        *left -= 1;
        let seed = seeds.next().unwrap_or(aim.seed);
        let found = anneal(model, &state.plan(), (part, WAY), seed, going_on);
        State::new(model, &found.plan())
    };
    let mut state = State::new(model, first);
    while !fits(&state, length_min) {
        let gains = gains(model, &state);
        if gains.is_empty() {
            break;
        }
        // Far from fitting, several go at once; near it one by one.
        let over = 1.0 - length_min / state.makespan_min;
        let go = ((gains.len() as f64 * over * 0.5) as usize).clamp(1, gains.len());
        let mut gone = vec![false; model.samples.len()];
        for &(_, sample) in gains.iter().take(go) {
            gone[sample as usize] = true;
            left_out.push(sample);
        }
        state = State::new(model, &without(model, &state.plan(), &gone));
        if over < 0.5 {
            // Half of the searches are for trying others afterwards.
            let mut left = searches_left.saturating_sub(PARTS / 2);
            let before = left;
            state = searched(state, &mut left, going_on);
            searches_left -= before - left;
        }
    }
    // Those that were cheapest to keep were left out last: they are tried first.
    for sample in left_out.into_iter().rev() {
        if !going_on() {
            break;
        }
        let with = insert_tubes(model, &state.plan(), sample);
        if !is_whole(model, &with, sample) {
            continue;
        }
        let with = searched(with, &mut searches_left, going_on);
        if fits(&with, length_min) {
            state = with;
        }
    }
    state.plan()
}

fn fits(state: &State, length_min: f64) -> bool {
    state.makespan_min <= length_min + ROUNDING_MIN
}

/// Samples that may be left out, with what that saves [min]; most first.
fn gains(model: &Model, state: &State) -> Vec<(f64, u32)> {
    let mut places = vec![(0, 0); state.loads.len()];
    for (bench, own) in state.benches.iter().enumerate() {
        for (place, &number) in own.iter().enumerate() {
            places[number as usize] = (bench, place);
        }
    }
    let mut gains: Vec<(f64, u32)> = (0..)
        .zip(&state.holders)
        .filter(|(_, holders)| !holders.is_empty())
        .map(|(sample, _)| (saved_min(model, state, &places, sample), sample))
        .collect();
    gains.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    gains
}
