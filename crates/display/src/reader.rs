//! Several pictures, one value: a number counts when it is seen again, and when heating can have
//! brought it about.

use crate::frame::{FrameReading, read_frame};
use crate::picture::Picture;
use crate::region::DisplayRegion;
use crate::spec::DisplaySpec;
use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};

/// What it takes to accept a value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Acceptance {
    /// The indicated temperature rises or falls by no more than this [°C/min].
    pub fastest_c_per_min: f64,
    /// The same text in so many pictures in a row makes a value; at least 2.
    pub pictures: usize,
    /// Pictures in a row lie no farther apart than this [s].
    pub pictures_within_s: f64,
    /// A last value older than this says nothing about the next one [s].
    pub remembered_s: f64,
    /// A first value, or one after a gap, must be borne out for this long [s].
    pub settled_after_s: f64,
    /// The same after a jump [s]: long, since a hidden or dead segment can show another number for
    /// as long as its digit does not change.
    pub settled_after_jump_s: f64,
    /// The same after a jump to what the last value is without its leading digits [s].
    pub settled_after_dropout_s: f64,
    /// Pictures that must bear out a value that has to settle.
    pub settled_pictures: usize,
}

impl Default for Acceptance {
    /// 30 °C/min covers the fastest approach of usual apparatus and a cooling fan in between;
    /// two pictures at ten or more a second are taken within the time that a display keeps a value.
    fn default() -> Self {
        Self {
            fastest_c_per_min: 30.0,
            pictures: 2,
            pictures_within_s: 1.0,
            remembered_s: 10.0,
            settled_after_s: 2.0,
            settled_after_jump_s: 30.0,
            settled_after_dropout_s: 120.0,
            settled_pictures: 8,
        }
    }
}

/// An accepted value.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DisplaySample {
    /// Time of the picture [s].
    pub time_s: f64,
    /// Temperature shown [°C], as the display indicates it, uncorrected.
    pub indicated_c: f64,
    /// As shown.
    pub text: String,
    /// Time since when this text has been seen without a break [s].
    pub since_s: f64,
    /// Least margin of the pictures it was seen in, as a fraction.
    pub margin_fraction: f64,
}

/// A value with its time.
#[derive(Debug, Clone, Copy)]
struct Anchor {
    time_s: f64,
    units: i64,
}

/// The same text in pictures in a row.
#[derive(Debug, Clone)]
struct Seen {
    text: String,
    units: i64,
    first_s: f64,
    last_s: f64,
    pictures: usize,
    margin: f64,
}

/// Values that bear each other out, but not the last accepted one.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    first_s: f64,
    last: Anchor,
    pictures: usize,
    after: After,
}

/// What a candidate comes after.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum After {
    /// Nothing, or a gap.
    Nothing,
    /// A value out of reach.
    Jump,
    /// A value of which it would be the last digits.
    Dropout,
}

/// Reads a series of pictures, live or of a video.
///
/// ```
/// use meltrange_display::{Acceptance, DisplayReader, DisplayRegion, DisplaySpec, Picture};
/// let mut reader = DisplayReader::new(
///     DisplayRegion::WholePicture,
///     DisplaySpec::default(),
///     Acceptance::default(),
/// );
/// let dark = vec![12; 64 * 48];
/// let picture = Picture::new(&dark, 64, 48)?;
/// let refused = reader.push(0.0, &picture).expect_err("nothing is shown");
/// println!("{refused}");
/// # Ok::<(), meltrange_display::PictureError>(())
/// ```
#[derive(Debug, Clone)]
pub struct DisplayReader {
    region: DisplayRegion,
    spec: DisplaySpec,
    acceptance: Acceptance,
    last_time_s: Option<f64>,
    seen: Option<Seen>,
    anchor: Option<Anchor>,
    candidate: Option<Candidate>,
}

