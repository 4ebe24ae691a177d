//! Results: stated, tried, and what they rest on.

use super::of_metrology::{ResultShape, StemShape, ZeroRateShape};
use super::{Convention, ResultValue, ThermometerOfResult, ThermometerState, TubeRef};
use meltrange_labbook as kept;
use meltrange_labbook::{
    BenchId, CalibrationId, DeterminationId, PersonId, RecordId, RunId, SampleId, When,
};
use meltrange_metrology as metrology;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A result.
#[derive(Debug, Serialize, ToSchema)]
pub struct Determination {
    /// Its id.
    #[schema(value_type = String, format = Uuid)]
    pub id: DeterminationId,
    /// Of which sample.
    #[schema(value_type = String, format = Uuid)]
    pub sample: SampleId,
    /// The latest record of it.
    #[schema(value_type = String, format = Uuid)]
    pub record: RecordId,
    /// Whose.
    #[schema(value_type = String, format = Uuid)]
    pub who: PersonId,
    /// When.
    #[schema(value_type = String, format = DateTime)]
    pub when: When,
    /// Why it was worked out anew, where it was.
    #[schema(required)]
    pub reason: Option<String>,
    /// Whether its runs agree.
    pub agreed: bool,
    /// Farthest apart at either end [°C].
    #[schema(required)]
    pub spread_c: Option<f64>,
    /// How many more runs are needed.
    pub further_runs_needed: u32,
    /// What its temperatures are.
    pub convention: Convention,
    /// First liquid.
    #[schema(required)]
    pub first_liquid: Option<ResultValue>,
    /// Last crystal.
    #[schema(required)]
    pub last_crystal: Option<ResultValue>,
    /// As it is written.
    pub range_text: String,
    /// From which tubes.
    pub from: Vec<TubeRef>,
    /// Tubes it stands on that were decided otherwise since.
    pub outdated: Vec<TubeRef>,
    /// What it rests on; null for results recorded before that was kept.
    #[schema(required)]
    pub basis: Option<Basis>,
    /// Whether another correction is in force for one of its runs than it was worked out with.
    pub other_correction_in_force: bool,
    /// The thermometers of its runs, on their day and today.
    pub thermometers: Vec<ThermometerOfResult>,
}

impl Determination {
    /// One that is kept, with the thermometers of its runs.
    pub fn of(
        found: kept::DeterminationRow,
        thermometers: Vec<ThermometerOfResult>,
        other_correction_in_force: bool,
    ) -> Self {
        let refs = |tubes: Vec<kept::TubeRef>| {
            tubes
                .into_iter()
                .map(|tube| TubeRef {
                    reading: tube.reading,
                    place: tube.place,
                })
                .collect()
        };
        let result = found.determination;
        Self {
            id: found.id,
            sample: result.sample,
            record: found.record,
            who: found.who,
            when: found.when,
            reason: found.reason,
            agreed: result.agreed,
            spread_c: result.spread_c,
            further_runs_needed: result.further_runs_needed,
            convention: result.convention.into(),
            first_liquid: result.first_liquid.map(ResultValue::from),
            last_crystal: result.last_crystal.map(ResultValue::from),
            range_text: result.range_text,
            from: refs(result.from),
            outdated: refs(found.outdated),
            basis: result.basis.map(|basis| (*basis).into()),
            other_correction_in_force,
            thermometers,
        }
    }
}

/// What a result rests on.
#[derive(Debug, Serialize, ToSchema)]
pub struct Basis {
    /// The result with its budget, as computed.
    #[schema(value_type = ResultShape)]
    pub result: metrology::Determination,
    /// Which correction each run had.
    pub corrections: Vec<RunCorrection>,
    /// The range that was required, and what was decided.
    #[schema(required)]
    pub required: Option<RequiredChecked>,
    /// What was said of the emergent column; corrected for only without a calibration, which contains it.
    #[schema(required, value_type = Option<StemShape>)]
    pub stem: Option<metrology::StatedStem>,
}

impl From<kept::Basis> for Basis {
    fn from(found: kept::Basis) -> Self {
        Self {
            stem: found.stem,
            result: found.result,
            corrections: found
                .corrections
                .iter()
                .map(|one| RunCorrection {
                    run: one.run,
                    calibration: one.calibration,
                    record: one.record,
                    state: one.state.map(Into::into),
                })
                .collect(),
            required: found.required.map(Into::into),
        }
    }
}

/// Which correction a run had.
#[derive(Debug, Serialize, ToSchema)]
pub struct RunCorrection {
    /// Which run.
    #[schema(value_type = String, format = Uuid)]
    pub run: RunId,
    /// The calibration in force on its day; null where there was none.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub calibration: Option<CalibrationId>,
    /// The record of that calibration that was used.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub record: Option<RecordId>,
    /// The thermometer on the run's day, as it was known when the result was worked out.
    #[schema(required)]
    pub state: Option<ThermometerState>,
}

