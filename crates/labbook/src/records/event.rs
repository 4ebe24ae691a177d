//! What happened in a run.

use crate::ids::RunId;
use serde::{Deserialize, Serialize};

/// Something that happened in a run. Its own subject: what was said of it wrongly can be said anew.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// In which run.
    pub run: RunId,
    /// From the start of the run [s].
    pub time_s: f64,
    /// What.
    pub what: EventKind,
    /// In words.
    pub text: String,
}

/// What kind of thing happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EventKind {
    /// A leg began.
    Leg,
    /// A person pressed a key.
    Pressed,
    /// A person marked a moment of a tube.
    Marked,
    /// The engine called a moment of a tube, provisionally.
    Called,
    /// A safety rule stepped in.
    Fault,
    /// What had been wrong is well again.
    Mended,
    /// A device was lost or came back.
    Device,
    /// A doubt about pictures, times or the disk.
    Doubt,
    /// The run is over.
    Over,
}

impl EventKind {
    /// As written in records and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Leg => "leg",
            Self::Pressed => "pressed",
            Self::Marked => "marked",
            Self::Called => "called",
            Self::Fault => "fault",
            Self::Mended => "mended",
            Self::Device => "device",
            Self::Doubt => "doubt",
            Self::Over => "over",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_in_files_are_those_in_records() {
        for kind in [
            EventKind::Leg,
            EventKind::Pressed,
            EventKind::Marked,
            EventKind::Called,
            EventKind::Fault,
            EventKind::Mended,
            EventKind::Device,
            EventKind::Doubt,
            EventKind::Over,
        ] {
            let written = serde_json::to_value(kind).expect("a name");
            assert_eq!(written, kind.name());
        }
    }
}
