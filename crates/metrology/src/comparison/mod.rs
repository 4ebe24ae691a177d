//! Readers compared with each other and two ways of reading with one another.
//!
//! Several readers read the same recordings, each any number of times. What comes out: how well one reader
//! repeats, how far readers differ, who stands out (ISO 5725-2), each reader's bias, and the limits within
//! which two readers agree (Bland and Altman). Equations and sources in docs/models/reader-comparison.md.

mod bias;
mod critical;
mod end_comparison;
mod limits;
mod mandel;
mod outliers;
mod precision;
mod study;

pub use bias::ReaderBias;
pub use critical::{
    CriticalValues, cochran_critical, grubbs_one_critical, grubbs_two_critical, mandel_h_critical,
    mandel_k_critical,
};
pub use end_comparison::{EndComparison, compare_readers};
pub use limits::{AgreementError, AgreementPoint, LimitsOfAgreement, limits_of_agreement};
pub use outliers::{StudyOutlier, StudyTest, StudyVerdict};
pub use precision::LevelPrecision;
pub use study::{ComparisonError, ReaderStudy};
