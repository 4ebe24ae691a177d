//! Numbers, temperatures and dates as a language writes them.

use super::{Dates, Language, Words};
use crate::model::{End, Stamp};
use crate::numbers;
use std::cell::Cell;

/// Between a number and its unit (ISO 80000-1, 7.1.4: a space), narrow and never broken.
pub(crate) const UNIT_SPACE: char = '\u{202f}';

/// Most digits after the point in a melting range; common practice writes tenths.
const RANGE_DECIMALS: usize = 1;

/// Writes for one report, and counts what could not be written as a number.
#[derive(Debug)]
pub(crate) struct Locale {
    pub language: Language,
    pub words: &'static Words,
    dates: Dates,
    not_numbers: Cell<usize>,
}

impl Locale {
    pub fn new(language: Language, dates: Dates) -> Self {
        Self {
            language,
            words: language.words(),
            dates,
            not_numbers: Cell::new(0),
        }
    }

    /// How many values were no numbers so far.
    pub fn not_numbers(&self) -> usize {
        self.not_numbers.get()
    }

    /// A number with fixed decimals; a dash for what is none.
    pub fn number(&self, value: f64, decimals: usize) -> String {
        if !value.is_finite() {
            self.not_numbers.set(self.not_numbers.get() + 1);
            return numbers::NONE.to_owned();
        }
        self.signs(&numbers::fixed(value, decimals))
    }

    /// A number and its unit.
    pub fn with_unit(&self, number: &str, unit: &str) -> String {
        format!("{number}{UNIT_SPACE}{unit}")
    }

    /// A temperature or a difference of temperatures with fixed decimals and its unit.
    pub fn celsius(&self, value_c: f64, decimals: usize) -> String {
        self.with_unit(&self.number(value_c, decimals), "°C")
    }

    /// A temperature that carries no uncertainty of its own, to tenths.
    pub fn plain_celsius(&self, value_c: f64) -> String {
        self.celsius(value_c, 1)
    }

    /// A heating rate to two significant digits at least.
    pub fn rate(&self, rate_c_per_min: f64) -> String {
        self.with_unit(&self.rate_number(rate_c_per_min), "°C/min")
    }

    /// The same without its unit.
    pub fn rate_number(&self, rate_c_per_min: f64) -> String {
        let decimals = if rate_c_per_min.abs() < 10.0 { 2 } else { 1 };
        self.number(rate_c_per_min, decimals)
    }

    /// A heating rate as a programme sets it, to tenths.
    pub fn set_rate(&self, rate_c_per_min: f64) -> String {
        let tenths = rate_c_per_min * 10.0;
        let decimals = if (tenths - tenths.round()).abs() < 1e-6 {
            1
        } else {
            2
        };
        self.with_unit(&self.number(rate_c_per_min, decimals), "°C/min")
    }

    /// Value and uncertainty, rounded to belong together (JCGM 100:2008, 7.2.6).
    pub fn rounded(&self, value: f64, uncertainty: f64) -> (String, String) {
        if !value.is_finite() || !uncertainty.is_finite() {
            return (
                self.number(value, RANGE_DECIMALS),
                self.number(uncertainty, 2),
            );
        }
        let found = numbers::rounded(value, uncertainty);
        (self.signs(&found.value), self.signs(&found.uncertainty))
    }

    /// Two significant digits of an uncertainty, never finer than hundredths.
    pub fn uncertainty(&self, uncertainty: f64) -> String {
        self.rounded(0.0, uncertainty).1
    }

    /// A range with one unit, or an open one; tenths at most.
    pub fn range(&self, first: Option<End>, last: Option<End>) -> Option<String> {
        let text = |end: End| {
            let decimals = range_decimals(end.standard_uncertainty_c);
            self.number(end.value_c, decimals)
        };
        self.range_of(first.map(text), last.map(text))
    }

    /// The same from numbers as they are written.
    pub fn range_of(&self, first: Option<String>, last: Option<String>) -> Option<String> {
        let open = |gap: &str, number: String| {
            super::fill(gap, &[("t", self.with_unit(&number, "°C").as_str())])
        };
        match (first, last) {
            (Some(first), Some(last)) => Some(self.with_unit(&format!("{first}–{last}"), "°C")),
            (Some(first), None) => Some(open(self.words.from, first)),
            (None, Some(last)) => Some(open(self.words.to, last)),
            (None, None) => None,
        }
    }

    /// Limits of a requirement, as finely as they were given, hundredths at most.
    pub fn limits(&self, from_c: f64, to_c: f64) -> String {
        let decimals = |value: f64| {
            let hundredths = (value * 100.0).round();
            if hundredths % 10.0 == 0.0 { 1 } else { 2 }
        };
        let places = decimals(from_c).max(decimals(to_c));
        let (from, to) = (self.number(from_c, places), self.number(to_c, places));
        self.with_unit(&format!("{from}–{to}"), "°C")
    }

    /// A record's own text, such as a range, with the signs of the language.
    pub fn recorded(&self, text: &str) -> String {
        self.signs(&text.replace(" °C", &format!("{UNIT_SPACE}°C")))
    }

    /// A share as whole per cent; what is neither none nor all is never written as 0 % or 100 %.
    pub fn percent(&self, fraction: f64) -> String {
        if !fraction.is_finite() {
            return self.number(fraction, 0);
        }
        let percent = fraction * 100.0;
        if percent > 0.0 && percent < 1.0 {
            return format!("<{UNIT_SPACE}{}", self.with_unit("1", "%"));
        }
        if percent > 99.0 && percent < 100.0 {
            return format!(">{UNIT_SPACE}{}", self.with_unit("99", "%"));
        }
        self.with_unit(&self.number(percent, 0), "%")
    }

