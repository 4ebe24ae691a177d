//! What is known of the display beforehand.

use serde::{Deserialize, Serialize};

/// How the digits are made up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DigitStyle {
    /// Seven segments.
    SevenSegment,
    /// Dots, five columns by seven rows.
    DotMatrix,
    /// Either; a picture that reads differently both ways is unreadable.
    Either,
}

/// Which is brighter, the digits or the face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lit {
    /// Light-emitting digits.
    BrightOnDark,
    /// Liquid crystal with a light face.
    DarkOnBright,
    /// Either; a picture that reads differently both ways is unreadable.
    Either,
}

/// What is known of the display beforehand. The more is said, the more pictures can be read.
///
/// The default: up to three digits before the point, one after it, style and polarity unknown,
/// 0 to 400 °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct DisplaySpec {
    /// Most digits before the point, 1 to 4.
    pub digits_before: usize,
    /// Digits after the point, 0 to 2; exactly so many, and the point must be seen.
    pub decimals: usize,
    /// How the digits are made up.
    pub style: DigitStyle,
    /// Which is brighter, digits or face.
    pub lit: Lit,
    /// Lowest temperature that the apparatus can show [°C].
    pub lowest_c: f64,
    /// Highest temperature that the apparatus can show [°C].
    pub highest_c: f64,
}

impl Default for DisplaySpec {
    fn default() -> Self {
        Self {
            digits_before: 3,
            decimals: 1,
            style: DigitStyle::Either,
            lit: Lit::Either,
            lowest_c: 0.0,
            highest_c: 400.0,
        }
    }
}

impl DisplaySpec {
    /// Digits after the point as it is used: never more than two.
    pub(crate) fn decimals_used(&self) -> usize {
        self.decimals.min(2)
    }

    /// Digits before the point as it is used: one to four.
    pub(crate) fn digits_before_used(&self) -> usize {
        self.digits_before.clamp(1, 4)
    }
}
