//! The result of a determination.

use crate::budget::Component;
use crate::calibration::Calibration;
use crate::determination::agreement::{Ends, agreeing};
use crate::determination::corrections::{compared, groups, leads_to};
use crate::determination::ends::end_result;
use crate::determination::further::further_runs;
use crate::determination::outliers::{Outlier, outliers};
use crate::determination::rates::{EndsAtZeroRate, at_zero_rate};
use crate::determination::remarks::{Remark, remarks};
use crate::determination::runs::{DeterminationError, RunMean, TubeReading, run_means};
use crate::determination::trend::{Trend, trends};
use crate::determination::wording::{Notebook, notebook_text, range_text};
use crate::monte_carlo::MonteCarloOptions;
use crate::specification::ResultEnd;
use crate::stem::{EmergentStem, Thermometer};
use crate::temperature::{Convention, HIGHEST_C};
use serde::{Deserialize, Serialize};

/// Limit of agreement at both ends [°C]; common practice, no source.
pub const AGREE_WITHIN_C: f64 = 0.5;

/// Fastest heating believed [°C/min].
pub const FASTEST_C_PER_MIN: f64 = 100.0;

/// Longest lag believed [s].
const LONGEST_LAG_S: f64 = 3600.0;

/// One of the two ends of a melting range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
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

/// How far the sample is behind the thermometer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lag {
    /// Delay [s], ≥ 0: the difference is this times the heating rate.
    pub seconds: f64,
    /// Standard uncertainty of the delay [s], ≥ 0.
    pub standard_uncertainty_s: f64,
}

/// How to determine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DeterminationOptions<'a> {
    /// Limit of agreement at both ends [°C], > 0; 0.5 by common practice.
    pub agree_within_c: f64,
    /// How indicated temperatures are corrected.
    pub correction: Correction<'a>,
    /// Runs that are corrected otherwise, by name.
    pub by_run: &'a [(&'a str, Correction<'a>)],
    /// Heating rates of runs through the melting [°C/min], > 0, by name, where they are known.
    pub rates: &'a [(&'a str, f64)],
    /// How far the sample is behind the thermometer, if that is known.
    pub lag: Option<Lag>,
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
            by_run: &[],
            rates: &[],
            lag: None,
            repeatability: None,
            monte_carlo: Some(MonteCarloOptions::default()),
        }
    }
}

/// Coverage interval of one end by Monte Carlo.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MonteCarloCheck {
    /// Lower end [°C].
    pub low_c: f64,
    /// Upper end [°C].
    pub high_c: f64,
    /// Draws made.
    pub draws: usize,
    /// Whether an end is further from the first-order one than the numerical tolerance of JCGM 101:2008, 8.1, and
    /// three standard errors of the draws.
    pub differs: bool,
}

/// One end of the result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
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
    /// What is written down [°C]: the first-order expanded uncertainty, unless that is too small.
    pub stated_expanded_uncertainty_c: f64,
    /// Where that comes from.
    pub stated_from: StatedFrom,
}

impl EndResult {
    /// As it enters a decision: with the uncertainty that its stated interval has, so that a guard band
    /// is never narrower than what is written down beside it.
    pub fn to_decide_on(&self) -> ResultEnd {
        let wider = if self.expanded_uncertainty_c > 0.0 {
            (self.stated_expanded_uncertainty_c / self.expanded_uncertainty_c).max(1.0)
        } else {
            1.0
        };
        ResultEnd {
            value_c: self.value_c,
            standard_uncertainty_c: wider * self.standard_uncertainty_c,
            degrees_of_freedom: self.effective_degrees_of_freedom.unwrap_or(f64::INFINITY),
        }
    }
}

/// Where the expanded uncertainty that is written down comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum StatedFrom {
    /// GUM first order with effective degrees of freedom.
    FirstOrder,
    /// The farther end of the interval by Monte Carlo.
    MonteCarlo,
    /// Every component expanded with its own factor, added in squares; where nothing was drawn.
    EachComponent,
}

/// One run of a determination.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RunResult {
    /// Its name.
    pub run: String,
    /// Tubes averaged.
    pub tubes: usize,
    /// Mean first liquid as indicated [°C].
    pub first_liquid_c: f64,
    /// Mean last crystal as indicated [°C].
    pub last_crystal_c: f64,
    /// Through the melting [°C/min]; null where it is not known.
    pub heating_rate_c_per_min: Option<f64>,
    /// Whether it went into the result.
    pub used: bool,
}

