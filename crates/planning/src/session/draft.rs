//! A plan as people change it, and its times.

use super::bound::lower_bound_min;
use super::faults::faults;
use super::model::Model;
use super::order::{COLDEST_C, HOTTEST_C, SessionError, SessionOrder};
use super::plan::{FITS_WITHIN_MIN, PlannedBench, PlannedLoad, PlannedTube, SessionPlan};
use super::timetable::{Entry, timetable, turns};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Rounding of sums of minutes.
const ROUNDING_MIN: f64 = 1e-6;

/// Latest minute of a session that is under way [min]: a fortnight. Beyond it a clock was forgotten, and pictures of it
/// have no end.
const LATEST_MIN: f64 = 20_160.0;

/// A plan as people change it: which tubes are set in together, where and in which order.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct SessionDraft {
    /// Each bench with its loads; one without loads may be left out.
    pub benches: Vec<DraftBench>,
}

/// The loads of one bench.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct DraftBench {
    /// Its name.
    pub bench: String,
    /// In order.
    pub loads: Vec<DraftLoad>,
}

/// What is set in together.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct DraftLoad {
    /// Its tubes.
    pub tubes: Vec<PlannedTube>,
    /// Stays on its bench, at its place, with its tubes, when the rest is planned anew.
    #[serde(default)]
    pub locked: bool,
    /// Its turn at the operators, the smaller the earlier, where that is known; loads without one go after
    /// those with one, each as soon as it can. The order on the bench comes first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<u32>,
    /// What really happened, once it has begun.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub actual: Option<ActualLoad>,
}

/// What really happened with a load.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct ActualLoad {
    /// When it was set in [min].
    pub load_start_min: f64,
    /// When its last scan ended [min]; none while under way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end_min: Option<f64>,
    /// Block temperature then, if not as planned [°C].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ended_at_c: Option<f64>,
}

/// A draft with its times.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RetimedPlan {
    /// Benches as in the order, each with the loads of the draft; `in_time_benches` is none. `lower_bound_min` is that of the whole
    /// order: a draft that lacks tubes, or loads that really went faster than the model, may end before it.
    pub plan: SessionPlan,
    /// What stands against it.
    pub faults: Vec<DraftFault>,
}

/// What stands against a draft; times are given all the same.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct DraftFault {
    /// At which bench, if at one.
    pub bench: Option<String>,
    /// Which load of it, from 0, if one.
    pub load: Option<usize>,
    /// What was found and what was expected.
    pub text: String,
}

impl From<&SessionPlan> for SessionDraft {
    fn from(plan: &SessionPlan) -> Self {
        let times: Vec<Vec<[f64; 2]>> = plan
            .benches
            .iter()
            .map(|bench| {
                bench
                    .loads
                    .iter()
                    .map(|load| [load.load_start_min, load.end_min])
                    .collect()
            })
            .collect();
        let benches = plan.benches.iter().zip(turns(&times));
        Self {
            benches: benches
                .map(|(bench, turns)| DraftBench {
                    bench: bench.bench.clone(),
                    loads: bench
                        .loads
                        .iter()
                        .zip(turns)
                        .map(|(load, turn)| DraftLoad {
                            tubes: load.tubes.clone(),
                            turn: Some(turn),
                            ..DraftLoad::default()
                        })
                        .collect(),
                })
                .collect(),
        }
    }
}

