//! Drivers of heaters, one file each.

mod by_hand;
mod modbus;
mod serial;
pub(crate) mod template;

pub(crate) use by_hand::HandHeater;
pub(crate) use modbus::ModbusHeater;
pub(crate) use serial::SerialHeater;

use std::time::Duration;

/// A command has to be carried out or refused within this long.
const COMMAND: Duration = Duration::from_secs(1);