impl DisplayReader {
    /// A reader that has seen nothing yet.
    pub fn new(region: DisplayRegion, spec: DisplaySpec, acceptance: Acceptance) -> Self {
        Self {
            region,
            spec,
            acceptance,
            last_time_s: None,
            seen: None,
            anchor: None,
            candidate: None,
        }
    }

    /// Takes the next picture.
    ///
    /// # Arguments
    /// * `time_s`: time of the picture [s], later than the one before.
    /// * `picture`: luma, `height × width`, row-major, 0..=255.
    ///
    /// # Errors
    /// [`Unreadable`] says why there is no value at this time. Never panics.
    pub fn push(
        &mut self,
        time_s: f64,
        picture: &Picture<'_>,
    ) -> Result<DisplaySample, Unreadable> {
        let reading = read_frame(picture, &self.region, &self.spec);
        self.push_reading(time_s, reading)
    }

    /// Takes what the next picture said, for whoever reads pictures elsewhere.
    ///
    /// # Errors
    /// As [`DisplayReader::push`].
    pub fn push_reading(
        &mut self,
        time_s: f64,
        reading: Result<FrameReading, Unreadable>,
    ) -> Result<DisplaySample, Unreadable> {
        let before_s = self.last_time_s.unwrap_or(f64::NEG_INFINITY);
        if !time_s.is_finite() || time_s <= before_s {
            return Err(Unreadable::NotRising {
                found_s: time_s,
                before_s,
            });
        }
        self.last_time_s = Some(time_s);
        let reading = match reading {
            Ok(reading) => reading,
            Err(why) => {
                // In a row means in a row: a refused picture may have been any value.
                self.seen = None;
                return Err(why);
            }
        };
        let seen = self.seen_again(time_s, &reading);
        let needed = self.acceptance.pictures.max(2);
        if seen.pictures < needed {
            return Err(Unreadable::Unconfirmed {
                text: reading.text,
                seen: seen.pictures,
                needed,
            });
        }
        self.consider(time_s, &seen)?;
        self.anchor = Some(Anchor {
            time_s,
            units: seen.units,
        });
        self.candidate = None;
        Ok(DisplaySample {
            time_s,
            indicated_c: reading.indicated_c,
            text: reading.text,
            since_s: seen.first_s,
            margin_fraction: seen.margin,
        })
    }

    /// Counts a text in pictures in a row.
    fn seen_again(&mut self, time_s: f64, reading: &FrameReading) -> Seen {
        let again = self.seen.take().filter(|seen| {
            seen.text == reading.text && time_s - seen.last_s <= self.acceptance.pictures_within_s
        });
        let seen = match again {
            Some(seen) => Seen {
                last_s: time_s,
                pictures: seen.pictures + 1,
                margin: seen.margin.min(reading.margin_fraction),
                ..seen
            },
            None => Seen {
                text: reading.text.clone(),
                units: reading.last_digit_units,
                first_s: time_s,
                last_s: time_s,
                pictures: 1,
                margin: reading.margin_fraction,
            },
        };
        self.seen = Some(seen.clone());
        seen
    }

    /// Whether a confirmed value may be accepted: within reach of the last one, or borne out for long
    /// enough.
    fn consider(&mut self, time_s: f64, seen: &Seen) -> Result<(), Unreadable> {
        let here = Anchor {
            time_s,
            units: seen.units,
        };
        let after = self.comes_after(here);
        let Some(after) = after else {
            return Ok(());
        };
        let candidate = match self.candidate {
            Some(candidate) if self.within_reach(candidate.last, here) => Candidate {
                last: here,
                pictures: candidate.pictures + 1,
                ..candidate
            },
            // Of two first values one of which has fewer digits, the longer one is right.
            Some(candidate)
                if after == After::Nothing && self.lacks_leading_digits(here, candidate.last) =>
            {
                return Err(self.not_yet(seen, candidate));
            }
            _ => Candidate {
                first_s: seen.first_s,
                last: here,
                pictures: seen.pictures,
                after,
            },
        };
        self.candidate = Some(candidate);
        if candidate.last.time_s - candidate.first_s >= self.needed_s(candidate.after)
            && candidate.pictures >= self.acceptance.settled_pictures
        {
            Ok(())
        } else {
            Err(self.not_yet(seen, candidate))
        }
    }

