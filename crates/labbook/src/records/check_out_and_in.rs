//! Which sign-offs, received records and past results can be kept.

use super::check::finite;
use super::{Kind, PastResult, Received, SignOff};
use crate::error::BookError;
use crate::ids::SubjectId;
use crate::text;

/// Nothing melts outside of these [°C]: absolute zero, and above any glass capillary.
const MELTS_C: std::ops::RangeInclusive<f64> = -273.15..=2000.0;

pub(super) fn sign_off(said: &SignOff) -> Result<(), BookError> {
    text::name("sign_off.range_text", &said.range_text)?;
    text::optional("sign_off.statement", said.statement.as_deref())
}

/// What a sign-off speaks of.
pub(super) fn sign_off_references(said: &SignOff) -> Vec<(Kind, SubjectId)> {
    vec![
        (Kind::Sample, said.sample.into()),
        (Kind::Determination, said.determination.into()),
    ]
}

pub(super) fn received(said: &Received) -> Result<(), BookError> {
    text::name("received.title", &said.title)
}

pub(super) fn past_result(said: &PastResult) -> Result<(), BookError> {
    for (field, end) in [
        ("past_result.from_c", said.from_c),
        ("past_result.to_c", said.to_c),
    ] {
        match end {
            Some(end_c) if !MELTS_C.contains(&end_c) => {
                return Err(BookError::Field {
                    field,
                    found: format!("{end_c} °C"),
                    expected: "a temperature between absolute zero and 2000 °C",
                });
            }
            _ => {}
        }
    }
    if let (Some(from_c), Some(to_c)) = (said.from_c, said.to_c)
        && from_c > to_c
    {
        return Err(BookError::Field {
            field: "past_result.to_c",
            found: format!("{from_c} to {to_c} °C"),
            expected: "the lower end first",
        });
    }
    if let Some(rate) = said.heating_rate_c_per_min {
        finite("past_result.heating_rate_c_per_min", rate)?;
    }
    for (field, value) in [
        ("past_result.substance", &said.substance),
        ("past_result.by", &said.by),
        ("past_result.source", &said.source),
        ("past_result.remarks", &said.remarks),
    ] {
        text::optional(field, value.as_deref())?;
    }
    text::long("past_result.as_written", &said.as_written)?;
    text::name("past_result.file_name", &said.file_name)
}
