//! The result of a determination.

use crate::budget::{Component, DegreesOfFreedomRule, Distribution, Source, combine, type_a};
use crate::calibration::Calibration;
use crate::determination::agreement::{Ends, agreeing};
use crate::determination::further::{LIMIT_OVER_REPEATABILITY, MOST_FURTHER, further_runs};
use crate::determination::outliers::{Outlier, outliers};
use crate::determination::remarks::DeterminationRemark;
use crate::determination::runs::{DeterminationError, RunMean, TubeReading, run_means};
use crate::determination::trend::{Trend, trends};
use crate::determination::wording::{Notebook, notebook_text, range_text};
use crate::monte_carlo::{MonteCarloOptions, numerical_tolerance, propagate};
use crate::stem::{EmergentStem, Thermometer, correct_for_stem};
use crate::temperature::{Convention, Corrected, Indicated};
use meltrange_physics::Celsius;
use serde::Serialize;

/// Limit of agreement at both ends [°C]; common practice, no source.
const AGREE_WITHIN_C: f64 = 0.5;

/// Coverage of expanded uncertainties.
const COVERAGE: f64 = 0.95;

/// Coverage factor above which one more run is worth saying.
const LARGE_COVERAGE_FACTOR: f64 = 4.0;

/// One of the two ends of a melting range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum End {
    /// The first definite liquid.
    FirstLiquid,
    /// The last of the solid.
    LastCrystal,
}

impl End {
    /// Both.
    pub const BOTH: [Self; 2] = [Self::FirstLiquid, Self::LastCrystal];

    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::FirstLiquid => "the first liquid",
            Self::LastCrystal => "the last crystal",
        }
    }
}

/// How indicated temperatures become true ones. One of them: they cannot be applied both.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Correction<'a> {
    /// Not at all.
    #[default]
    None,
    /// By reference substances; contains the error of an emergent stem.
    Calibration(&'a Calibration),
    /// For the emergent stem alone.
    Stem(Thermometer, EmergentStem),
}

/// What is known of the scatter between runs from elsewhere, for example from past runs of a bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeatability {
    /// Standard deviation of one run [°C], > 0.
    pub standard_deviation_c: f64,
    /// Degrees of freedom it was told with; may be infinite.
    pub degrees_of_freedom: f64,
}

/// How to determine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DeterminationOptions<'a> {
    /// Limit of agreement at both ends [°C], > 0; 0.5 by common practice.
    pub agree_within_c: f64,
    /// How indicated temperatures are corrected.
    pub correction: Correction<'a>,
    /// Scatter known from elsewhere, pooled with that of the runs.
    pub repeatability: Option<Repeatability>,
    /// The check by Monte Carlo; `None` leaves it out.
    pub monte_carlo: Option<MonteCarloOptions>,
}

impl Default for DeterminationOptions<'_> {
    fn default() -> Self {
        Self {
            agree_within_c: AGREE_WITHIN_C,
            correction: Correction::None,
            repeatability: None,
            monte_carlo: Some(MonteCarloOptions::default()),
        }
    }
}

/// Coverage interval of one end by Monte Carlo.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MonteCarloCheck {
    /// Lower end [°C].
    pub low_c: f64,
    /// Upper end [°C].
    pub high_c: f64,
    /// Draws made.
    pub draws: usize,
    /// Whether an end is further from the first-order one than the numerical tolerance of JCGM 101:2008, 8.1.
    pub differs: bool,
}

/// One end of the result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EndResult {
    /// Value [°C].
    pub value_c: f64,
    /// Combined standard uncertainty [°C].
    pub standard_uncertainty_c: f64,
    /// With a coverage of 95 % [°C].
    pub expanded_uncertainty_c: f64,
    /// Student's t for the effective degrees of freedom.
    pub coverage_factor: f64,
    /// By Welch and Satterthwaite; `None` where infinite.
    pub effective_degrees_of_freedom: Option<f64>,
    /// Mean indicated temperature [°C].
    pub indicated_c: f64,
    /// What was added [°C]; 0 without a correction.
    pub correction_c: f64,
    /// Whether the correction was taken beyond the standards.
    pub extrapolated: bool,
    /// The components.
    pub budget: Vec<Component>,
    /// The check.
    pub monte_carlo: Option<MonteCarloCheck>,
}

