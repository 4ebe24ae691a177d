//! The result with its uncertainty, the agreement of runs, the thermometers.

use super::Stamp;
use serde::{Deserialize, Serialize};

/// A melting range with its uncertainty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeltingResult {
    /// What its temperatures are.
    pub convention: Convention,
    /// First liquid; none where it was not seen.
    #[serde(default)]
    pub first_liquid: Option<End>,
    /// Last crystal; none where it was not seen.
    #[serde(default)]
    pub last_crystal: Option<End>,
    /// The range as the record writes it, with a decimal point, e.g. `121.6–122.4 °C`; printed with the
    /// decimal sign of the language and nothing else changed. None: made from the ends, tenths at most.
    #[serde(default)]
    pub range_text: Option<String>,
    /// Mean heating rate through the melting over the runs [°C/min].
    #[serde(default)]
    pub heating_rate_c_per_min: Option<f64>,
    /// Name of the record of the result.
    #[serde(default)]
    pub record: Option<String>,
    /// When it was stated.
    #[serde(default)]
    pub stated: Option<Stamp>,
    /// Why it was worked out anew, where it was.
    #[serde(default)]
    pub reason: Option<String>,
}

/// One end of a range.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct End {
    /// The value [°C].
    pub value_c: f64,
    /// Standard uncertainty [°C].
    pub standard_uncertainty_c: f64,
    /// Expanded uncertainty [°C].
    pub expanded_uncertainty_c: f64,
    /// Their ratio.
    pub coverage_factor: f64,
    /// Coverage probability that the expanded uncertainty is meant for, 0..1; none where not said.
    #[serde(default)]
    pub coverage: Option<f64>,
}

/// What a temperature is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Convention {
    /// As the thermometer indicated; not corrected.
    AsLogged,
    /// Corrected, at zero heating rate.
    Thermodynamic,
    /// Corrected, at a heating rate.
    AtRate {
        /// Which [°C/min]; none where not said.
        #[serde(default)]
        rate_c_per_min: Option<f64>,
    },
    /// Corrected; nobody said which melting points the references are.
    NotStated,
}

impl Convention {
    /// Whether a correction was applied.
    pub fn is_corrected(self) -> bool {
        !matches!(self, Self::AsLogged)
    }
}

/// Whether runs agree.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Agreement {
    /// Whether they do.
    pub agreed: bool,
    /// Limit at both ends [°C].
    pub within_c: f64,
    /// Farthest apart at either end [°C]; none with one run.
    #[serde(default)]
    pub spread_c: Option<f64>,
    /// How many runs the result rests on.
    pub runs_used: u32,
    /// How many more are needed.
    pub further_runs_needed: u32,
    /// Runs that were left out, and why, in words.
    #[serde(default)]
    pub left_out: Vec<String>,
}

/// A thermometer with what is known of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thermometer {
    /// What it is called.
    pub name: String,
    /// The bench it belongs to.
    #[serde(default)]
    pub bench: Option<String>,
    /// How far it could be relied on when the runs were made.
    pub state: ThermometerState,
    /// Why, in words.
    #[serde(default)]
    pub state_because: Vec<String>,
    /// First day of the calibration in force, as ISO date; none where there was no calibration.
    #[serde(default)]
    pub calibrated_from: Option<jiff::civil::Date>,
    /// Latest check, as ISO date.
    #[serde(default)]
    pub last_check: Option<jiff::civil::Date>,
    /// Next check due, as ISO date.
    #[serde(default)]
    pub next_check: Option<jiff::civil::Date>,
    /// What the calibration's temperatures are; none without a calibration.
    #[serde(default)]
    pub convention: Option<Convention>,
    /// Reference substances it was calibrated with.
    #[serde(default)]
    pub standards: Vec<String>,
    /// Name of the calibration's record.
    #[serde(default)]
    pub record: Option<String>,
}

/// How far a thermometer can be relied on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ThermometerState {
    /// Never checked.
    NeverChecked,
    /// Checked within its interval, nothing out of the ordinary.
    InOrder,
    /// Its next check is due.
    Due,
    /// Its next check is long overdue.
    Overdue,
    /// Its latest check is further off than chance explains.
    OutOfControl,
}
