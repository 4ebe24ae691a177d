//! `meltrange session`: a plan for many samples, few places and limited time.

use crate::args::SessionArguments;
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use crate::table::aligned;
use meltrange_planning::{PlannedBench, SessionEffort, SessionOrder, SessionPlan, plan_session};
use std::path::Path;
use std::time::{Duration, Instant};

/// The same order gives the same plan.
const SEED: u64 = 1;

/// Plan and print.
pub(crate) fn run(
    arguments: &SessionArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let order = read(&arguments.session)?;
    let limit = Duration::from_secs_f64(arguments.time_limit);
    let effort = SessionEffort::for_seconds(arguments.time_limit, &order, SEED);
    let stretch = progress.begin("planning");
    let start = Instant::now();
    let mut going_on = || {
        let gone = start.elapsed();
        stretch.at(gone.as_secs_f64() / limit.as_secs_f64().max(1e-9));
        gone < limit
    };
    let plan = plan_session(&order, effort, &mut going_on)
        .map_err(|error| Failure::new(format!("{}: {error}", arguments.session.display())))?;
    drop(stretch);
    if arguments.json {
        output.json(&plan)
    } else {
        output.text(&as_text(&order, &plan))
    }
}

fn read(path: &Path) -> Result<SessionOrder, Failure> {
    let name = path.display();
    let text = std::fs::read_to_string(path)
        .map_err(|error| Failure::new(format!("{name} could not be read: {error}")))?;
    toml::from_str(&text).map_err(|error| {
        let line = error
            .span()
            .map(|span| text[..span.start.min(text.len())].matches('\n').count() + 1)
            .map(|line| format!(", line {line}"))
            .unwrap_or_default();
        Failure::new(format!("{name}{line}: {}", error.message()))
            .hint("expected length_min, [[bench]] with name, places, room_c, start_c, heat_rate_c_per_min, cool_time_constant_min, max_c, and [[sample]] with id, first_liquid_c, last_crystal_c")
    })
}

fn as_text(order: &SessionOrder, plan: &SessionPlan) -> String {
    let mut text = format!(
        "all done after {:.1} min of {:.0} min; no plan is shorter than {:.1} min\n",
        plan.makespan_min, order.length_min, plan.lower_bound_min
    );
    text.push_str(&benches_text(&plan.benches));
    if let Some(benches) = &plan.in_time_benches {
        text.push_str(&format!(
            "\nit does not fit. Within {:.0} min {} of {} samples can be finished; left out: {}\n",
            order.length_min,
            plan.finished_in_time.len(),
            order.samples.len(),
            plan.not_finished.join(", ")
        ));
        text.push_str(&benches_text(benches));
    }
    text
}

fn benches_text(benches: &[PlannedBench]) -> String {
    let heads = ["bench", "set in, min", "done, min", "tubes", "scans, °C"];
    let mut rows = vec![heads.map(str::to_owned)];
    for bench in benches {
        for load in &bench.loads {
            let tubes: Vec<String> = load
                .tubes
                .iter()
                .map(|tube| format!("{} ({})", tube.sample, tube.replicate))
                .collect();
            let scans: Vec<String> = load
                .scan_windows_c
                .iter()
                .map(|[from_c, to_c]| format!("{from_c:.1}–{to_c:.1}"))
                .collect();
            rows.push([
                bench.bench.clone(),
                format!("{:.1}", load.load_start_min),
                format!("{:.1}", load.end_min),
                tubes.join(", "),
                scans.join(", "),
            ]);
        }
    }
    aligned(&rows)
}
