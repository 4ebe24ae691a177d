//! Temperatures in lines of text.

use regex::Regex;

/// A number that stands by itself, perhaps with its unit. Some devices send the degree sign in an
/// encoding of their own, which arrives here as U+FFFD.
const FIRST_NUMBER: &str = r"(?:^|[^\w.,+-])(?<temperature>[+-]?\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?)(?:\s*[°º\u{FFFD}]?\s*(?<unit>[CFK])\b)?";

/// How a temperature is found in a line.
#[derive(Debug, Clone)]
pub(crate) struct TemperaturePattern {
    regex: Regex,
}

impl TemperaturePattern {
    /// From a regular expression with a group `temperature`; none: the first number by itself.
    ///
    /// # Errors
    /// What is wrong with the expression, in words.
    pub fn new(expression: Option<&str>) -> Result<Self, String> {
        let regex =
            Regex::new(expression.unwrap_or(FIRST_NUMBER)).map_err(|error| error.to_string())?;
        if !regex.capture_names().flatten().any(|n| n == "temperature") {
            return Err(format!("{regex} without the group"));
        }
        Ok(Self { regex })
    }

    /// The temperature in a line [°C].
    ///
    /// # Errors
    /// What was found and what was expected, in words.
    pub fn read(&self, line: &str) -> Result<f64, String> {
        let Some(groups) = self.regex.captures(line) else {
            return Err(format!(
                "{}; expected a line with a temperature",
                quoted(line)
            ));
        };
        let (Some(whole), Some(number)) = (groups.get(0), groups.name("temperature")) else {
            return Err(format!("{}; expected a temperature in it", quoted(line)));
        };
        // A pattern that stops within a number would take 121,6 for 121. One that goes on after
        // its group says what it expects there.
        let goes_on = &line[number.end()..];
        let cut = whole.end() == number.end()
            && !number.as_str().contains('.')
            && goes_on.starts_with(',')
            && goes_on[1..].starts_with(|next: char| next.is_ascii_digit());
        if cut || number.as_str().contains(',') {
            return Err(format!(
                "{} has a decimal comma; expected a decimal point",
                quoted(line)
            ));
        }
        let value: f64 = number
            .as_str()
            .trim()
            .parse()
            .map_err(|_| format!("{}; expected a number", quoted(line)))?;
        match groups.name("unit").map(|unit| unit.as_str().trim()) {
            None | Some("" | "C" | "c" | "°C" | "º C" | "deg C") => Ok(value),
            Some("F" | "f" | "°F") => Ok(celsius_from_fahrenheit(value)),
            Some("K" | "k") => Ok(value - 273.15),
            Some(other) => Err(format!(
                "{} with the unit {other}; expected C, F or K",
                quoted(line)
            )),
        }
    }
}

/// [°C] from [°F]: the scales meet at 32 °F = 0 °C, 9 °F are 5 °C (exact by definition).
pub(crate) fn celsius_from_fahrenheit(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) * 5.0 / 9.0
}

/// A received text in quotes, as far as it is printable and not too long.
pub(crate) fn quoted(text: &str) -> String {
    let shown: String = text.chars().take(60).collect();
    let more = if text.chars().nth(60).is_some() {
        "…"
    } else {
        ""
    };
    format!("\"{}{more}\"", shown.escape_debug())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(expression: Option<&str>, line: &str) -> Result<f64, String> {
        TemperaturePattern::new(expression)
            .expect("a sound pattern")
            .read(line)
    }

    #[test]
    fn the_first_number_by_itself_is_taken() {
        for (line, celsius) in [
            ("121.6", 121.6),
            ("  +0121.60 C", 121.6),
            ("T1=121.6;T2=99.0", 121.6),
            ("-5", -5.0),
            ("1.216e2", 121.6),
            ("121.6,22.0", 121.6),
            ("T: 121.6 \u{FFFD}C ok", 121.6),
            // 250.88 °F by definition of the scale.
            ("250.88 F", 121.6),
            ("394.75K", 121.6),
        ] {
            let found = read(None, line).expect(line);
            assert!((found - celsius).abs() < 1e-9, "{line}: {found}");
        }
    }

    #[test]
    fn what_is_no_temperature_is_said_so() {
        for (pattern, line, part) in [
            (None, "", "expected a line"),
            (None, "OL", "\"OL\""),
            (None, "T121.6", "expected a line"),
            (None, "121,6", "decimal comma"),
            (None, "121,6 C", "decimal comma"),
            (
                Some(r"T=(?<temperature>[\d.]+)"),
                "T=121,6",
                "decimal comma",
            ),
            (
                Some(r"T=(?<temperature>[\d.,]+)"),
                "T=121,6",
                "decimal comma",
            ),
            (
                Some(r"T=(?<temperature>\S+)"),
                "T=----",
                "expected a number",
            ),
            (
                Some(r"(?<temperature>\d+)(?<unit>R)"),
                "12R",
                "expected C, F or K",
            ),
        ] {
            let error = read(pattern, line).expect_err(line);
            assert!(error.contains(part), "{part} not in: {error}");
        }
    }

    #[test]
    fn a_pattern_that_goes_on_says_what_follows() {
        let pattern = Some(r"^(?<temperature>\d+),\d+$");
        assert_eq!(read(pattern, "121,22"), Ok(121.0));
        assert!(TemperaturePattern::new(Some("[0-9]+")).is_err());
        assert!(TemperaturePattern::new(Some("(?<temperature>")).is_err());
    }

    proptest! {
        #[test]
        fn printed_numbers_read_back(tenths in -900i32..6000) {
            let celsius = f64::from(tenths) / 10.0;
            prop_assert_eq!(read(None, &format!("{celsius:.1}")), Ok(celsius));
        }

        #[test]
        fn no_line_is_too_odd(line in "\\PC*") {
            // Whatever comes is either a number or an error in words.
            if let Err(why) = read(None, &line) {
                prop_assert!(why.contains("expected"));
            }
        }
    }
}
