//! Benches.

use serde::{Deserialize, Serialize};

/// A heating apparatus with its thermometer, camera and tube places.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
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
    /// How often its thermometer is to be checked [days], 1..=3650. Left out of the record where it is not
    /// said, like the next one, so that records of older books keep their hashes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub check_every_days: Option<u32>,
    /// Hottest it may become [°C].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_c: Option<f64>,
}
