//! What can be wrong with one key.

use std::fmt::Display;

/// One key's value that cannot be.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Wrong {
    /// The key, with its table.
    pub field: String,
    /// What it is.
    pub found: String,
    /// What would do.
    pub expected: String,
}

/// A value that cannot be.
pub(crate) fn wrong(field: &str, found: impl Display, expected: &str) -> Result<(), Wrong> {
    Err(Wrong {
        field: field.into(),
        found: found.to_string(),
        expected: expected.into(),
    })
}

/// A number within a range, ends included; not a number is never within.
pub(crate) fn within(field: &str, found: f64, range: [f64; 2], unit: &str) -> Result<(), Wrong> {
    let [least, most] = range;
    if found >= least && found <= most {
        return Ok(());
    }
    wrong(field, found, &format!("{least} to {most} {unit}"))
}

/// A text that says something.
pub(crate) fn filled(field: &str, found: &str) -> Result<(), Wrong> {
    if found.trim().is_empty() {
        return wrong(field, "empty", "a text");
    }
    Ok(())
}
