//! Texts that people give: what can be kept, and the keys by which they are found and sorted.

use crate::error::BookError;

/// Longest name [characters].
const LONGEST_NAME: usize = 200;

/// Longest other text [characters].
const LONGEST_TEXT: usize = 4000;

/// Digits of a number in a sort key.
const KEY_DIGITS: usize = 12;

/// A name: one line, something in it, no more than [`LONGEST_NAME`].
pub(crate) fn name(field: &'static str, text: &str) -> Result<(), BookError> {
    let expected = "1 to 200 characters on one line, without space around them";
    let ok = !text.is_empty()
        && text.trim() == text
        && text.chars().count() <= LONGEST_NAME
        && !text.chars().any(char::is_control);
    ok.then_some(()).ok_or_else(|| BookError::Field {
        field,
        found: shown(text),
        expected,
    })
}

/// Any other text.
pub(crate) fn long(field: &'static str, text: &str) -> Result<(), BookError> {
    let ok = text.chars().count() <= LONGEST_TEXT
        && !text
            .chars()
            .any(|letter| letter.is_control() && !matches!(letter, '\n' | '\t'));
    ok.then_some(()).ok_or_else(|| BookError::Field {
        field,
        found: shown(text),
        expected: "at most 4000 characters, without control characters",
    })
}

/// A text that may be missing.
pub(crate) fn optional(field: &'static str, text: Option<&str>) -> Result<(), BookError> {
    text.map_or(Ok(()), |text| long(field, text))
}

/// What is the same for names that differ in the case of their letters only.
pub(crate) fn key(text: &str) -> String {
    text.to_lowercase()
}

/// Sorts numbers within a text by their value: "U-9" before "U-10".
pub(crate) fn sort_key(text: &str) -> String {
    let mut sorted = String::new();
    let mut digits = String::new();
    for letter in key(text).chars().chain(std::iter::once('\0')) {
        if letter.is_ascii_digit() {
            digits.push(letter);
            continue;
        }
        if !digits.is_empty() {
            let value = digits.trim_start_matches('0');
            sorted.extend(std::iter::repeat_n(
                '0',
                KEY_DIGITS.saturating_sub(value.len()),
            ));
            sorted.push_str(value);
            digits.clear();
        }
        if letter != '\0' {
            sorted.push(letter);
        }
    }
    sorted
}

fn shown(text: &str) -> String {
    let mut shown: String = text.escape_debug().take(60).collect();
    if text.chars().count() > 60 {
        shown.push('…');
    }
    format!("\"{shown}\" ({} characters)", text.chars().count())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_sort_by_value() {
        let mut labels = ["U-10", "u-9", "U-9a", "T", "U-0009"];
        labels.sort_by_key(|label| sort_key(label));
        assert_eq!(labels, ["T", "u-9", "U-0009", "U-9a", "U-10"]);
    }

    #[test]
    fn names_are_one_line_of_text() {
        assert!(name("sample.label", "<script>alert(1)</script> ü/..\\").is_ok());
        for bad in ["", " a", "a\nb", "a\0b", &"x".repeat(201)] {
            assert!(name("sample.label", bad).is_err(), "{bad:?}");
        }
        assert!(long("sample.remarks", "two\nlines").is_ok());
        assert!(long("sample.remarks", &"x".repeat(4001)).is_err());
    }
}
