//! Determination: from readings of several runs to one result with its uncertainty.

mod agreement;
mod ends;
mod further;
mod outliers;
mod remarks;
mod result;
mod runs;
mod trend;
mod wording;

pub use outliers::{Outlier, OutlierTest};
pub use remarks::DeterminationRemark;
pub use result::{
    Correction, Determination, DeterminationOptions, End, EndResult, MonteCarloCheck,
    Repeatability, determine,
};
pub use runs::{DeterminationError, RunMean, TubeReading};
pub use trend::Trend;
pub use wording::range_text;
