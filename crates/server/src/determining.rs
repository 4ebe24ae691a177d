//! Working a result out of tubes: each run with the correction in force on its day.

use crate::thermometers::Standings;
use crate::wire::{DetermineRequest, RequiredRequest};
use meltrange_labbook::{
    self as kept, CalibrationId, CalibrationRow, Moment, ResultValue, RunCorrection, RunId,
    RunPlace, SampleId, Thermometers, TubeRef,
};
use meltrange_metrology::{
    AGREE_WITHIN_C, Calibration, Convention, Correction, DecisionRule, Determination,
    DeterminationOptions, EndResult, FASTEST_C_PER_MIN, Indicated, MonteCarloOptions,
    RequiredRange, StatedStem, StemError, TubeReading, check_specification, determine,
};
use meltrange_physics::Celsius;
use std::collections::BTreeMap;

/// One tube with a full range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ranged {
    /// In which run.
    pub run: RunId,
    /// Which tube of which reading.
    pub tube: TubeRef,
    pub first_liquid: Moment,
    pub last_crystal: Moment,
    /// Through its melting, as read [°C/min].
    pub heating_rate_c_per_min: Option<f64>,
    /// Whether a person stands behind it.
    pub decided: bool,
}

/// What a result is asked for with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Asked {
    pub agree_within_c: f64,
    pub required: Option<RequiredRequest>,
    /// What a person said of the emergent column.
    pub stem: Option<StatedStem>,
    /// Whether it is kept in mind only, since a calibration contains it.
    pub stem_contained: bool,
    /// Whether the intervals are checked by drawing; many results at once leave it out.
    pub drawn: bool,
}

impl Asked {
    pub fn of(request: &DetermineRequest) -> Self {
        Self {
            agree_within_c: request.agree_within_c.unwrap_or(AGREE_WITHIN_C),
            required: request.required,
            stem: request.stem,
            stem_contained: false,
            drawn: true,
        }
    }

    /// As a result in the book was asked for.
    pub fn as_before(result: &kept::Determination) -> Self {
        let basis = result.basis.as_deref();
        Self {
            agree_within_c: basis.map_or(AGREE_WITHIN_C, |basis| basis.result.agree_within_c),
            required: basis
                .and_then(|basis| basis.required)
                .map(|required| RequiredRequest {
                    from_c: required.from_c,
                    to_c: required.to_c,
                    guard: required.guard,
                }),
            stem: basis.and_then(|basis| basis.stem),
            stem_contained: false,
            drawn: false,
        }
    }
}

/// What a result needs to know besides its tubes.
#[derive(Debug)]
pub(crate) struct Corrections<'a> {
    /// By calibration; those that cannot be applied were never recorded.
    usable: BTreeMap<CalibrationId, Calibration>,
    all: &'a Thermometers,
}

impl<'a> Corrections<'a> {
    pub fn of(all: &'a Thermometers) -> Self {
        let usable = all.calibrations.iter().filter_map(|row| {
            let calibration = Calibration::new(row.calibration.curve.clone()).ok()?;
            Some((row.id, calibration))
        });
        Self {
            usable: usable.collect(),
            all,
        }
    }

    /// The calibration in force for a run that can be applied.
    pub fn for_run(&self, run: Option<RunPlace>) -> Option<(&'a CalibrationRow, &Calibration)> {
        let row = self.all.in_force_for(run?)?;
        Some((row, self.usable.get(&row.id)?))
    }
}

/// A result worked out, with what it rests on.
#[derive(Debug)]
pub(crate) struct WorkedOut {
    pub result: Determination,
    pub required: Option<kept::Required>,
    pub stem: Option<StatedStem>,
}

