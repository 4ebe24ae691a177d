//! Thermometers: their checks, their calibrations, how far they can be relied on.

use super::TubeRef;
use super::of_metrology::ChartShape;
use meltrange_labbook as kept;
use meltrange_labbook::{BenchId, CheckId, PersonId, RecordId, StandardId, When};
use meltrange_metrology as metrology;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::calibrations::{CalibrationInForce, CalibrationView};

/// How far a thermometer can be relied on, on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
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

impl From<kept::ThermometerState> for ThermometerState {
    fn from(found: kept::ThermometerState) -> Self {
        match found {
            kept::ThermometerState::NeverChecked => Self::NeverChecked,
            kept::ThermometerState::InOrder => Self::InOrder,
            kept::ThermometerState::Due => Self::Due,
            kept::ThermometerState::Overdue => Self::Overdue,
            kept::ThermometerState::OutOfControl => Self::OutOfControl,
        }
    }
}

/// The thermometer of a bench, as it stands today.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct ThermometerRow {
    /// Which bench.
    #[schema(value_type = String, format = Uuid)]
    pub bench: BenchId,
    /// What the bench is called.
    pub name: String,
    /// The thermometer, in the bench's words.
    #[schema(required)]
    pub thermometer: Option<String>,
    /// How far it can be relied on.
    pub state: ThermometerState,
    /// Why, and what else is to be known of it, in words.
    pub reasons: Vec<String>,
    /// Day of the last check that counts.
    #[schema(required, format = Date)]
    pub last_check: Option<String>,
    /// Day on which the next check is due.
    #[schema(required, format = Date)]
    pub due_on: Option<String>,
    /// The calibration that is in force.
    #[schema(required)]
    pub in_force: Option<CalibrationInForce>,
}

/// All thermometers.
#[derive(Debug, Serialize, ToSchema)]
pub struct Thermometers {
    /// By name of their bench.
    pub rows: Vec<ThermometerRow>,
}

/// What a reference substance showed on a bench.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct CheckView {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: CheckId,
    /// The latest record of it.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Whose record.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub when: When,
    /// Why it was changed, where it was.
    #[schema(required)]
    pub reason: Option<String>,
    /// Which reference substance.
    #[schema(value_type = String, format = Uuid)]
    pub standard: StandardId,
    /// Its name.
    pub substance: String,
    /// Its reference value [°C].
    pub reference_c: f64,
    /// Whether its certificate had run out on the day of the check.
    pub expired: bool,
    /// On which day.
    #[schema(format = Date)]
    pub made_on: String,
    /// What the thermometer showed, uncorrected [°C].
    pub indicated_c: f64,
    /// Standard uncertainty of what it showed [°C].
    #[schema(required)]
    pub standard_uncertainty_c: Option<f64>,
    /// Heating rate through the melting [°C/min].
    #[schema(required)]
    pub heating_rate_c_per_min: Option<f64>,
    /// The thermometer, in the bench's words of that day.
    #[schema(required)]
    pub thermometer: Option<String>,
    /// The tube of a reading that it was taken from.
    #[schema(required)]
    pub from: Option<TubeRef>,
    /// Anything else.
    #[schema(required)]
    pub remarks: Option<String>,
    /// Whether it does not count; `reason` says why.
    pub void: bool,
    /// The correction in force on that day [°C]; 0 where there was none.
    pub correction_c: f64,
    /// Indicated, with that correction, less the reference [°C].
    pub off_c: f64,
    /// Whether the calibration in force on that day was fitted to it: then it says little about it.
    pub own: bool,
}

/// What a point of a drift chart is of.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct ChartDay {
    /// Which check.
    #[schema(value_type = String, format = Uuid)]
    pub check: CheckId,
    /// Its day.
    #[schema(format = Date)]
    pub made_on: String,
    /// Name of the reference substance.
    pub substance: String,
    /// Whether the calibration in force on that day was fitted to it.
    pub own: bool,
}

