//! What follows from a result.

use serde::{Deserialize, Serialize};

/// A required range and what was decided about it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Specification {
    /// Where the requirement stands, e.g. a monograph or an order.
    #[serde(default)]
    pub source: Option<String>,
    /// No first liquid below this [°C].
    pub from_c: f64,
    /// No last crystal above this [°C].
    pub to_c: f64,
    /// Probability that the guard bands ask for, 0.5..1; none for simple acceptance.
    #[serde(default)]
    pub guard: Option<f64>,
    /// Width of the guard band at the lower limit [°C].
    #[serde(default)]
    pub guard_lower_c: f64,
    /// Width of the guard band at the upper limit [°C].
    #[serde(default)]
    pub guard_upper_c: f64,
    /// What was decided.
    pub decision: Decision,
    /// Probability that the first liquid is not below the lower limit, 0..=1.
    #[serde(default)]
    pub probability_lower: Option<f64>,
    /// Probability that the last crystal is not above the upper limit, 0..=1.
    #[serde(default)]
    pub probability_upper: Option<f64>,
}

/// What was decided about a requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Decision {
    /// Within the limits, beyond the guard bands.
    Meets,
    /// Outside, beyond the guard bands.
    DoesNotMeet,
    /// Within a guard band of a limit.
    CannotBeDecided,
}

/// What it could be, by its melting range. The probabilities add up to 1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Candidates {
    /// Which list was searched.
    pub list: String,
    /// The likeliest, likeliest first.
    pub shown: Vec<Candidate>,
    /// Probability of all others in the list together, 0..=1.
    pub others: f64,
    /// How many those are.
    pub others_count: u32,
    /// Probability that it is not in the list, 0..=1.
    pub not_in_list: f64,
}

/// One of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Candidate {
    /// Name.
    pub name: String,
    /// Melting point or lower end of the range in the list [°C].
    pub from_c: f64,
    /// Upper end of the range in the list [°C]; none where it gives a point.
    #[serde(default)]
    pub to_c: Option<f64>,
    /// Probability, 0..=1.
    pub probability: f64,
}

/// A mixed melting with a reference.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MixedMelting {
    /// With what it was mixed.
    pub reference: String,
    /// Mass fraction of the reference, 0..=1; none where not noted.
    #[serde(default)]
    pub reference_mass_fraction: Option<f64>,
    /// First liquid of the mixture [°C].
    #[serde(default)]
    pub first_liquid_c: Option<f64>,
    /// Last crystal of the mixture [°C].
    #[serde(default)]
    pub last_crystal_c: Option<f64>,
    /// How far the mixture's last crystal lies below that of the sample alone [°C].
    #[serde(default)]
    pub depression_c: Option<f64>,
    /// Standard uncertainty of that [°C].
    #[serde(default)]
    pub depression_uncertainty_c: Option<f64>,
    /// What it says.
    pub outcome: MixedOutcome,
    /// Doubts, in words.
    #[serde(default)]
    pub remarks: Option<String>,
}

/// What a mixed melting says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MixedOutcome {
    /// No depression: as of the same substance.
    Same,
    /// Depressed: another substance.
    Different,
    /// Neither can be said.
    CannotTell,
}

/// What the melting says of the purity.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Purity {
    /// Amount-of-substance fraction of the main component, 0..=1; none where nothing can be said.
    #[serde(default)]
    pub mole_fraction: Option<f64>,
    /// Its standard uncertainty.
    #[serde(default)]
    pub standard_uncertainty: Option<f64>,
    /// From what it was taken, in words.
    #[serde(default)]
    pub method: Option<String>,
    /// What limits it, or why nothing can be said, in words.
    #[serde(default)]
    pub limits: Vec<String>,
}

/// What a person concludes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Verdict {
    /// In words.
    pub text: String,
    /// Whose.
    #[serde(default)]
    pub by: Option<String>,
}