/// Work a result out; why there is none, in words.
pub(crate) fn work_out(
    tubes: &[Ranged],
    runs: &BTreeMap<RunId, RunPlace>,
    corrections: &Corrections<'_>,
    asked: Asked,
) -> Result<WorkedOut, String> {
    let mut tubes: Vec<&Ranged> = tubes.iter().collect();
    // Ids sort by the time they were made: trends are looked for in this order.
    tubes.sort_by_key(|tube| (tube.run, tube.tube.place));
    let readings: Vec<TubeReading> = tubes
        .iter()
        .map(|tube| {
            let indicated = |moment: Moment| {
                Indicated::new(Celsius(moment.temperature_c), moment.standard_uncertainty_c)
                    .map_err(|error| error.to_string())
            };
            Ok(TubeReading {
                run: tube.run.to_string(),
                tube: tube.tube.place.to_string(),
                first_liquid: indicated(tube.first_liquid)?,
                last_crystal: indicated(tube.last_crystal)?,
            })
        })
        .collect::<Result<_, String>>()?;
    let names: Vec<(RunId, String)> = run_ids(&tubes)
        .into_iter()
        .map(|run| (run, run.to_string()))
        .collect();
    let by_run: Vec<(&str, Correction<'_>)> = names
        .iter()
        .filter_map(|(run, name)| {
            let (_, calibration) = corrections.for_run(runs.get(run).copied())?;
            Some((name.as_str(), Correction::Calibration(calibration)))
        })
        .collect();
    let rates: Vec<(&str, f64)> = names
        .iter()
        .filter_map(|(run, name)| Some((name.as_str(), rate_of(&tubes, *run)?)))
        .collect();
    let applied = asked.stem.filter(|_| !asked.stem_contained);
    if applied.is_some() && !by_run.is_empty() {
        return Err(StemError::ContainedInCalibration.to_string());
    }
    let options = DeterminationOptions {
        agree_within_c: asked.agree_within_c,
        correction: asked.stem.map_or(Correction::None, StatedStem::correction),
        by_run: &by_run,
        rates: &rates,
        monte_carlo: asked.drawn.then(MonteCarloOptions::default),
        ..DeterminationOptions::default()
    };
    let result = determine(&readings, options).map_err(|error| error.to_string())?;
    let required = asked
        .required
        .map(|required| decided(&result, required))
        .transpose()?;
    let stem = asked.stem;
    Ok(WorkedOut {
        result,
        required,
        stem,
    })
}

fn run_ids(tubes: &[&Ranged]) -> Vec<RunId> {
    let mut runs: Vec<RunId> = tubes.iter().map(|tube| tube.run).collect();
    runs.dedup();
    runs
}

/// Mean heating rate of a run's tubes [°C/min], where it was read.
fn rate_of(tubes: &[&Ranged], run: RunId) -> Option<f64> {
    let rates: Vec<f64> = tubes
        .iter()
        .filter(|tube| tube.run == run)
        .filter_map(|tube| tube.heating_rate_c_per_min)
        .filter(|rate| *rate > 0.0 && *rate <= FASTEST_C_PER_MIN)
        .collect();
    (!rates.is_empty()).then(|| rates.iter().sum::<f64>() / rates.len() as f64)
}

/// The same for tubes in any order.
pub(crate) fn heating_rate(tubes: &[Ranged], run: RunId) -> Option<f64> {
    rate_of(&tubes.iter().collect::<Vec<_>>(), run)
}

fn decided(result: &Determination, asked: RequiredRequest) -> Result<kept::Required, String> {
    let rule = asked
        .guard
        .map_or(DecisionRule::SimpleAcceptance, |probability| {
            DecisionRule::Guarded { probability }
        });
    let range = RequiredRange {
        lower_c: asked.from_c,
        upper_c: asked.to_c,
    };
    let found = check_specification(
        result.first_liquid.to_decide_on(),
        result.last_crystal.to_decide_on(),
        range,
        rule,
    )
    .map_err(|error| error.to_string())?;
    Ok(kept::Required {
        from_c: asked.from_c,
        to_c: asked.to_c,
        guard: asked.guard,
        decision: found.decision,
        guard_lower_c: found.guard_lower_c,
        guard_upper_c: found.guard_upper_c,
        probability_lower: found.probability_lower,
        probability_upper: found.probability_upper,
    })
}

/// Which correction each run of these tubes has, and how its thermometer stood.
pub(crate) fn run_corrections(
    tubes: &[Ranged],
    runs: &BTreeMap<RunId, RunPlace>,
    corrections: &Corrections<'_>,
    standings: &mut Standings<'_>,
) -> Vec<RunCorrection> {
    let mut ids: Vec<RunId> = tubes.iter().map(|tube| tube.run).collect();
    ids.sort_unstable();
    ids.dedup();
    ids.into_iter()
        .map(|run| {
            let place = runs.get(&run).copied();
            let row = corrections.for_run(place).map(|(row, _)| row);
            RunCorrection {
                run,
                calibration: row.map(|row| row.id),
                record: row.map(|row| row.record),
                state: place
                    .and_then(|place| standings.of_run(place))
                    .map(|standing| standing.state),
            }
        })
        .collect()
}

/// A result as it is recorded.
pub(crate) fn as_recorded(
    sample: SampleId,
    from: Vec<TubeRef>,
    found: WorkedOut,
    corrections: Vec<RunCorrection>,
) -> kept::Determination {
    let WorkedOut {
        result,
        required,
        stem,
    } = found;
    kept::Determination {
        sample,
        from,
        agreed: result.agreed,
        // With one run there is nothing to be apart from.
        spread_c: (result.runs_used.len() > 1).then_some(result.spread_c),
        further_runs_needed: u32::try_from(result.further_runs_needed).unwrap_or(u32::MAX),
        convention: match result.convention {
            None => kept::Convention::AsLogged,
            Some(Convention::Thermodynamic) => kept::Convention::Thermodynamic,
            Some(Convention::AtRate { .. }) => kept::Convention::AtRate,
            Some(Convention::NotStated) => kept::Convention::NotStated,
        },
        first_liquid: Some(value(&result.first_liquid)),
        last_crystal: Some(value(&result.last_crystal)),
        range_text: result.range_text.clone(),
        basis: Some(Box::new(kept::Basis {
            result,
            corrections,
            required,
            stem,
        })),
    }
}

/// With the expanded uncertainty that is written down.
fn value(end: &EndResult) -> ResultValue {
    let stated_c = end.stated_expanded_uncertainty_c;
    ResultValue {
        value_c: end.value_c,
        standard_uncertainty_c: end.standard_uncertainty_c,
        expanded_uncertainty_c: stated_c,
        coverage_factor: if end.standard_uncertainty_c > 0.0 {
            stated_c / end.standard_uncertainty_c
        } else {
            end.coverage_factor
        },
    }
}
