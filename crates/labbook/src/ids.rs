//! Names that no two things share: UUIDs of version 7 (RFC 9562), which sort by the time they were made.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A text that is not such a name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{found}\" is not an id; expected a UUID such as 0193a2c4-7b1e-7c3a-9d2f-1f0e2d3c4b5a")]
pub struct IdError {
    /// As given.
    pub found: String,
}

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(Uuid);

        impl $name {
            /// A new one, by the clock and at random.
            #[expect(clippy::new_without_default, reason = "a default would differ each time")]
            pub fn new() -> Self {
                Self(Uuid::now_v7())
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.hyphenated().fmt(formatter)
            }
        }

        impl std::str::FromStr for $name {
            type Err = IdError;

            fn from_str(text: &str) -> Result<Self, IdError> {
                // Only the one spelling that is written, so that equal ids are equal texts.
                Uuid::try_parse(text)
                    .ok()
                    .filter(|uuid| uuid.hyphenated().to_string() == text)
                    .map(Self)
                    .ok_or_else(|| IdError { found: text.chars().take(60).collect() })
            }
        }
    )*};
}

ids! {
    /// One record.
    RecordId;
    /// What records are about, whatever its kind; the same in a record and in those that supersede it.
    SubjectId;
    /// A person.
    PersonId;
    /// A sample.
    SampleId;
    /// A bench.
    BenchId;
    /// A run.
    RunId;
    /// A recording; also the name of its folder.
    RecordingId;
    /// A reading.
    ReadingId;
    /// A determination.
    DeterminationId;
    /// A verdict on a sample.
    VerdictId;
    /// A sign-off.
    SignOffId;
    /// A result from before the book.
    PastResultId;
    /// A reference substance.
    StandardId;
    /// A check of a thermometer.
    CheckId;
    /// A calibration of a thermometer.
    CalibrationId;
    /// A class session.
    PracticalId;
    /// Something done in a class session.
    StepId;
    /// A blind reading for practice.
    AttemptId;
}

macro_rules! subjects {
    ($($name:ident),*) => {$(
        impl From<$name> for SubjectId {
            fn from(id: $name) -> Self {
                Self(id.0)
            }
        }

        impl From<SubjectId> for $name {
            /// Does not look whether the subject is of this kind.
            fn from(id: SubjectId) -> Self {
                Self(id.0)
            }
        }
    )*};
}

subjects!(
    PersonId,
    SampleId,
    BenchId,
    RunId,
    RecordingId,
    ReadingId,
    DeterminationId,
    VerdictId,
    SignOffId,
    PastResultId,
    StandardId,
    CheckId,
    CalibrationId,
    PracticalId,
    StepId,
    AttemptId
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_print_as_they_parse() {
        let id = SampleId::new();
        assert_eq!(id.to_string().parse(), Ok(id));
        let upper = id.to_string().to_uppercase();
        let odd = upper.parse::<SampleId>();
        assert!(odd.is_err() || upper == id.to_string());
        assert!("../../etc".parse::<RecordingId>().is_err());
    }
}
