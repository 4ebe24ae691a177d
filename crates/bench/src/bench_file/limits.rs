//! When to step in.

use serde::{Deserialize, Serialize};

/// Limits of the safety rules; `docs/models/bench.md` says what each does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Limits {
    /// The thermometer counts as silent after this long without a temperature [s].
    pub silent_s: f64,
    /// It counts as frozen when the setpoint moved this far and the indication not at all [°C].
    pub frozen_c: f64,
    /// It jumps when it changes faster than this [°C/s].
    pub jump_c_per_s: f64,
    /// The block does not follow when it stays this far behind or ahead of the setpoint in a soak or a scan [°C].
    pub following_c: f64,
    /// For so long [s].
    pub following_s: f64,
    /// Rise above a temperature that is to be held at which the heater is taken to run away [°C].
    pub hold_rise_c: f64,
    /// So long the person is waited for before the scan; then it cools [min].
    pub attend_min: f64,
    /// So long a run started from a page goes on with no page looking [s].
    pub unwatched_s: f64,
    /// So long a suspended run waits for the person before it ends [min].
    pub suspended_min: f64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            silent_s: 5.0,
            frozen_c: 3.0,
            jump_c_per_s: 3.0,
            following_c: 8.0,
            following_s: 30.0,
            hold_rise_c: 3.0,
            attend_min: 15.0,
            unwatched_s: 60.0,
            suspended_min: 10.0,
        }
    }
}

impl Limits {
    /// Each with its name, what it is, its least, its most and its unit.
    pub(crate) fn ranges(&self) -> [(&'static str, f64, f64, f64, &'static str); 9] {
        [
            ("silent_s", self.silent_s, 0.5, 60.0, "s"),
            ("frozen_c", self.frozen_c, 0.2, 50.0, "°C"),
            ("jump_c_per_s", self.jump_c_per_s, 0.2, 100.0, "°C/s"),
            ("following_c", self.following_c, 0.5, 100.0, "°C"),
            ("following_s", self.following_s, 5.0, 600.0, "s"),
            ("hold_rise_c", self.hold_rise_c, 0.5, 50.0, "°C"),
            ("attend_min", self.attend_min, 0.5, 240.0, "min"),
            ("unwatched_s", self.unwatched_s, 5.0, 3600.0, "s"),
            ("suspended_min", self.suspended_min, 0.5, 240.0, "min"),
        ]
    }
}
