//! Runs.

use crate::ids::{BenchId, SampleId};
use serde::{Deserialize, Serialize};

/// One heating of one load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Run {
    /// Where; none when the recording came from elsewhere.
    #[serde(default)]
    pub bench: Option<BenchId>,
    /// What stands in which place.
    pub load: Vec<LoadedTube>,
    /// How far it is.
    pub state: RunState,
    /// Anything else.
    #[serde(default)]
    pub remarks: Option<String>,
}

/// One tube of a load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LoadedTube {
    /// Its place, 1.. from left to right.
    pub place: u8,
    /// What is in it; none when empty or not known.
    pub sample: Option<SampleId>,
}

/// How far a run is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RunState {
    /// Heating, or about to.
    UnderWay,
    /// Ended as planned.
    Ended,
    /// Ended otherwise; the record's reason says why.
    Broken,
}
