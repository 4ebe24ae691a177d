//! Determination: from readings of several runs to one result with its uncertainty.

mod agreement;
mod components;
mod corrections;
mod ends;
mod further;
mod outliers;
mod rates;
mod remarks;
mod result;
mod runs;
mod trend;
mod wording;

pub(crate) use outliers::grubbs_critical;
pub use outliers::{Outlier, OutlierTest};
pub use rates::EndsAtZeroRate;
pub use remarks::Remark;
pub use result::{
    AGREE_WITHIN_C, Correction, Determination, DeterminationOptions, End, EndResult,
    FASTEST_C_PER_MIN, Lag, MonteCarloCheck, Repeatability, RunResult, StatedFrom, determine,
};
pub use runs::{DeterminationError, RunMean, TubeReading};
pub use trend::Trend;
pub use wording::range_text;
