//! `meltrange session`: a plan for many samples, few places and limited time.

use crate::args::SessionArguments;
use crate::failure::Failure;
use crate::new_file::new_file;
use crate::output::Output;
use crate::progress::{Progress, Stretch};
use crate::table::aligned;
use meltrange_archive::{CalendarOrder, calendar};
use meltrange_planning::{
    PlannedBench, PlannedLoad, Relaxation, Saving, SessionEffort, SessionOrder, SessionPlan,
    SessionSoFar, SessionWords, explain, plan_session, relaxations, what_more_saves,
};
use serde::Serialize;
use std::path::Path;
use std::time::{Duration, Instant};

/// The same order gives the same plan.
const SEED: u64 = 1;

/// Plans that are made to see what could be relaxed, and what more would save: most of each.
const RELAXED: f64 = 12.0;
const WITH_MORE: f64 = 3.0;

/// What is said of a session: the plan with what follows from it.
#[derive(Debug, Serialize)]
struct Said<'a> {
    #[serde(flatten)]
    plan: &'a SessionPlan,
    words: SessionWords,
    #[serde(skip_serializing_if = "Option::is_none")]
    what_more: Option<Vec<Saving>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    relaxations: Option<Vec<Relaxation>>,
}

/// Plan and print.
pub(crate) fn run(
    arguments: &SessionArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let order = read(&arguments.session)?;
    let failure = |error| Failure::new(format!("{}: {error}", arguments.session.display()));
    let limit_s = arguments.time_limit;
    let effort = |part: f64| SessionEffort::for_seconds(limit_s / part, &order, SEED);
    let stretch = progress.begin("planning");
    let plan =
        plan_session(&order, effort(1.0), &mut within(limit_s, &stretch)).map_err(failure)?;
    drop(stretch);
    let what_more = if arguments.what_more {
        let stretch = progress.begin("with more");
        let mut going_on = within(limit_s, &stretch);
        let more = what_more_saves(&order, &plan, effort(WITH_MORE), &mut going_on);
        Some(more.map_err(failure)?)
    } else {
        None
    };
    // A caller that reads JSON gets it within the time limit unless it asks for more.
    let relaxations = if !plan.fits && (!arguments.json || arguments.what_more) {
        let stretch = progress.begin("relaxing");
        let mut going_on = within(limit_s, &stretch);
        let relaxed = relaxations(
            &order,
            &SessionSoFar::default(),
            &plan,
            effort(RELAXED),
            &mut going_on,
        );
        Some(relaxed.map_err(failure)?)
    } else {
        None
    };
    if let Some(path) = &arguments.calendar {
        write_calendar(path, arguments, &order, &plan)?;
    }
    let said = Said {
        words: explain(&order, &plan, 0.0),
        plan: &plan,
        what_more,
        relaxations,
    };
    if arguments.json {
        output.json(&said)
    } else {
        output.text(&as_text(&order, &said))
    }
}

fn write_calendar(
    path: &Path,
    arguments: &SessionArguments,
    order: &SessionOrder,
    plan: &SessionPlan,
) -> Result<(), Failure> {
    let stamp = jiff::Timestamp::now();
    let text = calendar(
        plan,
        &CalendarOrder {
            start: arguments.start.unwrap_or(stamp),
            stamp,
            load_min: order.policy.load_min,
            people: arguments.people.clone(),
        },
    );
    new_file(path, text.as_bytes())
}

/// Goes on for so long, and shows how far it has come.
fn within(limit_s: f64, stretch: &Stretch) -> impl FnMut() -> bool {
    let (start, limit) = (Instant::now(), Duration::from_secs_f64(limit_s));
    move || {
        let gone = start.elapsed();
        stretch.at(gone.as_secs_f64() / limit.as_secs_f64().max(1e-9));
        gone < limit
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

fn as_text(order: &SessionOrder, said: &Said) -> String {
    let plan = said.plan;
    let mut text = format!(
        "all done after {:.1} min of {:.0} min; no plan is shorter than {:.1} min\n",
        plan.makespan_min, order.length_min, plan.lower_bound_min
    );
    text.push_str(&benches_text(&plan.benches));
    text.push_str(&together_text(plan, &said.words));
    text.push_str(&format!(
        "\nwhat the length hangs on. {}\n\n",
        said.words.bottleneck
    ));
    text.push_str(&shares_text(&said.words));
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
    if let Some(relaxations) = &said.relaxations {
        text.push_str("\nwhat could be relaxed, one at a time:\n");
        for relaxed in relaxations {
            text.push_str(&relaxed_text(relaxed));
        }
    }
    if let Some(what_more) = &said.what_more {
        text.push_str("\nwhat more would save:\n");
        for saving in what_more {
            text.push_str(&format!(
                "  {}: {:.1} min, to {:.1} min\n",
                saving.what, saving.saves_min, saving.makespan_min
            ));
        }
    }
    text
}

fn relaxed_text(relaxed: &Relaxation) -> String {
    let outcome = if relaxed.fits {
        format!("fits, {:.1} min", relaxed.makespan_min)
    } else {
        format!(
            "does not fit, {:.1} min, {} samples in time",
            relaxed.makespan_min, relaxed.finished
        )
    };
    format!(
        "  {}: {outcome}\n    price: {}\n",
        relaxed.what, relaxed.price
    )
}

/// Why tubes are set in together.
fn together_text(plan: &SessionPlan, words: &SessionWords) -> String {
    let mut text = String::new();
    for (bench, words) in plan.benches.iter().zip(&words.loads) {
        for (load, why) in bench.loads.iter().zip(words) {
            if !why.is_empty() {
                let (tubes, at_min) = (tubes_text(load), load.load_start_min);
                text.push_str(&format!(
                    "  {}, {at_min:.1} min, {tubes}: {why}\n",
                    bench.bench
                ));
            }
        }
    }
    if text.is_empty() {
        return text;
    }
    format!("\nwhy tubes share a load:\n{text}")
}

fn shares_text(words: &SessionWords) -> String {
    let heads = [
        "bench, min",
        "cooling",
        "waiting",
        "setting in",
        "approach",
        "soak",
        "scan",
        "idle after",
    ];
    let mut rows = vec![heads.map(str::to_owned)];
    for share in &words.shares {
        let minutes = |minutes: f64| format!("{minutes:.1}");
        rows.push([
            share.bench.clone(),
            minutes(share.cooling_min),
            minutes(share.waiting_min),
            minutes(share.loading_min),
            minutes(share.approaching_min),
            minutes(share.soaking_min),
            minutes(share.scanning_min),
            minutes(share.idle_min),
        ]);
    }
    aligned(&rows)
}

fn tubes_text(load: &PlannedLoad) -> String {
    let tubes = load.tubes.iter();
    let tubes: Vec<String> = tubes
        .map(|tube| format!("{} ({})", tube.sample, tube.replicate))
        .collect();
    tubes.join(", ")
}

fn benches_text(benches: &[PlannedBench]) -> String {
    let heads = ["bench", "set in, min", "done, min", "tubes", "scans, °C"];
    let mut rows = vec![heads.map(str::to_owned)];
    for bench in benches {
        for load in &bench.loads {
            let scans: Vec<String> = load
                .scan_windows_c
                .iter()
                .map(|[from_c, to_c]| format!("{from_c:.1}–{to_c:.1}"))
                .collect();
            rows.push([
                bench.bench.clone(),
                format!("{:.1}", load.load_start_min),
                format!("{:.1}", load.end_min),
                tubes_text(load),
                scans.join(", "),
            ]);
        }
    }
    aligned(&rows)
}