    /// What a value has to settle after; `None` when it follows from the last one.
    fn comes_after(&self, here: Anchor) -> Option<After> {
        let Some(anchor) = self.anchor else {
            return Some(After::Nothing);
        };
        if self.within_reach(anchor, here) {
            let recent = here.time_s - anchor.time_s <= self.acceptance.remembered_s;
            return (!recent).then_some(After::Nothing);
        }
        Some(if self.lacks_leading_digits(here, anchor) {
            After::Dropout
        } else {
            After::Jump
        })
    }

    fn needed_s(&self, after: After) -> f64 {
        match after {
            After::Nothing => self.acceptance.settled_after_s,
            After::Jump => self.acceptance.settled_after_jump_s,
            After::Dropout => self.acceptance.settled_after_dropout_s,
        }
    }

    fn not_yet(&self, seen: &Seen, candidate: Candidate) -> Unreadable {
        match (self.anchor, candidate.after) {
            (Some(anchor), After::Jump | After::Dropout) => Unreadable::Jump {
                text: seen.text.clone(),
                last_c: anchor.units as f64 / self.units_per_c(),
                after_s: seen.last_s - anchor.time_s,
                bound_c_per_min: self.acceptance.fastest_c_per_min,
            },
            _ => Unreadable::Unsettled {
                text: seen.text.clone(),
                for_s: seen.last_s - candidate.first_s,
                needed_s: self.needed_s(candidate.after),
            },
        }
    }

    /// Forgets all values, for when the person has changed what is looked at.
    pub fn forget(&mut self) {
        self.seen = None;
        self.anchor = None;
        self.candidate = None;
    }

    fn units_per_c(&self) -> f64 {
        10_f64.powi(self.spec.decimals_used() as i32)
    }

    /// Whether heating or cooling can lead from one value to the other. Both are rounded, and the
    /// display may be one update late: one unit of the last digit and half a second are allowed for.
    fn within_reach(&self, from: Anchor, to: Anchor) -> bool {
        let passed_min = ((to.time_s - from.time_s).abs() + 0.5) / 60.0;
        let reach_c = self.acceptance.fastest_c_per_min.abs() * passed_min;
        (to.units - from.units).abs() as f64 <= reach_c * self.units_per_c() + 1.0
    }

