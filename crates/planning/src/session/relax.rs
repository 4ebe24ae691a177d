//! Where a session does not fit: what to leave out or relax, and the price of each.

use super::draft::makespan_min;
use super::order::{SessionError, SessionOrder};
use super::plan::{FITS_WITHIN_MIN, SessionEffort, SessionPlan, session_lower_bound_min};
use super::replan::replan;
use super::so_far::{SessionSoFar, better_of, only};
use serde::Serialize;
use std::collections::BTreeSet;

/// Fastest scan for a value that is reported [°C/min]. Common practice, no source.
const FASTEST_C_PER_MIN: f64 = 2.0;
/// Rates between [°C/min].
const FASTER_C_PER_MIN: [f64; 4] = [1.25, 1.5, 1.75, FASTEST_C_PER_MIN];

/// Shorter soaks [min]; the last is the shortest that is worth its name. Common practice, no source.
const SHORTER_SOAK_MIN: [f64; 5] = [4.0, 3.0, 2.0, 1.5, 1.0];

/// Least distance of the scan's start below the range and of its end above it [°C].
const LEAST_BELOW_C: f64 = 2.0;
const LEAST_ABOVE_C: f64 = 1.0;

/// A way to make a session fit better, and its price.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Relaxation {
    /// In words.
    pub what: String,
    /// What it costs, in words.
    pub price: String,
    /// With it [min].
    pub makespan_min: f64,
    /// Whether all that is left is done within the session.
    pub fits: bool,
    /// Samples done in time.
    pub finished: usize,
    /// The order with this relaxed.
    pub order: SessionOrder,
}

/// One step of a way to relax.
struct Step {
    what: String,
    price: String,
    order: SessionOrder,
}

/// What to relax where a session does not fit, each on its own and planned anew with the effort given: the smallest step
/// that fits where one does, else the furthest. Nothing where the plan fits. `plan` is one of the rest of the session
/// `so_far`; what began stays as it is with each of them, and so does what is locked.
///
/// # Errors
/// As [`plan_session`].
pub fn relaxations(
    order: &SessionOrder,
    so_far: &SessionSoFar,
    plan: &SessionPlan,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<Vec<Relaxation>, SessionError> {
    order.check()?;
    let before = Before { so_far, plan };
    if plan.fits {
        return Ok(Vec::new());
    }
    let ways = [
        fewer_replicates(order, so_far),
        faster_scan(order),
        shorter_soak(order),
        narrower_margins(order),
    ];
    let mut found = Vec::new();
    for way in ways {
        found.extend(smallest(way, &before, effort, going_on)?);
    }
    found.extend(left_out(order, &before, effort, going_on)?);
    found.extend(longer(order, plan));
    Ok(found)
}

/// What there is before anything is relaxed.
struct Before<'a> {
    so_far: &'a SessionSoFar,
    plan: &'a SessionPlan,
}

