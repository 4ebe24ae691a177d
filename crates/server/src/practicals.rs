//! Class sessions: what the records of one come to, whose turn it is, what pages show of it, and what is kept beside the
//! records: codes and real names.

mod board;
mod flags;
mod gradebook;
mod guesses;
mod happened;
mod kept;
mod marks;
mod plan;
mod pseudonyms;
mod seat;
mod standing;
mod turns;

pub(crate) use board::board;
pub(crate) use gradebook::gradebook;
pub(crate) use guesses::Guesses;
pub(crate) use kept::{Door, KeptPracticals, Secrets};
pub(crate) use plan::planned_anew;
pub(crate) use pseudonyms::pseudonym;
pub(crate) use seat::seat_page;
pub(crate) use standing::{Seat, Standing};
pub(crate) use turns::timed;

use crate::problem::Problem;
use crate::state::{AppState, locked};
use meltrange_labbook::{Entry, PersonId, PracticalId};
use std::collections::HashMap;
use std::sync::{Arc, Mutex};

/// What all requests share about class sessions.
#[derive(Debug)]
pub(crate) struct PracticalRoom {
    /// Codes and names.
    pub kept: KeptPracticals,
    /// Wrong codes so far.
    pub guesses: Guesses,
    /// Held from looking at a class session to recording what follows.
    pub turn: tokio::sync::Mutex<()>,
    standings: Mutex<HashMap<PracticalId, Arc<Standing>>>,
}

impl PracticalRoom {
    /// Of the book in this folder.
    pub fn in_book(folder: &std::path::Path) -> Self {
        Self {
            kept: KeptPracticals::in_book(folder),
            guesses: Guesses::default(),
            turn: tokio::sync::Mutex::default(),
            standings: Mutex::default(),
        }
    }
}

/// How a class session stands, all of its records taken in.
pub(crate) async fn standing(state: &AppState, id: PracticalId) -> Result<Arc<Standing>, Problem> {
    let room = state.practicals();
    let known = locked(&room.standings).get(&id).cloned();
    let mut standing = match known {
        Some(known) => known,
        None => {
            let record = state.book().store().latest(id.into()).await?;
            let Entry::Practical(set_up) = record.entry.clone() else {
                return Err(Problem::unknown(format!("{id} is no class session")));
            };
            Arc::new(Standing::new(id, &record, *set_up))
        }
    };
    let more = state
        .book()
        .store()
        .practical_steps(id, standing.seq)
        .await?;
    if !more.is_empty() {
        let whole = Arc::make_mut(&mut standing);
        for record in &more {
            whole.take(record);
        }
    }
    let mut standings = locked(&room.standings);
    match standings.get(&id) {
        // Somebody else took more in meanwhile.
        Some(other) if other.seq > standing.seq => Ok(Arc::clone(other)),
        _ => {
            standings.insert(id, Arc::clone(&standing));
            Ok(standing)
        }
    }
}

/// What people of the book are called.
pub(crate) async fn names_of(state: &AppState) -> Result<HashMap<PersonId, String>, Problem> {
    let people = state.book().store().people().await?;
    Ok(people
        .into_iter()
        .map(|person| (person.id, person.name))
        .collect())
}
