//! Temperature truth: calibration, uncertainty, agreement of runs and decisions on a range.
//!
//! What comes in: what reference substances and samples showed ([`StandardPoint`], [`TubeReading`]).
//! What goes out: a correction with its covariance ([`calibrate`]) and a melting range with the
//! uncertainty of each end ([`determine`]). No files, no clock, no network; equations and sources
//! in docs/models/metrology.md.
//!
//! # Example
//! A thermometer that reads 0.5 °C low, and a sample read in two runs:
//! ```
//! use meltrange_metrology::*;
//! use meltrange_physics::Celsius;
//! let standard = |substance: &str, reference_c, indicated_c| StandardPoint {
//!     substance: substance.to_owned(),
//!     reference: Celsius(reference_c),
//!     indicated: Celsius(indicated_c),
//!     reference_u_c: Some(0.1),
//!     indicated_u_c: None,
//!     convention: Convention::Thermodynamic,
//!     certificate: Certificate::NotStated,
//! };
//! let standards = [standard("benzil", 94.9, 94.4), standard("urea", 134.4, 133.9)];
//! let calibration = Calibration::new(calibrate(&standards, CalibrationOptions::default())?.curve)?;
//!
//! let reading = |run: &str, first_c, last_c| -> Result<TubeReading, TemperatureError> {
//!     Ok(TubeReading {
//!         run: run.to_owned(),
//!         tube: "1".to_owned(),
//!         first_liquid: Indicated::new(Celsius(first_c), 0.1)?,
//!         last_crystal: Indicated::new(Celsius(last_c), 0.1)?,
//!     })
//! };
//! let options = DeterminationOptions {
//!     correction: Correction::Calibration(&calibration),
//!     ..DeterminationOptions::default()
//! };
//! let found = determine(&[reading("1", 121.0, 121.8)?, reading("2", 121.2, 122.0)?], options)?;
//! assert!(found.agreed);
//! assert_eq!(found.range_text, "121.6–122.4 °C");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod budget;
mod calibration;
mod comparison;
mod conversion;
mod determination;
mod distributions;
mod drift;
mod least_squares;
mod monte_carlo;
mod polynomial;
mod scale;
mod specification;
mod stem;
mod temperature;
mod usual_standards;
mod zero_rate;

pub use budget::{
    Combined, Component, DegreesOfFreedomRule, Distribution, Source, TypeA, combine, type_a,
    welch_satterthwaite,
};
pub use calibration::{
    Calibration, CalibrationError, CalibrationFit, CalibrationOptions, CalibrationRemark,
    Certificate, CorrectionAt, CorrectionCurve, CurveError, DegreeChoice, PointVerdict,
    StandardPoint, TermTest, UncertaintyFrom, calibrate,
};
pub use comparison::{
    AgreementError, AgreementPoint, ComparisonError, CriticalValues, EndComparison, LevelPrecision,
    LimitsOfAgreement, ReaderBias, ReaderStudy, StudyOutlier, StudyTest, StudyVerdict,
    cochran_critical, compare_readers, grubbs_one_critical, grubbs_two_critical,
    limits_of_agreement, mandel_h_critical, mandel_k_critical,
};
pub use conversion::{ConversionError, Converted, convert_convention};
pub use determination::{
    AGREE_WITHIN_C, Correction, Determination, DeterminationError, DeterminationOptions, End,
    EndResult, EndsAtZeroRate, FASTEST_C_PER_MIN, Lag, MonteCarloCheck, Outlier, OutlierTest,
    Remark, Repeatability, RunMean, RunResult, StatedFrom, Trend, TubeReading, determine,
    range_text,
};
pub use distributions::{student_t, student_t_below};
pub use drift::{
    Alarm, ChartError, ChartLimits, ChartOptions, ChartPoint, ChartRule, ControlChart,
    MovingRangeChart, Schedule, WeightedAverageChart, chart_rules, control_chart, schedule,
};
pub use least_squares::{LeastSquares, LeastSquaresError, least_squares};
pub use monte_carlo::{Interval, MonteCarlo, MonteCarloOptions, numerical_tolerance, propagate};
pub use polynomial::{PolynomialFit, fit_polynomial};
pub use scale::{OldScale, old_scale, t90_minus_t68_c};
pub use specification::{
    Decision, DecisionRule, RequiredRange, ResultEnd, SpecificationCheck, SpecificationError,
    check_specification,
};
pub use stem::{
    EmergentStem, StatedStem, StemError, Thermometer, ThermometricLiquid, correct_for_stem,
    stem_correction_c,
};
pub use temperature::{Convention, Corrected, Indicated, TemperatureError, resolution_of};
pub use usual_standards::{UsualStandard, WORTH_A_SECOND_LOOK_C, usual_standards};
pub use zero_rate::{AtRate, Extrapolated, ZeroRate, ZeroRateError, one_rate, zero_rate};
