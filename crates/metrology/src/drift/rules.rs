//! The rules by which a chart raises an alarm, in words and with their sources.

use serde::{Deserialize, Serialize};

/// Points in a row on one side of the centre that are too many.
pub(crate) const RUN_ON_ONE_SIDE: usize = 8;

/// A rule by which a point of a chart is no longer taken for chance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum ChartRule {
    /// A point beyond three standard deviations of the centre.
    BeyondLimits,
    /// Two checks in a row further apart than their moving range may be.
    MovingRange,
    /// The exponentially weighted average beyond its limits.
    WeightedAverage,
    /// Eight points in a row on one side of the centre.
    RunOnOneSide,
}

impl ChartRule {
    /// All of them.
    pub const ALL: [Self; 4] = [
        Self::BeyondLimits,
        Self::MovingRange,
        Self::WeightedAverage,
        Self::RunOnOneSide,
    ];

    /// What it says.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::BeyondLimits => {
                "one check further than three standard deviations from the centre"
            }
            Self::MovingRange => {
                "two checks in a row further apart than 3.27 times the mean moving range"
            }
            Self::WeightedAverage => {
                "the exponentially weighted average of the checks further from the centre than its limits, which shows a slow drift"
            }
            Self::RunOnOneSide => "eight checks in a row on one side of the centre",
        }
    }

    /// Where it is from.
    pub fn source(self) -> &'static str {
        match self {
            Self::BeyondLimits | Self::MovingRange => {
                "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (individuals and moving range)"
            }
            Self::WeightedAverage => {
                "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4 (exponentially weighted moving average)"
            }
            Self::RunOnOneSide => {
                "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 (Western Electric rules)"
            }
        }
    }
}

/// All rules.
pub fn chart_rules() -> [ChartRule; 4] {
    ChartRule::ALL
}
