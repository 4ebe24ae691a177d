//! A knob that a person turns.

use crate::device::{Accepted, Heater, HeaterCommand, HeaterTraits};
use crate::error::DeviceError;
use async_trait::async_trait;

/// A heater without a wire: what it is asked for is advice to the person.
#[derive(Debug, Default)]
pub(crate) struct HandHeater;

#[async_trait]
impl Heater for HandHeater {
    fn traits(&self) -> HeaterTraits {
        HeaterTraits {
            by_hand: true,
            dead_man_s: None,
        }
    }

    async fn command(&mut self, command: HeaterCommand) -> Result<Accepted, DeviceError> {
        Ok(Accepted {
            setpoint_c: match command {
                HeaterCommand::Off { .. } => None,
                HeaterCommand::Setpoint { setpoint_c, .. } => Some(setpoint_c),
            },
        })
    }
}
