//! What a person may see of the opinions on a recording: nothing before they decided, when blind.

use crate::extract::{Looking, Somebody};
use crate::problem::Problem;
use crate::state::AppState;
use crate::wire::{Moments, Quality, Reading, Remark, Tube, TubeCurve};
use axum::http::StatusCode;
use meltrange_labbook as kept;
use meltrange_labbook::{PersonId, ReadingDetail, RecordingId, Role};

/// How somebody looks.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sight {
    who: Option<Somebody>,
    /// Whether opinions are kept back until they decided.
    pub blind: bool,
}

impl Sight {
    /// As asked for; if nothing is said, students look blind and others do not.
    pub fn of(looking: Looking, asked: Option<bool>) -> Self {
        let Looking(who) = looking;
        let student = who.is_some_and(|who| who.role == Role::Student);
        Self {
            who,
            blind: asked.unwrap_or(student),
        }
    }

    /// Whether opinions on the recording with these readings are kept back.
    pub fn hides(&self, readings: &[ReadingDetail]) -> bool {
        self.blind && !self.who.is_some_and(|who| has_decided(who.id, readings))
    }

    /// Who looks.
    pub fn who(&self) -> Option<Somebody> {
        self.who
    }

    /// Whether this is a person's own reading, which is never kept back from them.
    pub fn owns(&self, reader: &kept::Reader) -> bool {
        matches!(reader, kept::Reader::Person { person, .. } if self.who.is_some_and(|who| who.id == *person))
    }

    /// A reading as it may be seen. Opinions that are shown are remembered: a reading of the same
    /// recording that this person makes afterwards is not blind.
    pub fn reading(&self, state: &AppState, found: &ReadingDetail, hides: bool) -> Reading {
        let own = self.owns(&found.reading.reader);
        let hidden = hides && !own;
        if !hidden && !own {
            self.remember(state, found.reading.recording);
        }
        Reading {
            id: found.id,
            record: found.record,
            recording: found.reading.recording,
            who: found.who,
            when: found.when,
            reader: (&found.reading.reader).into(),
            hidden,
            tubes: found
                .tubes
                .iter()
                .map(|decided| {
                    let entry = found
                        .reading
                        .tubes
                        .iter()
                        .find(|entry| entry.place == decided.place);
                    tube(decided, entry, hidden)
                })
                .collect(),
            quality: if hidden {
                Vec::new()
            } else {
                found.reading.quality.iter().map(Quality::from).collect()
            },
            notes: if hidden {
                Vec::new()
            } else {
                found.reading.notes.clone()
            },
            curves: Vec::new(),
        }
    }

    /// Remember that this person sees an opinion on this recording.
    pub fn remember(&self, state: &AppState, recording: RecordingId) {
        if let Some(who) = self.who {
            state.remember_shown(who.id, recording);
        }
    }
}

/// What somebody hears who asks for more than they may see yet.
pub(crate) fn decide_first() -> Problem {
    Problem::new(
        StatusCode::FORBIDDEN,
        "role",
        "Decide first",
        "opinions on this recording are kept back until you have decided on it; read it first",
    )
}

/// Whether somebody read a recording themselves, or decided on every tube of one of its readings.
fn has_decided(person: PersonId, readings: &[ReadingDetail]) -> bool {
    readings
        .iter()
        .any(|reading| match &reading.reading.reader {
            kept::Reader::Person { person: reader, .. } => *reader == person,
            kept::Reader::Engine { .. } => {
                !reading.tubes.is_empty()
                    && reading.tubes.iter().all(|tube| {
                        tube.decision
                            .as_ref()
                            .is_some_and(|decision| decision.who == person)
                    })
            }
        })
}

/// One tube as it may be seen.
pub(crate) fn tube(
    decided: &kept::DecidedTube,
    entry: Option<&kept::TubeEntry>,
    hidden: bool,
) -> Tube {
    let seen = Tube {
        place: decided.place,
        sample: decided.sample,
        frame_px: entry.and_then(|entry| entry.frame_px),
        read: None,
        decision: None,
        holds: None,
        heating_rate_c_per_min: None,
        remarks: Vec::new(),
    };
    if hidden {
        return seen;
    }
    Tube {
        read: Some(Moments::from(&decided.read)),
        decision: decided.decision.as_ref().map(Into::into),
        holds: Some(decided.counts().into()),
        heating_rate_c_per_min: entry.and_then(|entry| entry.heating_rate_c_per_min),
        remarks: entry.map_or_else(Vec::new, |entry| {
            entry.remarks.iter().map(Remark::from).collect()
        }),
        ..seen
    }
}

impl From<&kept::Remark> for Remark {
    fn from(found: &kept::Remark) -> Self {
        Self {
            kind: found.kind.into(),
            time_s: found.time_s,
            text: found.text.clone(),
        }
    }
}

impl From<&kept::Quality> for Quality {
    fn from(found: &kept::Quality) -> Self {
        Self {
            kind: found.kind.into(),
            text: found.text.clone(),
        }
    }
}

impl From<kept::Curve> for TubeCurve {
    fn from(found: kept::Curve) -> Self {
        Self {
            place: found.place,
            time_s: found.time_s,
            temperature_c: found.temperature_c,
            liquid_fraction: found.liquid_fraction,
            solid_fraction: found.solid_fraction,
        }
    }
}
