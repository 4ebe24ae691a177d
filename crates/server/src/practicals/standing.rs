//! What the records of a class session come to.

use super::happened::happened;
use crate::wire::{Happened, PracticalState};
use jiff::Timestamp;
use meltrange_labbook::{
    Entry, PersonId, Practical, PracticalAct, PracticalId, PracticalStep, Record, StepId, When,
};
use meltrange_planning::{ActualLoad, DraftLoad, SessionDraft, SessionOrder};
use std::collections::{BTreeMap, BTreeSet};

/// Somebody at a seat.
#[derive(Debug, Clone)]
pub(crate) struct Sitting {
    pub person: PersonId,
    pub joined: When,
    /// Whether the code they came in with still counts.
    pub here: bool,
}

/// What one run showed.
#[derive(Debug, Clone)]
pub(crate) struct SeatRun {
    pub id: StepId,
    pub by: PersonId,
    pub when: When,
    pub run: u32,
    pub first_liquid_c: f64,
    pub last_crystal_c: f64,
    pub heating_rate_c_per_min: Option<f64>,
    pub fresh_tube: bool,
    pub note: String,
    pub bench: Option<String>,
}

/// Somebody asks for help.
#[derive(Debug, Clone)]
pub(crate) struct Asked {
    pub id: StepId,
    pub text: String,
    pub when: When,
}

/// One seat.
#[derive(Debug, Clone, Default)]
pub(crate) struct Seat {
    pub vial: String,
    /// What is really in the vial, from 0.
    pub unknown: u32,
    pub swapped: bool,
    pub people: Vec<Sitting>,
    /// Of every run what each person entered last.
    pub runs: Vec<SeatRun>,
    /// Name and why.
    pub identified: Option<(String, String)>,
    pub notes: Vec<(String, When)>,
    pub help: Option<Asked>,
    /// Identity, range, agreement, care; and why.
    pub marked: Option<([f64; 4], String)>,
    /// When anything was last done there.
    pub last: Option<When>,
}

impl Seat {
    /// Whether anybody ever sat there.
    pub fn is_taken(&self) -> bool {
        !self.people.is_empty()
    }

    /// Runs that were entered, each once.
    pub fn runs_entered(&self) -> usize {
        let runs: BTreeSet<u32> = self.runs.iter().map(|run| run.run).collect();
        runs.len()
    }
}

/// What loads are set in, where and in which order.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    pub order: SessionOrder,
    pub draft: SessionDraft,
}

/// A class session.
#[derive(Debug, Clone)]
pub(crate) struct Standing {
    pub id: PracticalId,
    pub set_up: Practical,
    pub made: When,
    pub began: Option<When>,
    pub over: Option<When>,
    /// By number from 1, this is from 0.
    pub seats: Vec<Seat>,
    pub plan: Option<Plan>,
    /// Benches that are out of use, and why.
    pub out: BTreeMap<String, String>,
    pub released: bool,
    pub history: Vec<(Option<PersonId>, Happened)>,
    /// The last record that is in it.
    pub seq: u64,
}

impl Standing {
    /// As it was set up.
    pub fn new(id: PracticalId, record: &Record, set_up: Practical) -> Self {
        Self {
            id,
            made: record.when,
            began: None,
            over: None,
            seats: set_up
                .deal
                .iter()
                .map(|dealt| Seat {
                    vial: dealt.vial.clone(),
                    unknown: dealt.unknown,
                    ..Seat::default()
                })
                .collect(),
            plan: None,
            out: BTreeMap::new(),
            released: false,
            history: Vec::new(),
            seq: record.seq,
            set_up,
        }
    }

    /// How far it is.
    pub fn state(&self) -> PracticalState {
        match (self.began, self.over) {
            (_, Some(_)) => PracticalState::Over,
            (Some(_), None) => PracticalState::UnderWay,
            (None, None) => PracticalState::Prepared,
        }
    }

    /// Minutes from its beginning to this moment; 0 before it.
    pub fn minute(&self, at: Timestamp) -> f64 {
        self.began.map_or(0.0, |began| {
            let since = at.duration_since(began.instant());
            (since.as_secs_f64() / 60.0).max(0.0)
        })
    }

    /// Minutes from its beginning to now, or to its end.
    pub fn now_min(&self) -> f64 {
        let now = self.over.map_or_else(Timestamp::now, When::instant);
        self.minute(now)
    }

    /// Where somebody sits, from 0.
    pub fn seat_of(&self, person: PersonId) -> Option<usize> {
        self.seats
            .iter()
            .position(|seat| seat.people.iter().any(|one| one.person == person))
    }

    /// A seat by its number from 1.
    pub fn seat(&self, number: u32) -> Option<&Seat> {
        self.seats.get((number as usize).checked_sub(1)?)
    }

    /// The seat whose vial this is, its number from 1.
    pub fn seat_with(&self, vial: &str) -> Option<u32> {
        let at = self.seats.iter().position(|seat| seat.vial == vial)?;
        Some(at as u32 + 1)
    }

    /// Everybody.
    pub fn people(&self) -> usize {
        self.seats.iter().map(|seat| seat.people.len()).sum()
    }

    fn load(&mut self, bench: &str, load: u32) -> Option<&mut DraftLoad> {
        self.plan
            .as_mut()?
            .draft
            .benches
            .iter_mut()
            .find(|own| own.bench == bench)?
            .loads
            .get_mut(load as usize)
    }

