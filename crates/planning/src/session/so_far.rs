//! Where a session stands, and what people already have of it.

use super::draft::{DraftLoad, SessionDraft, finished_in_time, retime};
use super::order::{SessionError, SessionOrder};
use super::plan::{FITS_WITHIN_MIN, PlannedTube, SessionPlan};
use std::borrow::Borrow;
use std::collections::BTreeSet;

/// Where a session stands; by default at its beginning, with nothing planned.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SessionSoFar {
    /// The plan that people have, with what began and what is locked.
    pub draft: SessionDraft,
    /// Minutes since it began.
    pub now_min: f64,
}

impl SessionSoFar {
    /// The same session with a plan instead, what began and what is locked staying.
    pub(crate) fn with_plan(&self, plan: &SessionPlan) -> Self {
        let mut draft = SessionDraft::from(plan);
        draft.keep_marks(&self.draft);
        Self {
            draft,
            now_min: self.now_min,
        }
    }

    /// Whether nothing but the model says how long things take.
    pub(crate) fn is_beginning(&self) -> bool {
        self.now_min == 0.0 && self.loads().all(|load| load.actual.is_none())
    }

    /// Tubes of loads that stay when the rest is planned anew.
    pub(crate) fn kept_tubes(&self) -> impl Iterator<Item = &PlannedTube> {
        let benches = self.draft.benches.iter();
        benches
            .flat_map(|bench| &bench.loads[..kept(&bench.loads)])
            .flat_map(|load| &load.tubes)
    }

    fn loads(&self) -> impl Iterator<Item = &DraftLoad> {
        self.draft.benches.iter().flat_map(|bench| &bench.loads)
    }
}

/// How many loads of a bench stay: those that began or are locked, and every load before them.
pub(crate) fn kept(loads: &[impl Borrow<DraftLoad>]) -> usize {
    let stays = |load: &DraftLoad| load.locked || load.actual.is_some();
    let last = loads.iter().rposition(|load| stays(load.borrow()));
    last.map_or(0, |last| last + 1)
}

/// A draft without tubes that are not wanted, but in loads that stay.
pub(crate) fn only(draft: &SessionDraft, wanted: impl Fn(&PlannedTube) -> bool) -> SessionDraft {
    let mut only = draft.clone();
    for bench in &mut only.benches {
        let mut place = 0;
        let kept = kept(&bench.loads);
        bench.loads.retain_mut(|load| {
            place += 1;
            if place <= kept {
                return true;
            }
            load.tubes.retain(&wanted);
            !load.tubes.is_empty()
        });
    }
    only
}

/// What people have in place of what was found, where it is better: their plan, where it holds everything, breaks nothing
/// and is shorter; and of their plan and `in_time`, their plan of what is done in time, what finishes more samples.
///
/// `found` is a plan of the rest of the session `so_far`.
///
/// # Errors
/// As [`retime`].
pub fn better_of(
    order: &SessionOrder,
    found: SessionPlan,
    so_far: &SessionSoFar,
    in_time: Option<&SessionDraft>,
) -> Result<SessionPlan, SessionError> {
    let mut plan = found;
    let theirs = retime(order, &so_far.draft, so_far.now_min)?;
    if theirs.faults.is_empty() && theirs.plan.makespan_min < plan.makespan_min {
        plan.makespan_min = theirs.plan.makespan_min;
        plan.fits = theirs.plan.fits;
        plan.benches = theirs.plan.benches;
    }
    if plan.fits {
        [plan.finished_in_time, plan.not_finished] =
            finished_in_time(order, &plan.benches, &so_far.draft);
        plan.in_time_benches = None;
        return Ok(plan);
    }
    for draft in [Some(&so_far.draft), in_time].into_iter().flatten() {
        let Some(benches) = done_in_time(order, draft, so_far.now_min)? else {
            continue;
        };
        let [finished, not_finished] =
            finished_in_time(order, &benches.plan.benches, &benches.draft);
        if finished.len() > plan.finished_in_time.len() {
            (plan.finished_in_time, plan.not_finished) = (finished, not_finished);
            plan.in_time_benches = Some(benches.plan.benches);
        }
    }
    Ok(plan)
}

/// What of a draft is done in time.
struct InTime {
    draft: SessionDraft,
    plan: SessionPlan,
}

/// A draft without the samples that it does not finish in time; none where it breaks something all the same.
fn done_in_time(
    order: &SessionOrder,
    draft: &SessionDraft,
    now_min: f64,
) -> Result<Option<InTime>, SessionError> {
    let finished: BTreeSet<String> = retime(order, draft, now_min)?
        .plan
        .finished_in_time
        .into_iter()
        .collect();
    let draft = only(draft, |tube| finished.contains(&tube.sample));
    let again = retime(order, &draft, now_min)?;
    // Tubes that are missing stand against no load.
    if again.faults.iter().any(|fault| fault.bench.is_some()) {
        return Ok(None);
    }
    let limit_min = order.length_min + FITS_WITHIN_MIN;
    let late = again
        .plan
        .benches
        .iter()
        .zip(draft.by_bench(order))
        .any(|(planned, own)| {
            let new = planned.loads.iter().skip(kept(&own));
            new.into_iter().any(|load| load.end_min > limit_min)
        });
    Ok((!late).then_some(InTime {
        draft,
        plan: again.plan,
    }))
}
