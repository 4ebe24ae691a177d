//! Reference substances.

use serde::{Deserialize, Serialize};

/// Which of the two moments a reference value means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StandardEnd {
    /// The first definite liquid.
    FirstLiquid,
    /// The last of the solid.
    LastCrystal,
}

impl StandardEnd {
    /// As written in records and files.
    pub fn name(self) -> &'static str {
        match self {
            Self::FirstLiquid => "first_liquid",
            Self::LastCrystal => "last_crystal",
        }
    }
}

/// A reference substance with the value on its label or certificate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Standard {
    /// Name of the substance.
    pub substance: String,
    /// CAS Registry Number.
    #[serde(default)]
    pub cas: Option<String>,
    /// The reference value [°C].
    pub reference_c: f64,
    /// Standard uncertainty of the reference value [°C], > 0.
    #[serde(default)]
    pub standard_uncertainty_c: Option<f64>,
    /// Which melting point the reference value is.
    pub convention: meltrange_metrology::Convention,
    /// Which moment the reference value means.
    pub end: StandardEnd,
    /// Lot.
    #[serde(default)]
    pub lot: Option<String>,
    /// Last day on which the certificate holds.
    #[serde(default)]
    pub expires: Option<jiff::civil::Date>,
    /// Where the value stands.
    #[serde(default)]
    pub source: Option<String>,
    /// Cautions noted. What is not noted is not thereby harmless.
    #[serde(default)]
    pub cautions: Option<String>,
    /// Anything else.
    #[serde(default)]
    pub remarks: Option<String>,
    /// Whether it is no longer used.
    #[serde(default)]
    pub retired: bool,
}

impl Standard {
    /// Whether its certificate has run out before `day`; no without a date.
    pub fn expired_on(&self, day: jiff::civil::Date) -> bool {
        self.expires.is_some_and(|last| last < day)
    }
}
