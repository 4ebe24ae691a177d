//! The correction as a polynomial with its covariance.

use crate::polynomial::{dot, powers, quadratic_form};
use crate::temperature::{Convention, Corrected, Indicated};
use meltrange_physics::Celsius;
use serde::{Deserialize, Serialize};

/// Highest degree offered; more bends between standards than standards can show.
pub(crate) const HIGHEST_DEGREE: usize = 2;

/// How far outside the valid range still counts as its end [°C]; rounding of decimals only.
const EDGE_C: f64 = 1e-9;

/// Relative negative variance that rounding of a printed covariance may cause.
const ROUNDING: f64 = 1e-9;

/// What the covariance of a correction was told from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum UncertaintyFrom {
    /// The scatter of the standards about the fit.
    Residuals,
    /// The uncertainties stated for the standards, which the scatter does not contradict.
    Stated,
    /// The scatter, since it is larger than the stated uncertainties explain.
    ResidualsBeyondStated,
    /// Nothing: no uncertainties were given and no degrees of freedom are left.
    Nothing,
}

/// A fitted correction as it is printed and read back: reference − indicated = Σ cᵢ (indicated − origin)ⁱ.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CorrectionCurve {
    /// Degree of the polynomial, 0..=2.
    pub degree: usize,
    /// Where the powers are zero [°C].
    pub origin_c: f64,
    /// Constant first [°C, –, 1/°C].
    pub coefficients: Vec<f64>,
    /// Of the coefficients; `None` when nothing tells it.
    pub standard_uncertainties: Option<Vec<f64>>,
    /// Of the coefficients; `None` when nothing tells it.
    pub covariance: Option<Vec<Vec<f64>>>,
    /// Scatter of one standard of average weight about the fit [°C]; `None` without degrees of freedom.
    pub residual_sd_c: Option<f64>,
    /// Standards less coefficients.
    pub degrees_of_freedom: usize,
    /// Lowest indicated temperature among the standards [°C].
    pub valid_from_c: f64,
    /// Highest indicated temperature among the standards [°C].
    pub valid_to_c: f64,
    /// What the covariance was told from; absent in files of other makers.
    #[serde(default)]
    pub uncertainty_from: Option<UncertaintyFrom>,
    /// Convention of the reference values.
    #[serde(default)]
    pub convention: Convention,
    /// Heating rate at which the standards were read [°C/min], where it was one for all and is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read_at_c_per_min: Option<f64>,
}

/// The correction at one indicated temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CorrectionAt {
    /// Where [°C].
    pub indicated_c: f64,
    /// To be added [°C].
    pub correction_c: f64,
    /// Of the fitted correction [°C]; `None` when nothing tells it.
    pub standard_uncertainty_c: Option<f64>,
    /// Of the correction that one new reading of a standard would show there [°C]: fit and scatter.
    pub new_reading_standard_uncertainty_c: Option<f64>,
    /// Whether this is beyond the standards.
    pub extrapolated: bool,
}

/// Why a correction cannot be applied.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CurveError {
    /// A number is missing, not finite or contradicts another.
    #[error("{field} is {found}; expected {expected}")]
    Field {
        /// Name of the field.
        field: &'static str,
        /// What stands there, in words.
        found: String,
        /// In words.
        expected: &'static str,
    },
    /// Nothing tells the uncertainty of the correction.
    #[error(
        "the calibration carries no uncertainty, so results made with it could not state theirs; calibrate again with reference_u_c or indicated_u_c, or with more standards than coefficients"
    )]
    NoUncertainty,
}

impl CorrectionCurve {
    /// Correction and uncertainty at an indicated temperature.
    pub fn at(&self, indicated: Celsius) -> CorrectionAt {
        let powers = powers(indicated.0 - self.origin_c, self.degree);
        let variance = self
            .covariance
            .as_ref()
            .map(|covariance| quadratic_form(&powers, covariance).max(0.0));
        CorrectionAt {
            indicated_c: indicated.0,
            correction_c: dot(&powers, &self.coefficients),
            standard_uncertainty_c: variance.map(f64::sqrt),
            new_reading_standard_uncertainty_c: variance
                .zip(self.residual_sd_c)
                .map(|(variance, sd)| (variance + sd * sd).sqrt()),
            extrapolated: indicated.0 < self.valid_from_c - EDGE_C
                || indicated.0 > self.valid_to_c + EDGE_C,
        }
    }

