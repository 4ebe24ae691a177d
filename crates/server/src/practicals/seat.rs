//! What a student sees of a class session: their own seat, and nothing of what is in the vial before marks are released.

use super::board::{called, help, results};
use super::flags::standing_of;
use super::marks::{mark, runs};
use super::standing::Standing;
use super::turns::timed;
use crate::problem::Problem;
use crate::wire::{SeatAgreement, SeatNote, SeatPage, SeatTruth};
use meltrange_labbook::PersonId;
use meltrange_teaching::{agreement_c, agrees};
use std::collections::HashMap;

/// The usual cautions at a hot bench with a powder that nobody named. Common practice, no source.
const CAUTIONS: [&str; 4] = [
    "The block, the tubes and what touches them are hot long after a run: let them cool before you reach in.",
    "Capillaries are glass: press no tube into a bung or a bench, and put broken ones where the local rules say.",
    "Treat an unknown as hazardous: gloves and eye protection, no tasting, no smelling, little of it.",
    "Local rules and the person in charge of this room decide; ask before you do anything that differs.",
];

/// Everything for whoever sits there.
pub(crate) fn seat_page(
    standing: &Standing,
    person: PersonId,
    names: &HashMap<PersonId, String>,
) -> Result<SeatPage, Problem> {
    let not_here =
        || Problem::unknown("you have no seat in this class session; join with its code");
    let at = standing.seat_of(person).ok_or_else(not_here)?;
    let seat = standing.seats.get(at).ok_or_else(not_here)?;
    let now_min = standing.now_min();
    let timed = timed(standing, now_min)?;
    let set_up = &standing.set_up;
    let mut choices: Vec<String> = set_up
        .unknowns
        .iter()
        .map(|unknown| unknown.name.clone())
        .collect();
    choices.sort();
    choices.dedup();
    let best_c = agreement_c(&runs(seat));
    let unknown = set_up.unknowns.get(seat.unknown as usize);
    Ok(SeatPage {
        practical: standing.id,
        title: set_up.title.clone(),
        state: standing.state(),
        now_min,
        seat: at as u32 + 1,
        vial: seat.vial.clone(),
        pseudonym: called(names, person),
        partners: seat
            .people
            .iter()
            .filter(|one| one.person != person)
            .map(|one| called(names, one.person))
            .collect(),
        turn: timed.turn_of(standing, &seat.vial),
        standing: standing_of(standing, seat, &timed, now_min).0,
        results: results(seat, names),
        runs_each: set_up.runs_each,
        choices,
        identified: seat.identified.as_ref().map(|(name, _)| name.clone()),
        identified_why: seat.identified.as_ref().map(|(_, why)| why.clone()),
        help: help(seat),
        notes: seat
            .notes
            .iter()
            .map(|(text, when)| SeatNote {
                text: text.clone(),
                when: when.to_string(),
            })
            .collect(),
        agreement: SeatAgreement {
            agreed: best_c.map(|best_c| agrees(best_c, set_up.rubric.agreement_within_c)),
            first_liquid_difference_c: best_c.map(|best_c| best_c[0]),
            last_crystal_difference_c: best_c.map(|best_c| best_c[1]),
        },
        mark: standing.released.then(|| mark(standing, seat)).flatten(),
        truth: unknown
            .filter(|_| standing.released)
            .map(|unknown| SeatTruth {
                name: unknown.name.clone(),
                first_liquid_c: unknown.first_liquid_c,
                last_crystal_c: unknown.last_crystal_c,
            }),
        cautions: cautions(standing),
    })
}

/// Cautions, and those of everything that could be in a vial without saying of what.
fn cautions(standing: &Standing) -> Vec<String> {
    let mut said: Vec<String> = CAUTIONS.iter().map(|&words| words.to_owned()).collect();
    let mut hazards: Vec<&str> = standing
        .set_up
        .unknowns
        .iter()
        .filter_map(|unknown| unknown.hazards.as_deref())
        .filter(|words| !words.trim().is_empty())
        .collect();
    hazards.sort_unstable();
    hazards.dedup();
    if !hazards.is_empty() {
        said.push(format!(
            "Of what can be in the vials is flagged: {}. What is not flagged is not thereby harmless.",
            hazards.join("; ")
        ));
    }
    said
}
