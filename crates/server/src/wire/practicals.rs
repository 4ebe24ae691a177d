//! Class sessions over the wire.

use meltrange_labbook::{self as kept, PersonId, PracticalId, StepId};
use meltrange_planning::SessionBench;
use meltrange_teaching::{PairOfUnknowns, Rubric, SeatMark};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Something that can be in a vial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Unknown {
    /// Its number in the compound library (CAS); null where it is not from there.
    #[schema(required)]
    pub library: Option<String>,
    /// What it is.
    pub name: String,
    /// Lower end of its melting range, corrected [°C].
    pub first_liquid_c: f64,
    /// Upper end, corrected [°C].
    pub last_crystal_c: f64,
    /// What is known to be hazardous about it.
    #[schema(required)]
    pub hazards: Option<String>,
    /// Enthalpy of fusion [J/mol]; without it that of its class is taken.
    #[schema(required)]
    pub fusion_j_per_mol: Option<f64>,
}

impl From<Unknown> for kept::Unknown {
    fn from(given: Unknown) -> Self {
        Self {
            library: given.library,
            name: given.name,
            first_liquid_c: given.first_liquid_c,
            last_crystal_c: given.last_crystal_c,
            hazards: given.hazards,
            fusion_j_per_mol: given.fusion_j_per_mol,
        }
    }
}

impl From<&kept::Unknown> for Unknown {
    fn from(found: &kept::Unknown) -> Self {
        let found = found.clone();
        Self {
            library: found.library,
            name: found.name,
            first_liquid_c: found.first_liquid_c,
            last_crystal_c: found.last_crystal_c,
            hazards: found.hazards,
            fusion_j_per_mol: found.fusion_j_per_mol,
        }
    }
}

/// Whether unknowns can be told apart.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct UnknownsRequest {
    /// Which.
    pub unknowns: Vec<Unknown>,
    /// Standard uncertainty of one determination by this class [°C].
    pub standard_uncertainty_c: f64,
}

/// Each compared with each.
#[derive(Debug, Serialize, ToSchema)]
pub struct UnknownsCompared {
    /// Pairs, by the numbers of the unknowns from 0.
    pub pairs: Vec<PairOfUnknowns>,
    /// From this ratio on a pair is told by range.
    pub needed_ratio: f64,
}

/// How a class session is set up.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PracticalSetUp {
    /// What it is called.
    pub title: String,
    /// How many seats.
    pub seats: u32,
    /// Side by side.
    pub seats_per_row: u32,
    /// 1, or 2 where students work in pairs.
    pub people_per_seat: u32,
    /// What can be in the vials: two or more.
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
    /// Fixes the deal.
    pub seed: u64,
}

/// A class session to be.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPractical {
    /// Its id, made by whoever asks, so that it is made once however often it is asked.
    #[schema(value_type = String, format = Uuid)]
    pub id: PracticalId,
    /// How it is set up.
    pub set_up: PracticalSetUp,
}

/// How far a class session is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PracticalState {
    /// Set up and dealt.
    Prepared,
    /// Under way.
    UnderWay,
    /// Over.
    Over,
}

/// Class sessions, newest first.
#[derive(Debug, Serialize, ToSchema)]
pub struct Practicals {
    /// In a line each.
    pub practicals: Vec<PracticalRow>,
}

/// One in a line.
#[derive(Debug, Serialize, ToSchema)]
pub struct PracticalRow {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: PracticalId,
    /// What it is called.
    pub title: String,
    /// When it was set up, RFC 3339.
    pub begun: String,
    /// How many seats.
    pub seats: usize,
    /// How many people sat down.
    pub people: usize,
    /// How far it is.
    pub state: PracticalState,
}

/// What is printed for vials and seats.
#[derive(Debug, Serialize, ToSchema)]
pub struct Labels {
    /// The code of the whole class.
    pub class_code: String,
    /// Where it is typed.
    pub join_address: String,
    /// The same with the code as a QR picture (SVG).
    pub join_qr_svg: String,
    /// One for each seat.
    pub labels: Vec<SeatLabel>,
}

