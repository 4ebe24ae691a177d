//! `[heater]`.

use serde::{Deserialize, Serialize};

/// What heats.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum HeaterSpec {
    /// A person turns the knob; the coach says how.
    #[default]
    ByHand,
    /// Of the simulated bench.
    Simulated,
}
