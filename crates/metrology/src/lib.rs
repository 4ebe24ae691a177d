//! Temperature truth: calibration, uncertainty, agreement of runs and decisions on a range.

mod budget;
mod calibration;
mod determination;
mod distributions;
mod least_squares;
mod monte_carlo;
mod polynomial;
mod scale;
mod specification;
mod stem;
mod temperature;
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
pub use determination::{
    Correction, Determination, DeterminationError, DeterminationOptions, DeterminationRemark, End,
    EndResult, MonteCarloCheck, Outlier, OutlierTest, Repeatability, RunMean, Trend, TubeReading,
    determine, range_text,
};
pub use distributions::{student_t, student_t_below};
pub use least_squares::{LeastSquares, LeastSquaresError, least_squares};
pub use monte_carlo::{Interval, MonteCarlo, MonteCarloOptions, numerical_tolerance, propagate};
pub use polynomial::{PolynomialFit, fit_polynomial};
pub use scale::{OldScale, old_scale, t90_minus_t68_c};
pub use specification::{
    Decision, DecisionRule, RequiredRange, ResultEnd, SpecificationCheck, SpecificationError,
    check_specification,
};
pub use stem::{
    EmergentStem, StemError, Thermometer, ThermometricLiquid, correct_for_stem, stem_correction_c,
};
pub use temperature::{Convention, Corrected, Indicated, TemperatureError, resolution_of};
pub use zero_rate::{AtRate, Extrapolated, ZeroRate, ZeroRateError, zero_rate};
