//! From standards to a correction curve, judged.

use crate::calibration::choice::{DegreeChoice, by_evidence, fitted};
use crate::calibration::curve::{CorrectionCurve, HIGHEST_DEGREE, UncertaintyFrom};
use crate::calibration::remarks::CalibrationRemark;
use crate::calibration::screen::{Screened, screen};
use crate::calibration::standards::{
    CalibrationError, Certificate, StandardPoint, check, different, weights,
};
use crate::distributions::chi_squared_beyond;
use crate::polynomial::PolynomialFit;
use crate::temperature::{Convention, HIGHEST_C, LOWEST_C, resolution_of};
use meltrange_physics::Celsius;

/// Probability of the scatter below which stated uncertainties are taken to be too small.
const SCATTER_SIGNIFICANCE: f64 = 0.05;

/// How to calibrate.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CalibrationOptions {
    /// Degree of the correction, 0..=2; by evidence if not given.
    pub degree: Option<usize>,
    /// Origin of the powers; the mean indicated temperature in whole degrees if not given.
    pub origin: Option<Celsius>,
}

/// What became of one standard.
#[derive(Debug, Clone, PartialEq)]
pub struct PointVerdict {
    /// Name.
    pub substance: String,
    /// Reference − indicated, less the fitted correction [°C].
    pub residual_c: f64,
    /// Whether it does not belong to the others.
    pub suspect: bool,
    /// Studentised deleted residual, where it can be told.
    pub deleted_residual: Option<f64>,
    /// Influence on its own fitted value, 0..=1.
    pub leverage: f64,
}

/// A calibration as fitted, with what speaks for and against it.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationFit {
    /// The correction.
    pub curve: CorrectionCurve,
    /// The standards, in the order given.
    pub points: Vec<PointVerdict>,
    /// Why this degree.
    pub choice: DegreeChoice,
    /// Doubts.
    pub remarks: Vec<CalibrationRemark>,
}

/// Fit the correction reference − indicated as a polynomial in (indicated − origin).
///
/// Stated uncertainties weight the fit and give the covariance, unless the scatter contradicts them
/// at 5 % (χ² test): then, and where none are stated, the scatter gives it (Birge's ratio).
///
/// # Errors
/// [`CalibrationError`] for impossible numbers, mixed conventions, uncertainties given for some
/// standards only, or too few different standards.
///
/// # Source
/// JCGM 100:2008 (GUM), annex H.3; R. T. Birge, Phys. Rev. 40 (1932) 207.
pub fn calibrate(
    points: &[StandardPoint],
    options: CalibrationOptions,
) -> Result<CalibrationFit, CalibrationError> {
    check(points)?;
    let origin_c = origin(points, options.origin)?;
    let (fit, choice) = match options.degree {
        Some(degree) => (asked(points, degree, origin_c)?, DegreeChoice::Asked),
        None => by_evidence(points, origin_c)?,
    };
    let weights = weights(points);
    let readings: Vec<f64> = points.iter().map(|point| point.indicated.0).collect();
    let floor_c = resolution_of(&readings) / 12f64.sqrt();
    let screened = screen(&fit.about_centre, weights.as_deref(), floor_c);
    let (variance, from) = variance_of_unit_weight(&fit, weights.is_some());
    let mut remarks = remarks(points, &fit, &screened, from);
    if from == UncertaintyFrom::ResidualsBeyondStated {
        let ratio = variance.unwrap_or(1.0).sqrt();
        remarks.push(CalibrationRemark::ScatterBeyondStated { ratio });
    }
    let verdicts = points
        .iter()
        .zip(&screened)
        .zip(
            fit.about_centre
                .residuals
                .iter()
                .zip(&fit.about_centre.leverages),
        )
        .map(
            |((point, screened), (&residual_c, &leverage))| PointVerdict {
                substance: point.substance.clone(),
                residual_c,
                suspect: screened.suspect,
                deleted_residual: screened.deleted_residual,
                leverage,
            },
        )
        .collect();
    Ok(CalibrationFit {
        curve: curve(points, &fit, weights.as_deref(), variance, from),
        points: verdicts,
        choice,
        remarks,
    })
}

