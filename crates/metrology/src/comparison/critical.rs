//! Critical values: what a statistic exceeds by chance once in twenty, or once in a hundred studies.

use crate::distributions::{f_quantile_beyond, student_t};
use serde::{Deserialize, Serialize};

/// Critical values at two levels of significance; `None` where there are none.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CriticalValues {
    /// At 5 %: beyond is a straggler.
    #[cfg_attr(feature = "schema", schema(required))]
    pub five_percent: Option<f64>,
    /// At 1 %: beyond is an outlier.
    #[cfg_attr(feature = "schema", schema(required))]
    pub one_percent: Option<f64>,
}

impl CriticalValues {
    /// Significances of stragglers and outliers.
    const FIVE: f64 = 0.05;
    const ONE: f64 = 0.01;

    /// Both of a function of the significance.
    pub(super) fn of(value: impl Fn(f64) -> Option<f64>) -> Self {
        Self {
            five_percent: value(Self::FIVE),
            one_percent: value(Self::ONE),
        }
    }
}

/// Critical value of Mandel's h for `p` readers: |h| beyond it has the chance `significance` for a given reader.
///
/// h = (p − 1)t / √(p(p − 2 + t²)), t two-sided with p − 2 degrees of freedom; `None` below 3 readers or for
/// what is no significance.
///
/// # Example
/// ```
/// // ISO 5725-2, 8 readers: 1.75 at 5 % (recomputed: quantile of the beta distribution).
/// let h = meltrange_metrology::mandel_h_critical(8, 0.05).unwrap_or_default();
/// assert!((h - 1.7491).abs() < 1e-4);
/// ```
///
/// # Source
/// ISO 5725-2:1994, 7.3.1 and 8.3; P.-Th. Wilrich, AStA Adv. Stat. Anal. 97 (2013) 1.
pub fn mandel_h_critical(p: usize, significance: f64) -> Option<f64> {
    if p < 3 {
        return None;
    }
    let p = p as f64;
    let t = student_t(p - 2.0, 1.0 - significance);
    finite((p - 1.0) * t / (p * (p - 2.0 + t * t)).sqrt())
}

/// Critical value of Mandel's k for `p` readers with `n` values each.
///
/// k = √(p / (1 + (p − 1)/F)), F with n − 1 and (p − 1)(n − 1) degrees of freedom; `None` below 2 readers or
/// 2 values.
///
/// # Source
/// As [`mandel_h_critical`].
pub fn mandel_k_critical(p: usize, n: usize, significance: f64) -> Option<f64> {
    let f = variance_ratio(p, n, significance)?;
    let p = p as f64;
    finite((p / (1.0 + (p - 1.0) / f)).sqrt())
}

/// Critical value of Cochran's C, the largest of `p` variances of `n` values each over their sum.
///
/// C = 1 / (1 + (p − 1)/F), F beyond which lies the p-th part of the significance; exact for C above ½, a bound
/// that is nearly reached below. `None` below 2 readers or 2 values.
///
/// # Source
/// W. G. Cochran, Ann. Eugenics 11 (1941) 47; R. U. E. 't Lam, Anal. Chim. Acta 659 (2010) 68.
pub fn cochran_critical(p: usize, n: usize, significance: f64) -> Option<f64> {
    let f = variance_ratio(p, n, significance / p as f64)?;
    finite(1.0 / (1.0 + (p as f64 - 1.0) / f))
}

/// F of one variance against the other p − 1 together, each of n values.
fn variance_ratio(p: usize, n: usize, tail: f64) -> Option<f64> {
    if p < 2 || n < 2 {
        return None;
    }
    let own = n as f64 - 1.0;
    finite(f_quantile_beyond(own, (p as f64 - 1.0) * own, tail)).filter(|&f| f > 0.0)
}

/// Critical value of Grubbs' test for one outlying of `p` means, either side; `None` below 3.
///
/// # Source
/// F. E. Grubbs, Technometrics 11 (1969) 1; ISO 5725-2:1994, 7.3.4 and table 5.
pub fn grubbs_one_critical(p: usize, significance: f64) -> Option<f64> {
    crate::determination::grubbs_critical(p, significance).filter(|value| value.is_finite())
}

/// Critical values of Grubbs' test for two outlying of `p` means on one side: the sum of squares without them over
/// that of all is beyond when it is *smaller*. For 4 to 40 means, as far as the standard goes.
///
/// # Source
/// F. E. Grubbs, G. Beck, Technometrics 14 (1972) 847; integrated anew by tests/cross_check/grubbs_pairs.py.
pub fn grubbs_two_critical(p: usize) -> CriticalValues {
    let values = p
        .checked_sub(FEWEST_FOR_PAIRS)
        .and_then(|place| PAIRS.get(place));
    CriticalValues {
        five_percent: values.map(|values| values.0),
        one_percent: values.map(|values| values.1),
    }
}

fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

/// Means of the first row of [`PAIRS`].
const FEWEST_FOR_PAIRS: usize = 4;

/// Critical values of Grubbs' test for two, at 5 % and 1 % over both sides, for 4, 5, … 40 means. From
/// tests/cross_check/grubbs_pairs.py, which integrates the distribution; the last digit is good to one.
const PAIRS: [(f64, f64); 37] = [
    (0.000189, 0.000008),
    (0.008979, 0.001754),
    (0.034868, 0.011590),
    (0.070839, 0.030793),
    (0.110124, 0.056317),
    (0.149187, 0.085091),
    (0.186453, 0.115018),
    (0.221327, 0.144837),
    (0.253673, 0.173835),
    (0.283565, 0.201642),
    (0.311168, 0.228086),
    (0.336673, 0.253115),
    (0.360275, 0.276740),
    (0.382159, 0.299015),
    (0.402493, 0.320008),
    (0.421430, 0.339797),
    (0.439104, 0.358464),
    (0.455636, 0.376086),
    (0.471134, 0.392740),
    (0.485690, 0.408495),
    (0.499389, 0.423418),
    (0.512306, 0.437569),
    (0.524507, 0.451005),
    (0.536050, 0.463776),
    (0.546989, 0.475929),
    (0.557371, 0.487508),
    (0.567238, 0.498552),
    (0.576629, 0.509097),
    (0.585578, 0.519175),
    (0.594118, 0.528818),
    (0.602275, 0.538052),
    (0.610076, 0.546904),
    (0.617545, 0.555396),
    (0.624703, 0.563552),
    (0.631570, 0.571390),
    (0.638164, 0.578928),
    (0.644500, 0.586185),
];
