//! How a seat stands, and what an instructor would look at first.

use super::standing::{Seat, Standing};
use super::turns::Timed;
use crate::wire::{PracticalState, SeatStanding, TurnStanding};
use meltrange_teaching::needed_ratio;

/// Its turn came so long ago, or its load should have ended so long ago, that somebody should go there [min].
const STUCK_MIN: f64 = 8.0;

/// How a seat stands, and for how long [min].
pub(super) fn standing_of(
    standing: &Standing,
    seat: &Seat,
    timed: &Timed,
    now_min: f64,
) -> (SeatStanding, f64) {
    let since_last = seat.last.map_or(0.0, |last| {
        (now_min - standing.minute(last.instant())).max(0.0)
    });
    if !seat.is_taken() {
        return (SeatStanding::Empty, 0.0);
    }
    let all_runs = seat.runs_entered() >= standing.set_up.runs_each as usize;
    if all_runs && seat.identified.is_some() {
        return (SeatStanding::Done, since_last);
    }
    let next = timed.next_of(&seat.vial).map(|(load, _)| load);
    let under_way = standing.state() == PracticalState::UnderWay;
    match next.map(|load| (load, load.standing())) {
        Some((load, TurnStanding::UnderWay)) => {
            let begun_min = load
                .actual
                .map_or(load.begins_min, |actual| actual.load_start_min);
            let planned_min = load.ends_min.min(begun_min + longest_min(standing));
            if now_min > planned_min + STUCK_MIN {
                (SeatStanding::Stuck, now_min - planned_min)
            } else {
                (SeatStanding::Heating, (now_min - begun_min).max(0.0))
            }
        }
        Some((load, TurnStanding::Now)) if under_way => {
            let since_min = (now_min - load.free_min.max(load.begins_min.min(now_min))).max(0.0);
            let waited_min = (now_min - load.free_min)
                .max(0.0)
                .min(since_last.max(since_min));
            if waited_min > STUCK_MIN {
                (SeatStanding::Stuck, waited_min)
            } else {
                (SeatStanding::Turn, waited_min)
            }
        }
        _ => (SeatStanding::Waits, since_last),
    }
}

/// No load takes longer than from the coldest to the hottest unknown at the slowest bench's rates, and a scan [min].
fn longest_min(standing: &Standing) -> f64 {
    let unknowns = &standing.set_up.unknowns;
    let hottest_c = unknowns
        .iter()
        .map(|unknown| unknown.last_crystal_c)
        .fold(0.0, f64::max);
    let slowest = standing
        .set_up
        .benches
        .iter()
        .map(|bench| bench.heat_rate_c_per_min)
        .fold(f64::INFINITY, f64::min);
    let heating_min = if slowest.is_finite() && slowest > 0.0 {
        hottest_c / slowest
    } else {
        0.0
    };
    heating_min + 30.0
}

/// What stands out at a seat.
pub(super) fn flags(standing: &Standing, seat: &Seat) -> Vec<String> {
    let mut flags = Vec::new();
    let rubric = &standing.set_up.rubric;
    let apart = |one: &super::standing::SeatRun, other: &super::standing::SeatRun| {
        let first_c = (one.first_liquid_c - other.first_liquid_c).abs();
        let last_c = (one.last_crystal_c - other.last_crystal_c).abs();
        !meltrange_teaching::agrees([first_c, last_c], rubric.agreement_within_c)
    };
    let shown = super::marks::runs(seat);
    if let Some(best_c) = meltrange_teaching::agreement_c(&shown)
        && !meltrange_teaching::agrees(best_c, rubric.agreement_within_c)
    {
        flags.push("runs_disagree".to_owned());
    }
    let readers_disagree = seat.runs.iter().enumerate().any(|(index, one)| {
        seat.runs
            .iter()
            .skip(index + 1)
            .any(|other| other.run == one.run && other.by != one.by && apart(one, other))
    });
    if readers_disagree {
        flags.push("readers_disagree".to_owned());
    }
    if let Some(unknown) = standing.set_up.unknowns.get(seat.unknown as usize)
        && !seat.runs.is_empty()
    {
        let count = seat.runs.len() as f64;
        let mean_c = seat.runs.iter().map(|run| run.last_crystal_c).sum::<f64>() / count;
        let needed_c =
            needed_ratio() * std::f64::consts::SQRT_2 * standing.set_up.standard_uncertainty_c;
        if (mean_c - unknown.last_crystal_c).abs() > needed_c {
            flags.push("far_from_unknown".to_owned());
        }
    }
    if seat.swapped {
        flags.push("swapped".to_owned());
    }
    flags
}