fn origin(points: &[StandardPoint], asked: Option<Celsius>) -> Result<f64, CalibrationError> {
    match asked {
        Some(Celsius(found)) if !(LOWEST_C..=HIGHEST_C).contains(&found) => {
            Err(CalibrationError::Origin { found })
        }
        Some(Celsius(origin_c)) => Ok(origin_c),
        None => {
            let sum: f64 = points.iter().map(|point| point.indicated.0).sum();
            Ok((sum / points.len() as f64).round())
        }
    }
}

fn asked(
    points: &[StandardPoint],
    degree: usize,
    origin_c: f64,
) -> Result<PolynomialFit, CalibrationError> {
    if degree > HIGHEST_DEGREE {
        return Err(CalibrationError::Degree { degree });
    }
    let standards = different(points);
    if degree > 0 && standards <= degree {
        return Err(CalibrationError::TooFewStandards {
            standards,
            degree,
            needed: degree + 1,
        });
    }
    fitted(points, degree, origin_c)
}

fn variance_of_unit_weight(fit: &PolynomialFit, stated: bool) -> (Option<f64>, UncertaintyFrom) {
    let from_residuals = fit.about_centre.residual_variance();
    match (stated, from_residuals) {
        (false, Some(variance)) => (Some(variance), UncertaintyFrom::Residuals),
        (false, None) => (None, UncertaintyFrom::Nothing),
        (true, Some(variance)) => {
            let spare = fit.about_centre.degrees_of_freedom as f64;
            let probability = chi_squared_beyond(spare, variance * spare);
            if variance > 1.0 && probability < SCATTER_SIGNIFICANCE {
                (Some(variance), UncertaintyFrom::ResidualsBeyondStated)
            } else {
                (Some(1.0), UncertaintyFrom::Stated)
            }
        }
        (true, None) => (Some(1.0), UncertaintyFrom::Stated),
    }
}

fn curve(
    points: &[StandardPoint],
    fit: &PolynomialFit,
    weights: Option<&[f64]>,
    variance: Option<f64>,
    from: UncertaintyFrom,
) -> CorrectionCurve {
    let covariance: Option<Vec<Vec<f64>>> = variance.map(|variance| {
        fit.cofactors
            .iter()
            .map(|row| row.iter().map(|cofactor| cofactor * variance).collect())
            .collect()
    });
    let average_weight = weights.map_or(1.0, |weights| {
        weights.iter().sum::<f64>() / weights.len() as f64
    });
    let readings = || points.iter().map(|point| point.indicated.0);
    CorrectionCurve {
        degree: fit.coefficients.len() - 1,
        origin_c: fit.origin,
        coefficients: fit.coefficients.clone(),
        standard_uncertainties: covariance.as_ref().map(|covariance| {
            covariance
                .iter()
                .enumerate()
                .filter_map(|(index, row)| row.get(index))
                .map(|variance| variance.sqrt())
                .collect()
        }),
        covariance,
        residual_sd_c: fit
            .about_centre
            .residual_variance()
            .map(|variance| (variance / average_weight).sqrt()),
        degrees_of_freedom: fit.about_centre.degrees_of_freedom,
        valid_from_c: readings().fold(f64::INFINITY, f64::min),
        valid_to_c: readings().fold(f64::NEG_INFINITY, f64::max),
        uncertainty_from: Some(from),
        convention: points
            .first()
            .map_or(Convention::NotStated, |point| point.convention),
        read_at_c_per_min: None,
    }
}