/// The smallest step that fits, else the furthest.
fn smallest(
    mut way: Vec<Step>,
    before: &Before,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<Option<Relaxation>, SessionError> {
    let Some(furthest) = way.pop() else {
        return Ok(None);
    };
    let furthest = planned(furthest, before, effort, going_on)?;
    if !furthest.fits {
        return Ok(Some(furthest));
    }
    for step in way {
        // What began may have gone faster than the model, on which the bound rests.
        let bound_min = if before.so_far.is_beginning() {
            session_lower_bound_min(&step.order)?
        } else {
            0.0
        };
        if bound_min > step.order.length_min + FITS_WITHIN_MIN {
            continue;
        }
        let relaxed = planned(step, before, effort, going_on)?;
        if relaxed.fits {
            return Ok(Some(relaxed));
        }
    }
    Ok(Some(furthest))
}

fn planned(
    step: Step,
    before: &Before,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<Relaxation, SessionError> {
    let (order, so_far) = (step.order, before.so_far);
    let plan = replan(&order, &so_far.draft, so_far.now_min, effort, going_on)?;
    // The plans there are, with the tubes that are still asked for, may be as good.
    let wanted = |tube: &super::PlannedTube| {
        let sample = order.samples.iter().find(|one| one.id == tube.sample);
        sample.is_some_and(|one| tube.replicate <= order.replicates_of(one))
    };
    let mut theirs = so_far.with_plan(before.plan);
    theirs.draft = only(&theirs.draft, wanted);
    let in_time = before.plan.in_time_benches.as_ref().map(|benches| {
        let plan = SessionPlan {
            benches: benches.clone(),
            ..before.plan.clone()
        };
        only(&so_far.with_plan(&plan).draft, wanted)
    });
    let plan = better_of(&order, plan, &theirs, in_time.as_ref())?;
    Ok(Relaxation {
        what: step.what,
        price: step.price,
        makespan_min: plan.makespan_min,
        fits: plan.fits,
        finished: plan.finished_in_time.len(),
        order,
    })
}

/// One tube less of each sample that has more than one and whose last tube is not yet set in.
fn fewer_replicates(order: &SessionOrder, so_far: &SessionSoFar) -> Vec<Step> {
    let mut with = order.clone();
    let mut lowered: Vec<u32> = Vec::new();
    for sample in &mut with.samples {
        let replicates = order.replicates_of(sample);
        sample.replicates = Some(replicates);
        let mut kept = so_far.kept_tubes();
        if replicates > 1
            && !kept.any(|tube| tube.sample == sample.id && tube.replicate >= replicates)
        {
            sample.replicates = Some(replicates - 1);
            lowered.push(replicates);
        }
    }
    let (Some(&least), Some(&most)) = (lowered.iter().min(), lowered.iter().max()) else {
        return Vec::new();
    };
    let single =
        "one tube alone shows neither its own mistakes nor how far tubes of a sample differ";
    let fewer =
        "means rest on fewer tubes, and how far tubes of a sample differ is known less well";
    let price = match (least, most) {
        (2, 2) => single.to_owned(),
        (2, _) => format!("{fewer}; where one is left, {single}"),
        _ => fewer.to_owned(),
    };
    let count = if least == most {
        format!("{} instead of {most}", most - 1)
    } else {
        format!("{} to {} instead of {least} to {most}", least - 1, most - 1)
    };
    vec![Step {
        what: format!("one tube of each sample fewer, {count}"),
        price,
        order: with,
    }]
}

fn faster_scan(order: &SessionOrder) -> Vec<Step> {
    let now = order.policy.scan_rate_c_per_min;
    let faster = FASTER_C_PER_MIN.into_iter().filter(|&rate| rate > now);
    faster
        .map(|rate| {
            let mut with = order.clone();
            with.policy.scan_rate_c_per_min = rate;
            Step {
                what: format!("scan at {rate} °C/min instead of {now} °C/min"),
                price: "tubes and thermometer lag further behind the block: readings shift with the rate, and \
                        values compare only with others taken at this rate"
                    .into(),
                order: with,
            }
        })
        .collect()
}

fn shorter_soak(order: &SessionOrder) -> Vec<Step> {
    let now = order.policy.soak_min;
    let shorter = SHORTER_SOAK_MIN.into_iter().filter(|&soak| soak < now);
    shorter
        .map(|soak| {
            let mut with = order.clone();
            with.policy.soak_min = soak;
            Step {
                what: format!("soak for {soak} min instead of {now} min"),
                price: "block, tubes and thermometer have less time to agree before the scan"
                    .into(),
                order: with,
            }
        })
        .collect()
}

fn narrower_margins(order: &SessionOrder) -> Vec<Step> {
    let (below, above) = (order.policy.start_below_c, order.policy.stop_above_c);
    let least = (below.min(LEAST_BELOW_C), above.min(LEAST_ABOVE_C));
    if least == (below, above) {
        return Vec::new();
    }
    let half = ((below + least.0) / 2.0, (above + least.1) / 2.0);
    [half, least]
        .into_iter()
        .map(|(start_below_c, stop_above_c)| {
            let mut with = order.clone();
            with.policy.start_below_c = start_below_c;
            with.policy.stop_above_c = stop_above_c;
            Step {
                what: format!(
                    "scan from {start_below_c} °C below the expected range to {stop_above_c} °C above it, instead of \
                     {below} and {above}"
                ),
                price: format!(
                    "a sample that begins more than {start_below_c} °C early or ends more than {stop_above_c} °C late is \
                     not measured"
                ),
                order: with,
            }
        })
        .collect()
}

/// Leave out what the plan within the time leaves out and nothing was begun of.
fn left_out(
    order: &SessionOrder,
    before: &Before,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<Option<Relaxation>, SessionError> {
    let plan = before.plan;
    let Some(benches) = &plan.in_time_benches else {
        return Ok(None);
    };
    let begun: BTreeSet<&str> = before
        .so_far
        .kept_tubes()
        .map(|tube| tube.sample.as_str())
        .collect();
    let (stay, gone): (Vec<_>, Vec<_>) =
        (plan.not_finished.iter()).partition(|id| begun.contains(id.as_str()));
    if plan.finished_in_time.is_empty() || gone.is_empty() {
        return Ok(None);
    }
    let mut with = order.clone();
    with.samples.retain(|one| !gone.contains(&&one.id));
    let names = gone
        .iter()
        .map(|id| id.as_str())
        .collect::<Vec<_>>()
        .join(", ");
    let step = Step {
        what: format!("leave out {names}"),
        price: match gone.len() {
            1 => format!("{names} is not measured in this session"),
            many => format!("{many} samples are not measured in this session"),
        },
        order: with,
    };
    if !stay.is_empty() {
        return planned(step, before, effort, going_on).map(Some);
    }
    Ok(Some(Relaxation {
        what: step.what,
        price: step.price,
        makespan_min: makespan_min(benches),
        fits: true,
        finished: plan.finished_in_time.len(),
        order: step.order,
    }))
}

fn longer(order: &SessionOrder, plan: &SessionPlan) -> Option<Relaxation> {
    let mut with = order.clone();
    with.length_min = (plan.makespan_min - FITS_WITHIN_MIN).ceil();
    (with.length_min > order.length_min).then(|| Relaxation {
        what: format!(
            "a session of {} min instead of {} min",
            with.length_min, order.length_min
        ),
        price: format!("{:.0} min more", with.length_min - order.length_min),
        makespan_min: plan.makespan_min,
        fits: true,
        finished: order.samples.len(),
        order: with,
    })
}
