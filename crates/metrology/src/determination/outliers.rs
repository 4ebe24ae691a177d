//! Runs that do not belong to the others, each with the test that says so.

use crate::budget::type_a;
use crate::determination::result::End;
use crate::determination::runs::RunMean;
use crate::distributions::student_t;
use serde::{Deserialize, Serialize};

/// Chance of Grubbs' test to name a run when none is at fault.
const SIGNIFICANCE: f64 = 0.05;

/// The test that names an outlier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum OutlierTest {
    /// Largest deviation from the mean over the standard deviation, two-sided, 5 %.
    Grubbs,
    /// Difference from the runs that agree, against the limit of agreement.
    AgreementLimit,
}

/// A run that does not belong to the others.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Outlier {
    /// Its name.
    pub run: String,
    /// At which end.
    pub end: End,
    /// By which test.
    pub test: OutlierTest,
    /// What the test found: Grubbs' G, or a difference [°C].
    pub statistic: f64,
    /// What it may be at most.
    pub critical: f64,
    /// Whether the run went into the result all the same.
    pub used: bool,
    /// In words.
    pub text: String,
}

/// Grubbs' test at each end, and every run left out because it does not agree.
pub(crate) fn outliers(runs: &[RunMean], used: &[usize], limit_c: f64) -> Vec<Outlier> {
    let mut found = Vec::new();
    for end in End::BOTH {
        if let Some((place, statistic, critical)) = grubbs(runs, end) {
            let name = &runs[place].run;
            let used = used.contains(&place);
            let what = if used {
                "it was used all the same"
            } else {
                "it was not used"
            };
            found.push(Outlier {
                run: name.clone(),
                end,
                test: OutlierTest::Grubbs,
                statistic,
                critical,
                used,
                text: format!(
                    "{} of run {name} is an outlier by Grubbs' test (G = {statistic:.2}, at most {critical:.2} at 5 %); {what}",
                    end.in_words()
                ),
            });
        }
    }
    let left_out = (0..).zip(runs).filter(|(place, _)| !used.contains(place));
    for (_, run) in left_out {
        let farthest = End::BOTH
            .into_iter()
            .map(|end| {
                let values = || used.iter().map(|&place| runs[place].value_c(end));
                let own = run.value_c(end);
                let difference = values()
                    .map(|value| (own - value).abs())
                    .fold(0.0, f64::max);
                (difference, end)
            })
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((difference_c, end)) = farthest {
            found.push(Outlier {
                run: run.run.clone(),
                end,
                test: OutlierTest::AgreementLimit,
                statistic: difference_c,
                critical: limit_c,
                used: false,
                text: format!(
                    "run {} was not used: {} is {difference_c:.2} °C from a run that was used, the limit of agreement is {limit_c} °C",
                    run.run,
                    end.in_words(),
                ),
            });
        }
    }
    found
}

/// Place, G and critical value of an outlier at one end.
///
/// A deviation within the readings' own uncertainty is rounding, not an outlier.
///
/// Source: F. E. Grubbs, Technometrics 11 (1969) 1; critical value from Student's t as in the
/// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1.
fn grubbs(runs: &[RunMean], end: End) -> Option<(usize, f64, f64)> {
    let values: Vec<f64> = runs.iter().map(|run| run.value_c(end)).collect();
    let critical = grubbs_critical(values.len(), SIGNIFICANCE)?;
    let scatter = type_a(&values)?;
    let (place, deviation) = values
        .iter()
        .map(|value| (value - scatter.mean).abs())
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let statistic = deviation / scatter.standard_deviation;
    // Three standard uncertainties of a uniform step of width δ are 0.87 δ.
    let rounding = 3.0 * runs[place].mean(end).reading_u_c;
    (statistic > critical && deviation > rounding).then_some((place, statistic, critical))
}

/// Critical value of Grubbs' two-sided test; `None` for fewer than three values.
pub(crate) fn grubbs_critical(count: usize, significance: f64) -> Option<f64> {
    if count < 3 {
        return None;
    }
    let n = count as f64;
    let t = student_t(n - 2.0, 1.0 - significance / n);
    Some((n - 1.0) / n.sqrt() * (t * t / (n - 2.0 + t * t)).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Student's t has closed quantiles for one and two degrees of freedom: tan(π(½ − p)) and
    /// (1 − 2p)/√(2p(1 − p)), p = α/2n being the tail; hence these values for three and four runs.
    #[test]
    fn critical_values_are_exact_where_t_is_closed() {
        let tail = |n: f64| 0.05 / (2.0 * n);
        let three = 2.0 / 3f64.sqrt() * (std::f64::consts::PI * tail(3.0)).cos();
        let p = tail(4.0);
        let t = (1.0 - 2.0 * p) / (2.0 * p * (1.0 - p)).sqrt();
        let four = 1.5 * t / (2.0 + t * t).sqrt();
        for (count, expected) in [(3, three), (4, four)] {
            let found = grubbs_critical(count, 0.05).expect("three or more");
            assert!(
                (found - expected).abs() < 1e-6,
                "{count}: {found}, {expected}"
            );
        }
        assert_eq!(grubbs_critical(2, 0.05), None);
    }
}