fn remarks(
    points: &[StandardPoint],
    fit: &PolynomialFit,
    screened: &[Screened],
    from: UncertaintyFrom,
) -> Vec<CalibrationRemark> {
    let mut remarks = Vec::new();
    for (index, (point, verdict)) in points.iter().zip(screened).enumerate() {
        let substance = || point.substance.clone();
        if let (true, Some(probability)) = (verdict.suspect, verdict.probability) {
            remarks.push(CalibrationRemark::Suspect {
                point: index,
                substance: substance(),
                residual_c: fit
                    .about_centre
                    .residuals
                    .get(index)
                    .copied()
                    .unwrap_or(f64::NAN),
                probability,
            });
        }
        if point.certificate == Certificate::Expired {
            remarks.push(CalibrationRemark::Expired {
                point: index,
                substance: substance(),
            });
        }
        if let Some(of) = points
            .iter()
            .take(index)
            .position(|earlier| earlier == point)
        {
            remarks.push(CalibrationRemark::Duplicate {
                point: index,
                of,
                substance: substance(),
            });
        }
    }
    if screened
        .iter()
        .all(|verdict| verdict.deleted_residual.is_none())
    {
        remarks.push(CalibrationRemark::NotScreened);
    }
    if from == UncertaintyFrom::Nothing {
        remarks.push(CalibrationRemark::NoUncertainty);
    }
    if points
        .first()
        .is_some_and(|point| point.convention == Convention::NotStated)
    {
        remarks.push(CalibrationRemark::ConventionNotStated);
    }
    if different(points) < 2 {
        remarks.push(CalibrationRemark::OneTemperature);
    }
    remarks
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(substance: &str, reference_c: f64, indicated_c: f64) -> StandardPoint {
        StandardPoint {
            substance: substance.to_owned(),
            reference: Celsius(reference_c),
            indicated: Celsius(indicated_c),
            reference_u_c: None,
            indicated_u_c: None,
            convention: Convention::Thermodynamic,
            certificate: Certificate::NotStated,
        }
    }

    fn options(degree: usize) -> CalibrationOptions {
        CalibrationOptions {
            degree: Some(degree),
            origin: None,
        }
    }

    #[test]
    fn one_standard_makes_a_constant_but_no_line() {
        let one = [point("benzil", 94.86, 94.2)];
        let fit = calibrate(&one, options(0)).expect("a constant needs one");
        assert!((fit.curve.coefficients[0] - 0.66).abs() < 1e-12);
        assert_eq!(fit.curve.covariance, None);
        assert!(fit.remarks.contains(&CalibrationRemark::NoUncertainty));
        let found = calibrate(&one, options(1));
        assert!(matches!(
            found,
            Err(CalibrationError::TooFewStandards { standards: 1, .. })
        ));
        // Several readings of the same standard are still one standard.
        let again = [point("benzil", 94.86, 94.2), point("benzil", 94.86, 94.4)];
        let found = calibrate(&again, options(1));
        assert!(matches!(
            found,
            Err(CalibrationError::TooFewStandards { standards: 1, .. })
        ));
    }

    #[test]
    fn conventions_are_not_mixed() {
        let mut mixed = [
            point("benzil", 94.86, 94.2),
            point("acetanilide", 116.0, 114.0),
        ];
        mixed[1].convention = Convention::AtRate {
            rate_c_per_min: Some(1.0),
        };
        let error = calibrate(&mixed, options(0)).expect_err("conventions differ");
        assert!(error.to_string().contains("one convention only"), "{error}");
    }

    #[test]
    fn uncertainties_are_for_all_or_none_and_above_zero() {
        let mut points = [point("benzil", 94.86, 94.2), point("urea", 134.39, 133.6)];
        points[0].reference_u_c = Some(0.1);
        let found = calibrate(&points, options(0));
        assert!(matches!(
            found,
            Err(CalibrationError::UncertaintyMissing { point: 1, .. })
        ));
        for bad in [0.0, -0.1, f64::NAN, 1e308] {
            points[1].reference_u_c = Some(bad);
            let found = calibrate(&points, options(0));
            assert!(
                matches!(found, Err(CalibrationError::Uncertainty { point: 1, .. })),
                "{bad}"
            );
        }
    }

    #[test]
    fn scatter_beyond_what_was_stated_is_not_believed() {
        let mut points = [(80.0, 0.5), (100.0, -0.6), (120.0, 0.4), (140.0, -0.5)]
            .map(|(t, correction)| point("x", t + correction, t));
        for point in &mut points {
            point.reference_u_c = Some(0.01);
        }
        let fit = calibrate(&points, options(0)).expect("four sound standards");
        assert_eq!(
            fit.curve.uncertainty_from,
            Some(UncertaintyFrom::ResidualsBeyondStated)
        );
        let u = fit
            .curve
            .at(Celsius(100.0))
            .standard_uncertainty_c
            .expect("it is known");
        assert!((u - fit.curve.residual_sd_c.expect("three to spare") / 2.0).abs() < 1e-12);
    }
}
