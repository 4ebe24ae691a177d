//! Readings of tubes, averaged to runs.

use crate::determination::result::End;
use crate::temperature::{Indicated, resolution_of};

/// Most runs of one determination; more of one sample are two samples or a mistake.
const MOST_RUNS: usize = 200;

/// What one tube of one run showed.
#[derive(Debug, Clone, PartialEq)]
pub struct TubeReading {
    /// Name of the run.
    pub run: String,
    /// Name of the tube within it.
    pub tube: String,
    /// First liquid as indicated; an uncertainty of 0 means that none was stated.
    pub first_liquid: Indicated,
    /// Last crystal as indicated; an uncertainty of 0 means that none was stated.
    pub last_crystal: Indicated,
}

impl TubeReading {
    pub(crate) fn end(&self, end: End) -> Indicated {
        match end {
            End::FirstLiquid => self.first_liquid,
            End::LastCrystal => self.last_crystal,
        }
    }
}

/// One end of the mean of the tubes of a run, as indicated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Mean {
    pub value_c: f64,
    /// Stated uncertainties and steps together [°C].
    pub reading_u_c: f64,
    /// The part of its square that comes from the step of readings without a stated uncertainty.
    pub step_share: f64,
    /// Largest less smallest among the tubes.
    pub among_tubes_c: f64,
}

/// The mean of the tubes of one run, as indicated.
#[derive(Debug, Clone, PartialEq)]
pub struct RunMean {
    /// Name of the run.
    pub run: String,
    /// Tubes averaged.
    pub tubes: usize,
    pub(crate) first_liquid: Mean,
    pub(crate) last_crystal: Mean,
}

impl RunMean {
    pub(crate) fn mean(&self, end: End) -> Mean {
        match end {
            End::FirstLiquid => self.first_liquid,
            End::LastCrystal => self.last_crystal,
        }
    }

    /// Mean indicated temperature of one end [°C].
    pub fn value_c(&self, end: End) -> f64 {
        self.mean(end).value_c
    }
}

