//! Kinds and states by name, the same names that a book and the command line use.

use meltrange_labbook as kept;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// An enum of the lab book's as it goes over the wire: same variants, same names.
macro_rules! mirrored {
    ($(#[$doc:meta])* $name:ident { $($variant:ident),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
        #[serde(rename_all = "snake_case")]
        pub enum $name {
            $($variant,)*
        }

        impl From<kept::$name> for $name {
            fn from(found: kept::$name) -> Self {
                match found {
                    $(kept::$name::$variant => Self::$variant,)*
                }
            }
        }

        impl From<$name> for kept::$name {
            fn from(found: $name) -> Self {
                match found {
                    $($name::$variant => Self::$variant,)*
                }
            }
        }
    };
}

mirrored! {
    /// What became of the content of a tube.
    Outcome { Melted, PartlyMelted, Unmelted, Decomposed, Empty }
}

mirrored! {
    /// What a remark is about.
    RemarkKind {
        Settling, Shrinkage, Wetting, Bubbles, Darkening, Sublimate, Occlusion, CameraMoved,
        ExposureChange, Refocus, CannotTell,
    }
}

mirrored! {
    /// What a quality flag is about.
    QualityKind {
        HeatingTooFast, StartedInsideMelting, EndedBeforeLastCrystal, ColumnTooTall, LogGap,
        VideoDamaged, LogRepaired, FramesTooFarApart,
    }
}

mirrored! {
    /// What a person may do.
    Role { Supervisor, Analyst, Student, Viewer }
}

mirrored! {
    /// How far a sample is.
    Standing { Unread, Read, NotAgreed, Agreed }
}

mirrored! {
    /// How far a recording is.
    RecordingState { UnderWay, WaitsForReading, Read }
}

mirrored! {
    /// How far a run is.
    RunState { UnderWay, Ended, Broken }
}

mirrored! {
    /// What the temperatures of a result are.
    Convention { AsLogged, Thermodynamic, AtRate, NotStated }
}

mirrored! {
    /// In which order samples come.
    SampleOrder { Newest, Label }
}

mirrored! {
    /// Of what kind a record is.
    Kind {
        Opening, Person, Sample, Bench, Run, Event, Recording, Reading, Confirmation, Override,
        Determination, SampleVerdict, SignOff, PastResult, Received, Standard, Check, Calibration,
        Practical, PracticalStep, PracticeAttempt,
    }
}

mirrored! {
    /// What a signature means: that pictures, readings and computation were looked through, or also that the
    /// result may be used.
    SignOffMeaning { Reviewed, ReviewedAndApproved }
}

mirrored! {
    /// What may change after a signature: what is kept of the sample itself, readings of its tubes and decisions on
    /// them, the result, or what is said of the sample.
    ChangedSince { Sample, Readings, Result, Verdict }
}

mirrored! {
    /// Whether temperatures were corrected; "not_stated" where nobody wrote whether.
    CorrectionMark { Corrected, Uncorrected, NotStated }
}
