//! What reference substances gave, and why it may not be usable.

use crate::temperature::{Convention, HIGHEST_C, LOWEST_C};
use meltrange_physics::Celsius;

/// Reference values closer than this [°C] count as one standard: between lots of a substance, not substances.
const ONE_STANDARD_C: f64 = 0.1;

/// Least standard uncertainty that is believed [°C]; fixed points are known to 0.0001 at best.
const LEAST_U_C: f64 = 1e-6;

/// Indicated temperatures closer than this [°C] are the same.
const SAME_READING_C: f64 = 1e-6;

/// Whether the certificate of a reference substance still holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Certificate {
    /// Not past its date.
    InForce,
    /// Past its date.
    Expired,
    /// No date was given.
    #[default]
    NotStated,
}

/// One reference substance as its certificate has it and as the thermometer showed it.
#[derive(Debug, Clone, PartialEq)]
pub struct StandardPoint {
    /// Name, for messages and plots.
    pub substance: String,
    /// Value on the certificate or label.
    pub reference: Celsius,
    /// What the thermometer to be calibrated showed.
    pub indicated: Celsius,
    /// Standard uncertainty of the reference [°C], > 0, if known.
    pub reference_u_c: Option<f64>,
    /// Standard uncertainty of the reading [°C], > 0, if known.
    pub indicated_u_c: Option<f64>,
    /// Which melting point the reference value is.
    pub convention: Convention,
    /// Whether the certificate holds.
    pub certificate: Certificate,
}

impl StandardPoint {
    /// Reference less indicated [°C].
    pub fn correction_c(&self) -> f64 {
        self.reference.0 - self.indicated.0
    }
}

/// Why standards do not make a calibration. `point` counts from 0 in the order given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CalibrationError {
    /// Nothing to fit.
    #[error("there are no standards; expected at least one row of a reference substance")]
    NoPoints,
    /// A temperature that cannot be.
    #[error(
        "{column} of {substance} is {found:?} °C; expected a number from {LOWEST_C} to {HIGHEST_C}"
    )]
    Temperature {
        /// Which point.
        point: usize,
        /// Its name.
        substance: String,
        /// `reference_c` or `indicated_c`.
        column: &'static str,
        /// The number.
        found: f64,
    },
    /// An uncertainty of zero or less.
    #[error(
        "{column} of {substance} is {found:?} °C; expected a standard uncertainty above 0, {LEAST_U_C} to {HIGHEST_C} (leave the column out if it is not known)"
    )]
    Uncertainty {
        /// Which point.
        point: usize,
        /// Its name.
        substance: String,
        /// `reference_u_c` or `indicated_u_c`.
        column: &'static str,
        /// The number.
        found: f64,
    },
    /// Given for some and not for others.
    #[error(
        "{substance} has no {column} while others have one; expected it for all standards or for none, since it weighs them against each other"
    )]
    UncertaintyMissing {
        /// Which point.
        point: usize,
        /// Its name.
        substance: String,
        /// `reference_u_c` or `indicated_u_c`.
        column: &'static str,
    },
    /// Thermodynamic beside at-rate values.
    #[error(
        "the reference value of {substance} is \"{found}\" and that of {other} \"{expected}\"; conventions differ by 0.2 to 2.2 °C, so one fit takes standards of one convention only: calibrate each kind by itself"
    )]
    MixedConventions {
        /// The first point that differs.
        point: usize,
        /// Its name.
        substance: String,
        /// Its convention.
        found: Convention,
        /// The first point's name.
        other: String,
        /// The first point's convention.
        expected: Convention,
    },
    /// Too few different standards for the degree.
    #[error(
        "{standards} different standard(s) do not determine a correction of degree {degree}; expected at least {needed} at different temperatures, or a lower degree"
    )]
    TooFewStandards {
        /// How many differ.
        standards: usize,
        /// What was asked for.
        degree: usize,
        /// How many it takes.
        needed: usize,
    },
    /// A degree that is not offered.
    #[error("degree {degree} was asked for; expected 0, 1 or 2")]
    Degree {
        /// What was asked for.
        degree: usize,
    },
    /// An origin that cannot be.
    #[error("the origin is {found:?} °C; expected a number from {LOWEST_C} to {HIGHEST_C}")]
    Origin {
        /// The number.
        found: f64,
    },
    /// The fit itself failed.
    #[error("the standards could not be fitted")]
    Fit(#[from] crate::LeastSquaresError),
}