/// One thermometer with everything on it.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Thermometer {
    /// As in the list.
    pub row: ThermometerRow,
    /// The latest record of its bench, to supersede.
    #[schema(value_type = String, format = Uuid)]
    pub bench_record: RecordId,
    /// How often it is to be checked [days]; null where the bench does not say: 90.
    #[schema(required)]
    pub check_every_days: Option<u32>,
    /// Hottest the bench may become [°C].
    #[schema(required)]
    pub max_c: Option<f64>,
    /// Its checks, newest first.
    pub checks: Vec<CheckView>,
    /// How it drifts: the checks that count in order of time; null with too few of them.
    #[schema(required, value_type = Option<ChartShape>)]
    pub chart: Option<metrology::ControlChart>,
    /// What the points of the chart are of, in the same order.
    pub chart_days: Vec<ChartDay>,
    /// By which rules the chart raises an alarm.
    pub chart_rules: Vec<ChartRule>,
    /// Its calibrations, newest first.
    pub calibrations: Vec<CalibrationView>,
}

/// A rule by which a chart raises an alarm.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct ChartRule {
    /// What it says.
    pub text: &'static str,
    /// Where it is from.
    pub source: &'static str,
}

impl From<metrology::ChartRule> for ChartRule {
    fn from(rule: metrology::ChartRule) -> Self {
        Self {
            text: rule.in_words(),
            source: rule.source(),
        }
    }
}

/// What is to hold of a bench's thermometer from now on.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ThermometerRevision {
    /// The bench's record that this takes the place of: the latest one known to the page.
    #[schema(value_type = String, format = Uuid)]
    pub supersedes: RecordId,
    /// The thermometer, in words; another one has none of the calibrations of the one before.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub thermometer: Option<String>,
    /// How often it is to be checked [days].
    #[serde(default)]
    #[schema(minimum = 1, maximum = 3650)]
    pub check_every_days: Option<u32>,
    /// Hottest the bench may become [°C].
    #[serde(default)]
    #[schema(minimum = 1, maximum = 1000)]
    pub max_c: Option<f64>,
    /// Why.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub reason: Option<String>,
}

/// What a reference substance showed.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckContent {
    /// Which reference substance.
    #[schema(value_type = String, format = Uuid)]
    pub standard: StandardId,
    /// On which day; a date, not after today.
    #[schema(format = Date)]
    pub made_on: String,
    /// What the thermometer showed, uncorrected [°C]; not above what the bench may become.
    #[schema(minimum = -273.15, maximum = 1000)]
    pub indicated_c: f64,
    /// Standard uncertainty of what it showed [°C].
    #[serde(default)]
    #[schema(exclusive_minimum = 0, maximum = 100)]
    pub standard_uncertainty_c: Option<f64>,
    /// Heating rate through the melting [°C/min].
    #[serde(default)]
    #[schema(exclusive_minimum = 0, maximum = 1000)]
    pub heating_rate_c_per_min: Option<f64>,
    /// The tube of a reading that it was taken from.
    #[serde(default)]
    pub from: Option<TubeRef>,
    /// Anything else.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub remarks: Option<String>,
}

/// A check voided, or as it is to be from now on: one of the two.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckRevision {
    /// The record that this takes the place of: the latest one known to the page.
    #[schema(value_type = String, format = Uuid)]
    pub supersedes: RecordId,
    /// Why.
    #[schema(min_length = 1, max_length = 4000)]
    pub reason: String,
    /// Whether it does not count from now on.
    #[serde(default)]
    pub void: Option<bool>,
    /// All of its content, changed or not.
    #[serde(default)]
    pub check: Option<CheckContent>,
}

/// A thermometer as a result names it.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct ThermometerOfResult {
    /// Which bench.
    #[schema(value_type = String, format = Uuid)]
    pub bench: BenchId,
    /// What the bench is called.
    pub name: String,
    /// How far it could be relied on, on the day of the run; of several runs the worst.
    pub state: ThermometerState,
    /// Why, in words.
    pub reasons: Vec<String>,
    /// How far it can be relied on today.
    pub state_today: ThermometerState,
    /// Why, in words.
    pub reasons_today: Vec<String>,
}

/// Thermometers of today that somebody should look at, by state.
#[derive(Debug, Default, Serialize, ToSchema)]
pub struct ThermometersToday {
    /// The next check is due.
    pub due: Vec<ThermometerRow>,
    /// The next check is long overdue.
    pub overdue: Vec<ThermometerRow>,
    /// The latest check is further off than chance explains.
    pub out_of_control: Vec<ThermometerRow>,
    /// Used in runs and never checked.
    pub never_checked: Vec<ThermometerRow>,
}