/// The label of one seat's vial.
#[derive(Debug, Serialize, ToSchema)]
pub struct SeatLabel {
    /// Which seat, from 1.
    pub seat: u32,
    /// What stands on the vial.
    pub vial: String,
    /// The seat's own code.
    pub code: String,
    /// The address that brings to the seat.
    pub address: String,
    /// The same as a QR picture (SVG).
    pub qr_svg: String,
}

/// How a seat stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum SeatStanding {
    /// Nobody sits there.
    Empty,
    /// Waits for its turn.
    Waits,
    /// Its turn has come.
    Turn,
    /// Its tube is heated.
    Heating,
    /// All runs are entered and a name is said.
    Done,
    /// Its turn came, or its load should have ended, long ago.
    Stuck,
}

/// How a seat's next load stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum TurnStanding {
    /// Others come before it.
    Ahead,
    /// It is to be set in.
    Now,
    /// It is heated.
    UnderWay,
    /// It has ended; there is no further one.
    Over,
}

/// A seat's next load.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Turn {
    /// Which of its runs, from 1.
    pub run: u32,
    /// At which bench.
    pub bench: String,
    /// When it is set in, from the beginning [min].
    pub begins_min: f64,
    /// When its last scan ends [min].
    pub ends_min: f64,
    /// How it stands.
    pub standing: TurnStanding,
    /// Seats with tubes in it, this one among them.
    pub with_seats: Vec<u32>,
    /// Loads that come before it on its bench.
    pub before: usize,
    /// Which load of the bench, from 0.
    pub load: u32,
}

/// What one run showed, as read.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct SeatResult {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: StepId,
    /// Which run, from 1.
    pub run: u32,
    /// As read, uncorrected [°C].
    pub first_liquid_c: f64,
    /// As read, uncorrected [°C].
    pub last_crystal_c: f64,
    /// Heating through the melting, where noted.
    #[schema(required)]
    pub heating_rate_c_per_min: Option<f64>,
    /// Whether the tube was a fresh one.
    pub fresh_tube: bool,
    /// What was noted.
    pub note: String,
    /// When, RFC 3339.
    pub when: String,
    /// Pseudonym of whoever entered it.
    pub by: String,
    /// At which bench, where it is known.
    #[schema(required)]
    pub bench: Option<String>,
}

/// Somebody at a seat.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct SeatPerson {
    /// Who.
    #[schema(value_type = String, format = Uuid)]
    pub person: PersonId,
    /// How the record knows them.
    pub pseudonym: String,
    /// As they gave it, while names are kept.
    #[schema(required)]
    pub name: Option<String>,
    /// When they sat down, RFC 3339.
    pub joined: String,
    /// False once a new code was made for the seat and they have not come in with it.
    pub here: bool,
}

/// Somebody asks for help.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct HelpShown {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: StepId,
    /// With what.
    pub text: String,
    /// Since when, RFC 3339.
    pub asked: String,
}

/// One seat on the board.
#[derive(Debug, Serialize, ToSchema)]
pub struct BoardSeat {
    /// From 1.
    pub seat: u32,
    /// What stands on its vial.
    pub vial: String,
    /// What is in it, by number from 0.
    pub unknown: u32,
    /// Who sits there.
    pub people: Vec<SeatPerson>,
    /// How it stands.
    pub standing: SeatStanding,
    /// For how long [min].
    pub since_min: f64,
    /// Its next load.
    #[schema(required)]
    pub turn: Option<Turn>,
    /// What its runs showed.
    pub results: Vec<SeatResult>,
    /// What they say it is.
    #[schema(required)]
    pub identified: Option<String>,
    /// "runs_disagree", "readers_disagree", "far_from_unknown", "swapped".
    pub flags: Vec<String>,
    /// What they want help with.
    #[schema(required)]
    pub help: Option<HelpShown>,
    /// Suggested, or set by the instructor.
    #[schema(required)]
    pub mark: Option<SeatMark>,
}

/// What is in a bench.
#[derive(Debug, Serialize, ToSchema)]
pub struct BoardNow {
    /// Which load, from 0.
    pub load: u32,
    /// Whose tubes.
    pub seats: Vec<u32>,
    /// Since when [min].
    pub begun_min: f64,
    /// When it ends [min].
    pub ends_min: f64,
}