impl CalibrationError {
    /// Place of the standard that is at fault, if it is one.
    pub fn point(&self) -> Option<usize> {
        match self {
            Self::Temperature { point, .. }
            | Self::Uncertainty { point, .. }
            | Self::UncertaintyMissing { point, .. }
            | Self::MixedConventions { point, .. } => Some(*point),
            _ => None,
        }
    }
}

/// Check what can be checked before a fit.
pub(crate) fn check(points: &[StandardPoint]) -> Result<(), CalibrationError> {
    let first = points.first().ok_or(CalibrationError::NoPoints)?;
    for (index, point) in points.iter().enumerate() {
        for (column, value) in [
            ("reference_c", point.reference.0),
            ("indicated_c", point.indicated.0),
        ] {
            if !(LOWEST_C..=HIGHEST_C).contains(&value) {
                return Err(CalibrationError::Temperature {
                    point: index,
                    substance: point.substance.clone(),
                    column,
                    found: value,
                });
            }
        }
        if point.convention != first.convention {
            return Err(CalibrationError::MixedConventions {
                point: index,
                substance: point.substance.clone(),
                found: point.convention,
                other: first.substance.clone(),
                expected: first.convention,
            });
        }
    }
    check_uncertainties(points, "reference_u_c", |point| point.reference_u_c)?;
    check_uncertainties(points, "indicated_u_c", |point| point.indicated_u_c)
}

fn check_uncertainties(
    points: &[StandardPoint],
    column: &'static str,
    of: impl Fn(&StandardPoint) -> Option<f64>,
) -> Result<(), CalibrationError> {
    let any = points.iter().any(|point| of(point).is_some());
    for (index, point) in points.iter().enumerate() {
        let substance = || point.substance.clone();
        match of(point) {
            Some(found) if !(LEAST_U_C..=HIGHEST_C).contains(&found) => {
                return Err(CalibrationError::Uncertainty {
                    point: index,
                    substance: substance(),
                    column,
                    found,
                });
            }
            None if any => {
                return Err(CalibrationError::UncertaintyMissing {
                    point: index,
                    substance: substance(),
                    column,
                });
            }
            _ => {}
        }
    }
    Ok(())
}

/// Weights 1/u² where uncertainties are given.
///
/// Both uncertainties act on reference − indicated with a sensitivity of 1; that the fitted
/// correction moves with the reading too is left out (slopes are below 0.02).
pub(crate) fn weights(points: &[StandardPoint]) -> Option<Vec<f64>> {
    points
        .iter()
        .map(|point| match (point.reference_u_c, point.indicated_u_c) {
            (None, None) => None,
            (reference, indicated) => {
                let (reference, indicated) = (reference.unwrap_or(0.0), indicated.unwrap_or(0.0));
                Some(1.0 / (reference * reference + indicated * indicated))
            }
        })
        .collect()
}

/// How many standards differ, both on their certificates and on the thermometer.
pub(crate) fn different(points: &[StandardPoint]) -> usize {
    let count = |mut values: Vec<f64>, apart: f64| {
        values.sort_by(f64::total_cmp);
        let mut last = f64::NEG_INFINITY;
        values
            .into_iter()
            .filter(|&value| {
                let new = value - last > apart;
                if new {
                    last = value;
                }
                new
            })
            .count()
    };
    let references = points.iter().map(|point| point.reference.0).collect();
    let readings = points.iter().map(|point| point.indicated.0).collect();
    count(references, ONE_STANDARD_C).min(count(readings, SAME_READING_C))
}
