//! Which runs share a correction, and what it makes of their mean.

use crate::determination::result::{Correction, DeterminationOptions, End};
use crate::determination::runs::{DeterminationError, RunMean};
use crate::stem::correct_for_stem;
use crate::temperature::{Convention, Corrected, Indicated};
use meltrange_physics::Celsius;

/// Runs under one correction.
#[derive(Debug, Clone)]
pub(crate) struct Group<'a> {
    pub correction: Correction<'a>,
    pub runs: Vec<&'a RunMean>,
}

/// One end of the mean of a group.
#[derive(Debug, Clone, Copy)]
pub(crate) struct GroupMean {
    pub indicated: Celsius,
    /// `None` where nothing is corrected.
    pub corrected: Option<Corrected>,
    /// How much the corrected value moves when the reading moves by one degree.
    pub sensitivity: f64,
}

impl GroupMean {
    pub fn value_c(&self) -> f64 {
        self.corrected
            .map_or(self.indicated.0, |corrected| corrected.value().0)
    }
}

impl<'a> DeterminationOptions<'a> {
    /// What applies to a run.
    pub(crate) fn correction_of(&self, run: &str) -> Correction<'a> {
        self.by_run
            .iter()
            .find(|(name, _)| *name == run)
            .map_or(self.correction, |(_, correction)| *correction)
    }

    /// Heating rate of a run [°C/min], if it is known.
    pub(crate) fn rate_of(&self, run: &str) -> Option<f64> {
        self.rates
            .iter()
            .find(|(name, _)| *name == run)
            .map(|(_, rate)| *rate)
    }
}

/// Runs by their corrections, in the order of the first run of each.
///
/// # Errors
/// [`DeterminationError::MixedConventions`] where the corrections lead to different conventions.
pub(crate) fn groups<'a>(
    runs: &[&'a RunMean],
    options: &DeterminationOptions<'a>,
) -> Result<Vec<Group<'a>>, DeterminationError> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    for &run in runs {
        let correction = options.correction_of(&run.run);
        match groups
            .iter_mut()
            .find(|group| group.correction == correction)
        {
            Some(group) => group.runs.push(run),
            None => groups.push(Group {
                correction,
                runs: vec![run],
            }),
        }
    }
    let mut of_each = groups
        .iter()
        .map(|group| (group, leads_to(group.correction)));
    if let Some((first, expected)) = of_each.next()
        && let Some((other, found)) = of_each.find(|(_, found)| *found != expected)
    {
        let name = |group: &Group<'_>| {
            group
                .runs
                .first()
                .map(|run| run.run.clone())
                .unwrap_or_default()
        };
        return Err(DeterminationError::MixedConventions {
            run: name(other),
            found: in_words(found),
            other: name(first),
            expected: in_words(expected),
        });
    }
    Ok(groups)
}

/// Convention of what a correction gives; `None` without one.
pub(crate) fn leads_to(correction: Correction<'_>) -> Option<Convention> {
    match correction {
        Correction::None => None,
        Correction::Calibration(calibration) => Some(calibration.curve().convention),
        // A stem correction knows nothing of rates.
        Correction::Stem(..) => Some(Convention::NotStated),
    }
}

fn in_words(convention: Option<Convention>) -> String {
    convention.map_or_else(
        || "uncorrected".to_owned(),
        |convention| format!("\"{convention}\""),
    )
}

impl Group<'_> {
    /// Mean of one end, corrected once.
    pub fn mean(&self, end: End) -> Result<GroupMean, DeterminationError> {
        let count = self.runs.len() as f64;
        let indicated_c = self.runs.iter().map(|run| run.value_c(end)).sum::<f64>() / count;
        corrected(Celsius(indicated_c), self.correction)
    }
}

/// One temperature, corrected once; its own uncertainty is kept in the budget, not in the reading.
pub(crate) fn corrected(
    indicated: Celsius,
    correction: Correction<'_>,
) -> Result<GroupMean, DeterminationError> {
    let reading = Indicated::new(indicated, 0.0)?;
    Ok(match correction {
        Correction::None => GroupMean {
            indicated,
            corrected: None,
            sensitivity: 1.0,
        },
        Correction::Calibration(calibration) => GroupMean {
            indicated,
            corrected: Some(calibration.correct(reading)),
            sensitivity: calibration.sensitivity(indicated),
        },
        Correction::Stem(thermometer, stem) => GroupMean {
            indicated,
            corrected: Some(correct_for_stem(thermometer, stem, reading, None)?),
            sensitivity: 1.0,
        },
    })
}

/// Runs as they are compared with each other: as indicated under one correction, so that runs which
/// agree on paper agree here; corrected where corrections differ.
pub(crate) fn compared(
    runs: &[RunMean],
    options: &DeterminationOptions<'_>,
    several: bool,
) -> Result<Vec<RunMean>, DeterminationError> {
    let mut runs = runs.to_vec();
    if several {
        for run in &mut runs {
            let correction = options.correction_of(&run.run);
            for mean in [&mut run.first_liquid, &mut run.last_crystal] {
                mean.value_c = corrected(Celsius(mean.value_c), correction)?.value_c();
            }
        }
    }
    Ok(runs)
}
