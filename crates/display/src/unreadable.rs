//! Why a picture was not read, in words.

use serde::Serialize;

/// Why there is no reading. A refusal is a result: nothing went wrong, but a value would be a guess.
#[derive(Debug, Clone, PartialEq, Serialize, thiserror::Error)]
#[serde(tag = "reason", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Unreadable {
    /// The marked region cannot be used.
    #[error("the marked region cannot be used: {fault}; mark the corners of the digits again")]
    Region {
        /// What is wrong with it.
        fault: &'static str,
    },
    /// Nothing that looks like a line of digits.
    #[error("no digits seen in the marked region: is the display on and the region in place?")]
    NoDigits,
    /// Digits differ too little from the face.
    #[error("the digits stand out by {contrast:.0} grey levels only; expected at least {least:.0}")]
    LowContrast {
        /// Digits against face [grey levels of 255].
        contrast: f64,
        /// What is needed.
        least: f64,
    },
    /// Something lit touches the edge of the region.
    #[error(
        "something reaches the edge of the marked region: mark it with more room around the digits"
    )]
    CutOff,
    /// Digits do not come apart, or edges are too soft.
    #[error("the digits are blurred: focus, come closer or hold still")]
    Blurred,
    /// Light on the face hides what would decide.
    #[error("light on the face hides place {digit}, or could: turn the lamp or shade the display")]
    Glare {
        /// Which place, counted from the left from 1; one more than there are digits when it is beside
        /// them.
        digit: usize,
    },
    /// Segments or digits of different brightness, as between two refreshes.
    #[error("digit {digit} is lit unevenly, as in the middle of a refresh")]
    PartlyRefreshed {
        /// Which digit, counted from the left from 1.
        digit: usize,
    },
    /// Something dim beside the digits.
    #[error("something dim stands beside the digits, as in the middle of a refresh")]
    DimBeside,
    /// A decided pattern that is no digit.
    #[error("place {digit} shows a shape that is no digit")]
    NoSuchDigit {
        /// Which place, counted from the left from 1.
        digit: usize,
    },
    /// Two digits fit nearly as well, or one fits badly.
    #[error("place {digit} could be {first} or {second}")]
    Ambiguous {
        /// Which place, counted from the left from 1.
        digit: usize,
        /// What fits best.
        first: char,
        /// What fits nearly as well.
        second: char,
    },
    /// The picture reads differently by another style or polarity.
    #[error(
        "the picture reads \"{first}\" one way and \"{second}\" another: state style and polarity"
    )]
    TwoWays {
        /// One text.
        first: String,
        /// The other text.
        second: String,
    },
    /// Digits not in one line of equal places.
    #[error("the digits do not stand at equal places in one line")]
    Uneven,
    /// More digits, or fewer, or the point elsewhere than the display has it.
    #[error(
        "\"{found}\" does not go with {digits_before} digits before the point and {decimals} after it"
    )]
    Format {
        /// What was seen.
        found: String,
        /// Most digits before the point.
        digits_before: usize,
        /// Digits after it.
        decimals: usize,
    },
    /// Lit or dark things besides the digits.
    #[error("there is more in the picture than the digits explain")]
    Unexplained,
    /// A sound number that the apparatus cannot show.
    #[error("{found_c} °C is outside what the apparatus can show, {lowest_c} to {highest_c} °C")]
    OutOfRange {
        /// What was read [°C].
        found_c: f64,
        /// Lowest possible [°C].
        lowest_c: f64,
        /// Highest possible [°C].
        highest_c: f64,
    },
    /// Read once, but not yet seen again.
    #[error("\"{text}\" was seen in {seen} of {needed} pictures in a row that are needed")]
    Unconfirmed {
        /// What was seen.
        text: String,
        /// Pictures in a row so far.
        seen: usize,
        /// Pictures in a row needed.
        needed: usize,
    },
    /// Seen again, but not yet for as long as a first value needs.
    #[error(
        "\"{text}\" has been seen for {for_s:.1} s of the {needed_s:.1} s that a first value needs"
    )]
    Unsettled {
        /// What was seen.
        text: String,
        /// For how long [s].
        for_s: f64,
        /// How long it takes [s].
        needed_s: f64,
    },
    /// Seen steadily, but farther from the last value than heating or cooling can go.
    #[error(
        "\"{text}\" is a jump from {last_c} °C {after_s:.1} s before: more than {bound_c_per_min} °C/min allows"
    )]
    Jump {
        /// What was seen.
        text: String,
        /// Last accepted value [°C].
        last_c: f64,
        /// Time since then [s].
        after_s: f64,
        /// Bound on the rate [°C/min].
        bound_c_per_min: f64,
    },
    /// The time does not come after the one before.
    #[error("time {found_s} s does not come after {before_s} s")]
    NotRising {
        /// Time of this picture [s].
        found_s: f64,
        /// Time of the picture before [s].
        before_s: f64,
    },
}

impl Unreadable {
    /// How far reading got: of several refusals, the one farthest on says most.
    pub(crate) fn progress(&self) -> u8 {
        match self {
            Self::Region { .. } | Self::NotRising { .. } => 0,
            Self::NoDigits => 1,
            Self::LowContrast { .. } => 2,
            Self::Uneven => 3,
            Self::Blurred => 4,
            Self::CutOff => 5,
            Self::Format { .. } => 6,
            Self::NoSuchDigit { .. } => 7,
            Self::Ambiguous { .. } => 8,
            Self::Unexplained => 9,
            Self::PartlyRefreshed { .. } | Self::DimBeside => 10,
            Self::Glare { .. } => 11,
            Self::TwoWays { .. } | Self::OutOfRange { .. } => 12,
            Self::Unconfirmed { .. } | Self::Unsettled { .. } | Self::Jump { .. } => 13,
        }
    }
}