impl SessionDraft {
    /// Loads of each bench of an order, in its order of benches.
    pub(crate) fn by_bench<'a>(&'a self, order: &SessionOrder) -> Vec<Vec<&'a DraftLoad>> {
        order
            .benches
            .iter()
            .map(|bench| {
                self.benches
                    .iter()
                    .filter(|own| own.bench == bench.name)
                    .flat_map(|own| &own.loads)
                    .collect()
            })
            .collect()
    }

    /// Refuse numbers that are none, also of benches that a session does not have.
    ///
    /// # Errors
    /// [`SessionError`], the first that is none or beyond all sense, with its load.
    pub fn check(&self, now_min: f64) -> Result<(), SessionError> {
        let number = |field: String, found: f64, [least, most]: [f64; 2], expected: String| {
            if (least..=most).contains(&found) {
                return Ok(());
            }
            Err(SessionError::Field {
                field,
                found: found.to_string(),
                expected,
            })
        };
        let minutes = format!("minutes, 0 to {LATEST_MIN} (14 days)");
        let now = format!("{minutes}; the clock of an older session is to be stopped");
        number("now_min".into(), now_min, [0.0, LATEST_MIN], now)?;
        for bench in &self.benches {
            for (place, load) in bench.loads.iter().enumerate() {
                let Some(actual) = &load.actual else {
                    continue;
                };
                let name = |what: &str| format!("{what} of load {} of {}", place + 1, bench.bench);
                let from = actual.load_start_min;
                let within = [0.0, LATEST_MIN];
                number(name("load_start_min"), from, within, minutes.clone())?;
                if let Some(end_min) = actual.end_min {
                    let expected = if end_min > LATEST_MIN {
                        minutes.clone()
                    } else {
                        format!("{from} or more, when it was set in")
                    };
                    number(name("end_min"), end_min, [from, LATEST_MIN], expected)?;
                }
                if let Some(ended_at_c) = actual.ended_at_c {
                    let expected = "a temperature, -274 to 5000 °C".to_owned();
                    let within = [COLDEST_C, HOTTEST_C];
                    number(name("ended_at_c"), ended_at_c, within, expected)?;
                }
            }
        }
        Ok(())
    }
}

/// What of a load matters for the times of its bench.
#[derive(Debug, Clone)]
pub(crate) struct Timed<'a> {
    pub load: &'a DraftLoad,
    /// Samples of its tubes by number, unknown ones left out.
    pub samples: Vec<u32>,
    pub cool_from_c: f64,
    /// Block temperature at its end [°C].
    pub ends_at_c: f64,
    pub entry: Entry,
}

/// Loads of one bench with what their times follow from.
pub(crate) fn timed<'a>(
    model: &Model,
    numbers: &BTreeMap<&str, u32>,
    bench: usize,
    loads: &[&'a DraftLoad],
    now_min: f64,
) -> Vec<Timed<'a>> {
    let mut before_c = model.benches[bench].start_c;
    loads
        .iter()
        .map(|&draft| {
            let samples: Vec<u32> = draft
                .tubes
                .iter()
                .filter_map(|tube| numbers.get(tube.sample.as_str()).copied())
                .collect();
            let cool_from_c = before_c;
            let load = (!samples.is_empty()).then(|| model.load(samples.clone()));
            let [cooling, heating] = load
                .as_ref()
                .map_or([0.0; 2], |load| model.times_min(bench, before_c, load));
            let entry = match &draft.actual {
                Some(actual) => {
                    let start_min = actual.load_start_min;
                    let planned_min = start_min + model.policy.load_min + heating;
                    // What has not ended by now ends now at the earliest.
                    let end_min = actual.end_min.unwrap_or(planned_min.max(now_min));
                    Entry::Begun([start_min, end_min])
                }
                None => Entry::Ahead {
                    turn: draft.turn,
                    cooling,
                    heating,
                    set_in: load.is_some(),
                },
            };
            before_c = load.as_ref().map_or(before_c, |load| load.to_c);
            if let Some(ended_at_c) = draft.actual.and_then(|actual| actual.ended_at_c) {
                before_c = ended_at_c;
            }
            Timed {
                load: draft,
                samples,
                cool_from_c,
                ends_at_c: before_c,
                entry,
            }
        })
        .collect()
}

/// Numbers of samples by name.
pub(crate) fn numbers(order: &SessionOrder) -> BTreeMap<&str, u32> {
    let ids = order.samples.iter().map(|sample| sample.id.as_str());
    ids.zip(0..).collect()
}

/// Check and re-time a draft: exact times of the model; nothing before `now_min` [min] begins that has not
/// begun.
///
/// A load under way ends as the model says from its real beginning, or now if that is past. Operators are
/// busy with real loads as it happened, with the others in order of their turns.
///
/// # Errors
/// [`SessionError`] for an order that makes no sense, and for numbers of the draft that are none. What
/// stands against the draft itself is in the faults.
pub fn retime(
    order: &SessionOrder,
    draft: &SessionDraft,
    now_min: f64,
) -> Result<RetimedPlan, SessionError> {
    order.check()?;
    draft.check(now_min)?;
    let model = Model::new(order);
    let numbers = numbers(order);
    let loads: Vec<Vec<Timed>> = draft
        .by_bench(order)
        .iter()
        .enumerate()
        .map(|(bench, own)| timed(&model, &numbers, bench, own, now_min))
        .collect();
    let benches = with_times(order, &model, &loads, now_min);
    let faults = faults(order, draft, &benches);
    Ok(RetimedPlan {
        plan: given_out(order, benches, draft, lower_bound_min(&model)),
        faults,
    })
}

