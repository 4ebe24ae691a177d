//! Which degree the standards speak for.

use crate::calibration::curve::HIGHEST_DEGREE;
use crate::calibration::standards::{CalibrationError, StandardPoint, different, weights};
use crate::distributions::{chi_squared_beyond, f_beyond, probability_text};
use crate::polynomial::{PolynomialFit, fit_polynomial};

/// Chance to take any term at all for needed when none is; shared among the terms tested (Bonferroni).
const SIGNIFICANCE: f64 = 0.05;

/// Squares below this [°C²] are rounding, not scatter.
const NO_SCATTER_C2: f64 = 1e-20;

/// Test of the highest term of a polynomial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TermTest {
    /// Degree of the term.
    pub degree: usize,
    /// Drop of the sum of squares by the term over the variance.
    pub statistic: f64,
    /// Probability of such a drop without the term.
    pub probability: f64,
}

/// How the degree came about.
#[derive(Debug, Clone, PartialEq)]
pub enum DegreeChoice {
    /// Somebody asked for it.
    Asked,
    /// The highest terms were tested one after the other, the highest first.
    Tested {
        /// In the order of testing.
        tests: Vec<TermTest>,
        /// Highest degree that could be tested.
        highest: usize,
        /// Whether stated uncertainties (χ² test) or the scatter (F test) were the measure.
        against_stated: bool,
    },
}

impl DegreeChoice {
    /// The reason in words.
    pub fn in_words(&self, degree: usize) -> String {
        let shape = ["a constant", "a straight line", "a parabola"]
            .get(degree)
            .copied()
            .unwrap_or("a polynomial");
        let (tests, highest, against_stated) = match self {
            Self::Asked => return format!("degree {degree} ({shape}) as asked for"),
            Self::Tested {
                tests,
                highest,
                against_stated,
            } => (tests, *highest, *against_stated),
        };
        let name = if against_stated {
            "χ² test against the stated uncertainties"
        } else {
            "F test of the drop in the sum of squares"
        };
        let mut reasons: Vec<String> = tests
            .iter()
            .map(|test| {
                let term = if test.degree == 2 { "bend" } else { "slope" };
                let verdict = if test.probability < level(highest) {
                    "is needed"
                } else {
                    "is not needed"
                };
                format!(
                    "a {term} {verdict} ({}, below {:.3} was asked for; {name})",
                    probability_text(test.probability, 4),
                    level(highest)
                )
            })
            .collect();
        if highest < HIGHEST_DEGREE {
            reasons.insert(
                0,
                format!("the standards allow no test beyond degree {highest}"),
            );
        }
        format!("degree {degree} ({shape}): {}", reasons.join("; "))
    }
}

/// Fit the degree that the evidence speaks for: from the highest that can be tested downwards, the
/// first whose highest term is significant, at 5 % over all terms tested.
///
/// Terms are judged by the extra sum of squares: F with 1 and ν degrees of freedom where the
/// scatter is the measure, χ² with 1 where uncertainties are stated.
///
/// # Source
/// N. R. Draper, H. Smith, Applied Regression Analysis (1998), chapter 6.
pub(crate) fn by_evidence(
    points: &[StandardPoint],
    origin_c: f64,
) -> Result<(PolynomialFit, DegreeChoice), CalibrationError> {
    let weights = weights(points);
    let standards = different(points);
    let spare = usize::from(weights.is_none());
    let testable = |degree: usize| standards > degree && points.len() >= degree + 1 + spare;
    let highest = (0..=HIGHEST_DEGREE)
        .rev()
        .find(|&degree| testable(degree))
        .unwrap_or(0);
    let mut tests = Vec::new();
    let mut higher = fitted(points, highest, origin_c)?;
    for degree in (1..=highest).rev() {
        let lower = fitted(points, degree - 1, origin_c)?;
        let test = term_test(&lower, &higher, degree, weights.is_some());
        tests.push(test);
        if test.probability < level(highest) {
            break;
        }
        higher = lower;
    }
    let choice = DegreeChoice::Tested {
        tests,
        highest,
        against_stated: weights.is_some(),
    };
    Ok((higher, choice))
}

/// Significance asked of each of so many terms.
fn level(terms: usize) -> f64 {
    SIGNIFICANCE / terms.max(1) as f64
}

/// Fit one degree.
pub(crate) fn fitted(
    points: &[StandardPoint],
    degree: usize,
    origin_c: f64,
) -> Result<PolynomialFit, CalibrationError> {
    let indicated: Vec<f64> = points.iter().map(|point| point.indicated.0).collect();
    let corrections: Vec<f64> = points.iter().map(StandardPoint::correction_c).collect();
    Ok(fit_polynomial(
        &indicated,
        &corrections,
        weights(points).as_deref(),
        degree,
        origin_c,
    )?)
}

fn term_test(
    lower: &PolynomialFit,
    higher: &PolynomialFit,
    degree: usize,
    stated: bool,
) -> TermTest {
    let (before, after) = (
        lower.about_centre.weighted_sum_of_squares,
        higher.about_centre.weighted_sum_of_squares,
    );
    let drop = (before - after).max(0.0);
    let (statistic, probability) = if stated {
        (drop, chi_squared_beyond(1.0, drop))
    } else if drop < NO_SCATTER_C2 {
        (0.0, 1.0)
    } else {
        let spare = higher.about_centre.degrees_of_freedom as f64;
        let statistic = drop / (after.max(NO_SCATTER_C2) / spare);
        (statistic, f_beyond(1.0, spare, statistic))
    };
    TermTest {
        degree,
        statistic,
        probability,
    }
}
