//! Texts with a setpoint to be filled in.

use std::fmt::Write as _;

/// Most decimals.
const MOST_DECIMALS: usize = 6;

/// A text with places for numbers: `{setpoint_c:.1}`, `{rate_c_per_min:.2}`; `{{` and `}}` are brackets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Template {
    parts: Vec<Part>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Part {
    Text(String),
    Number { name: Name, decimals: usize },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Name {
    Setpoint,
    Rate,
}

impl Template {
    /// # Errors
    /// What is wrong with the text, in words.
    pub fn new(text: &str) -> Result<Self, String> {
        let mut parts = Vec::new();
        let mut begun = String::new();
        let mut rest = text;
        while let Some(next) = rest.chars().next() {
            if let Some(after) = rest.strip_prefix("{{") {
                begun.push('{');
                rest = after;
            } else if let Some(after) = rest.strip_prefix("}}") {
                begun.push('}');
                rest = after;
            } else if let Some(after) = rest.strip_prefix('{') {
                let (inside, after) = after
                    .split_once('}')
                    .ok_or_else(|| format!("\"{}\" with an open bracket", text.escape_debug()))?;
                if !begun.is_empty() {
                    parts.push(Part::Text(std::mem::take(&mut begun)));
                }
                parts.push(place(inside)?);
                rest = after;
            } else if next == '}' {
                return Err(format!(
                    "\"{}\" with a bracket that was not opened",
                    text.escape_debug()
                ));
            } else {
                begun.push(next);
                rest = &rest[next.len_utf8()..];
            }
        }
        if !begun.is_empty() {
            parts.push(Part::Text(begun));
        }
        Ok(Self { parts })
    }

    /// The text with its numbers.
    pub fn fill(&self, setpoint_c: f64, rate_c_per_min: f64) -> String {
        let mut filled = String::new();
        for part in &self.parts {
            match part {
                Part::Text(text) => filled.push_str(text),
                Part::Number { name, decimals } => {
                    let number = match name {
                        Name::Setpoint => setpoint_c,
                        Name::Rate => rate_c_per_min,
                    };
                    // Writing into a string cannot fail.
                    let _ = write!(filled, "{number:.decimals$}");
                }
            }
        }
        filled
    }
}

fn place(inside: &str) -> Result<Part, String> {
    let (name, decimals) = inside.split_once(':').unwrap_or((inside, ".1"));
    let name = match name.trim() {
        "setpoint_c" => Name::Setpoint,
        "rate_c_per_min" => Name::Rate,
        _ => return Err(format!("{{{inside}}}")),
    };
    let decimals = decimals
        .strip_prefix('.')
        .and_then(|digits| digits.parse().ok())
        .filter(|&decimals| decimals <= MOST_DECIMALS)
        .ok_or_else(|| format!("{{{inside}}}"))?;
    Ok(Part::Number { name, decimals })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_are_filled_in() {
        for (text, filled) in [
            ("SP {setpoint_c:.1}\r\n", "SP 121.6\r\n"),
            ("{setpoint_c:.0};{rate_c_per_min:.2}", "122;1.50"),
            ("{{{setpoint_c}}}", "{121.6}"),
            ("OFF\n", "OFF\n"),
        ] {
            let template = Template::new(text).expect(text);
            assert_eq!(template.fill(121.56, 1.5), filled);
        }
        for text in [
            "{",
            "}",
            "{x}",
            "{setpoint_c:1}",
            "{setpoint_c:.9}",
            "{setpoint_c",
        ] {
            assert!(Template::new(text).is_err(), "{text}");
        }
    }

    proptest! {
        #[test]
        fn text_without_brackets_stays(text in "[^{}]*") {
            prop_assert_eq!(Template::new(&text).expect("plain").fill(0.0, 0.0), text);
        }
    }
}