/// The result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Determination {
    /// Whether enough runs agree.
    pub agreed: bool,
    /// Runs that the values are the mean of.
    pub runs_used: Vec<String>,
    /// How many more are likely to be needed; 0 when agreed.
    pub further_runs_needed: usize,
    /// First liquid.
    pub first_liquid: EndResult,
    /// Last crystal.
    pub last_crystal: EndResult,
    /// Largest difference between the runs used, at whichever end it is larger [°C].
    pub spread_c: f64,
    /// Last crystal less first liquid [°C].
    pub width_c: f64,
    /// The range for a notebook.
    pub range_text: String,
    /// The range with correction, convention, runs and uncertainties.
    pub notebook_text: String,
    /// Runs that do not belong to the others.
    pub outliers: Vec<Outlier>,
    /// Ends that drift with run order.
    pub trends: Vec<Trend>,
    /// Limit of agreement applied [°C].
    pub agree_within_c: f64,
    /// Whether a correction was applied.
    pub corrected: bool,
    /// Convention of the values; `None` when uncorrected.
    pub convention: Option<Convention>,
    /// Doubts; each knows its kind and its words.
    #[serde(skip)]
    pub remarks: Vec<DeterminationRemark>,
}

/// Determine a melting range from readings of one or more runs.
///
/// Tubes of a run are averaged first; only runs count as repeats. The means of the runs that agree
/// are averaged and corrected, once. Without agreement all runs are averaged and the result says so.
///
/// # Uncertainty
/// First order (JCGM 100:2008): the readings' own uncertainty; what the runs scatter beyond it, with
/// n − 1 degrees of freedom (the variance of the means is whichever is larger, so nothing is
/// counted twice and a lucky agreement does not promise more than was read); the correction.
///
/// # Errors
/// [`DeterminationError`] for contradicting readings or limits.
pub fn determine(
    readings: &[TubeReading],
    options: DeterminationOptions<'_>,
) -> Result<Determination, DeterminationError> {
    let limit_c = options.agree_within_c;
    if !(limit_c > 0.0 && limit_c.is_finite()) {
        return Err(DeterminationError::Limit { found: limit_c });
    }
    if let Some(known) = options.repeatability {
        let sound = known.standard_deviation_c > 0.0
            && known.standard_deviation_c.is_finite()
            && known.degrees_of_freedom > 0.0;
        if !sound {
            return Err(DeterminationError::Repeatability {
                found: known.standard_deviation_c,
            });
        }
    }
    let runs = run_means(readings)?;
    let ends: Vec<Ends> = runs
        .iter()
        .map(|run| End::BOTH.map(|end| run.value_c(end)))
        .collect();
    let set = agreeing(&ends, limit_c);
    let agreed = set.is_some();
    let places = set.unwrap_or_else(|| (0..runs.len()).collect());
    let used: Vec<&RunMean> = places.iter().filter_map(|&place| runs.get(place)).collect();
    let (first_liquid, convention) = end_result(&used, End::FirstLiquid, &options)?;
    let (last_crystal, _) = end_result(&used, End::LastCrystal, &options)?;
    let larger_u = first_liquid
        .standard_uncertainty_c
        .max(last_crystal.standard_uncertainty_c);
    let range_text = range_text(first_liquid.value_c, last_crystal.value_c, larger_u);
    let mut determination = Determination {
        agreed,
        runs_used: used.iter().map(|run| run.run.clone()).collect(),
        further_runs_needed: further_runs(&ends, limit_c),
        spread_c: spread(&used),
        width_c: last_crystal.value_c - first_liquid.value_c,
        notebook_text: notebook_text(&Notebook {
            range_text: &range_text,
            corrected: convention,
            runs: used.len(),
            agreed,
            expanded_c: [
                first_liquid.expanded_uncertainty_c,
                last_crystal.expanded_uncertainty_c,
            ],
            coverage_factors: [first_liquid.coverage_factor, last_crystal.coverage_factor],
        }),
        range_text,
        outliers: outliers(&runs, &places, limit_c),
        trends: trends(&runs),
        agree_within_c: limit_c,
        corrected: convention.is_some(),
        convention,
        remarks: Vec::new(),
        first_liquid,
        last_crystal,
    };
    determination.remarks = remarks(&determination, &runs, &options);
    Ok(determination)
}