/// A range that is required.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RequiredRequest {
    /// No first liquid below this [°C].
    pub from_c: f64,
    /// No last crystal above this [°C].
    pub to_c: f64,
    /// Probability that the guard bands ask for; the value alone decides where it is not said.
    #[serde(default)]
    #[schema(minimum = 0.5, exclusive_maximum = 1)]
    pub guard: Option<f64>,
}

/// What was decided about a required range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum RequiredDecision {
    /// Within the limits, beyond the guard bands.
    Meets,
    /// Outside, beyond the guard bands.
    DoesNotMeet,
    /// Within a guard band of a limit.
    CannotBeDecided,
}

/// A required range and what was decided about it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct RequiredChecked {
    /// No first liquid below this [°C].
    pub from_c: f64,
    /// No last crystal above this [°C].
    pub to_c: f64,
    /// Probability that the guard bands ask for; null where the value alone decides.
    #[schema(required)]
    pub guard: Option<f64>,
    /// What was decided.
    pub decision: RequiredDecision,
    /// Width of the guard band at the lower limit [°C].
    pub guard_lower_c: f64,
    /// Width of the guard band at the upper limit [°C].
    pub guard_upper_c: f64,
    /// Probability that the first liquid is not below the lower limit.
    pub probability_lower: f64,
    /// Probability that the last crystal is not above the upper limit.
    pub probability_upper: f64,
}

impl From<kept::Required> for RequiredChecked {
    fn from(found: kept::Required) -> Self {
        Self {
            from_c: found.from_c,
            to_c: found.to_c,
            guard: found.guard,
            decision: match found.decision {
                metrology::Decision::Meets => RequiredDecision::Meets,
                metrology::Decision::DoesNotMeet => RequiredDecision::DoesNotMeet,
                metrology::Decision::CannotBeDecided => RequiredDecision::CannotBeDecided,
            },
            guard_lower_c: found.guard_lower_c,
            guard_upper_c: found.guard_upper_c,
            probability_lower: found.probability_lower,
            probability_upper: found.probability_upper,
        }
    }
}

/// From what a result is to be stated.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DetermineRequest {
    /// Tubes that hold the sample, of one run or more; where they are not named, all that count.
    #[serde(default)]
    #[schema(min_items = 1, max_items = 1000)]
    pub from: Option<Vec<TubeRef>>,
    /// Limit of agreement at both ends [°C]; 0.5 where it is not said.
    #[serde(default)]
    #[schema(exclusive_minimum = 0, maximum = 1000)]
    pub agree_within_c: Option<f64>,
    /// A range that is required.
    #[serde(default)]
    pub required: Option<RequiredRequest>,
    /// The emergent column of a liquid-in-glass thermometer; refused where a calibration, which contains it,
    /// is in force for one of the runs.
    #[serde(default)]
    #[schema(value_type = Option<StemShape>)]
    pub stem: Option<metrology::StatedStem>,
}

/// One run of a result with its thermometer.
#[derive(Debug, Serialize, ToSchema)]
pub struct RunOfResult {
    /// Which run.
    #[schema(value_type = String, format = Uuid)]
    pub run: RunId,
    /// At which bench; null where the recording came from elsewhere.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub bench: Option<BenchId>,
    /// What the bench is called.
    #[schema(required)]
    pub name: Option<String>,
    /// The calibration in force on its day.
    #[schema(required, value_type = Option<String>, format = Uuid)]
    pub calibration: Option<CalibrationId>,
    /// How far its thermometer could be relied on, on its day; null without a bench.
    #[schema(required)]
    pub state: Option<ThermometerState>,
    /// Why, in words.
    pub reasons: Vec<String>,
    /// Heating rate through the melting, mean of its tubes [°C/min].
    #[schema(required)]
    pub heating_rate_c_per_min: Option<f64>,
}

/// A result as it would be.
#[derive(Debug, Serialize, ToSchema)]
pub struct DeterminationTried {
    /// The result with its budget; null where there is none.
    #[schema(required, value_type = Option<ResultShape>)]
    pub result: Option<metrology::Determination>,
    /// Its tubes.
    pub from: Vec<TubeRef>,
    /// Its runs.
    pub runs: Vec<RunOfResult>,
    /// What is decided about the required range.
    #[schema(required)]
    pub required: Option<RequiredChecked>,
    /// The value at zero heating rate; null from runs at one rate, or without any.
    #[schema(required, value_type = Option<ZeroRateShape>)]
    pub zero_rate: Option<metrology::EndsAtZeroRate>,
    /// Why there is no result, in words; null where there is one.
    #[schema(required)]
    pub refused: Option<String>,
}
