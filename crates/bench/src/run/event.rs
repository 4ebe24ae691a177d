//! What happened in a run, for the record.

use meltrange_planning::LegKind;
use serde::{Deserialize, Serialize};

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RunEvent {
    /// From the start of the run [s].
    pub time_s: f64,
    /// What.
    pub what: Happening,
    /// In words.
    pub text: String,
}

/// What kind of thing happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum Happening {
    /// A leg began.
    Leg,
    /// The person pressed a key.
    Pressed,
    /// The person marked a moment of a tube.
    Marked,
    /// The engine called a moment of a tube, provisionally.
    Called,
    /// A safety rule stepped in.
    Fault,
    /// What had been wrong is well again.
    Mended,
    /// A device was lost or came back.
    Device,
    /// A doubt about pictures or times.
    Doubt,
    /// The run is over.
    Over,
}

/// What can be wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
// Named apart from the faults of a request that was refused.
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema), schema(as = RunFault))]
#[serde(rename_all = "snake_case")]
pub enum Fault {
    /// Above the bench's limit.
    OverTemperature,
    /// No temperature for too long.
    ThermometerSilent,
    /// The indication stands still though the block must have changed.
    ThermometerFrozen,
    /// The indication changes faster than a block can.
    ThermometerJumping,
    /// It heats though it should hold or be off.
    HeatingUnasked,
    /// The block does not follow the setpoint.
    NotFollowing,
    /// The heater does not take commands.
    HeaterLost,
    /// No page has looked for too long.
    Unwatched,
    /// The recording cannot be kept any more, not even in memory.
    RecordingLost,
}

impl Fault {
    /// Whether the run can go on once it is mended.
    pub fn can_be_mended(self) -> bool {
        match self {
            Self::OverTemperature | Self::HeatingUnasked => false,
            Self::ThermometerSilent
            | Self::ThermometerFrozen
            | Self::ThermometerJumping
            | Self::NotFollowing
            | Self::HeaterLost
            | Self::Unwatched
            | Self::RecordingLost => true,
        }
    }
}

/// A leg in words.
pub(crate) fn leg_words(kind: LegKind) -> &'static str {
    match kind {
        LegKind::Approach => "approach",
        LegKind::Soak => "soak",
        LegKind::Attend => "attend: waiting for the person",
        LegKind::Scan => "scan",
        LegKind::Cool => "cool: heater off",
    }
}
