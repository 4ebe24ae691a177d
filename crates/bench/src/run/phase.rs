//! How far a run is: one table of what may follow what.

use serde::Serialize;

/// How far a run is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// Its legs are gone through.
    Running,
    /// The temperature is kept where it is until the person goes on.
    Holding,
    /// The heater is off until the person goes on.
    Paused,
    /// Something is wrong: the heater is off until it is mended and the person goes on.
    Suspended,
    /// It is over; the heater is being switched off.
    Stopping,
    /// It must be ended because something is wrong; the heater is being switched off.
    Failing,
    /// Over, as planned or as the person wished.
    Ended,
    /// Over because something was wrong.
    Broken,
}

/// What makes a run change its phase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trigger {
    /// The person holds the temperature.
    Hold,
    /// The person takes the heat away for a while.
    Pause,
    /// The person goes on.
    Resume,
    /// The person ends it.
    Stop,
    /// The last leg is over.
    Done,
    /// Something is wrong that can be mended.
    Suspend,
    /// Something is wrong that must end it.
    Fail,
    /// The heater said that it is off, or a person was told to switch it off.
    HeaterOff,
    /// The heater does not say so.
    HeaterLost,
}

impl Phase {
    /// What follows; none when the trigger means nothing here.
    pub fn after(self, trigger: Trigger) -> Option<Self> {
        use Phase::{Broken, Ended, Failing, Holding, Paused, Running, Stopping, Suspended};
        match (self, trigger) {
            (Running, Trigger::Hold) => Some(Holding),
            (Running | Holding, Trigger::Pause) => Some(Paused),
            (Holding | Paused | Suspended, Trigger::Resume) => Some(Running),
            (Running | Holding, Trigger::Suspend) => Some(Suspended),
            (Running, Trigger::Done) => Some(Stopping),
            (Running | Holding | Paused | Suspended, Trigger::Stop) => Some(Stopping),
            (Running | Holding | Paused | Suspended, Trigger::Fail) => Some(Failing),
            (Stopping, Trigger::HeaterOff) => Some(Ended),
            (Stopping | Failing, Trigger::HeaterLost) | (Failing, Trigger::HeaterOff) => {
                Some(Broken)
            }
            _ => None,
        }
    }

    /// Whether the heater may be on.
    pub fn may_heat(self) -> bool {
        matches!(self, Self::Running | Self::Holding)
    }

    /// Whether nothing more can happen.
    pub fn is_over(self) -> bool {
        matches!(self, Self::Ended | Self::Broken)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Phase::{Broken, Ended, Failing, Holding, Paused, Running, Stopping, Suspended};

    const ALL: [Phase; 8] = [
        Running, Holding, Paused, Suspended, Stopping, Failing, Ended, Broken,
    ];
    const TRIGGERS: [Trigger; 9] = [
        Trigger::Hold,
        Trigger::Pause,
        Trigger::Resume,
        Trigger::Stop,
        Trigger::Done,
        Trigger::Suspend,
        Trigger::Fail,
        Trigger::HeaterOff,
        Trigger::HeaterLost,
    ];

    #[test]
    fn whatever_happens_a_run_can_be_ended_and_stays_ended() {
        for phase in ALL {
            for trigger in TRIGGERS {
                let next = phase.after(trigger);
                if phase.is_over() {
                    assert_eq!(next, None, "{phase:?} {trigger:?}");
                }
                // Only a person brings the heat back.
                if !phase.may_heat() && next.is_some_and(Phase::may_heat) {
                    assert_eq!(trigger, Trigger::Resume, "{phase:?}");
                }
            }
            if !phase.is_over() && !matches!(phase, Stopping | Failing) {
                assert_eq!(phase.after(Trigger::Stop), Some(Stopping));
                assert_eq!(phase.after(Trigger::Fail), Some(Failing));
            }
            if matches!(phase, Stopping | Failing) {
                assert!(phase.after(Trigger::HeaterOff).is_some_and(Phase::is_over));
                assert_eq!(phase.after(Trigger::HeaterLost), Some(Broken));
            }
        }
    }
}
