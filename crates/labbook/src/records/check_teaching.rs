//! Which records of teaching can be kept.

use super::check::{LONGEST_LIST, finite, place, too_long};
use super::{
    DealtVial, Kind, Practical, PracticalAct, PracticalStep, PracticeAttempt, PracticeEnd,
    PracticeExercise, Unknown,
};
use crate::error::BookError;
use crate::ids::SubjectId;
use crate::text;
use meltrange_teaching::Rubric;

/// Nothing is read outside of these [°C].
const READ_C: std::ops::RangeInclusive<f64> = -273.15..=2000.0;

/// Most seats of one class session.
pub const MOST_SEATS: usize = 200;

pub(super) fn attempt(said: &PracticeAttempt) -> Result<(), BookError> {
    match &said.exercise {
        PracticeExercise::Simulated {
            exercise, program, ..
        } => {
            text::name("practice.exercise", exercise)?;
            text::name("practice.program", program)?;
        }
        PracticeExercise::Recording { place: at, .. } => place("practice.place", *at)?,
    }
    for PracticeEnd {
        marked_s,
        marked_c,
        known_s,
        known_c,
        known_uncertainty_c,
    } in [said.first_liquid, said.last_crystal]
    {
        finite("practice.marked_s", marked_s)?;
        finite("practice.known_s", known_s)?;
        temperature("practice.marked_c", marked_c)?;
        temperature("practice.known_c", known_c)?;
        not_negative("practice.known_uncertainty_c", known_uncertainty_c)?;
    }
    if said.first_liquid.marked_s > said.last_crystal.marked_s {
        return Err(BookError::Field {
            field: "practice.last_crystal",
            found: format!(
                "{} s, and the first liquid at {} s",
                said.last_crystal.marked_s, said.first_liquid.marked_s
            ),
            expected: "the first liquid no later than the last crystal",
        });
    }
    said.seconds_spent.map_or(Ok(()), |spent| {
        not_negative("practice.seconds_spent", spent)
    })
}

pub(super) fn attempt_references(said: &PracticeAttempt) -> Vec<(Kind, SubjectId)> {
    let mut all = vec![(Kind::Person, said.person.into())];
    if let PracticeExercise::Recording { recording, .. } = said.exercise {
        all.push((Kind::Recording, recording.into()));
    }
    all
}

pub(super) fn practical(said: &Practical) -> Result<(), BookError> {
    text::name("practical.title", &said.title)?;
    if said.deal.len() > MOST_SEATS || said.unknowns.len() > LONGEST_LIST {
        return Err(too_long("practical.deal"));
    }
    if said.benches.len() > LONGEST_LIST {
        return Err(too_long("practical.benches"));
    }
    at_least("practical.seats_per_row", said.seats_per_row)?;
    at_least("practical.people_per_seat", said.people_per_seat)?;
    at_least("practical.runs_each", said.runs_each)?;
    not_negative(
        "practical.standard_uncertainty_c",
        said.standard_uncertainty_c,
    )?;
    not_negative("practical.length_min", said.length_min)?;
    said.unknowns.iter().try_for_each(unknown)?;
    rubric(&said.rubric)?;
    said.deal
        .iter()
        .try_for_each(|vial| dealt(vial, said.unknowns.len()))
}

fn unknown(said: &Unknown) -> Result<(), BookError> {
    text::name("practical.unknown", &said.name)?;
    text::optional("practical.library", said.library.as_deref())?;
    text::optional("practical.hazards", said.hazards.as_deref())?;
    ends(said.first_liquid_c, said.last_crystal_c)?;
    said.fusion_j_per_mol.map_or(Ok(()), |fusion| {
        not_negative("practical.fusion_j_per_mol", fusion)
    })
}

fn dealt(said: &DealtVial, unknowns: usize) -> Result<(), BookError> {
    text::name("practical.vial", &said.vial)?;
    if (said.unknown as usize) < unknowns {
        return Ok(());
    }
    Err(BookError::Field {
        field: "practical.deal",
        found: format!("unknown {} of {unknowns}", said.unknown),
        expected: "one of the unknowns, from 0",
    })
}

fn rubric(said: &Rubric) -> Result<(), BookError> {
    for (field, points) in [
        ("rubric.identity", said.identity),
        ("rubric.range", said.range),
        ("rubric.agreement", said.agreement),
        ("rubric.care", said.care),
        ("rubric.range_within_c", said.range_within_c),
        ("rubric.agreement_within_c", said.agreement_within_c),
        ("rubric.heating_rate_c_per_min", said.heating_rate_c_per_min),
    ] {
        not_negative(field, points)?;
    }
    Ok(())
}