/// Why readings make no determination. `reading` counts from 0 in the order given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DeterminationError {
    /// Nothing there.
    #[error("there are no readings; expected at least one row")]
    NoReadings,
    /// The end before the beginning.
    #[error(
        "tube {tube} of run {run}: last_crystal_c {last_c} is below first_liquid_c {first_c}; expected the last crystal at or above the first liquid"
    )]
    WrongWayRound {
        /// Which reading.
        reading: usize,
        /// Run.
        run: String,
        /// Tube.
        tube: String,
        /// First liquid [°C].
        first_c: f64,
        /// Last crystal [°C].
        last_c: f64,
    },
    /// A tube twice.
    #[error(
        "tube {tube} of run {run} was given already; expected one reading of each tube, and a fresh tube for each run"
    )]
    TubeTwice {
        /// The later reading.
        reading: usize,
        /// The earlier one.
        earlier: usize,
        /// Run.
        run: String,
        /// Tube.
        tube: String,
    },
    /// More runs than one sample gets.
    #[error("there are {found} runs; expected at most {MOST_RUNS} of one sample")]
    TooManyRuns {
        /// How many.
        found: usize,
    },
    /// Runs that cannot be averaged.
    #[error(
        "run {run} would be {found} and run {other} {expected}; conventions differ by 0.2 to 2.2 °C, so one result takes runs of one convention only: determine each kind by itself"
    )]
    MixedConventions {
        /// The first run that differs.
        run: String,
        /// What it would be.
        found: String,
        /// The first run.
        other: String,
        /// What that is.
        expected: String,
    },
    /// A heating rate or a lag that is none.
    #[error("{quantity} is {found:?}; expected {expected}")]
    Heating {
        /// Which.
        quantity: String,
        /// The number.
        found: f64,
        /// In words.
        expected: &'static str,
    },
    /// An agreement limit that is none.
    #[error("the limit of agreement is {found:?} °C; expected a number above 0")]
    Limit {
        /// The number.
        found: f64,
    },
    /// A repeatability that is none.
    #[error("the repeatability is {found:?} °C; expected a standard deviation above 0")]
    Repeatability {
        /// The number.
        found: f64,
    },
    /// The emergent stem could not be corrected.
    #[error(transparent)]
    Stem(#[from] crate::StemError),
    /// A mean outside what a thermometer shows.
    #[error(transparent)]
    Temperature(#[from] crate::TemperatureError),
}

impl DeterminationError {
    /// Place of the reading that is at fault, if it is one.
    pub fn reading(&self) -> Option<usize> {
        match self {
            Self::WrongWayRound { reading, .. } | Self::TubeTwice { reading, .. } => Some(*reading),
            _ => None,
        }
    }
}

/// Average the tubes of each run.
///
/// Runs come in the order of their numbers when all are numbers, otherwise as they first appear. A
/// reading without a stated uncertainty gets that of the step its column is written in, δ/√12.
pub(crate) fn run_means(readings: &[TubeReading]) -> Result<Vec<RunMean>, DeterminationError> {
    check(readings)?;
    let step_u = |end: End| {
        let values: Vec<f64> = readings
            .iter()
            .map(|reading| reading.end(end).value().0)
            .collect();
        resolution_of(&values) / 12f64.sqrt()
    };
    let step_u = [step_u(End::FirstLiquid), step_u(End::LastCrystal)];
    let mut names: Vec<&str> = Vec::new();
    for reading in readings {
        if !names.contains(&reading.run.as_str()) {
            names.push(&reading.run);
        }
    }
    if names.len() > MOST_RUNS {
        return Err(DeterminationError::TooManyRuns { found: names.len() });
    }
    let numbers: Option<Vec<f64>> = names.iter().map(|name| name.parse().ok()).collect();
    if let Some(numbers) = numbers {
        let mut ordered: Vec<(f64, &str)> = numbers.into_iter().zip(names).collect();
        ordered.sort_by(|a, b| a.0.total_cmp(&b.0));
        names = ordered.into_iter().map(|(_, name)| name).collect();
    }
    Ok(names
        .into_iter()
        .map(|name| run_mean(name, readings, step_u))
        .collect())
}

fn run_mean(name: &str, readings: &[TubeReading], step_u: [f64; 2]) -> RunMean {
    let tubes: Vec<&TubeReading> = readings
        .iter()
        .filter(|reading| reading.run == name)
        .collect();
    let mean = |end: End, step_u: f64| {
        let count = tubes.len() as f64;
        let values = || tubes.iter().map(|tube| tube.end(end).value().0);
        let (mut stated, mut step) = (0.0, 0.0);
        for tube in &tubes {
            match tube.end(end).standard_uncertainty_c() {
                u if u > 0.0 => stated += u * u,
                _ => step += step_u * step_u,
            }
        }
        let squares: f64 = stated + step;
        Mean {
            step_share: step / squares,
            value_c: values().sum::<f64>() / count,
            reading_u_c: squares.sqrt() / count,
            among_tubes_c: values().fold(f64::NEG_INFINITY, f64::max)
                - values().fold(f64::INFINITY, f64::min),
        }
    };
    RunMean {
        run: name.to_owned(),
        tubes: tubes.len(),
        first_liquid: mean(End::FirstLiquid, step_u[0]),
        last_crystal: mean(End::LastCrystal, step_u[1]),
    }
}

fn check(readings: &[TubeReading]) -> Result<(), DeterminationError> {
    if readings.is_empty() {
        return Err(DeterminationError::NoReadings);
    }
    let mut seen = std::collections::BTreeMap::new();
    for (index, reading) in readings.iter().enumerate() {
        let (first_c, last_c) = (
            reading.first_liquid.value().0,
            reading.last_crystal.value().0,
        );
        if last_c < first_c {
            return Err(DeterminationError::WrongWayRound {
                reading: index,
                run: reading.run.clone(),
                tube: reading.tube.clone(),
                first_c,
                last_c,
            });
        }
        if let Some(earlier) = seen.insert((&reading.run, &reading.tube), index) {
            return Err(DeterminationError::TubeTwice {
                reading: index,
                earlier,
                run: reading.run.clone(),
                tube: reading.tube.clone(),
            });
        }
    }
    Ok(())
}