    fn seat_mut(&mut self, number: u32, when: When) -> Option<&mut Seat> {
        let seat = self.seats.get_mut((number as usize).checked_sub(1)?)?;
        seat.last = Some(when);
        Some(seat)
    }

    /// Take one more record of it in.
    pub fn take(&mut self, record: &Record) {
        self.seq = self.seq.max(record.seq);
        let Entry::PracticalStep(step) = &record.entry else {
            return;
        };
        if let Some(said) = happened(self, record, step) {
            self.history.push((record.who, said));
        }
        self.act(record, step);
    }

    fn act(&mut self, record: &Record, step: &PracticalStep) {
        let when = step.done.unwrap_or(record.when);
        match step.act.clone() {
            PracticalAct::Begun => self.began = Some(record.when),
            PracticalAct::Over => self.over = Some(record.when),
            PracticalAct::Planned { order, draft, .. } => {
                self.plan = Some(Plan {
                    order: *order,
                    draft,
                });
            }
            PracticalAct::SetIn {
                bench,
                load,
                minute,
            } => {
                if let Some(load) = self.load(&bench, load) {
                    load.actual.get_or_insert(ActualLoad {
                        load_start_min: minute,
                        end_min: None,
                        ended_at_c: None,
                    });
                }
            }
            PracticalAct::Ended {
                bench,
                load,
                minute,
            } => {
                let actual = self
                    .load(&bench, load)
                    .and_then(|load| load.actual.as_mut());
                if let Some(actual) = actual
                    && actual.end_min.is_none()
                {
                    actual.end_min = Some(minute.max(actual.load_start_min));
                }
            }
            PracticalAct::BenchOut { bench } => self.bench_out(bench, record),
            PracticalAct::BenchBack { bench } => {
                self.out.remove(&bench);
            }
            PracticalAct::SeatAdded { dealt } => self.seats.push(Seat {
                vial: dealt.vial,
                unknown: dealt.unknown,
                ..Seat::default()
            }),
            PracticalAct::Joined { seat, person, .. } => self.joined(seat, person, when),
            PracticalAct::CodeRenewed { seat } => {
                if let Some(seat) = self.seat_mut(seat, when) {
                    for one in &mut seat.people {
                        one.here = false;
                    }
                }
            }
            PracticalAct::Released => self.released = true,
            PracticalAct::TakenBack => self.released = false,
            PracticalAct::NamesForgotten => {}
            PracticalAct::HelpGiven { help } => {
                for seat in &mut self.seats {
                    if seat.help.as_ref().is_some_and(|asked| asked.id == help) {
                        seat.help = None;
                    }
                }
            }
            other => self.at_seat(other, record, when),
        }
    }

    /// What was heated in it is lost: its tubes are planned again.
    fn bench_out(&mut self, bench: String, record: &Record) {
        if let Some(plan) = &mut self.plan {
            for own in &mut plan.draft.benches {
                if own.bench == bench {
                    own.loads
                        .retain(|load| load.actual.is_some_and(|actual| actual.end_min.is_some()));
                }
            }
        }
        self.out
            .insert(bench, record.reason.clone().unwrap_or_default());
    }

    fn joined(&mut self, seat: u32, person: PersonId, when: When) {
        let Some(seat) = self.seat_mut(seat, when) else {
            return;
        };
        match seat.people.iter_mut().find(|one| one.person == person) {
            Some(again) => again.here = true,
            None => seat.people.push(Sitting {
                person,
                joined: when,
                here: true,
            }),
        }
    }

    fn at_seat(&mut self, act: PracticalAct, record: &Record, when: When) {
        let id: StepId = record.subject.into();
        let (Some(by), Some(number)) = (record.who, seat_of(&act)) else {
            return;
        };
        let Some(seat) = self.seat_mut(number, when) else {
            return;
        };
        match act {
            PracticalAct::Swapped { to, .. } => {
                seat.unknown = to;
                seat.swapped = true;
            }
            PracticalAct::HelpAsked { text, .. } => seat.help = Some(Asked { id, text, when }),
            PracticalAct::Identified { name, why, .. } => seat.identified = Some((name, why)),
            PracticalAct::Noted { text, .. } => seat.notes.push((text, when)),
            PracticalAct::Marked {
                identity,
                range,
                agreement,
                care,
                ..
            } => {
                let why = record.reason.clone().unwrap_or_default();
                seat.marked = Some(([identity, range, agreement, care], why));
            }
            PracticalAct::Result {
                run,
                first_liquid_c,
                last_crystal_c,
                heating_rate_c_per_min,
                fresh_tube,
                note,
                bench,
                ..
            } => {
                seat.runs
                    .retain(|before| !(before.run == run && before.by == by));
                seat.runs.push(SeatRun {
                    id,
                    by,
                    when,
                    run,
                    first_liquid_c,
                    last_crystal_c,
                    heating_rate_c_per_min,
                    fresh_tube,
                    note,
                    bench,
                });
                seat.runs.sort_by_key(|run| run.run);
            }
            _ => {}
        }
    }
}

/// The seat of a step that is about one.
pub(super) fn seat_of(act: &PracticalAct) -> Option<u32> {
    match act {
        PracticalAct::Joined { seat, .. }
        | PracticalAct::CodeRenewed { seat }
        | PracticalAct::Swapped { seat, .. }
        | PracticalAct::HelpAsked { seat, .. }
        | PracticalAct::Result { seat, .. }
        | PracticalAct::Identified { seat, .. }
        | PracticalAct::Noted { seat, .. }
        | PracticalAct::Marked { seat, .. } => Some(*seat),
        _ => None,
    }
}