/// What comes next in a bench.
#[derive(Debug, Serialize, ToSchema)]
pub struct BoardNext {
    /// Which load, from 0.
    pub load: u32,
    /// Whose tubes.
    pub seats: Vec<u32>,
    /// When [min].
    pub begins_min: f64,
    /// Whether the bench is free for it.
    pub called: bool,
}

/// One bench on the board.
#[derive(Debug, Serialize, ToSchema)]
pub struct BoardBench {
    /// Its name.
    pub bench: String,
    /// Whether it is out of use.
    pub out: bool,
    /// Why.
    #[schema(required)]
    pub why: Option<String>,
    /// What is in it.
    #[schema(required)]
    pub now: Option<BoardNow>,
    /// What comes next.
    #[schema(required)]
    pub next: Option<BoardNext>,
    /// Loads that are still to be set in.
    pub left: usize,
}

/// Something that happened, for whoever looks it up later.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Happened {
    /// When it was recorded, RFC 3339.
    pub when: String,
    /// Who, by pseudonym or name in the book.
    pub who: String,
    /// Its kind.
    pub what: String,
    /// At which seat, if at one.
    #[schema(required)]
    pub seat: Option<u32>,
    /// In words.
    pub words: String,
}

/// All an instructor sees of a class session.
#[derive(Debug, Serialize, ToSchema)]
pub struct Board {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: PracticalId,
    /// What it is called.
    pub title: String,
    /// How far it is.
    pub state: PracticalState,
    /// Since its beginning [min].
    pub now_min: f64,
    /// When it began, RFC 3339.
    #[schema(required)]
    pub began: Option<String>,
    /// How it was set up.
    pub set_up: PracticalSetUp,
    /// By number.
    pub seats: Vec<BoardSeat>,
    /// As set up.
    pub benches: Vec<BoardBench>,
    /// When the plan ends [min].
    #[schema(required)]
    pub makespan_min: Option<f64>,
    /// Whether it ends in time.
    #[schema(required)]
    pub fits: Option<bool>,
    /// Whether everybody may see their marks.
    pub released: bool,
    /// Whether real names are still kept.
    pub names_kept: bool,
    /// The last record that is in it.
    pub seq: u64,
    /// In order.
    pub history: Vec<Happened>,
}

/// What an instructor does.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
pub enum InstructorStep {
    /// Begin: the plan is made for the seats that are taken.
    Begin {},
    /// It is over; nobody joins any more.
    Over {},
    /// A bench failed: what is in it is planned again elsewhere.
    BenchOut { bench: String, why: String },
    /// It works again.
    BenchBack { bench: String },
    /// A load was set in.
    SetIn { bench: String, load: u32 },
    /// Its last scan ended.
    Ended { bench: String, load: u32 },
    /// In a vial is really another unknown.
    Swap {
        seat: u32,
        unknown: u32,
        why: String,
    },
    /// One more seat.
    AddSeat {},
    /// A new code for a seat; who sat there comes in with it and nobody with the old one.
    NewCode { seat: u32 },
    /// Somebody was helped.
    HelpGiven {
        #[schema(value_type = String, format = Uuid)]
        help: StepId,
    },
    /// Points in place of those that are suggested.
    Mark {
        seat: u32,
        identity: f64,
        range: f64,
        agreement: f64,
        care: f64,
        why: String,
    },
    /// Everybody may see their marks.
    Release {},
    /// Nobody may any more.
    TakeBack {},
    /// Plan the rest anew.
    PlanAnew {},
    /// Delete real names.
    ForgetNames {},
}

/// A step of an instructor.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InstructorStepRequest {
    /// Its id, made by whoever asks.
    #[schema(value_type = String, format = Uuid)]
    pub id: StepId,
    /// What.
    pub step: InstructorStep,
}

/// Somebody wants to sit down.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct JoinRequest {
    /// Of the class, or of a seat.
    pub code: String,
    /// Their name, if they want to give it.
    #[serde(default)]
    pub name: Option<String>,
    /// Which seat, with the code of the class; the next free one if not said.
    #[serde(default)]
    pub seat: Option<u32>,
}