    /// Whether a value could be another one whose leading digits are dark: what is left of it is
    /// within reach.
    fn lacks_leading_digits(&self, short: Anchor, whole: Anchor) -> bool {
        (1..=6).any(|digits| {
            let power = 10_i64.pow(digits);
            let left = Anchor {
                units: whole.units.rem_euclid(power),
                ..whole
            };
            short.units.abs() < power
                && whole.units.abs() >= power
                && self.within_reach(left, short)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reader() -> DisplayReader {
        DisplayReader::new(
            DisplayRegion::WholePicture,
            DisplaySpec::default(),
            Acceptance::default(),
        )
    }

    fn says(text: &str) -> Result<FrameReading, Unreadable> {
        let indicated_c: f64 = text.parse().expect("a number");
        Ok(FrameReading {
            indicated_c,
            text: text.to_owned(),
            margin_fraction: 0.5,
            last_digit_units: (indicated_c * 10.0).round() as i64,
        })
    }

    /// Pushes a text ten times a second from one time to another; the answers.
    fn hold(
        reader: &mut DisplayReader,
        text: &str,
        from_s: f64,
        to_s: f64,
    ) -> Vec<Result<DisplaySample, Unreadable>> {
        let count = ((to_s - from_s) * 10.0).round() as usize;
        (0..count)
            .map(|i| reader.push_reading(from_s + 0.1 * i as f64, says(text)))
            .collect()
    }

    #[test]
    fn a_first_value_is_accepted_once_it_has_settled() {
        let answers = hold(&mut reader(), "122.4", 0.0, 3.0);
        assert!(matches!(answers[0], Err(Unreadable::Unconfirmed { .. })));
        assert!(matches!(answers[5], Err(Unreadable::Unsettled { .. })));
        let sample = answers[25].as_ref().expect("2.5 s of the same value");
        assert_eq!(sample.text, "122.4");
        assert_eq!(sample.since_s, 0.0);
    }

    #[test]
    fn one_odd_picture_is_never_a_value() {
        let mut reader = reader();
        hold(&mut reader, "122.1", 0.0, 3.0);
        assert!(reader.push_reading(3.0, says("122.7")).is_err());
        assert!(reader.push_reading(3.1, says("122.2")).is_err());
        assert!(reader.push_reading(3.2, says("122.2")).is_ok());
    }

    #[test]
    fn a_jump_is_refused_and_believed_when_it_lasts() {
        let mut reader = reader();
        hold(&mut reader, "122.1", 0.0, 3.0);
        let answers = hold(&mut reader, "180.0", 3.0, 34.0);
        assert!(matches!(answers[250], Err(Unreadable::Jump { .. })));
        assert!(answers.last().expect("many answers").is_ok());
    }

    #[test]
    fn a_jump_is_believed_at_once_when_the_person_says_so() {
        let mut reader = reader();
        hold(&mut reader, "122.1", 0.0, 3.0);
        reader.forget();
        let answers = hold(&mut reader, "180.0", 3.0, 6.0);
        assert!(answers.last().expect("thirty answers").is_ok());
    }

    #[test]
    fn dark_leading_digits_are_not_believed_for_long() {
        let mut reader = reader();
        hold(&mut reader, "122.1", 0.0, 3.0);
        for (text, from_s) in [("22.1", 3.0), ("2.2", 40.0)] {
            let answers = hold(&mut reader, text, from_s, from_s + 36.0);
            assert!(answers.iter().all(Result::is_err), "{text}");
        }
        let answers = hold(&mut reader, "122.9", 80.0, 83.0);
        assert!(answers.last().expect("thirty answers").is_ok());
        let answers = hold(&mut reader, "22.9", 83.0, 210.0);
        assert!(answers.last().expect("many answers").is_ok());
    }

    #[test]
    fn a_gap_needs_settling_anew() {
        let mut reader = reader();
        hold(&mut reader, "122.1", 0.0, 3.0);
        let answers = hold(&mut reader, "123.1", 30.0, 33.0);
        assert!(matches!(answers[5], Err(Unreadable::Unsettled { .. })));
        assert!(answers.last().expect("thirty answers").is_ok());
    }

    #[test]
    fn a_display_that_starts_flickering_starts_with_all_its_digits() {
        let mut reader = reader();
        let mut accepted = Vec::new();
        for i in 0..100 {
            // Three pictures with the leading digit dark, then two without.
            let text = if i % 5 < 3 { "23.4" } else { "123.4" };
            if let Ok(sample) = reader.push_reading(0.05 * f64::from(i), says(text)) {
                accepted.push(sample.text);
            }
        }
        assert!(!accepted.is_empty());
        assert!(accepted.iter().all(|text| text == "123.4"), "{accepted:?}");
    }

    #[test]
    fn times_must_rise() {
        let mut reader = reader();
        assert!(reader.push_reading(1.0, says("20.0")).is_err());
        assert!(matches!(
            reader.push_reading(1.0, says("20.0")),
            Err(Unreadable::NotRising { .. })
        ));
        assert!(matches!(
            reader.push_reading(f64::NAN, says("20.0")),
            Err(Unreadable::NotRising { .. })
        ));
    }
}
