//! Doubts about a determination that do not stop it.

use crate::determination::further::MOST_FURTHER;
use crate::determination::rates::{differ, extremes};
use crate::determination::result::{Correction, Determination, DeterminationOptions, End};
use crate::determination::runs::RunMean;
use crate::determination::trend::Trend;
use crate::distributions::probability_text;
use crate::temperature::Convention;
use meltrange_physics::Celsius;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Coverage factor above which one more run is worth saying.
const LARGE_COVERAGE_FACTOR: f64 = 4.0;

/// A doubt in words, with a name for programs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Remark {
    /// Short name.
    pub kind: String,
    /// In words.
    pub text: String,
}

/// A doubt beside a determination.
#[derive(Debug, Clone, PartialEq)]
enum DeterminationRemark {
    /// The runs do not agree; the value is the mean of all and provisional.
    NotAgreed {
        /// Largest difference between runs at one end [°C].
        spread_c: f64,
        /// What it may be [°C].
        limit_c: f64,
    },
    /// There is one run only.
    OneRun,
    /// Runs drift in their order.
    Trend(Trend),
    /// Repeating will hardly lead to agreement.
    ScatterTooLarge,
    /// Tubes of one run differ by more than runs may.
    TubesDiffer {
        /// Run.
        run: String,
        /// End.
        end: End,
        /// Largest less smallest [°C].
        difference_c: f64,
    },
    /// The correction was taken beyond the standards.
    NotBracketed {
        /// End.
        end: End,
        /// Standards from [°C].
        valid_from_c: f64,
        /// Standards to [°C].
        valid_to_c: f64,
    },
    /// No correction was made.
    Uncorrected,
    /// Corrected values carry no convention.
    ConventionNotStated,
    /// The uncertainty rests on so few runs that another would make it much smaller.
    FewRuns {
        /// Coverage factor now.
        coverage_factor: f64,
    },
    /// Runs at different rates are no repeats.
    RatesDiffer {
        /// Slowest and fastest [°C/min].
        rates_c_per_min: [f64; 2],
    },
    /// Nobody said how fast the standards were heated, but for the runs it is known.
    StandardsRateUnknown,
    /// First order and Monte Carlo differ.
    MonteCarloDiffers {
        /// End.
        end: End,
    },
}

impl DeterminationRemark {
    /// Short name for programs.
    fn kind(&self) -> &'static str {
        match self {
            Self::NotAgreed { .. } => "not_agreed",
            Self::OneRun => "one_run",
            Self::Trend(_) => "trend",
            Self::ScatterTooLarge => "scatter_too_large",
            Self::TubesDiffer { .. } => "tubes_differ",
            Self::NotBracketed { .. } => "not_bracketed",
            Self::Uncorrected => "uncorrected",
            Self::ConventionNotStated => "convention_not_stated",
            Self::FewRuns { .. } => "few_runs",
            Self::RatesDiffer { .. } => "rates_differ",
            Self::StandardsRateUnknown => "standards_rate_unknown",
            Self::MonteCarloDiffers { .. } => "monte_carlo_differs",
        }
    }
}

impl fmt::Display for DeterminationRemark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAgreed { spread_c, limit_c } => write!(
                f,
                "the runs differ by up to {spread_c:.2} °C, more than {limit_c} °C; the range given is the mean of all runs and provisional"
            ),
            Self::OneRun => f.write_str(
                "there is one run only: its repeatability is assumed from the limit of agreement, not measured",
            ),
            Self::Trend(trend) => write!(
                f,
                "{} moves by {:+.2} °C from run to run ({}): think of drying, decomposition or a thermometer warming up before averaging",
                trend.end.in_words(),
                trend.per_run_c,
                probability_text(trend.probability, 3)
            ),
            Self::ScatterTooLarge => f.write_str(
                "at this scatter more runs will hardly agree: look for the cause (heating rate, packing, drying, decomposition) first",
            ),
            Self::TubesDiffer { run, end, difference_c } => write!(
                f,
                "the tubes of run {run} differ by {difference_c:.2} °C in {}, more than runs may; they were averaged all the same",
                end.in_words()
            ),
            Self::NotBracketed { end, valid_from_c, valid_to_c } => write!(
                f,
                "{} lies outside {valid_from_c:.1} to {valid_to_c:.1} °C, where the standards are: the correction is extrapolated",
                end.in_words()
            ),
            Self::Uncorrected => f.write_str(
                "temperatures are as indicated: the thermometer's error is neither corrected nor in the uncertainty",
            ),
            Self::ConventionNotStated => f.write_str(
                "the calibration does not say whether its references are thermodynamic or at a heating rate, so neither does this result",
            ),
            Self::FewRuns { coverage_factor } => write!(
                f,
                "the repeatability is known from few runs, hence the coverage factor of {coverage_factor:.1}; one more run would bring it down much"
            ),
            Self::RatesDiffer { rates_c_per_min: [slowest, fastest] } => write!(
                f,
                "the runs were heated at {slowest:.2} to {fastest:.2} °C/min: runs at different rates are no repeats of each other; what they say of zero rate is given beside"
            ),
            Self::StandardsRateUnknown => f.write_str(
                "the calibration does not say at which heating rate its standards were read: what a different rate does is not in the uncertainty",
            ),
            Self::MonteCarloDiffers { end } => write!(
                f,
                "for {} the interval by Monte Carlo differs from the first-order one beyond rounding; both are given, and the wider one is written down",
                end.in_words()
            ),
        }
    }
}

