//! One picture: what it says, or why it cannot be told.

use crate::dots;
use crate::glyph::Glyphs;
use crate::line::Line;
use crate::picture::Picture;
use crate::region::{DisplayRegion, Upright};
use crate::segments;
use crate::spec::{DigitStyle, DisplaySpec, Lit};
use crate::strip::Side;
use crate::unreadable::Unreadable;
use serde::Serialize;

/// What one picture says. Not yet a measurement: a picture taken in the middle of a refresh can show
/// a sound number that the display never meant. [`crate::DisplayReader`] sees to that.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FrameReading {
    /// Temperature shown [°C], as the display indicates it, uncorrected.
    pub indicated_c: f64,
    /// As shown: `122.4`.
    pub text: String,
    /// Least margin of any decision, as a fraction: 0 at the limit of refusing, 1 beyond doubt.
    pub margin_fraction: f64,
    /// In units of the last digit shown.
    pub last_digit_units: i64,
}

/// Reads one picture.
///
/// # Arguments
/// * `picture`: luma, `height × width`, row-major, 0..=255.
/// * `region`: where the digits stand in it.
/// * `spec`: what is known of the display.
///
/// # Errors
/// [`Unreadable`] says why there is no reading. Never panics.
///
/// # Range of use
/// Digits from 18 pixels high; docs/models/display.md has what was measured, and the limits.
pub fn read_frame(
    picture: &Picture<'_>,
    region: &DisplayRegion,
    spec: &DisplaySpec,
) -> Result<FrameReading, Unreadable> {
    let upright = Upright::new(region, picture)?;
    let sides: &[Side] = match spec.lit {
        Lit::BrightOnDark => &[Side::Brighter],
        Lit::DarkOnBright => &[Side::Darker],
        Lit::Either => &[Side::Brighter, Side::Darker],
    };
    let mut found: Option<FrameReading> = None;
    let mut refused = Unreadable::NoDigits;
    for &side in sides {
        let line = match Line::find(picture, upright, side) {
            Ok(line) => line,
            Err(why) => {
                refused = farther(refused, why);
                continue;
            }
        };
        for read in readers(spec.style) {
            let answer = read(&line, spec.decimals_used()).and_then(|glyphs| number(&glyphs, spec));
            match (answer, &found) {
                (Err(why), _) => refused = farther(refused, why),
                (Ok(reading), Some(other)) if other.text != reading.text => {
                    return Err(Unreadable::TwoWays {
                        first: other.text.clone(),
                        second: reading.text,
                    });
                }
                (Ok(reading), Some(other)) if other.margin_fraction >= reading.margin_fraction => {}
                (Ok(reading), _) => found = Some(reading),
            }
        }
    }
    found.ok_or(refused)
}

type Reader = fn(&Line, usize) -> Result<Glyphs, Unreadable>;

fn readers(style: DigitStyle) -> &'static [Reader] {
    match style {
        DigitStyle::SevenSegment => &[segments::read],
        DigitStyle::DotMatrix => &[dots::read],
        DigitStyle::Either => &[segments::read, dots::read],
    }
}

fn farther(one: Unreadable, other: Unreadable) -> Unreadable {
    if other.progress() > one.progress() {
        other
    } else {
        one
    }
}

/// The number of a decided line, checked against the display.
fn number(glyphs: &Glyphs, spec: &DisplaySpec) -> Result<FrameReading, Unreadable> {
    let (decimals, most_before) = (spec.decimals_used(), spec.digits_before_used());
    let text = glyphs.text();
    let before = glyphs.digits.len().saturating_sub(decimals);
    // "012.5" is a display with leading noughts, but "-0" and "00" are not numbers of one without;
    // both are read, the check is on how many places there are.
    if before == 0 || before > most_before {
        return Err(Unreadable::Format {
            found: text,
            digits_before: most_before,
            decimals,
        });
    }
    let units: i64 = glyphs
        .digits
        .iter()
        .filter_map(|glyph| glyph.digit.to_digit(10))
        .fold(0, |sum, digit| 10 * sum + i64::from(digit));
    let units = if glyphs.minus { -units } else { units };
    let indicated_c = units as f64 / 10_f64.powi(decimals as i32);
    if !(spec.lowest_c..=spec.highest_c).contains(&indicated_c) {
        return Err(Unreadable::OutOfRange {
            found_c: indicated_c,
            lowest_c: spec.lowest_c,
            highest_c: spec.highest_c,
        });
    }
    Ok(FrameReading {
        indicated_c,
        text,
        margin_fraction: f64::from(glyphs.margin),
        last_digit_units: units,
    })
}
