//! Benches.

use serde::{Deserialize, Serialize};

/// A heating apparatus with its thermometer, camera and tube places.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bench {
    /// What it is called; unique in the book.
    pub name: String,
    /// How many tubes it takes, 1..=3.
    pub places: u8,
    /// Its thermometer, in words.
    #[serde(default)]
    pub thermometer: Option<String>,
    /// Until when the thermometer's last check holds.
    #[serde(default)]
    pub thermometer_due: Option<jiff::civil::Date>,
}
