//! Draft or signed: who stands behind a report, and whether the book it comes from is whole.

use super::{Part, Report, Stamp};
use serde::{Deserialize, Serialize};

/// Whether a second person stands behind a report.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "is", deny_unknown_fields)]
pub enum SignOff {
    /// Nobody has reviewed it.
    #[default]
    Draft,
    /// A second person has.
    Reviewed {
        /// Who.
        by: String,
        /// When.
        when: Stamp,
        /// What the signature means.
        #[serde(default)]
        meaning: Meaning,
        /// What they say of it, in words.
        #[serde(default)]
        statement: Option<String>,
        /// Name of the record of the review.
        #[serde(default)]
        record: Option<String>,
    },
    /// A second person had, and what they signed is not what is reported now.
    Outdated {
        /// Who.
        by: String,
        /// When they signed.
        when: Stamp,
        /// What is no longer as it was.
        changed: Vec<ChangedSince>,
    },
    /// A second person had, and it was taken back.
    Withdrawn {
        /// Who signed.
        by: String,
        /// When they signed.
        when: Stamp,
        /// Why it was taken back.
        reason: String,
    },
}

/// What a signature means.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Meaning {
    /// Pictures, readings and computation were looked through.
    #[default]
    Reviewed,
    /// So they were, and the result may be used.
    ReviewedAndApproved,
}

/// What may change after a signature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ChangedSince {
    /// What is kept of the sample itself.
    Sample,
    /// A tube was read or decided on.
    Readings,
    /// The result was stated anew.
    Result,
    /// Something else is said of the sample, or nothing.
    Verdict,
}

/// What verification said of the lab book's chain of records.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "is", deny_unknown_fields)]
pub enum Chain {
    /// Every record and every recording of the report is as it was written.
    Verified {
        /// When that was found.
        when: Stamp,
        /// How many records the chain has.
        records: u64,
        /// SHA-256 of the newest, hexadecimal.
        head: String,
    },
    /// Nobody looked.
    #[default]
    NotVerified,
    /// Something was altered, or is missing.
    Broken {
        /// What, in words.
        found: String,
    },
}

/// How a report may be shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// With a watermark that says so.
    Draft,
    /// As reviewed and signed off.
    Signed,
}

/// Why a report cannot be shown as signed off.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum StandingError {
    /// The book was altered.
    #[error(
        "report {number} is signed off by {by}, but its lab book does not verify: {found}; expected an unbroken chain. Find out what was altered with `meltrange book verify`, and take the book from an unaltered copy"
    )]
    Broken {
        /// Which report.
        number: String,
        /// Who signed.
        by: String,
        /// What verification found.
        found: String,
    },
    /// Nobody verified the book.
    #[error(
        "report {number} is signed off by {by}, but its lab book was not verified; expected a verified chain. Verify the book first"
    )]
    NotVerified {
        /// Which report.
        number: String,
        /// Who signed.
        by: String,
    },
    /// Whoever signed had a part in the work.
    #[error(
        "report {number} is signed off by {by}, who also measured, read or stated it; expected a second person. Ask somebody else to review it"
    )]
    SamePerson {
        /// Which report.
        number: String,
        /// Who signed.
        by: String,
    },
    /// There is no name to the signature.
    #[error(
        "report {number} is signed off by nobody; expected a name. Have the second person sign anew"
    )]
    NoName {
        /// Which report.
        number: String,
    },
}

impl Report {
    /// How the report may be shown: signed only where a second person signed *and* the book verifies.
    ///
    /// Everything that renders asks this first, so that no altered book yields a signed report.
    ///
    /// # Errors
    /// [`StandingError`] where it is signed off and must not be shown as such.
    pub fn standing(&self) -> Result<Standing, StandingError> {
        let SignOff::Reviewed { by, .. } = &self.sign_off else {
            return Ok(Standing::Draft);
        };
        let number = self.number.clone();
        if folded(by).is_empty() {
            return Err(StandingError::NoName { number });
        }
        let by = by.clone();
        let took_part = self
            .people
            .iter()
            .any(|person| person.part != Part::Supervised && folded(&person.name) == folded(&by));
        if took_part {
            return Err(StandingError::SamePerson { number, by });
        }
        match &self.chain {
            Chain::Verified { .. } => Ok(Standing::Signed),
            Chain::NotVerified => Err(StandingError::NotVerified { number, by }),
            Chain::Broken { found } => Err(StandingError::Broken {
                number,
                by,
                found: found.clone(),
            }),
        }
    }
}

/// A name as it is compared: whatever the case of its letters and the spaces around them.
fn folded(name: &str) -> String {
    let words: Vec<String> = name.split_whitespace().map(str::to_lowercase).collect();
    words.join(" ")
}
