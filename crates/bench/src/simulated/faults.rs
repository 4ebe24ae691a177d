//! What can be made to go wrong with a simulated bench.

use serde::{Deserialize, Serialize};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

/// Something to go wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
#[repr(u8)]
pub enum SimulatedFault {
    /// The thermometer's plug is out.
    ThermometerUnplugged,
    /// It shows the same whatever the block does.
    ThermometerFrozen,
    /// Every other value is 60 °C too high.
    ThermometerJumping,
    /// Full power whatever is asked.
    HeaterStuck,
    /// No power whatever is asked.
    HeaterCold,
    /// It takes no commands.
    HeaterUnreachable,
    /// The camera's plug is out.
    CameraUnplugged,
}

/// Which of them are on; clones share them.
#[derive(Debug, Clone, Default)]
pub struct SimulatedFaults(Arc<AtomicU32>);

impl SimulatedFaults {
    /// Make it go wrong.
    pub fn provoke(&self, fault: SimulatedFault) {
        self.0.fetch_or(1 << fault as u8, Ordering::Relaxed);
    }

    /// Mend it.
    pub fn mend(&self, fault: SimulatedFault) {
        self.0.fetch_and(!(1 << fault as u8), Ordering::Relaxed);
    }

    /// Whether it is on.
    pub fn has(&self, fault: SimulatedFault) -> bool {
        self.0.load(Ordering::Relaxed) & (1 << fault as u8) != 0
    }
}
