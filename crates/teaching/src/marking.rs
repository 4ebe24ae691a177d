//! Marks of a learner against what is known: the truth of a drawn recording, or what several readers agreed on.

mod fooled;
mod key;

pub use key::{AnswerKey, Basis, Happening, KeyError, KnownEnd, PictureTrack};

use serde::{Deserialize, Serialize};

/// The moments that a reader marked, on the log's clock.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Marks {
    /// First liquid [s].
    pub first_liquid_s: f64,
    /// Last crystal gone [s].
    pub last_crystal_s: f64,
}

/// What a mark outside of the limit was taken in by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum FooledBy {
    /// The dry powder dropped, and that was taken for melting.
    Settling,
    /// It sparkled.
    Glistening,
    /// It became moist.
    Wetting,
    /// Too early, and nothing happened there that explains it.
    Early,
    /// Too late, and nothing happened there that explains it.
    Late,
    /// The last crystal was called gone while a little solid was left.
    LateLastCrystal,
    /// Stray grains on the glass were taken for solid in the melt.
    Specks,
}

/// One end of the range as it was marked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct EndMarked {
    /// Marked [s], log clock.
    pub marked_s: f64,
    /// Block temperature then [°C].
    pub marked_c: f64,
    /// Known [s].
    pub true_s: f64,
    /// Block temperature then [°C].
    pub true_c: f64,
    /// Marked minus known [°C].
    pub error_c: f64,
    /// Standard uncertainty of what is known [°C].
    pub uncertainty_c: f64,
    /// Whether the error is no larger than the limit.
    pub within_limit: bool,
    /// What the mark was taken in by, when it is outside of the limit.
    #[cfg_attr(feature = "schema", schema(required))]
    pub fooled_by: Option<FooledBy>,
    /// Log times of the pictures that decide: before, at and after the moment [s], as far as there are such.
    pub deciding_s: Vec<f64>,
}

/// Both ends as they were marked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Marked {
    /// Against what.
    pub basis: Basis,
    /// The first liquid.
    pub first_liquid: EndMarked,
    /// The last crystal.
    pub last_crystal: EndMarked,
}

/// Why marks could not be compared with what is known.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MarkingError {
    /// A mark outside of the recording.
    #[error(
        "{end} is marked at {found_s} s; expected a time within the recording, {from_s} to {to_s} s"
    )]
    Outside {
        /// Which end.
        end: &'static str,
        /// As marked [s].
        found_s: f64,
        /// First picture [s].
        from_s: f64,
        /// Last picture [s].
        to_s: f64,
    },
    /// The ends in the wrong order.
    #[error(
        "the last crystal is marked at {last_crystal_s} s, before the first liquid at {first_liquid_s} s; expected it not to come before"
    )]
    Order {
        /// First liquid [s].
        first_liquid_s: f64,
        /// Last crystal [s].
        last_crystal_s: f64,
    },
    /// A limit that is none.
    #[error("the limit is {found_c} °C; expected more than 0")]
    Limit {
        /// As given [°C].
        found_c: f64,
    },
}

/// Mark what a learner marked.
///
/// # Arguments
/// * `key`: what is known of the recording.
/// * `marks`: of the learner, log clock [s].
/// * `limit_c`: largest error that is good enough [°C], > 0.
///
/// # Errors
/// [`MarkingError`] for marks outside of the recording or in the wrong order, and for a limit that is none.
pub fn mark(key: &AnswerKey, marks: Marks, limit_c: f64) -> Result<Marked, MarkingError> {
    if !(limit_c > 0.0 && limit_c.is_finite()) {
        return Err(MarkingError::Limit { found_c: limit_c });
    }
    let track = &key.track;
    let (from_s, to_s) = track.span_s();
    for (end, found_s) in [
        ("the first liquid", marks.first_liquid_s),
        ("the last crystal", marks.last_crystal_s),
    ] {
        if !(found_s >= from_s && found_s <= to_s) {
            return Err(MarkingError::Outside {
                end,
                found_s,
                from_s,
                to_s,
            });
        }
    }
    if marks.last_crystal_s < marks.first_liquid_s {
        return Err(MarkingError::Order {
            first_liquid_s: marks.first_liquid_s,
            last_crystal_s: marks.last_crystal_s,
        });
    }
    let end = |known: &KnownEnd, marked_s: f64| {
        let marked_c = track.temperature_c(marked_s);
        let error_c = marked_c - known.temperature_c;
        EndMarked {
            marked_s,
            marked_c,
            true_s: known.time_s,
            true_c: known.temperature_c,
            error_c,
            uncertainty_c: known.standard_uncertainty_c,
            within_limit: error_c.abs() <= limit_c + ROUNDING_C,
            fooled_by: None,
            deciding_s: track.around_s(known.time_s),
        }
    };
    let mut first_liquid = end(&key.first_liquid, marks.first_liquid_s);
    let mut last_crystal = end(&key.last_crystal, marks.last_crystal_s);
    if !first_liquid.within_limit {
        first_liquid.fooled_by = Some(fooled::at_first_liquid(key, &first_liquid));
    }
    if !last_crystal.within_limit {
        last_crystal.fooled_by = Some(fooled::at_last_crystal(key, &last_crystal));
    }
    Ok(Marked {
        basis: key.basis,
        first_liquid,
        last_crystal,
    })
}

/// Rounding of decimals that must not put an error on the limit outside of it [°C].
const ROUNDING_C: f64 = 1e-9;

#[cfg(test)]
mod tests;
