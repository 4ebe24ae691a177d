//! Runs.

use crate::ids::{BenchId, SampleId};
use meltrange_planning::Programme;
use serde::{Deserialize, Serialize};

/// One heating of one load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Run {
    /// Where; none when the recording came from elsewhere.
    #[serde(default)]
    pub bench: Option<BenchId>,
    /// What stands in which place.
    pub load: Vec<LoadedTube>,
    /// The legs it was to go through and what for; none when nobody said. Left out of the record
    /// then, so that records of books that knew no programmes keep their hashes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub programme: Option<Programme>,
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

impl RunState {
    /// As written in records and tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::UnderWay => "under_way",
            Self::Ended => "ended",
            Self::Broken => "broken",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use meltrange_planning::{MeasuringOrder, Purpose};

    /// The very text of the payload in a book of form 1.
    #[test]
    fn a_run_without_a_programme_is_written_as_before_there_were_any() {
        let before =
            r#"{"bench":null,"load":[{"place":1,"sample":null}],"remarks":null,"state":"ended"}"#;
        let run: Run = serde_json::from_str(before).expect("it was kept");
        assert_eq!(run.programme, None);
        let now = serde_json_canonicalizer::to_string(&run).expect("finite");
        assert_eq!(now, before);
    }

    #[test]
    fn a_programme_comes_back_from_a_record() {
        let order = MeasuringOrder::around(121.6, 122.4);
        let programme = Programme::measuring(&order, 300.0).expect("in order");
        assert_eq!(programme.purpose(), Purpose::Measuring);
        let run = Run {
            bench: None,
            load: Vec::new(),
            programme: Some(programme),
            state: RunState::UnderWay,
            remarks: None,
        };
        let text = serde_json_canonicalizer::to_string(&run).expect("finite");
        assert!(text.contains(r#""purpose":"measuring""#), "{text}");
        assert_eq!(serde_json::from_str::<Run>(&text).expect("kept"), run);
    }
}
