//! What a report says, before it has a language or a shape.
//!
//! Temperatures in °C, rates in °C/min, times in s, fractions 0..=1, unless a field says otherwise. All
//! texts are plain: whatever they hold is printed as it stands and never taken for markup.

mod bytes;
mod conclusions;
mod measured;
mod runs;
mod stamp;
mod standing;

pub use conclusions::{
    Candidate, Candidates, Decision, MixedMelting, MixedOutcome, Purity, Specification, Verdict,
};
pub use measured::{Agreement, Convention, End, MeltingResult, Thermometer, ThermometerState};
pub use runs::{CurvePoint, Frame, Leg, LegKind, Moment, Outcome, Run, RunRemark};
pub use stamp::{Stamp, StampError};
pub use standing::{Chain, ChangedSince, Meaning, SignOff, Standing, StandingError};

use serde::{Deserialize, Serialize};

/// One determination, or a sample without one, as it is to be reported.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Report {
    /// What the report is called; two versions of it differ.
    pub number: String,
    /// When it was made; also the date of the document, so that the same report gives the same bytes.
    pub made: Stamp,
    /// Program and version.
    pub program: String,
    /// Title of the lab book.
    pub book: String,
    /// Whose paper it is written on.
    #[serde(default)]
    pub letterhead: Letterhead,
    /// Who did what; in the order in which they are printed.
    #[serde(default)]
    pub people: Vec<Contributor>,
    /// What was measured.
    pub sample: Sample,
    /// The result; none where there is none.
    #[serde(default)]
    pub result: Option<MeltingResult>,
    /// Why there is no result, in words; read only where there is none.
    #[serde(default)]
    pub no_result_because: Option<String>,
    /// Whether the runs agree; none with fewer than two.
    #[serde(default)]
    pub agreement: Option<Agreement>,
    /// The tubes that were heated, in order of time. A run with three tubes of the sample is three of these.
    #[serde(default)]
    pub runs: Vec<Run>,
    /// The thermometers of those runs with their calibrations.
    #[serde(default)]
    pub thermometers: Vec<Thermometer>,
    /// A required range and what was decided; none where nothing was required.
    #[serde(default)]
    pub specification: Option<Specification>,
    /// What it could be; none where nobody asked.
    #[serde(default)]
    pub candidates: Option<Candidates>,
    /// Mixed meltings with references.
    #[serde(default)]
    pub mixed_meltings: Vec<MixedMelting>,
    /// What the melting says of the purity.
    #[serde(default)]
    pub purity: Option<Purity>,
    /// What a person concludes.
    #[serde(default)]
    pub verdict: Option<Verdict>,
    /// Where the work left the procedure, in words.
    #[serde(default)]
    pub deviations: Vec<String>,
    /// Anything else; paragraphs are parted by line breaks.
    #[serde(default)]
    pub remarks: Option<String>,
    /// Whether a second person stands behind it.
    #[serde(default)]
    pub sign_off: SignOff,
    /// Whether the lab book's chain of records was verified when the report was made.
    #[serde(default)]
    pub chain: Chain,
}

/// Whose paper it is.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Letterhead {
    /// The laboratory; empty for none.
    #[serde(default)]
    pub name: String,
    /// Address and the like, line by line.
    #[serde(default)]
    pub lines: Vec<String>,
    /// A picture as PNG or JPEG; what is none is left out with a warning.
    #[serde(default, with = "bytes::optional")]
    pub logo: Option<Vec<u8>>,
}

/// Somebody who had a part in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Contributor {
    /// Their name.
    pub name: String,
    /// Which part.
    pub part: Part,
}

/// Which part somebody had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// Packed the tubes and ran the bench.
    Measured,
    /// Said when the first liquid was there and the last crystal gone.
    Read,
    /// Stated the result.
    Determined,
    /// Answers for the bench.
    Supervised,
}

/// What was measured, and how it was made ready. `None` is "not noted".
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sample {
    /// What stands on the vial.
    pub label: String,
    /// Where it comes from.
    #[serde(default)]
    pub origin: Option<String>,
    /// What it is thought to be.
    #[serde(default)]
    pub expected_substance: Option<String>,
    /// Hazards noted by a person. What is not noted is not thereby harmless.
    #[serde(default)]
    pub hazards: Option<String>,
    /// Dried.
    #[serde(default)]
    pub dried: Option<bool>,
    /// Ground fine.
    #[serde(default)]
    pub ground: Option<bool>,
    /// Height of the packed column [mm].
    #[serde(default)]
    pub column_height_mm: Option<f64>,
    /// Solvent it was crystallised from or may still hold.
    #[serde(default)]
    pub solvent: Option<String>,
    /// Anything else.
    #[serde(default)]
    pub remarks: Option<String>,
}
