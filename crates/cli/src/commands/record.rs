//! `meltrange record`: a run at a bench, kept in a lab book, without pages.

mod keys;
mod shown;

use crate::args::RecordArguments;
use crate::book_access::{failed, person, samples, to_write};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use keys::{Key, read_keys};
use meltrange_bench::{
    BenchFile, BenchView, DeviceHealth, OpenBench, Phase, Press, RunOrder, ThermometerSpec,
    run_log_can_be_written, write_run_log,
};
use meltrange_labbook::LoadedTube;
use meltrange_planning::{
    BenchHeat, MeasuringOrder, Programme, ScoutingOrder, cautions, learned_cautions,
};
use meltrange_server::{Afterwards, AppState, KeptRun, begin_kept_run};
use serde_json::{Value, json};
use shown::Shown;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{mpsc, watch};

/// A thermometer is waited for this long before the run is given up.
const FIRST_TEMPERATURE: Duration = Duration::from_secs(10);
/// And this long when a person has to key the temperature in.
const FIRST_KEYED: Duration = Duration::from_secs(300);

/// Run a programme at a bench until it is over.
pub(crate) fn run(
    arguments: &RecordArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let file = BenchFile::read(&arguments.bench).map_err(|error| Failure::of(&error))?;
    if !(1.0..=60.0).contains(&arguments.speed) || (arguments.speed > 1.0 && !file.is_simulated()) {
        return Err(Failure::new(format!(
            "--speed is {}; expected 1, or up to 60 at a simulated bench",
            arguments.speed
        )));
    }
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::of(&error))?;
    let recorded = runtime.block_on(record(arguments, file, progress));
    runtime.shutdown_timeout(Duration::from_secs(2));
    let document = recorded?;
    if arguments.json {
        return output.json(&document);
    }
    output.text(&shown::summary(&document, &arguments.book))
}

async fn record(
    arguments: &RecordArguments,
    file: BenchFile,
    progress: &Progress,
) -> Result<Value, Failure> {
    if let Some(path) = &arguments.run_log {
        run_log_can_be_written(path).map_err(|error| Failure::of(&error))?;
    }
    let book = to_write(&arguments.book).await?;
    let who = person(&book, arguments.by.as_deref()).await?;
    let load: Vec<LoadedTube> = (1..)
        .zip(samples(&book, &arguments.tubes).await?)
        .map(|(place, sample)| LoadedTube { place, sample })
        .collect();
    if load.len() > usize::from(file.places) {
        return Err(Failure::new(format!(
            "--tubes names {} places; the bench \"{}\" has {}",
            load.len(),
            file.name,
            file.places
        )));
    }
    let state = AppState::new(book).map_err(failed)?;
    let keyed = matches!(file.thermometer, ThermometerSpec::Keyed);
    let max_c = file.max_c;
    let heat = file.heat();
    let bench = OpenBench::open(file, arguments.speed).map_err(|error| Failure::of(&error))?;
    let mut keys = read_keys();
    let now_c = first_temperature(&bench, keyed, &mut keys).await?;
    let programme = programme(arguments, now_c, max_c)?;
    let shown = Shown::begin(progress);
    let mut said = cautions(&programme, &heat.ability(), now_c);
    if let BenchHeat::Learned(learned) = &heat {
        said.extend(learned_cautions(&programme, learned));
    }
    for caution in said {
        shown.say(&format!("caution: {caution}"));
    }
    match heat.estimate(&programme, now_c) {
        Ok(found) => shown.say(&format!(
            "about {:.1} min to the end of the scan (standard uncertainty {:.1} min), waiting for you not counted",
            found.minutes, found.standard_uncertainty_min
        )),
        Err(error) => shown.say(&format!("caution: {error}")),
    }
    let order = RunOrder {
        programme,
        end_when_clear: !arguments.to_the_end,
        watched: false,
    };
    let afterwards = if arguments.no_reading {
        Afterwards::Leave
    } else {
        Afterwards::Read
    };
    let kept = begin_kept_run(&state, &bench, who, order, load, afterwards)
        .await
        .map_err(|error| Failure::of(&error))?;
    let view = follow(&bench, &mut keys, &shown, arguments.by.as_deref()).await;
    if let Some(path) = &arguments.run_log
        && let Err(error) = write_run_log(path, &bench.run_log())
    {
        // The run is in the book whatever becomes of this; its result is told.
        shown.say(&format!("the log of the run is not kept: {error}"));
    }
    drop(bench);
    finish(state, kept, view, arguments).await
}

