//! Do the runs drift in the order in which they were made?

use crate::determination::result::End;
use crate::determination::runs::RunMean;
use crate::distributions::student_t_beyond;
use crate::polynomial::fit_polynomial;
use serde::{Deserialize, Serialize};

/// Probability below which a slope is taken for a trend.
const SIGNIFICANCE: f64 = 0.05;

/// A drift of one end with run order.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Trend {
    /// Which end.
    pub end: End,
    /// Slope [°C a run].
    pub per_run_c: f64,
    /// Probability of such a slope without a drift (Student's t test of the slope).
    pub probability: f64,
}

/// Ends that drift with run order: Student's t test of the slope at 5 %, from three runs on.
///
/// The scatter about the line is taken as no less than the readings' own uncertainty, so that three
/// rounded readings on a line by chance are no proof.
pub(crate) fn trends(runs: &[RunMean]) -> Vec<Trend> {
    End::BOTH
        .into_iter()
        .filter_map(|end| trend(runs, end))
        .collect()
}

fn trend(runs: &[RunMean], end: End) -> Option<Trend> {
    if runs.len() < 3 {
        return None;
    }
    let order: Vec<f64> = (0..runs.len()).map(|place| place as f64).collect();
    let values: Vec<f64> = runs.iter().map(|run| run.value_c(end)).collect();
    let fit = fit_polynomial(&order, &values, None, 1, 0.0).ok()?;
    let reading = runs
        .iter()
        .map(|run| run.mean(end).reading_u_c.powi(2))
        .sum::<f64>()
        / runs.len() as f64;
    let variance = fit.about_centre.residual_variance()?.max(reading);
    let slope_u = (fit.cofactors.get(1)?.get(1)? * variance).sqrt();
    let per_run_c = *fit.coefficients.get(1)?;
    let spare = fit.about_centre.degrees_of_freedom as f64;
    let probability = student_t_beyond(spare, per_run_c / slope_u);
    (probability < SIGNIFICANCE).then_some(Trend {
        end,
        per_run_c,
        probability,
    })
}