pub(super) fn step(said: &PracticalStep) -> Result<(), BookError> {
    match &said.act {
        PracticalAct::Planned {
            order,
            draft,
            minute,
            why,
        } => {
            text::long("step.why", why)?;
            not_negative("step.minute", *minute)?;
            let longest = order.benches.len().max(order.samples.len());
            if longest.max(draft.benches.len()) > LONGEST_LIST {
                return Err(too_long("step.order"));
            }
            order.check().map_err(|error| BookError::Field {
                field: "step.order",
                found: error.to_string(),
                expected: "an order of a session that can be planned",
            })
        }
        PracticalAct::SetIn { bench, minute, .. } | PracticalAct::Ended { bench, minute, .. } => {
            text::name("step.bench", bench)?;
            not_negative("step.minute", *minute)
        }
        PracticalAct::BenchOut { bench } | PracticalAct::BenchBack { bench } => {
            text::name("step.bench", bench)
        }
        PracticalAct::SeatAdded { dealt } => text::name("step.vial", &dealt.vial),
        PracticalAct::HelpAsked { text, .. } | PracticalAct::Noted { text, .. } => {
            text::long("step.text", text)
        }
        PracticalAct::Result {
            first_liquid_c,
            last_crystal_c,
            heating_rate_c_per_min,
            note,
            bench,
            ..
        } => {
            ends(*first_liquid_c, *last_crystal_c)?;
            if let Some(rate) = heating_rate_c_per_min {
                not_negative("step.heating_rate_c_per_min", *rate)?;
            }
            text::long("step.note", note)?;
            text::optional("step.bench", bench.as_deref())
        }
        PracticalAct::Identified { name, why, .. } => {
            text::name("step.name", name)?;
            text::long("step.why", why)
        }
        PracticalAct::Marked {
            identity,
            range,
            agreement,
            care,
            ..
        } => {
            for (field, points) in [
                ("step.identity", identity),
                ("step.range", range),
                ("step.agreement", agreement),
                ("step.care", care),
            ] {
                not_negative(field, *points)?;
            }
            Ok(())
        }
        PracticalAct::Begun
        | PracticalAct::Over
        | PracticalAct::Joined { .. }
        | PracticalAct::CodeRenewed { .. }
        | PracticalAct::Swapped { .. }
        | PracticalAct::HelpGiven { .. }
        | PracticalAct::Released
        | PracticalAct::TakenBack
        | PracticalAct::NamesForgotten => Ok(()),
    }
}

/// Whether a step must say why.
pub(super) fn needs_reason(said: &PracticalStep) -> bool {
    matches!(
        said.act,
        PracticalAct::BenchOut { .. } | PracticalAct::Swapped { .. } | PracticalAct::Marked { .. }
    )
}

pub(super) fn step_references(said: &PracticalStep) -> Vec<(Kind, SubjectId)> {
    let mut all = vec![(Kind::Practical, said.practical.into())];
    match &said.act {
        PracticalAct::Joined { person, .. } => all.push((Kind::Person, (*person).into())),
        PracticalAct::HelpGiven { help } => all.push((Kind::PracticalStep, (*help).into())),
        _ => {}
    }
    all
}

fn ends(first_liquid_c: f64, last_crystal_c: f64) -> Result<(), BookError> {
    temperature("first_liquid_c", first_liquid_c)?;
    temperature("last_crystal_c", last_crystal_c)?;
    if first_liquid_c <= last_crystal_c {
        return Ok(());
    }
    Err(BookError::Field {
        field: "last_crystal_c",
        found: format!("{first_liquid_c} to {last_crystal_c} °C"),
        expected: "the first liquid no hotter than the last crystal",
    })
}

fn temperature(field: &'static str, found_c: f64) -> Result<(), BookError> {
    if READ_C.contains(&found_c) {
        return Ok(());
    }
    Err(BookError::Field {
        field,
        found: format!("{found_c} °C"),
        expected: "a temperature between absolute zero and 2000 °C",
    })
}

fn not_negative(field: &'static str, found: f64) -> Result<(), BookError> {
    if found.is_finite() && found >= 0.0 {
        return Ok(());
    }
    Err(BookError::Field {
        field,
        found: found.to_string(),
        expected: "0 or more",
    })
}

fn at_least(field: &'static str, found: u32) -> Result<(), BookError> {
    if found >= 1 {
        return Ok(());
    }
    Err(BookError::Field {
        field,
        found: found.to_string(),
        expected: "1 or more",
    })
}
