//! Samples.

use serde::{Deserialize, Serialize};

/// Something whose melting range is wanted.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Sample {
    /// What stands on the vial; unique in the book, whatever the case of its letters.
    pub label: String,
    /// Where it comes from.
    #[serde(default)]
    pub origin: Option<String>,
    /// What it is thought to be.
    #[serde(default)]
    pub expected_substance: Option<String>,
    /// Hazards noted by the person. What is not noted is not thereby harmless.
    #[serde(default)]
    pub hazards: Option<String>,
    /// How it was made ready.
    #[serde(default)]
    pub preparation: Preparation,
    /// Anything else.
    #[serde(default)]
    pub remarks: Option<String>,
}

/// The checklist of making a sample ready; what is `None` was not noted.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Preparation {
    /// Dried.
    #[serde(default)]
    pub dried: Option<bool>,
    /// Ground fine.
    #[serde(default)]
    pub ground: Option<bool>,
    /// Height of the packed column [mm]; 2 to 3 is common practice.
    #[serde(default)]
    pub column_height_mm: Option<f64>,
    /// Solvent it was crystallised from or may still hold.
    #[serde(default)]
    pub solvent: Option<String>,
}