/// The result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Determination {
    /// Whether enough runs agree.
    pub agreed: bool,
    /// All runs, in order.
    pub runs: Vec<RunResult>,
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
    /// Both ends at zero heating rate, where the runs were heated at two rates or more.
    pub zero_rate: Option<EndsAtZeroRate>,
    /// Limit of agreement applied [°C].
    pub agree_within_c: f64,
    /// Whether a correction was applied.
    pub corrected: bool,
    /// Convention of the values; `None` when uncorrected.
    pub convention: Option<Convention>,
    /// Doubts.
    pub remarks: Vec<Remark>,
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
    if !(limit_c > 0.0 && limit_c <= HIGHEST_C) {
        return Err(DeterminationError::Limit { found: limit_c });
    }
    if let Some(known) = options.repeatability {
        let sound = known.standard_deviation_c > 0.0
            && known.standard_deviation_c <= HIGHEST_C
            && known.degrees_of_freedom > 0.0;
        if !sound {
            return Err(DeterminationError::Repeatability {
                found: known.standard_deviation_c,
            });
        }
    }
    heating(&options)?;
    let runs = run_means(readings)?;
    let all: Vec<&RunMean> = runs.iter().collect();
    let several = groups(&all, &options)?.len() > 1;
    let compared = compared(&runs, &options, several)?;
    let ends: Vec<Ends> = compared
        .iter()
        .map(|run| End::BOTH.map(|end| run.value_c(end)))
        .collect();
    let set = agreeing(&ends, limit_c);
    let agreed = set.is_some();
    let places = set.unwrap_or_else(|| (0..runs.len()).collect());
    let used: Vec<&RunMean> = places.iter().filter_map(|&place| runs.get(place)).collect();
    let used_groups = groups(&used, &options)?;
    let values = |end: End| -> Vec<f64> {
        places
            .iter()
            .filter_map(|&place| compared.get(place))
            .map(|run| run.value_c(end))
            .collect()
    };
    let result = |end: End| end_result(&used, &used_groups, &values(end), end, &options);
    let (first_liquid, last_crystal) = (result(End::FirstLiquid)?, result(End::LastCrystal)?);
    let convention = used_groups
        .first()
        .and_then(|group| leads_to(group.correction));
    let larger_u = first_liquid
        .standard_uncertainty_c
        .max(last_crystal.standard_uncertainty_c);
    let range_text = range_text(first_liquid.value_c, last_crystal.value_c, larger_u);
    let mut determination = Determination {
        agreed,
        runs: (0..)
            .zip(&runs)
            .map(|(place, run)| RunResult {
                run: run.run.clone(),
                tubes: run.tubes,
                first_liquid_c: run.value_c(End::FirstLiquid),
                last_crystal_c: run.value_c(End::LastCrystal),
                heating_rate_c_per_min: options.rate_of(&run.run),
                used: places.contains(&place),
            })
            .collect(),
        runs_used: used.iter().map(|run| run.run.clone()).collect(),
        further_runs_needed: further_runs(&ends, limit_c),
        spread_c: End::BOTH
            .into_iter()
            .map(|end| spread(&values(end)))
            .fold(0.0, f64::max),
        width_c: last_crystal.value_c - first_liquid.value_c,
        notebook_text: notebook_text(&Notebook {
            range_text: &range_text,
            corrected: convention,
            runs: used.len(),
            agreed,
            first_liquid: &first_liquid,
            last_crystal: &last_crystal,
        }),
        range_text,
        outliers: outliers(&compared, &places, limit_c),
        trends: trends(&compared),
        zero_rate: at_zero_rate(&compared, &options),
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

fn spread(values_c: &[f64]) -> f64 {
    values_c.iter().copied().fold(f64::NEG_INFINITY, f64::max)
        - values_c.iter().copied().fold(f64::INFINITY, f64::min)
}

/// Refuse rates and lags that are none.
fn heating(options: &DeterminationOptions<'_>) -> Result<(), DeterminationError> {
    let refused = |quantity: String, found, expected| {
        Err(DeterminationError::Heating {
            quantity,
            found,
            expected,
        })
    };
    for (run, rate) in options.rates {
        if !(*rate > 0.0 && *rate <= FASTEST_C_PER_MIN) {
            return refused(
                format!("the heating rate of run {run} in °C/min"),
                *rate,
                "a number above 0 and at most 100",
            );
        }
    }
    if let Some(lag) = options.lag {
        for (what, seconds) in [
            ("the lag in s", lag.seconds),
            (
                "the uncertainty of the lag in s",
                lag.standard_uncertainty_s,
            ),
        ] {
            if !(0.0..=LONGEST_LAG_S).contains(&seconds) {
                return refused(what.to_owned(), seconds, "a number from 0 to 3600");
            }
        }
    }
    Ok(())
}
