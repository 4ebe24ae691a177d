//! Who keeps what a run gives.

use crate::run::{Mark, Phase, RunEvent};
use std::sync::Arc;

/// Keeps the pictures, temperatures and events of one run. No call may wait: a slow disk is the
/// recorder's to bridge.
pub trait Recorder: Send {
    /// A picture (JPEG, as captured), time from the start of the run [s], rising.
    ///
    /// # Errors
    /// In words, when it cannot be kept.
    fn picture(&mut self, time_s: f64, jpeg: Arc<[u8]>) -> Result<(), String>;

    /// A temperature as indicated [°C], time from the start of the run [s], rising.
    ///
    /// # Errors
    /// In words, when it cannot be kept.
    fn temperature(&mut self, time_s: f64, temperature_c: f64) -> Result<(), String>;

    /// What happened.
    fn events(&mut self, events: Vec<RunEvent>);

    /// What keeps it from writing now, and what waits for it; none when all is well.
    fn trouble(&self) -> Option<String>;

    /// Pictures and temperatures are complete; the run may go on cooling.
    fn recorded(&mut self, marks: &[Mark]);

    /// The run is over.
    fn over(self: Box<Self>, phase: Phase, why: &str, marks: &[Mark]);
}
