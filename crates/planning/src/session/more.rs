//! What more benches, places or hands would save.

use super::order::{SessionBench, SessionError, SessionOrder};
use super::plan::{SessionEffort, SessionPlan, plan_session};
use serde::Serialize;

/// What one more of something would save.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Saving {
    /// In words.
    pub what: String,
    /// With it [min].
    pub makespan_min: f64,
    /// Less than the plan [min]; never below 0, the plan being possible with more too.
    pub saves_min: f64,
}

/// What one more bench, one more place at each bench, one more operator would save, each planned anew
/// with the effort given; most first.
///
/// # Errors
/// As [`plan_session`].
pub fn what_more_saves(
    order: &SessionOrder,
    plan: &SessionPlan,
    effort: SessionEffort,
    going_on: &mut dyn FnMut() -> bool,
) -> Result<Vec<Saving>, SessionError> {
    order.check()?;
    let mut more: Vec<(String, SessionOrder)> = Vec::new();
    if let Some(model) = most_able(order) {
        let bench = SessionBench {
            name: other_name(order, &model.name),
            start_c: model.room_c,
            ..model.clone()
        };
        let mut with = order.clone();
        with.benches.push(bench);
        more.push((format!("one more bench like {}", model.name), with));
    }
    let mut with = order.clone();
    for bench in &mut with.benches {
        bench.places += 1;
    }
    more.push(("one more place at each bench".into(), with));
    let mut with = order.clone();
    with.operators = with.operators.saturating_add(1);
    more.push(("one more person to set tubes in".into(), with));
    let mut savings = Vec::new();
    for (what, with) in more {
        // One that can be no bench of a session, as with places beyond all bounds, saves nothing.
        if with.check().is_err() {
            continue;
        }
        let found_min = plan_session(&with, effort, going_on)?.makespan_min;
        let makespan_min = found_min.min(plan.makespan_min);
        savings.push(Saving {
            what,
            makespan_min,
            saves_min: plan.makespan_min - makespan_min,
        });
    }
    savings.sort_by(|a, b| b.saves_min.total_cmp(&a.saves_min));
    Ok(savings)
}

/// The bench that takes most samples; of several the one with most places, then the fastest.
fn most_able(order: &SessionOrder) -> Option<&SessionBench> {
    order.benches.iter().max_by(|a, b| {
        let takes = |bench: &SessionBench| {
            let fits = |sample| order.obstacle(bench, sample).is_none();
            order.samples.iter().filter(|sample| fits(sample)).count()
        };
        (takes(a), a.places)
            .cmp(&(takes(b), b.places))
            .then(a.heat_rate_c_per_min.total_cmp(&b.heat_rate_c_per_min))
    })
}

fn other_name(order: &SessionOrder, name: &str) -> String {
    let taken = |name: &str| order.benches.iter().any(|bench| bench.name == name);
    (2..)
        .map(|number| format!("{name} ({number})"))
        .find(|name| !taken(name))
        .unwrap_or_default()
}