/// All doubts about a determination.
pub(crate) fn remarks(
    determination: &Determination,
    runs: &[RunMean],
    options: &DeterminationOptions<'_>,
) -> Vec<Remark> {
    let limit_c = options.agree_within_c;
    let ends = [
        (End::FirstLiquid, &determination.first_liquid),
        (End::LastCrystal, &determination.last_crystal),
    ];
    let mut remarks = Vec::new();
    if runs.len() == 1 {
        remarks.push(DeterminationRemark::OneRun);
    } else if !determination.agreed {
        let spread_c = determination.spread_c;
        remarks.push(DeterminationRemark::NotAgreed { spread_c, limit_c });
    }
    if determination.further_runs_needed >= MOST_FURTHER {
        remarks.push(DeterminationRemark::ScatterTooLarge);
    }
    remarks.extend(
        determination
            .trends
            .iter()
            .copied()
            .map(DeterminationRemark::Trend),
    );
    for run in runs {
        for end in End::BOTH {
            let difference_c = run.mean(end).among_tubes_c;
            if difference_c > limit_c {
                let run = run.run.clone();
                remarks.push(DeterminationRemark::TubesDiffer {
                    run,
                    end,
                    difference_c,
                });
            }
        }
    }
    for (end, result) in ends {
        if result.extrapolated {
            remarks.extend(not_bracketed(end, runs, options));
        }
        if result.monte_carlo.is_some_and(|check| check.differs) {
            remarks.push(DeterminationRemark::MonteCarloDiffers { end });
        }
    }
    match determination.convention {
        None => remarks.push(DeterminationRemark::Uncorrected),
        Some(Convention::NotStated) => remarks.push(DeterminationRemark::ConventionNotStated),
        Some(_) => {}
    }
    if let Some(rates_c_per_min) = extremes(runs, options).filter(|&rates| differ(rates)) {
        remarks.push(DeterminationRemark::RatesDiffer { rates_c_per_min });
    }
    if standards_rate_unknown(runs, options) {
        remarks.push(DeterminationRemark::StandardsRateUnknown);
    }
    let coverage_factor = ends
        .iter()
        .map(|(_, end)| end.coverage_factor)
        .fold(0.0, f64::max);
    if determination.agreed && coverage_factor > LARGE_COVERAGE_FACTOR {
        remarks.push(DeterminationRemark::FewRuns { coverage_factor });
    }
    remarks
        .iter()
        .map(|remark| Remark {
            kind: remark.kind().to_owned(),
            text: remark.to_string(),
        })
        .collect()
}

/// The standards that do not bracket one end of the runs.
fn not_bracketed(
    end: End,
    runs: &[RunMean],
    options: &DeterminationOptions<'_>,
) -> Option<DeterminationRemark> {
    runs.iter().find_map(|run| {
        let Correction::Calibration(calibration) = options.correction_of(&run.run) else {
            return None;
        };
        let curve = calibration.curve();
        curve.at(Celsius(run.value_c(end))).extrapolated.then_some(
            DeterminationRemark::NotBracketed {
                end,
                valid_from_c: curve.valid_from_c,
                valid_to_c: curve.valid_to_c,
            },
        )
    })
}

fn standards_rate_unknown(runs: &[RunMean], options: &DeterminationOptions<'_>) -> bool {
    runs.iter().any(|run| {
        let unknown = match options.correction_of(&run.run) {
            Correction::Calibration(calibration) => calibration.curve().read_at_c_per_min.is_none(),
            _ => false,
        };
        unknown && options.rate_of(&run.run).is_some()
    })
}
