//! The session plan of a class session.

use super::standing::{Plan, Standing};
use meltrange_labbook::PracticalAct;
use meltrange_planning::{
    SessionDraft, SessionEffort, SessionError, SessionOrder, SessionPolicy, SessionSample,
    plan_session, replan,
};
use std::time::{Duration, Instant};

/// How long a plan is looked for [s]: the class waits.
const SECONDS: f64 = 0.4;

/// And not longer than this, however slow the machine is.
const AT_MOST: Duration = Duration::from_millis(1500);

/// The same standing gives the same plan.
const SEED: u64 = 1;

/// What there is to be measured now: the vials of seats that are taken, on benches that work. None where there is
/// nothing, or nowhere.
fn order(standing: &Standing) -> Option<SessionOrder> {
    let set_up = &standing.set_up;
    let samples: Vec<SessionSample> = standing
        .seats
        .iter()
        .filter(|seat| seat.is_taken())
        .filter_map(|seat| {
            let unknown = set_up.unknowns.get(seat.unknown as usize)?;
            Some(SessionSample {
                id: seat.vial.clone(),
                first_liquid_c: unknown.first_liquid_c,
                last_crystal_c: unknown.last_crystal_c,
                replicates: None,
                leave_below_c: None,
            })
        })
        .collect();
    let benches: Vec<_> = set_up
        .benches
        .iter()
        .filter(|bench| !standing.out.contains_key(&bench.name))
        .cloned()
        .collect();
    (!samples.is_empty() && !benches.is_empty()).then(|| SessionOrder {
        length_min: set_up.length_min,
        operators: set_up.operators,
        policy: SessionPolicy {
            replicates: set_up.runs_each,
            ..SessionPolicy::default()
        },
        benches,
        samples,
    })
}

/// Plan what is left, from now on. None where there is nothing to plan. Takes up to [`AT_MOST`].
///
/// # Errors
/// [`SessionError`], e.g. where a bench cannot reach a range.
pub(crate) fn planned_anew(
    standing: &Standing,
    why: &str,
) -> Result<Option<PracticalAct>, SessionError> {
    let Some(order) = order(standing) else {
        return Ok(None);
    };
    let minute = standing.now_min();
    let effort = SessionEffort::for_seconds(SECONDS, &order, SEED);
    let begun = Instant::now();
    let mut going_on = || begun.elapsed() < AT_MOST;
    let begun_loads = |plan: &Plan| {
        let mut loads = plan.draft.benches.iter().flat_map(|bench| &bench.loads);
        loads.any(|load| load.actual.is_some())
    };
    let draft = match &standing.plan {
        Some(plan) if begun_loads(plan) => {
            let found = replan(&order, &plan.draft, minute, effort, &mut going_on)?;
            let mut draft = SessionDraft::from(&found);
            draft.keep_marks(&plan.draft);
            draft
        }
        _ => SessionDraft::from(&plan_session(&order, effort, &mut going_on)?),
    };
    Ok(Some(PracticalAct::Planned {
        order: Box::new(order),
        draft,
        minute,
        why: why.to_owned(),
    }))
}
