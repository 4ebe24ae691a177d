//! Bias and spread of each reader over all levels.

use serde::{Deserialize, Serialize};

/// A reader over all levels; values are errors [°C], so that their mean is the bias.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ReaderBias {
    /// Name of the reader.
    pub reader: String,
    /// Values.
    pub n: usize,
    /// Their mean [°C].
    pub bias_c: f64,
    /// Standard error of the mean [°C], as of independent values; from 2 on.
    #[cfg_attr(feature = "schema", schema(required))]
    pub bias_standard_error_c: Option<f64>,
    /// Standard deviation of the values [°C]; from 2 on.
    #[cfg_attr(feature = "schema", schema(required))]
    pub spread_c: Option<f64>,
}

/// Of values that are there.
pub(super) fn bias(reader: &str, values: &[f64]) -> ReaderBias {
    let n = values.len() as f64;
    let bias_c = values.iter().sum::<f64>() / n;
    let spread_c = (values.len() > 1).then(|| {
        let squares: f64 = values.iter().map(|value| (value - bias_c).powi(2)).sum();
        (squares / (n - 1.0)).sqrt()
    });
    ReaderBias {
        reader: reader.to_owned(),
        n: values.len(),
        bias_c,
        bias_standard_error_c: spread_c.map(|spread_c| spread_c / n.sqrt()),
        spread_c,
    }
}