    /// Degrees of freedom of its uncertainty, infinite where that was stated.
    pub fn uncertainty_degrees_of_freedom(&self) -> f64 {
        match self.uncertainty_from {
            Some(UncertaintyFrom::Stated) => f64::INFINITY,
            _ if self.degrees_of_freedom == 0 => f64::INFINITY,
            _ => self.degrees_of_freedom as f64,
        }
    }

    /// How the correction changes from one degree to the next [–].
    fn slope_at(&self, indicated: Celsius) -> f64 {
        let x = indicated.0 - self.origin_c;
        self.coefficients
            .iter()
            .enumerate()
            .skip(1)
            .map(|(power, c)| power as f64 * c * x.powi(power as i32 - 1))
            .sum()
    }

    fn check(&self) -> Result<(), CurveError> {
        let field = |field, found: String, expected| {
            Err(CurveError::Field {
                field,
                found,
                expected,
            })
        };
        if self.degree > HIGHEST_DEGREE {
            return field("degree", self.degree.to_string(), "0, 1 or 2");
        }
        let terms = self.degree + 1;
        if self.coefficients.len() != terms || self.coefficients.iter().any(|c| !c.is_finite()) {
            let found = format!("{:?}", self.coefficients);
            return field(
                "coefficients",
                found,
                "one finite number more than the degree",
            );
        }
        if !self.origin_c.is_finite() {
            return field("origin_c", self.origin_c.to_string(), "a finite number");
        }
        if let Some(rate) = self.read_at_c_per_min
            && !(rate > 0.0 && rate.is_finite())
        {
            return field(
                "read_at_c_per_min",
                rate.to_string(),
                "a heating rate above 0",
            );
        }
        if self.valid_from_c.is_nan()
            || self.valid_to_c.is_nan()
            || self.valid_from_c > self.valid_to_c
        {
            let found = format!("{} to {}", self.valid_from_c, self.valid_to_c);
            return field("valid_from_c", found, "a number not above valid_to_c");
        }
        if let Some(covariance) = &self.covariance {
            let square =
                covariance.len() == terms && covariance.iter().all(|row| row.len() == terms);
            let at = |i: usize, j: usize| {
                covariance
                    .get(i)
                    .and_then(|row| row.get(j))
                    .copied()
                    .unwrap_or(f64::NAN)
            };
            let possible = (0..terms).all(|i| {
                at(i, i) >= 0.0
                    && (0..terms).all(|j| {
                        let bound = (at(i, i) * at(j, j)).sqrt();
                        at(i, j).is_finite()
                            && (at(i, j) - at(j, i)).abs() <= ROUNDING * bound
                            && at(i, j).abs() <= bound * (1.0 + ROUNDING)
                    })
            });
            if !(square && possible) {
                let found = format!("{covariance:?}");
                return field(
                    "covariance",
                    found,
                    "a symmetric matrix that variances can have",
                );
            }
        }
        Ok(())
    }
}

/// A correction that can be applied: checked, and with a known uncertainty.
///
/// It takes an [`Indicated`] and gives a [`Corrected`]; there is no way back, so that it cannot be
/// applied twice:
/// ```compile_fail
/// # fn twice(calibration: &meltrange_metrology::Calibration, reading: meltrange_metrology::Indicated) {
/// let once = calibration.correct(reading);
/// let twice = calibration.correct(once);
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    curve: CorrectionCurve,
}

impl Calibration {
    /// Check a curve.
    ///
    /// # Errors
    /// [`CurveError`] where numbers are missing or contradict each other, or nothing tells the uncertainty.
    pub fn new(curve: CorrectionCurve) -> Result<Self, CurveError> {
        curve.check()?;
        if curve.covariance.is_none() {
            return Err(CurveError::NoUncertainty);
        }
        Ok(Self { curve })
    }