fn spread(used: &[&RunMean]) -> f64 {
    End::BOTH
        .into_iter()
        .map(|end| {
            let values = || used.iter().map(|run| run.value_c(end));
            values().fold(f64::NEG_INFINITY, f64::max) - values().fold(f64::INFINITY, f64::min)
        })
        .fold(0.0, f64::max)
}

/// Mean, correction, budget and check of one end.
fn end_result(
    used: &[&RunMean],
    end: End,
    options: &DeterminationOptions<'_>,
) -> Result<(EndResult, Option<Convention>), DeterminationError> {
    let values: Vec<f64> = used.iter().map(|run| run.value_c(end)).collect();
    let indicated_c = values.iter().sum::<f64>() / values.len() as f64;
    // The uncertainty of the mean is kept in the budget, not in the reading.
    let reading = Indicated::new(Celsius(indicated_c), 0.0)?;
    let (corrected, from_correction, sensitivity) = corrected(reading, options.correction)?;
    let value_c = corrected.map_or(indicated_c, |corrected| corrected.value().0);
    let mut budget = run_components(used, end, &values, options, sensitivity);
    budget.extend(from_correction);
    let combined = combine(&budget, COVERAGE, DegreesOfFreedomRule::AsTheyCome);
    let monte_carlo = options.monte_carlo.map(|options| {
        let draws = propagate(
            value_c,
            &budget,
            MonteCarloOptions {
                coverage: COVERAGE,
                ..options
            },
        );
        let tolerance_c = numerical_tolerance(combined.standard_uncertainty);
        let off = |found: f64, first_order: f64| (found - first_order).abs() > tolerance_c;
        MonteCarloCheck {
            low_c: draws.low,
            high_c: draws.high,
            draws: draws.draws,
            differs: off(draws.low, value_c - combined.expanded_uncertainty)
                || off(draws.high, value_c + combined.expanded_uncertainty),
        }
    });
    let effective = combined.effective_degrees_of_freedom;
    let result = EndResult {
        value_c,
        standard_uncertainty_c: combined.standard_uncertainty,
        expanded_uncertainty_c: combined.expanded_uncertainty,
        coverage_factor: combined.coverage_factor,
        effective_degrees_of_freedom: effective.is_finite().then_some(effective),
        indicated_c,
        correction_c: value_c - indicated_c,
        extrapolated: corrected.is_some_and(|corrected| corrected.is_extrapolated()),
        budget,
        monte_carlo,
    };
    Ok((result, corrected.map(|corrected| corrected.convention())))
}

/// The correction, its line of the budget, and how much the result moves with the reading.
fn corrected(
    reading: Indicated,
    correction: Correction<'_>,
) -> Result<(Option<Corrected>, Option<Component>, f64), DeterminationError> {
    let component = |source, text: &str, standard_uncertainty, degrees_of_freedom| Component {
        source,
        text: text.to_owned(),
        standard_uncertainty,
        sensitivity: 1.0,
        degrees_of_freedom,
        distribution: if f64::is_finite(degrees_of_freedom) {
            Distribution::StudentT
        } else {
            Distribution::Normal
        },
    };
    Ok(match correction {
        Correction::None => (None, None, 1.0),
        Correction::Calibration(calibration) => {
            let line = component(
                Source::Calibration,
                "the fitted correction at this temperature",
                calibration.standard_uncertainty_c(reading.value()),
                calibration.degrees_of_freedom(),
            );
            let sensitivity = calibration.sensitivity(reading.value());
            (Some(calibration.correct(reading)), Some(line), sensitivity)
        }
        Correction::Stem(thermometer, stem) => {
            let corrected = correct_for_stem(thermometer, stem, reading, None)?;
            let line = component(
                Source::Stem,
                "mean temperature of the emergent column, expansion of the liquid",
                corrected.standard_uncertainty_c(),
                f64::INFINITY,
            );
            (Some(corrected), Some(line), 1.0)
        }
    })
}