    /// A count, in groups of three from five digits on.
    pub fn count(&self, count: u64) -> String {
        let digits = count.to_string();
        if digits.len() < 5 {
            return digits;
        }
        let mut text = String::new();
        for (index, digit) in digits.chars().enumerate() {
            if index > 0 && (digits.len() - index).is_multiple_of(3) {
                text.push(UNIT_SPACE);
            }
            text.push(digit);
        }
        text
    }

    /// Minutes and seconds on the log's clock.
    pub fn clock(&self, time_s: f64) -> String {
        if !time_s.is_finite() {
            return self.number(time_s, 0);
        }
        self.signs(&numbers::clock(time_s))
    }

    /// How long something was to last, in minutes.
    pub fn minutes(&self, time_s: f64) -> String {
        let minutes = time_s / 60.0;
        let decimals = usize::from((minutes - minutes.round()).abs() > 0.05);
        self.with_unit(&self.number(minutes, decimals), self.words.minutes)
    }

    /// A day.
    pub fn date(&self, date: jiff::civil::Date) -> String {
        let (year, month, day) = (date.year(), date.month(), date.day());
        match (self.dates, self.language) {
            (Dates::Iso, _) => format!("{year:04}-{month:02}-{day:02}"),
            (Dates::Local, Language::German) => format!("{day:02}.{month:02}.{year:04}"),
            (Dates::Local, Language::English) => {
                const MONTHS: [&str; 12] = [
                    "January",
                    "February",
                    "March",
                    "April",
                    "May",
                    "June",
                    "July",
                    "August",
                    "September",
                    "October",
                    "November",
                    "December",
                ];
                let name = MONTHS
                    .get(usize::from(month.unsigned_abs()).saturating_sub(1))
                    .copied()
                    .unwrap_or_default();
                format!("{day} {name} {year:04}")
            }
            (Dates::Local, Language::French | Language::Spanish) => {
                format!("{day:02}/{month:02}/{year:04}")
            }
        }
    }

    /// A day with the time of day and the offset from UTC.
    pub fn time(&self, stamp: Stamp) -> String {
        let local = stamp.local();
        let minutes = stamp.offset_minutes();
        let sign = if minutes < 0 { '−' } else { '+' };
        format!(
            "{} {:02}:{:02} (UTC{sign}{:02}:{:02})",
            self.date(local.date()),
            local.hour(),
            local.minute(),
            minutes.abs() / 60,
            minutes.abs() % 60
        )
    }

    /// Decimal sign and minus of the language, in a text with decimal points and hyphens.
    fn signs(&self, text: &str) -> String {
        let letters: Vec<char> = text.chars().collect();
        let digit = |at: Option<usize>| {
            at.and_then(|at| letters.get(at))
                .is_some_and(char::is_ascii_digit)
        };
        letters
            .iter()
            .enumerate()
            .map(|(at, &letter)| match letter {
                '.' if self.language != Language::English
                    && digit(at.checked_sub(1))
                    && digit(at.checked_add(1)) =>
                {
                    ','
                }
                '-' if digit(at.checked_add(1)) && !digit(at.checked_sub(1)) => '−',
                other => other,
            })
            .collect()
    }
}

/// Decimals down to the first digit that the standard uncertainty touches, never finer than tenths.
fn range_decimals(standard_uncertainty_c: f64) -> usize {
    if standard_uncertainty_c >= 0.95 {
        0
    } else {
        RANGE_DECIMALS
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn locale(language: Language) -> Locale {
        Locale::new(language, Dates::Local)
    }

    #[test]
    fn each_language_has_its_signs() {
        let german = locale(Language::German);
        assert_eq!(german.celsius(-1.25, 1), "−1,2\u{202f}°C");
        assert_eq!(german.recorded("121.6–122.4 °C"), "121,6–122,4\u{202f}°C");
        let english = locale(Language::English);
        assert_eq!(english.recorded("121.6–122.4 °C"), "121.6–122.4\u{202f}°C");
        assert_eq!(english.count(1234), "1234");
        assert_eq!(english.count(1_234_567), "1\u{202f}234\u{202f}567");
    }

    #[test]
    fn dates_are_as_usual_where_they_are_read() {
        let date = jiff::civil::date(2026, 11, 5);
        let found = Language::ALL.map(|language| locale(language).date(date));
        assert_eq!(
            found,
            ["5 November 2026", "05.11.2026", "05/11/2026", "05/11/2026"]
        );
        let iso = Locale::new(Language::German, Dates::Iso).date(date);
        assert_eq!(iso, "2026-11-05");
    }

    #[test]
    fn shares_are_never_rounded_to_certainty() {
        let english = locale(Language::English);
        for (fraction, expected) in [
            (0.0, "0\u{202f}%"),
            (0.004, "<\u{202f}1\u{202f}%"),
            (0.826, "83\u{202f}%"),
            (0.9971, ">\u{202f}99\u{202f}%"),
            (1.0, "100\u{202f}%"),
        ] {
            assert_eq!(english.percent(fraction), expected);
        }
    }

    #[test]
    fn what_is_no_number_is_counted() {
        let english = locale(Language::English);
        assert_eq!(english.celsius(f64::NAN, 1), "–\u{202f}°C");
        assert_eq!(english.rounded(f64::INFINITY, 0.1).0, "–");
        assert_eq!(english.not_numbers(), 2);
    }
}