    /// The curve.
    pub fn curve(&self) -> &CorrectionCurve {
        &self.curve
    }

    /// Correct a reading, once.
    ///
    /// The uncertainty is that of the reading, times 1 + slope of the correction, and that of the
    /// correction, added in squares.
    pub fn correct(&self, reading: Indicated) -> Corrected {
        let at = self.curve.at(reading.value());
        let reading_u_c = reading.standard_uncertainty_c() * self.sensitivity(reading.value());
        Corrected {
            value: Celsius(reading.value().0 + at.correction_c),
            convention: self.curve.convention,
            standard_uncertainty_c: reading_u_c
                .hypot(at.standard_uncertainty_c.unwrap_or(f64::NAN)),
            extrapolated: at.extrapolated,
        }
    }

    /// How much a corrected value moves when the reading moves by one degree.
    pub fn sensitivity(&self, indicated: Celsius) -> f64 {
        1.0 + self.curve.slope_at(indicated)
    }

    /// Standard uncertainty of the correction at an indicated temperature [°C].
    pub fn standard_uncertainty_c(&self, indicated: Celsius) -> f64 {
        self.curve
            .at(indicated)
            .standard_uncertainty_c
            .unwrap_or(f64::NAN)
    }

    /// Degrees of freedom of the uncertainty of the correction, infinite where it was stated.
    pub fn degrees_of_freedom(&self) -> f64 {
        self.curve.uncertainty_degrees_of_freedom()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve() -> CorrectionCurve {
        CorrectionCurve {
            degree: 1,
            origin_c: 100.0,
            coefficients: vec![0.5, 0.01],
            standard_uncertainties: Some(vec![0.1, 0.001]),
            covariance: Some(vec![vec![0.01, 0.0], vec![0.0, 1e-6]]),
            residual_sd_c: Some(0.2),
            degrees_of_freedom: 3,
            valid_from_c: 50.0,
            valid_to_c: 150.0,
            uncertainty_from: Some(UncertaintyFrom::Residuals),
            convention: Convention::Thermodynamic,
            read_at_c_per_min: None,
        }
    }

    #[test]
    fn a_reading_is_corrected_and_keeps_its_doubts() {
        let calibration = Calibration::new(curve()).expect("a sound curve");
        let reading = Indicated::new(Celsius(160.0), 0.2).expect("a sound reading");
        let corrected = calibration.correct(reading);
        assert!((corrected.value().0 - 161.1).abs() < 1e-12);
        // 0.2·1.01 and √(0.01 + 3600e-6), in squares.
        let expected = (0.202f64.powi(2) + 0.0136).sqrt();
        assert!((corrected.standard_uncertainty_c() - expected).abs() < 1e-12);
        assert!(corrected.is_extrapolated());
        assert_eq!(corrected.convention(), Convention::Thermodynamic);
    }

    #[test]
    fn a_curve_that_cannot_be_is_refused() {
        type Break = fn(&mut CorrectionCurve);
        let broken: [(&str, Break); 6] = [
            ("degree", |curve| curve.degree = 3),
            ("coefficients", |curve| curve.coefficients.truncate(1)),
            ("coefficients", |curve| {
                curve.coefficients = vec![f64::NAN, 0.0]
            }),
            ("valid_from_c", |curve| curve.valid_from_c = 200.0),
            ("covariance", |curve| {
                curve.covariance = Some(vec![vec![0.01, 1.0], vec![1.0, 1e-6]])
            }),
            ("covariance", |curve| {
                curve.covariance = Some(vec![vec![-0.01, 0.0], vec![0.0, 1e-6]])
            }),
        ];
        for (field, break_it) in broken {
            let mut curve = curve();
            break_it(&mut curve);
            let error = Calibration::new(curve).expect_err("it is broken");
            assert!(error.to_string().contains(field), "{field}: {error}");
        }
    }
}
