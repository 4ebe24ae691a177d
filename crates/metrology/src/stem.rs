//! Emergent stem of a liquid-in-glass thermometer.

use crate::Calibration;
use crate::temperature::{Convention, Corrected, Indicated};
use meltrange_physics::Celsius;
use serde::{Deserialize, Serialize};

/// What fills the thermometer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum ThermometricLiquid {
    /// Mercury in glass.
    Mercury,
    /// Alcohol, toluene and the like in glass.
    Organic,
}

impl ThermometricLiquid {
    /// Expansion of the liquid less that of the glass [1/°C].
    ///
    /// Mercury: NBS Monograph 150 (1976). Organic liquids: ASTM E77, a round value quoted from memory.
    pub fn differential_expansion_per_c(self) -> f64 {
        match self {
            Self::Mercury => 0.000_16,
            Self::Organic => 0.001,
        }
    }
}

/// How the thermometer is meant to be used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Thermometer {
    /// Liquid in glass, graduated for total immersion.
    TotalImmersion(ThermometricLiquid),
    /// Liquid in glass, graduated for immersion to its line and used at its line.
    PartialImmersionAtItsLine,
    /// A probe without a column.
    Electronic,
}

/// The part of the column that stands outside the bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EmergentStem {
    /// Length in degrees of the scale [°C], ≥ 0.
    pub length_c: f64,
    /// Mean temperature of that part.
    pub mean: Celsius,
    /// Standard uncertainty of the mean temperature [°C]; it was not measured in the bath's place.
    pub mean_u_c: f64,
}

/// Standard uncertainty of the mean temperature of an emergent column [°C]: it is told by a second
/// thermometer at its middle, or guessed; common practice, no source.
const USUAL_MEAN_U_C: f64 = 5.0;

/// What a person says of the emergent column of a total-immersion thermometer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct StatedStem {
    /// Length in degrees of the scale [°C], 0 to 500.
    pub length_c: f64,
    /// Mean temperature of that part [°C], -100 to 500.
    pub mean_c: f64,
    /// What fills it.
    pub liquid: ThermometricLiquid,
}

impl StatedStem {
    /// The correction for it, with the usual uncertainty of the mean temperature.
    pub fn correction(self) -> crate::Correction<'static> {
        crate::Correction::Stem(
            Thermometer::TotalImmersion(self.liquid),
            EmergentStem {
                length_c: self.length_c,
                mean: Celsius(self.mean_c),
                mean_u_c: USUAL_MEAN_U_C,
            },
        )
    }
}

/// Why there is no stem correction.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StemError {
    /// The correction by reference substances contains it.
    #[error(
        "the calibration was made with reference substances in the same set-up, so it contains the error of the emergent stem already; correcting for the stem as well would count it twice"
    )]
    ContainedInCalibration,
    /// Nothing emerges that is not already in the graduation.
    #[error(
        "a thermometer of partial immersion at its line was graduated with the column outside; there is no stem correction"
    )]
    PartialImmersion,
    /// No column.
    #[error("an electronic thermometer has no column of liquid; there is no stem correction")]
    NoColumn,
    /// An impossible number.
    #[error("the {quantity} of the emergent column is {found:?} °C; expected {expected}")]
    Quantity {
        /// `length` or `mean temperature` or its uncertainty.
        quantity: &'static str,
        /// The number.
        found: f64,
        /// In words.
        expected: &'static str,
    },
}

/// Longest column in degrees [°C] for which k·n stays far from 1 whatever the liquid.
const LONGEST_C: f64 = 500.0;

/// What to add to a reading [°C] for the emergent column: K = k n (T − t) with T the corrected temperature.
///
/// T stands on both sides; in closed form K = k n (R − t)/(1 − k n) with R the reading. Zero when
/// nothing emerges or the column is as warm as the bath; negative below it.
///
/// # Errors
/// [`StemError`] where there is no such correction or a number is impossible.
///
/// # Source
/// NBS Monograph 150 (1976); ASTM E77. Check values: tests/published/stem.rs.
pub fn stem_correction_c(
    thermometer: Thermometer,
    stem: EmergentStem,
    reading: Celsius,
) -> Result<f64, StemError> {
    let liquid = match thermometer {
        Thermometer::TotalImmersion(liquid) => liquid,
        Thermometer::PartialImmersionAtItsLine => return Err(StemError::PartialImmersion),
        Thermometer::Electronic => return Err(StemError::NoColumn),
    };
    let quantity = |quantity, found, expected| StemError::Quantity {
        quantity,
        found,
        expected,
    };
    if !(0.0..=LONGEST_C).contains(&stem.length_c) {
        return Err(quantity(
            "length",
            stem.length_c,
            "0 to 500 degrees of the scale",
        ));
    }
    if !(-100.0..=500.0).contains(&stem.mean.0) {
        return Err(quantity("mean temperature", stem.mean.0, "-100 to 500"));
    }
    if !(0.0..=100.0).contains(&stem.mean_u_c) {
        return Err(quantity(
            "uncertainty of the mean temperature",
            stem.mean_u_c,
            "0 to 100",
        ));
    }
    let kn = liquid.differential_expansion_per_c() * stem.length_c;
    Ok(kn * (reading.0 - stem.mean.0) / (1.0 - kn))
}

/// Relative standard uncertainty of the differential expansion: it depends on the glass and on the temperature.
const EXPANSION_RELATIVE_U: f64 = 0.03;

/// Correct a reading for its emergent column when there is no calibration that contains it.
///
/// The result carries no convention: nothing has been compared with a reference.
///
/// # Errors
/// [`StemError::ContainedInCalibration`] when a calibration by reference substances is given, and
/// as [`stem_correction_c`].
pub fn correct_for_stem(
    thermometer: Thermometer,
    stem: EmergentStem,
    reading: Indicated,
    calibration: Option<&Calibration>,
) -> Result<Corrected, StemError> {
    if calibration.is_some() {
        return Err(StemError::ContainedInCalibration);
    }
    let correction_c = stem_correction_c(thermometer, stem, reading.value())?;
    let Thermometer::TotalImmersion(liquid) = thermometer else {
        return Err(StemError::NoColumn);
    };
    let from_mean = liquid.differential_expansion_per_c() * stem.length_c * stem.mean_u_c;
    let from_expansion = EXPANSION_RELATIVE_U * correction_c;
    Ok(Corrected {
        value: Celsius(reading.value().0 + correction_c),
        convention: Convention::NotStated,
        standard_uncertainty_c: reading
            .standard_uncertainty_c()
            .hypot(from_mean)
            .hypot(from_expansion),
        extrapolated: false,
    })
}
