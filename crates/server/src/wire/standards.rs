//! Reference substances.

use super::of_metrology::{ConventionShape, UsualStandardShape};
use meltrange_labbook as kept;
use meltrange_labbook::{PersonId, RecordId, StandardId, When};
use meltrange_metrology as metrology;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Which of the two moments a reference value means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum StandardEnd {
    /// The first definite liquid.
    FirstLiquid,
    /// The last of the solid.
    LastCrystal,
}

/// What is kept of a reference substance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StandardContent {
    /// Name of the substance.
    #[schema(min_length = 1, max_length = 200)]
    pub substance: String,
    /// CAS Registry Number.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub cas: Option<String>,
    /// The value on the label or certificate [°C].
    #[schema(minimum = -273.15, maximum = 1000)]
    pub reference_c: f64,
    /// Its standard uncertainty [°C].
    #[serde(default)]
    #[schema(exclusive_minimum = 0, maximum = 100)]
    pub standard_uncertainty_c: Option<f64>,
    /// Which melting point the value is.
    #[schema(value_type = ConventionShape)]
    pub convention: metrology::Convention,
    /// Which moment the value means.
    pub end: StandardEnd,
    /// Lot.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub lot: Option<String>,
    /// Last day on which the certificate holds; a date.
    #[serde(default)]
    #[schema(format = Date)]
    pub expires: Option<String>,
    /// Where the value stands.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub source: Option<String>,
    /// Cautions noted. What is not noted is not thereby harmless.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub cautions: Option<String>,
    /// Anything else.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub remarks: Option<String>,
    /// Whether it is no longer used.
    #[serde(default)]
    pub retired: bool,
}

impl From<StandardEnd> for kept::StandardEnd {
    fn from(given: StandardEnd) -> Self {
        match given {
            StandardEnd::FirstLiquid => Self::FirstLiquid,
            StandardEnd::LastCrystal => Self::LastCrystal,
        }
    }
}

impl From<kept::StandardEnd> for StandardEnd {
    fn from(found: kept::StandardEnd) -> Self {
        match found {
            kept::StandardEnd::FirstLiquid => Self::FirstLiquid,
            kept::StandardEnd::LastCrystal => Self::LastCrystal,
        }
    }
}

impl From<kept::Standard> for StandardContent {
    fn from(found: kept::Standard) -> Self {
        Self {
            substance: found.substance,
            cas: found.cas,
            reference_c: found.reference_c,
            standard_uncertainty_c: found.standard_uncertainty_c,
            convention: found.convention,
            end: found.end.into(),
            lot: found.lot,
            expires: found.expires.map(|date| date.to_string()),
            source: found.source,
            cautions: found.cautions,
            remarks: found.remarks,
            retired: found.retired,
        }
    }
}

/// A reference substance as it is to be from now on.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StandardRevision {
    /// The record that this takes the place of: the latest one known to the page.
    #[schema(value_type = String, format = Uuid)]
    pub supersedes: RecordId,
    /// All of its content, changed or not.
    pub standard: StandardContent,
    /// Why.
    #[serde(default)]
    #[schema(max_length = 4000)]
    pub reason: Option<String>,
}

/// A reference substance in the book.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct StandardRow {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: StandardId,
    /// The latest record of it.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Whose record.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub when: When,
    /// What that says.
    pub standard: StandardContent,
    /// Whether its certificate has run out by today.
    pub expired: bool,
}

/// All reference substances.
#[derive(Debug, Serialize, ToSchema)]
pub struct Standards {
    /// Those in the book, by reference value.
    pub rows: Vec<StandardRow>,
    /// Substances that are usual for this, to choose from; the value to enter is the label's.
    #[schema(value_type = Vec<UsualStandardShape>)]
    pub usual: &'static [metrology::UsualStandard],
}