/// What readings and their scatter contribute.
fn run_components(
    used: &[&RunMean],
    end: End,
    values: &[f64],
    options: &DeterminationOptions<'_>,
    sensitivity: f64,
) -> Vec<Component> {
    let count = values.len() as f64;
    let reading_variance = used
        .iter()
        .map(|run| run.mean(end).reading_u_c.powi(2))
        .sum::<f64>()
        / count;
    let scatter = scatter(values, options);
    let beyond = (scatter.standard_deviation_c.powi(2) - reading_variance).max(0.0);
    let distribution = if scatter.degrees_of_freedom.is_finite() {
        Distribution::StudentT
    } else {
        Distribution::Normal
    };
    vec![
        Component {
            source: Source::Reading,
            text: "readings of the tubes, their stated uncertainty or the step they are written in"
                .to_owned(),
            standard_uncertainty: (reading_variance / count).sqrt(),
            sensitivity,
            degrees_of_freedom: f64::INFINITY,
            distribution: Distribution::Normal,
        },
        Component {
            source: Source::Repeatability,
            text: scatter.text,
            standard_uncertainty: (beyond / count).sqrt(),
            sensitivity,
            degrees_of_freedom: scatter.degrees_of_freedom,
            distribution,
        },
    ]
}

struct Scatter {
    standard_deviation_c: f64,
    degrees_of_freedom: f64,
    text: String,
}

/// Scatter of one run: of these runs, pooled with what is known; with neither, what the limit implies.
fn scatter(values: &[f64], options: &DeterminationOptions<'_>) -> Scatter {
    let here = type_a(values);
    let count = values.len();
    match (here, options.repeatability) {
        (Some(here), None) => Scatter {
            standard_deviation_c: here.standard_deviation,
            degrees_of_freedom: here.degrees_of_freedom,
            text: format!("scatter of {count} runs beyond their readings' uncertainty"),
        },
        (Some(here), Some(known)) if known.degrees_of_freedom.is_finite() => {
            let together = here.degrees_of_freedom + known.degrees_of_freedom;
            let squares = here.degrees_of_freedom * here.standard_deviation.powi(2)
                + known.degrees_of_freedom * known.standard_deviation_c.powi(2);
            Scatter {
                standard_deviation_c: (squares / together).sqrt(),
                degrees_of_freedom: together,
                text: format!("scatter of {count} runs pooled with the known repeatability"),
            }
        }
        (_, Some(known)) => Scatter {
            standard_deviation_c: known.standard_deviation_c,
            degrees_of_freedom: known.degrees_of_freedom,
            text: "the known repeatability".to_owned(),
        },
        (None, None) => Scatter {
            standard_deviation_c: options.agree_within_c / LIMIT_OVER_REPEATABILITY,
            degrees_of_freedom: f64::INFINITY,
            text: "assumed: one run shows no scatter, so that which the limit of agreement implies (limit/2.8)"
                .to_owned(),
        },
    }
}

fn remarks(
    determination: &Determination,
    runs: &[RunMean],
    options: &DeterminationOptions<'_>,
) -> Vec<DeterminationRemark> {
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
        if let (true, Correction::Calibration(calibration)) =
            (result.extrapolated, options.correction)
        {
            let curve = calibration.curve();
            remarks.push(DeterminationRemark::NotBracketed {
                end,
                valid_from_c: curve.valid_from_c,
                valid_to_c: curve.valid_to_c,
            });
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
    let coverage_factor = ends
        .iter()
        .map(|(_, end)| end.coverage_factor)
        .fold(0.0, f64::max);
    if determination.agreed && coverage_factor > LARGE_COVERAGE_FACTOR {
        remarks.push(DeterminationRemark::FewRuns { coverage_factor });
    }
    remarks
}
