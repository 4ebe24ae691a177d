//! Quantiles and tail probabilities of the usual distributions; degrees of freedom may be infinite.

use statrs::distribution::{ChiSquared, ContinuousCDF, FisherSnedecor, Normal, StudentsT};

/// Degrees of freedom above which Student's t is taken as normal; the quantiles differ by less than 1e-5.
const AS_GOOD_AS_INFINITE: f64 = 1e6;

/// Two-sided quantile of Student's t: the k with P(|t| ≤ k) = `coverage`.
///
/// `degrees_of_freedom` need not be whole; infinity gives the normal distribution.
/// NaN for `coverage` outside 0..1 or degrees of freedom not above 0.
///
/// # Example
/// GUM table G.2, 9 degrees of freedom, 95 %:
/// ```
/// assert!((meltrange_metrology::student_t(9.0, 0.95) - 2.262).abs() < 0.001);
/// ```
pub fn student_t(degrees_of_freedom: f64, coverage: f64) -> f64 {
    if !(coverage > 0.0 && coverage < 1.0) {
        return f64::NAN;
    }
    let upper = 0.5 + coverage / 2.0;
    with_t(
        degrees_of_freedom,
        |t| t.inverse_cdf(upper),
        |normal| normal.inverse_cdf(upper),
    )
}

/// P(t ≤ x) of Student's t.
pub fn student_t_below(degrees_of_freedom: f64, x: f64) -> f64 {
    with_t(degrees_of_freedom, |t| t.cdf(x), |normal| normal.cdf(x))
}

/// P(|t| > |x|) of Student's t: the two-sided p value.
pub(crate) fn student_t_beyond(degrees_of_freedom: f64, x: f64) -> f64 {
    if x.is_infinite() {
        return 0.0;
    }
    2.0 * student_t_below(degrees_of_freedom, -x.abs())
}

/// P(F > x) with the given degrees of freedom of numerator and denominator.
pub(crate) fn f_beyond(numerator: f64, denominator: f64, x: f64) -> f64 {
    if x.is_infinite() {
        return 0.0;
    }
    FisherSnedecor::new(numerator, denominator).map_or(f64::NAN, |f| f.sf(x))
}

/// Most halvings that find a quantile of F; each brings one bit.
const F_STEPS: usize = 200;

/// The x with P(F > x) = `tail`, by halving on a logarithmic scale until it moves by less than 1e-14 of itself.
///
/// NaN for degrees of freedom or a tail that are none.
pub(crate) fn f_quantile_beyond(numerator: f64, denominator: f64, tail: f64) -> f64 {
    if !(tail > 0.0 && tail < 1.0) || f_beyond(numerator, denominator, 1.0).is_nan() {
        return f64::NAN;
    }
    let (mut low, mut high) = (f64::MIN_POSITIVE.ln(), f64::MAX.ln());
    for _ in 0..F_STEPS {
        let middle = 0.5 * (low + high);
        if f_beyond(numerator, denominator, middle.exp()) > tail {
            low = middle;
        } else {
            high = middle;
        }
        if high - low < 1e-14 {
            break;
        }
    }
    (0.5 * (low + high)).exp()
}

/// P(χ² > x).
pub(crate) fn chi_squared_beyond(degrees_of_freedom: f64, x: f64) -> f64 {
    ChiSquared::new(degrees_of_freedom).map_or(f64::NAN, |chi| chi.sf(x))
}

/// A probability as it is written: with so many decimals, or as less than the last of them.
pub(crate) fn probability_text(probability: f64, decimals: usize) -> String {
    let least = 10f64.powi(-(decimals as i32));
    if probability < least {
        format!("p < {least:.decimals$}")
    } else {
        format!("p = {probability:.decimals$}")
    }
}

fn with_t(
    degrees_of_freedom: f64,
    student: impl FnOnce(StudentsT) -> f64,
    gauss: impl FnOnce(Normal) -> f64,
) -> f64 {
    if degrees_of_freedom >= AS_GOOD_AS_INFINITE {
        return Normal::new(0.0, 1.0).map_or(f64::NAN, gauss);
    }
    StudentsT::new(0.0, 1.0, degrees_of_freedom).map_or(f64::NAN, student)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_distribution_has_no_quantile() {
        for (nu, p) in [
            (0.0, 0.95),
            (-1.0, 0.95),
            (3.0, 0.0),
            (3.0, 1.0),
            (f64::NAN, 0.95),
        ] {
            assert!(student_t(nu, p).is_nan(), "{nu} {p}");
        }
    }

    #[test]
    fn small_probabilities_are_not_rounded_up_in_silence() {
        assert_eq!(probability_text(0.04917, 4), "p = 0.0492");
        assert_eq!(probability_text(1e-9, 4), "p < 0.0001");
        assert_eq!(probability_text(0.0004, 3), "p < 0.001");
    }

    /// F with 2 degrees of freedom above: P(F > x) = (1 + 2x/d)^(−d/2), so its quantile is closed.
    #[test]
    fn quantile_of_f_where_it_is_closed() {
        for d in [1.0, 4.0, 14.0, 240.0] {
            for tail in [0.05, 0.01, 1e-4, 0.5] {
                let closed = d / 2.0 * (f64::powf(tail, -2.0 / d) - 1.0);
                let found = f_quantile_beyond(2.0, d, tail);
                assert!((found / closed - 1.0).abs() < 1e-9, "{d} {tail}: {found}");
            }
        }
        assert!(f_quantile_beyond(0.0, 3.0, 0.05).is_nan());
        assert!(f_quantile_beyond(2.0, 3.0, 0.0).is_nan());
    }

    #[test]
    fn quantile_and_probability_are_inverse() {
        for nu in [1.0, 2.5, 9.0, 200.0, f64::INFINITY] {
            let k = student_t(nu, 0.9);
            assert!((student_t_beyond(nu, k) - 0.1).abs() < 1e-9, "{nu}");
        }
    }
}
