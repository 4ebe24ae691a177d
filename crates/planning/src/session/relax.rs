//! Where a session does not fit: what to leave out or relax, and the price of each.

use super::draft::{SessionDraft, makespan_min, retime};
use super::order::{SessionError, SessionOrder};
use super::plan::{
    FITS_WITHIN_MIN, SessionEffort, SessionPlan, plan_session, session_lower_bound_min,
};
use serde::Serialize;

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
/// that fits where one does, else the furthest. Nothing where the plan fits. `plan` is one of the whole order, from
/// the start of the session.
///
/// # Errors
/// As [`plan_session`].
pub fn relaxations(
    order: &SessionOrder,
    plan: &SessionPlan,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<Vec<Relaxation>, SessionError> {
    order.check()?;
    if plan.fits {
        return Ok(Vec::new());
    }
    let ways = [
        fewer_replicates(order),
        faster_scan(order),
        shorter_soak(order),
        narrower_margins(order),
    ];
    let mut found = Vec::new();
    for way in ways {
        found.extend(smallest(way, plan, effort, going_on)?);
    }
    found.extend(left_out(order, plan));
    found.extend(longer(order, plan));
    Ok(found)
}

/// The smallest step that fits, else the furthest.
fn smallest(
    mut way: Vec<Step>,
    plan: &SessionPlan,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<Option<Relaxation>, SessionError> {
    let Some(furthest) = way.pop() else {
        return Ok(None);
    };
    let furthest = planned(furthest, plan, effort, going_on)?;
    if !furthest.fits {
        return Ok(Some(furthest));
    }
    for step in way {
        let bound_min = session_lower_bound_min(&step.order)?;
        if bound_min > step.order.length_min + FITS_WITHIN_MIN {
            continue;
        }
        let relaxed = planned(step, plan, effort, going_on)?;
        if relaxed.fits {
            return Ok(Some(relaxed));
        }
    }
    Ok(Some(furthest))
}

fn planned(
    step: Step,
    before: &SessionPlan,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<Relaxation, SessionError> {
    let mut plan = plan_session(&step.order, effort, going_on)?;
    // The plan there is, with the tubes that are still asked for, may be as good.
    let mut draft = SessionDraft::from(before);
    for bench in &mut draft.benches {
        for load in &mut bench.loads {
            load.tubes.retain(|tube| {
                let sample = step.order.samples.iter().find(|one| one.id == tube.sample);
                sample.is_some_and(|one| tube.replicate <= step.order.replicates_of(one))
            });
        }
        bench.loads.retain(|load| !load.tubes.is_empty());
    }
    let again = retime(&step.order, &draft, 0.0)?;
    if again.faults.is_empty() && again.plan.makespan_min < plan.makespan_min {
        plan = again.plan;
    }
    Ok(Relaxation {
        what: step.what,
        price: step.price,
        makespan_min: plan.makespan_min,
        fits: plan.fits,
        finished: plan.finished_in_time.len(),
        order: step.order,
    })
}

fn fewer_replicates(order: &SessionOrder) -> Vec<Step> {
    let most = order
        .samples
        .iter()
        .map(|one| order.replicates_of(one))
        .max();
    let Some(most) = most.filter(|&most| most > 1) else {
        return Vec::new();
    };
    let mut with = order.clone();
    for sample in &mut with.samples {
        let replicates = order.replicates_of(sample);
        sample.replicates = Some(if replicates > 1 {
            replicates - 1
        } else {
            replicates
        });
    }
    let price = if most == 2 {
        "one tube alone shows neither its own mistakes nor how far tubes of a sample differ"
    } else {
        "means rest on fewer tubes, and how far tubes of a sample differ is known less well"
    };
    vec![Step {
        what: format!(
            "one tube of each sample fewer, {} instead of {most}",
            most - 1
        ),
        price: price.into(),
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

/// Leave out what the plan within the time leaves out.
fn left_out(order: &SessionOrder, plan: &SessionPlan) -> Option<Relaxation> {
    let benches = plan.in_time_benches.as_ref()?;
    if plan.finished_in_time.is_empty() {
        return None;
    }
    let mut with = order.clone();
    with.samples
        .retain(|one| plan.finished_in_time.contains(&one.id));
    let names = plan.not_finished.join(", ");
    Some(Relaxation {
        what: format!("leave out {names}"),
        price: match plan.not_finished.len() {
            1 => format!("{names} is not measured in this session"),
            many => format!("{many} samples are not measured in this session"),
        },
        makespan_min: makespan_min(benches),
        fits: true,
        finished: plan.finished_in_time.len(),
        order: with,
    })
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
