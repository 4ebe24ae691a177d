//! What happened in a class session, in words: for whoever looks it up later.

use super::standing::{Standing, seat_of};
use crate::wire::Happened;
use meltrange_labbook::{PracticalAct, PracticalStep, Record};

/// A step in words, as of before it.
pub(super) fn happened(
    before: &Standing,
    record: &Record,
    step: &PracticalStep,
) -> Option<Happened> {
    let reason = record.reason.as_deref().unwrap_or_default();
    let unknown = |number: u32| {
        let found = before.set_up.unknowns.get(number as usize);
        found.map_or("?", |unknown| unknown.name.as_str())
    };
    let vial = |number: u32| before.seat(number).map_or("?", |seat| seat.vial.as_str());
    let (what, words) = match &step.act {
        PracticalAct::Begun => ("begun", "the class session began".to_owned()),
        PracticalAct::Over => ("over", "the class session is over".to_owned()),
        PracticalAct::Planned { why, minute, .. } => {
            ("planned", format!("planned anew at {minute:.0} min: {why}"))
        }
        PracticalAct::SetIn {
            bench,
            load,
            minute,
        } => (
            "set_in",
            format!("load {} of {bench} was set in at {minute:.1} min", load + 1),
        ),
        PracticalAct::Ended {
            bench,
            load,
            minute,
        } => (
            "ended",
            format!("load {} of {bench} ended at {minute:.1} min", load + 1),
        ),
        PracticalAct::BenchOut { bench } => {
            ("bench_out", format!("{bench} is out of use: {reason}"))
        }
        PracticalAct::BenchBack { bench } => ("bench_back", format!("{bench} works again")),
        PracticalAct::SeatAdded { dealt } => (
            "seat_added",
            format!(
                "seat {} was added with vial {}",
                before.seats.len() + 1,
                dealt.vial
            ),
        ),
        PracticalAct::Joined { seat, person, .. } => {
            let again = before
                .seat(*seat)
                .is_some_and(|seat| seat.people.iter().any(|sitting| sitting.person == *person));
            let how = if again {
                "came in again at"
            } else {
                "sat down at"
            };
            ("joined", format!("{how} seat {seat}"))
        }
        PracticalAct::CodeRenewed { seat } => (
            "code_renewed",
            format!("a new code was made for seat {seat}"),
        ),
        PracticalAct::Swapped { seat, from, to } => (
            "swapped",
            format!(
                "in vial {} of seat {seat} is {} and not {}: {reason}",
                vial(*seat),
                unknown(*to),
                unknown(*from)
            ),
        ),
        PracticalAct::HelpAsked { text, .. } => ("help_asked", format!("asked for help: {text}")),
        PracticalAct::HelpGiven { .. } => ("help_given", "help was given".to_owned()),
        PracticalAct::Result {
            run,
            first_liquid_c,
            last_crystal_c,
            ..
        } => (
            "result",
            format!("run {run}: {first_liquid_c:.1} to {last_crystal_c:.1} °C, as read"),
        ),
        PracticalAct::Identified { name, .. } => ("identified", format!("says it is {name}")),
        PracticalAct::Noted { .. } => ("noted", "noted something".to_owned()),
        PracticalAct::Marked {
            identity,
            range,
            agreement,
            care,
            ..
        } => (
            "marked",
            format!(
                "marked {} points in place of those that were suggested: {reason}",
                identity + range + agreement + care
            ),
        ),
        PracticalAct::Released => ("released", "marks were released".to_owned()),
        PracticalAct::TakenBack => ("taken_back", "marks were taken back".to_owned()),
        PracticalAct::NamesForgotten => (
            "names_forgotten",
            "real names were deleted; this record stays".to_owned(),
        ),
    };
    let later = step
        .done
        .map(|done| format!(" (done {done}, sent later)"))
        .unwrap_or_default();
    Some(Happened {
        when: record.when.to_string(),
        who: String::new(),
        what: what.to_owned(),
        seat: seat_of(&step.act),
        words: words + &later,
    })
}