/// Somebody sat down.
#[derive(Debug, Serialize, ToSchema)]
pub struct Joined {
    /// In which class session.
    #[schema(value_type = String, format = Uuid)]
    pub practical: PracticalId,
    /// What it is called.
    pub title: String,
    /// Where, from 1.
    pub seat: u32,
    /// Their vial.
    pub vial: String,
    /// Who they are in the book.
    #[schema(value_type = String, format = Uuid)]
    pub person: PersonId,
    /// How the record knows them.
    pub pseudonym: String,
}

/// A note.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct SeatNote {
    /// In words.
    pub text: String,
    /// When, RFC 3339.
    pub when: String,
}

/// Whether a seat's runs agree.
#[derive(Debug, Serialize, ToSchema)]
pub struct SeatAgreement {
    /// Null before there are two runs.
    #[schema(required)]
    pub agreed: Option<bool>,
    /// Between the two runs that agree best [°C].
    #[schema(required)]
    pub first_liquid_difference_c: Option<f64>,
    /// The same at the other end [°C].
    #[schema(required)]
    pub last_crystal_difference_c: Option<f64>,
}

/// What was in the vial.
#[derive(Debug, Serialize, ToSchema)]
pub struct SeatTruth {
    /// Its name.
    pub name: String,
    /// Corrected [°C].
    pub first_liquid_c: f64,
    /// Corrected [°C].
    pub last_crystal_c: f64,
}

/// All that a student sees.
#[derive(Debug, Serialize, ToSchema)]
pub struct SeatPage {
    /// Which class session.
    #[schema(value_type = String, format = Uuid)]
    pub practical: PracticalId,
    /// What it is called.
    pub title: String,
    /// How far it is.
    pub state: PracticalState,
    /// Since its beginning [min].
    pub now_min: f64,
    /// From 1.
    pub seat: u32,
    /// What stands on the vial.
    pub vial: String,
    /// How the record knows them.
    pub pseudonym: String,
    /// Pseudonyms of the others at the seat.
    pub partners: Vec<String>,
    /// Their next load.
    #[schema(required)]
    pub turn: Option<Turn>,
    /// How they stand.
    pub standing: SeatStanding,
    /// What their runs showed.
    pub results: Vec<SeatResult>,
    /// Runs they are to make.
    pub runs_each: u32,
    /// Names it could be.
    pub choices: Vec<String>,
    /// What they say it is.
    #[schema(required)]
    pub identified: Option<String>,
    /// And why.
    #[schema(required)]
    pub identified_why: Option<String>,
    /// What they want help with.
    #[schema(required)]
    pub help: Option<HelpShown>,
    /// Their notes.
    pub notes: Vec<SeatNote>,
    /// Whether their runs agree.
    pub agreement: SeatAgreement,
    /// Once released.
    #[schema(required)]
    pub mark: Option<SeatMark>,
    /// Once released.
    #[schema(required)]
    pub truth: Option<SeatTruth>,
    /// What to mind.
    pub cautions: Vec<String>,
}

/// What a student does.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
pub enum SeatStep {
    /// Their load was set in.
    SetIn { load: u32 },
    /// Its last scan ended.
    Ended { load: u32 },
    /// What a run showed.
    Result {
        run: u32,
        first_liquid_c: f64,
        last_crystal_c: f64,
        #[serde(default)]
        #[schema(required)]
        heating_rate_c_per_min: Option<f64>,
        fresh_tube: bool,
        #[serde(default)]
        #[schema(required)]
        note: String,
    },
    /// What it is, and why.
    Identify { name: String, why: String },
    /// A note.
    Note { text: String },
    /// Help is wanted.
    AskHelp { text: String },
    /// It is wanted no more.
    HelpDone {},
}

/// A step of a student.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SeatStepRequest {
    /// Its id, made by whoever asks.
    #[schema(value_type = String, format = Uuid)]
    pub id: StepId,
    /// When it was done, RFC 3339, where it is sent later.
    #[serde(default)]
    pub at: Option<String>,
    /// What.
    pub step: SeatStep,
}
