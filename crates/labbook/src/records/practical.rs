//! Class sessions: how one was set up, and everything that is done in it.
//!
//! People are in these records by the ids of people whose names are pseudonyms. Real names are kept
//! elsewhere, if at all, and can be deleted while the chain stays whole: what stands here of a name is the
//! digest of it with a random number that is deleted together with the name.

use crate::digest::Digest;
use crate::ids::{PersonId, PracticalId, StepId};
use crate::when::When;
use meltrange_planning::{SessionBench, SessionDraft, SessionOrder};
use meltrange_teaching::Rubric;
use serde::{Deserialize, Serialize};

/// A class session as it was set up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Practical {
    /// What it is called.
    pub title: String,
    /// Seats side by side in the room; neighbours sit beside, before and behind.
    pub seats_per_row: u32,
    /// One student, or a pair.
    pub people_per_seat: u32,
    /// What can be in the vials.
    pub unknowns: Vec<Unknown>,
    /// Standard uncertainty of one determination by this class [°C].
    pub standard_uncertainty_c: f64,
    /// Runs that everybody is to make.
    pub runs_each: u32,
    /// How long it lasts [min].
    pub length_min: f64,
    /// How many loads can be set in at the same time.
    pub operators: u32,
    /// Heating apparatus.
    pub benches: Vec<SessionBench>,
    /// How marks are suggested.
    pub rubric: Rubric,
    /// Fixed the deal.
    pub seed: u64,
    /// Which vial went to which seat, by number of the seat from 1.
    pub deal: Vec<DealtVial>,
}

/// Something that can be in a vial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Unknown {
    /// Its id in the compound library, where it is from there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub library: Option<String>,
    /// What it is.
    pub name: String,
    /// Lower end of its melting range, corrected [°C].
    pub first_liquid_c: f64,
    /// Upper end, corrected [°C].
    pub last_crystal_c: f64,
    /// What is known to be hazardous about it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hazards: Option<String>,
    /// Enthalpy of fusion, where known [J/mol].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fusion_j_per_mol: Option<f64>,
}

/// A vial and what is in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DealtVial {
    /// What stands on it.
    pub vial: String,
    /// Which of the unknowns, from 0.
    pub unknown: u32,
}

/// Something done in a class session. Its own subject, made by whoever did it, so that it is recorded once
/// however often it is sent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PracticalStep {
    /// In which.
    pub practical: PracticalId,
    /// When it was done, where it was sent later.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub done: Option<When>,
    /// What.
    pub act: PracticalAct,
}

/// What can be done in a class session. Minutes count from its beginning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case")]
#[expect(missing_docs, reason = "fields are those of the wire, told there")]
pub enum PracticalAct {
    /// It begins; minutes count from here.
    Begun,
    /// It is over.
    Over,
    /// Loads and benches from now on, and why they were planned anew.
    Planned {
        order: Box<SessionOrder>,
        draft: SessionDraft,
        minute: f64,
        why: String,
    },
    /// A load was set in.
    SetIn {
        bench: String,
        load: u32,
        minute: f64,
    },
    /// A load's last scan ended.
    Ended {
        bench: String,
        load: u32,
        minute: f64,
    },
    /// A bench failed.
    BenchOut { bench: String },
    /// It works again.
    BenchBack { bench: String },
    /// One more seat, with its vial.
    SeatAdded { dealt: DealtVial },
    /// Somebody sat down. `name` is the digest of their name with a random number, where they gave one.
    Joined {
        seat: u32,
        person: PersonId,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<Digest>,
    },
    /// A seat's people come in anew, by a new code; what let them in before does no more.
    CodeRenewed { seat: u32 },
    /// In the vial is really another unknown.
    Swapped { seat: u32, from: u32, to: u32 },
    /// Somebody asks for help.
    HelpAsked { seat: u32, text: String },
    /// They were helped.
    HelpGiven { help: StepId },
    /// What a run showed, as read.
    Result {
        seat: u32,
        run: u32,
        first_liquid_c: f64,
        last_crystal_c: f64,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        heating_rate_c_per_min: Option<f64>,
        fresh_tube: bool,
        note: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bench: Option<String>,
    },
    /// What they say it is.
    Identified {
        seat: u32,
        name: String,
        why: String,
    },
    /// A note.
    Noted { seat: u32, text: String },
    /// Points by the instructor in place of those that were suggested.
    Marked {
        seat: u32,
        identity: f64,
        range: f64,
        agreement: f64,
        care: f64,
    },
    /// Everybody may see their marks.
    Released,
    /// Nobody may any more.
    TakenBack,
    /// Real names were deleted, with the numbers that tie them to this record.
    NamesForgotten,
}