/// Benches with the times of their loads.
pub(crate) fn with_times(
    order: &SessionOrder,
    model: &Model,
    loads: &[Vec<Timed>],
    now_min: f64,
) -> Vec<PlannedBench> {
    let entries: Vec<Vec<Entry>> = loads
        .iter()
        .map(|own| own.iter().map(|timed| timed.entry).collect())
        .collect();
    let times = timetable(&entries, now_min, model.policy.load_min, model.operators);
    order
        .benches
        .iter()
        .zip(loads.iter().zip(times))
        .map(|(bench, (own, times))| PlannedBench {
            bench: bench.name.clone(),
            loads: own
                .iter()
                .zip(times)
                .map(|(timed, [load_start_min, end_min])| PlannedLoad {
                    tubes: timed.load.tubes.clone(),
                    cool_from_c: timed.cool_from_c,
                    load_start_min,
                    scan_windows_c: model.windows_c(&timed.samples),
                    end_min,
                })
                .collect(),
        })
        .collect()
}

/// A plan from its benches, and what of `draft` began elsewhere: how long it takes and what of it is done in time.
pub(crate) fn given_out(
    order: &SessionOrder,
    benches: Vec<PlannedBench>,
    draft: &SessionDraft,
    lower_bound_min: f64,
) -> SessionPlan {
    let makespan_min = makespan_min(&benches);
    let limit_min = order.length_min + FITS_WITHIN_MIN;
    let [finished_in_time, not_finished] = finished_in_time(order, &benches, draft);
    let all_there = finished_in_time.len() == order.samples.len();
    SessionPlan {
        makespan_min,
        // Rounding alone may put a bound that is met above what meets it.
        lower_bound_min: if lower_bound_min < makespan_min + ROUNDING_MIN {
            lower_bound_min.min(makespan_min)
        } else {
            lower_bound_min
        },
        fits: makespan_min <= limit_min && all_there,
        benches,
        finished_in_time,
        not_finished,
        in_time_benches: None,
    }
}

/// When the last load ends [min].
pub(crate) fn makespan_min(benches: &[PlannedBench]) -> f64 {
    let loads = benches.iter().flat_map(|bench| &bench.loads);
    loads.map(|load| load.end_min).fold(0.0, f64::max)
}

/// Samples all of whose tubes are done within the session, and the others. Tubes of `draft` that began on a bench that the
/// order does not have count as done, unless they ended too late.
pub fn finished_in_time(
    order: &SessionOrder,
    benches: &[PlannedBench],
    draft: &SessionDraft,
) -> [Vec<String>; 2] {
    let limit_min = order.length_min + FITS_WITHIN_MIN;
    let mut done: BTreeMap<&str, Vec<u32>> = BTreeMap::new();
    let in_time = benches
        .iter()
        .flat_map(|bench| &bench.loads)
        .filter(|load| load.end_min <= limit_min);
    let elsewhere = draft.begun_elsewhere(order).filter(|load| {
        let end_min = load.actual.and_then(|actual| actual.end_min);
        end_min.is_none_or(|end_min| end_min <= limit_min)
    });
    let elsewhere = elsewhere.flat_map(|load| &load.tubes);
    for tube in in_time.flat_map(|load| &load.tubes).chain(elsewhere) {
        done.entry(&tube.sample).or_default().push(tube.replicate);
    }
    let mut parts = [Vec::new(), Vec::new()];
    for sample in &order.samples {
        let mut found = done.remove(sample.id.as_str()).unwrap_or_default();
        found.sort_unstable();
        found.dedup();
        let wanted = 1..=order.replicates_of(sample);
        let all = found.into_iter().filter(|number| wanted.contains(number));
        let finished = all.count() == wanted.count();
        parts[usize::from(!finished)].push(sample.id.clone());
    }
    parts
}