fn programme(arguments: &RecordArguments, now_c: f64, max_c: f64) -> Result<Programme, Failure> {
    let planned = match (arguments.first_liquid, arguments.last_crystal) {
        (Some(first_c), Some(last_c)) => {
            let usual = MeasuringOrder::around(first_c, last_c);
            let order = MeasuringOrder {
                rate_c_per_min: arguments.rate.unwrap_or(usual.rate_c_per_min),
                soak_min: arguments.soak.unwrap_or(usual.soak_min),
                attend: !arguments.unattended,
                ..usual
            };
            Programme::measuring(&order, max_c)
        }
        _ => {
            let usual = ScoutingOrder::up_to(now_c, arguments.up_to.unwrap_or(max_c));
            let order = ScoutingOrder {
                rate_c_per_min: arguments.rate.unwrap_or(usual.rate_c_per_min),
                ..usual
            };
            Programme::scouting(&order, max_c)
        }
    };
    planned.map_err(|error| Failure::of(&error))
}

async fn first_temperature(
    bench: &OpenBench,
    keyed: bool,
    keys: &mut mpsc::UnboundedReceiver<Key>,
) -> Result<f64, Failure> {
    let mut view = bench.view();
    if keyed {
        eprintln_line("key in the temperature that the bench shows, then Enter");
    }
    let patience = if keyed {
        FIRST_KEYED
    } else {
        FIRST_TEMPERATURE
    };
    let wait = async {
        loop {
            let known = view.borrow_and_update().temperature_c;
            if let Some(now_c) = known {
                return now_c;
            }
            tokio::select! {
                changed = view.changed() => if changed.is_err() { std::future::pending::<()>().await },
                Some(key) = keys.recv() => if let Key::Temperature(temperature_c) = key {
                    say_refused(bench.key_in(temperature_c).err());
                },
            }
        }
    };
    tokio::time::timeout(patience, wait).await.map_err(|_| {
        let why = match bench.view().borrow().thermometer.clone() {
            DeviceHealth::Lost { why } | DeviceHealth::Doubtful { why } => why,
            DeviceHealth::Waiting | DeviceHealth::Well => "it is there and says nothing".into(),
        };
        Failure::new(format!(
            "bench {}: the thermometer told no temperature within {} s: {why}",
            bench.file().name,
            patience.as_secs()
        ))
        .hint("\"meltrange bench check BENCH.toml\" tries every device")
    })
}

/// Until the run is over; how it looked at the end.
async fn follow(
    bench: &OpenBench,
    keys: &mut mpsc::UnboundedReceiver<Key>,
    shown: &Shown,
    by: Option<&str>,
) -> Arc<BenchView> {
    let mut view: watch::Receiver<Arc<BenchView>> = bench.view();
    loop {
        let now = view.borrow_and_update().clone();
        shown.view(&now);
        let over = |phase: Phase| phase.is_over();
        if now.run.as_ref().is_some_and(|run| over(run.phase)) {
            return now;
        }
        tokio::select! {
            changed = view.changed() => if changed.is_err() { return now },
            Some(key) = keys.recv() => say_refused(press(bench, key, by).await),
            _ = tokio::signal::ctrl_c() => say_refused(press(bench, Key::Press(Press::Stop), by).await),
        }
    }
}

async fn press(
    bench: &OpenBench,
    key: Key,
    by: Option<&str>,
) -> Option<meltrange_bench::OrderError> {
    match key {
        Key::Temperature(temperature_c) => bench.key_in(temperature_c).err(),
        Key::Press(press) => bench.press(press).await.err(),
        Key::Mark(place, moment) => {
            let by = by.unwrap_or("the person at the bench").to_owned();
            let mark = Press::Mark { place, moment, by };
            bench.press(mark).await.err()
        }
        Key::Unknown(word) => {
            eprintln_line(&format!(
                "\"{word}\" means nothing here; expected hold, pause, resume, skip, stop, first N, last N, a temperature, or Enter alone"
            ));
            None
        }
    }
}

fn say_refused(error: Option<meltrange_bench::OrderError>) {
    if let Some(error) = error {
        eprintln_line(&error.to_string());
    }
}

#[expect(clippy::print_stderr, reason = "talks with the person at the terminal")]
fn eprintln_line(text: &str) {
    eprintln!("{text}");
}

async fn finish(
    state: AppState,
    kept: KeptRun,
    view: Arc<BenchView>,
    arguments: &RecordArguments,
) -> Result<Value, Failure> {
    let lost = kept.done.await.ok().flatten();
    if !arguments.no_reading {
        state.rest().await;
    }
    let run = view.run.as_ref();
    let readings = state
        .book()
        .store()
        .recording(kept.recording)
        .await
        .map_err(failed)?
        .readings
        .len();
    state.close();
    state.close_book().await;
    if let Some(lost) = lost {
        return Err(Failure::new(format!(
            "something of the run was not recorded: {lost}"
        )));
    }
    let document = json!({
        "run": kept.run.to_string(),
        "recording": kept.recording.to_string(),
        "phase": run.map(|run| run.phase),
        "end": run.and_then(|run| run.end.clone()),
        "tubes": run.map(|run| run.tubes.clone()),
        "marks": run.map(|run| run.marks.clone()),
        "purpose": run.map(|run| run.programme.purpose()),
        "estimate_c": run.and_then(|run| run.estimate_c),
        "events": run.map(|run| run.events.clone()),
        "readings": readings,
    });
    Ok(document)
}
