//! Doubts about a calibration that do not stop it.

use crate::determination::Remark;
use crate::distributions::probability_text;
use std::fmt;

/// A doubt beside a calibration. Points count from 0 in the order given.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum CalibrationRemark {
    /// A standard does not belong to the others.
    Suspect {
        /// Which.
        point: usize,
        /// Its name.
        substance: String,
        /// Its residual [°C].
        residual_c: f64,
        /// Probability of that among sound standards.
        probability: f64,
    },
    /// Too few degrees of freedom to look for outliers.
    NotScreened,
    /// A certificate is past its date.
    Expired {
        /// Which.
        point: usize,
        /// Its name.
        substance: String,
    },
    /// Two rows are the same.
    Duplicate {
        /// The later one.
        point: usize,
        /// The earlier one.
        of: usize,
        /// Their name.
        substance: String,
    },
    /// Nothing tells the uncertainty.
    NoUncertainty,
    /// Stated uncertainties do not explain the scatter.
    ScatterBeyondStated {
        /// Scatter over what was stated (Birge's ratio).
        ratio: f64,
    },
    /// Nobody said which melting points the references are.
    ConventionNotStated,
    /// All standards stand at one temperature.
    OneTemperature,
}

impl CalibrationRemark {
    /// Short name for programs.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Suspect { .. } => "suspect_standard",
            Self::NotScreened => "not_screened",
            Self::Expired { .. } => "certificate_expired",
            Self::Duplicate { .. } => "duplicate_row",
            Self::NoUncertainty => "no_uncertainty",
            Self::ScatterBeyondStated { .. } => "scatter_beyond_stated",
            Self::ConventionNotStated => "convention_not_stated",
            Self::OneTemperature => "one_temperature",
        }
    }
}

impl fmt::Display for CalibrationRemark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Suspect { substance, residual_c, probability, .. } => write!(
                f,
                "{substance} stands {residual_c:+.2} °C off the fit, which chance makes of sound standards with {} (studentised deleted residual, Bonferroni); it was used: check label, lot and reading, and fit again without it if a cause is found",
                probability_text(*probability, 4)
            ),
            Self::NotScreened => f.write_str("there are too few standards to look for outliers among them"),
            Self::Expired { substance, .. } => {
                write!(f, "the certificate of {substance} has expired; its value was used all the same")
            }
            Self::Duplicate { substance, .. } => write!(
                f,
                "{substance} stands in two rows with the same numbers; both count: remove one if it is one measurement entered twice"
            ),
            Self::NoUncertainty => f.write_str(
                "nothing tells how sure the correction is: give reference_u_c and indicated_u_c, or more standards than coefficients",
            ),
            Self::ScatterBeyondStated { ratio } => write!(
                f,
                "the standards scatter {ratio:.1} times as much as their stated uncertainties explain; the uncertainty was taken from the scatter"
            ),
            Self::ConventionNotStated => f.write_str(
                "it is not stated whether the reference values are thermodynamic or at a heating rate, which differ by 0.2 to 2.2 °C; corrected temperatures will carry \"not stated\"",
            ),
            Self::OneTemperature => f.write_str(
                "all standards stand at one temperature: the correction is known there only, everything else is extrapolation",
            ),
        }
    }
}

impl From<&CalibrationRemark> for Remark {
    fn from(remark: &CalibrationRemark) -> Self {
        Self {
            kind: remark.kind().to_owned(),
            text: remark.to_string(),
        }
    }
}
