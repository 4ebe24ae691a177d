//! What an instructor sees of a class session.

use super::flags::{flags, standing_of};
use super::kept::Secrets;
use super::marks::mark;
use super::standing::{Seat, SeatRun, Standing};
use super::turns::{Timed, seats, timed};
use crate::problem::Problem;
use crate::wire::{
    Board, BoardBench, BoardNext, BoardNow, BoardSeat, Happened, HelpShown, PracticalSetUp,
    SeatPerson, SeatResult, TurnStanding, Unknown,
};
use meltrange_labbook::PersonId;
use std::collections::HashMap;

/// All of it, as of now.
pub(crate) fn board(
    standing: &Standing,
    secrets: &Secrets,
    names: &HashMap<PersonId, String>,
) -> Result<Board, Problem> {
    let now_min = standing.now_min();
    let timed = timed(standing, now_min)?;
    let numbered = standing.seats.iter().zip(1..);
    Ok(Board {
        id: standing.id,
        title: standing.set_up.title.clone(),
        state: standing.state(),
        now_min,
        began: standing.began.map(|began| began.to_string()),
        set_up: set_up(standing),
        seats: numbered
            .map(|(seat, number)| {
                let (how, since_min) = standing_of(standing, seat, &timed, now_min);
                BoardSeat {
                    seat: number,
                    vial: seat.vial.clone(),
                    unknown: seat.unknown,
                    people: people(seat, secrets, names),
                    standing: how,
                    since_min,
                    turn: timed.turn_of(standing, &seat.vial),
                    results: results(seat, names),
                    identified: seat.identified.as_ref().map(|(name, _)| name.clone()),
                    flags: flags(standing, seat),
                    help: help(seat),
                    mark: mark(standing, seat),
                }
            })
            .collect(),
        benches: standing
            .set_up
            .benches
            .iter()
            .map(|bench| of_bench(standing, &timed, &bench.name))
            .collect(),
        makespan_min: timed.makespan_min,
        fits: timed.fits,
        released: standing.released,
        names_kept: !secrets.forgotten,
        seq: standing.seq,
        history: history(standing, names),
    })
}

fn set_up(standing: &Standing) -> PracticalSetUp {
    let kept = &standing.set_up;
    PracticalSetUp {
        title: kept.title.clone(),
        seats: standing.seats.len() as u32,
        seats_per_row: kept.seats_per_row,
        people_per_seat: kept.people_per_seat,
        unknowns: kept.unknowns.iter().map(Unknown::from).collect(),
        standard_uncertainty_c: kept.standard_uncertainty_c,
        runs_each: kept.runs_each,
        length_min: kept.length_min,
        operators: kept.operators,
        benches: kept.benches.clone(),
        rubric: kept.rubric,
        seed: kept.seed,
    }
}

fn people(seat: &Seat, secrets: &Secrets, names: &HashMap<PersonId, String>) -> Vec<SeatPerson> {
    seat.people
        .iter()
        .map(|one| SeatPerson {
            person: one.person,
            pseudonym: called(names, one.person),
            name: secrets.name_of(one.person),
            joined: one.joined.to_string(),
            here: one.here,
        })
        .collect()
}

pub(super) fn called(names: &HashMap<PersonId, String>, person: PersonId) -> String {
    names.get(&person).cloned().unwrap_or_default()
}

pub(super) fn results(seat: &Seat, names: &HashMap<PersonId, String>) -> Vec<SeatResult> {
    seat.runs
        .iter()
        .map(|run: &SeatRun| SeatResult {
            id: run.id,
            run: run.run,
            first_liquid_c: run.first_liquid_c,
            last_crystal_c: run.last_crystal_c,
            heating_rate_c_per_min: run.heating_rate_c_per_min,
            fresh_tube: run.fresh_tube,
            note: run.note.clone(),
            when: run.when.to_string(),
            by: called(names, run.by),
            bench: run.bench.clone(),
        })
        .collect()
}

pub(super) fn help(seat: &Seat) -> Option<HelpShown> {
    seat.help.as_ref().map(|asked| HelpShown {
        id: asked.id,
        text: asked.text.clone(),
        asked: asked.when.to_string(),
    })
}

fn of_bench(standing: &Standing, timed: &Timed, bench: &str) -> BoardBench {
    let out = standing.out.get(bench);
    let ahead = || {
        timed
            .of_bench(bench)
            .filter(|load| matches!(load.standing(), TurnStanding::Now | TurnStanding::Ahead))
    };
    let now = timed
        .of_bench(bench)
        .find(|load| load.standing() == TurnStanding::UnderWay);
    BoardBench {
        bench: bench.to_owned(),
        out: out.is_some(),
        why: out.cloned(),
        now: now.map(|load| BoardNow {
            load: load.load,
            seats: seats(standing, load),
            begun_min: load
                .actual
                .map_or(load.begins_min, |actual| actual.load_start_min),
            ends_min: load.ends_min,
        }),
        next: ahead().next().map(|load| BoardNext {
            load: load.load,
            seats: seats(standing, load),
            begins_min: load.begins_min,
            called: load.standing() == TurnStanding::Now && out.is_none(),
        }),
        left: ahead().count(),
    }
}

fn history(standing: &Standing, names: &HashMap<PersonId, String>) -> Vec<Happened> {
    standing
        .history
        .iter()
        .map(|(who, said)| Happened {
            who: who.map(|who| called(names, who)).unwrap_or_default(),
            ..said.clone()
        })
        .collect()
}
