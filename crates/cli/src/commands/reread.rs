//! `meltrange reread`: many recordings of a shared book read again by workers, and accepted or dropped.

use crate::args::{
    RereadArguments, RereadBeginArguments, RereadCommand, RereadDecideArguments,
    RereadShowArguments, RereadWorkArguments,
};
use crate::book_access::{failed, person, to_write, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::progress::Progress;
use meltrange_labbook::{
    Book, EndMoved, Entry, PROGRAM, PersonId, RereadChoice, Rereading, RereadingTold, Role,
};
use meltrange_server::{RereadOrders, RereadStep, accept_all, reread};
use serde_json::{Value, json};
use tokio::sync::watch;
use uuid::Uuid;

/// Tubes that moved furthest, shown to a person.
const MOST_MOVED: u32 = 10;

/// Run one of them.
pub(crate) fn run(
    arguments: &RereadArguments,
    output: &Output,
    quiet: bool,
) -> Result<(), Failure> {
    match &arguments.command {
        RereadCommand::Begin(begin) => wait(begun(begin, output)),
        RereadCommand::Work(work) => worker(work, output, &Progress::new(quiet || work.json)),
        RereadCommand::Show(show) => wait(shown(show, output)),
        RereadCommand::Accept(accept) => wait(accepted(
            accept,
            output,
            &Progress::new(quiet || accept.json),
        )),
        RereadCommand::Drop(dropping) => wait(dropped(dropping, output)),
    }
}

/// The person named, who must be a supervisor: as on the pages.
async fn supervisor(book: &Book, named: Option<&str>) -> Result<PersonId, Failure> {
    let who = person(book, named).await?;
    match book.store().latest(who.into()).await.map_err(failed)?.entry {
        Entry::Person(found) if found.role != Role::Supervisor => Err(Failure::new(format!(
            "{} is no supervisor of this book; expected one: new readings of many recordings are theirs to decide",
            found.name
        ))),
        _ => Ok(who),
    }
}

async fn begun(arguments: &RereadBeginArguments, output: &Output) -> Result<(), Failure> {
    let book = to_write(&arguments.book).await?;
    let who = supervisor(&book, arguments.by.as_deref()).await?;
    let choice = match arguments.all {
        true => RereadChoice::All,
        false => RereadChoice::OtherVersions,
    };
    let (begun, recordings) = book
        .rereadings()
        .map_err(failed)?
        .begin(who, PROGRAM, choice)
        .await
        .map_err(failed)?;
    book.close().await;
    if arguments.json {
        return output.json(&json!({
            "rereading": begun.id,
            "engine": begun.engine,
            "recordings": recordings,
        }));
    }
    output.text(&format!(
        "{recordings} recordings wait to be read by {}\nnext: meltrange reread work BOOK, on as many machines as you like\n",
        begun.engine
    ))
}

fn worker(
    arguments: &RereadWorkArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|error| Failure::of(&error))?;
    let worked = runtime.block_on(work(arguments, output, progress));
    // A reading that was given back need not be waited for.
    runtime.shutdown_background();
    worked
}

async fn work(
    arguments: &RereadWorkArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let book = to_write(&arguments.book).await?;
    let orders = RereadOrders {
        name: arguments.name.clone().unwrap_or_else(machine_and_process),
        waits: arguments.wait,
    };
    let (stop, told) = watch::channel(false);
    tokio::spawn(async move {
        meltrange_server::told_to_stop().await;
        stop.send_replace(true);
    });
    let line = progress.status();
    let (mut read, mut could_not, mut recorded) = (0_u64, 0_u64, 0_u64);
    let outcome = reread(&book, &orders, told, |step| match step {
        RereadStep::Read { took_s, .. } => {
            read += 1;
            line.show(&format!("{read} read; the last in {took_s:.1} s"));
        }
        RereadStep::CouldNot { recording, why } => {
            could_not += 1;
            line.say(&format!("recording {recording} cannot be read: {why}"));
        }
        RereadStep::TakenAway { recording } => {
            line.say(&format!("recording {recording} was taken away again"));
        }
        RereadStep::Recorded { readings } => recorded += readings,
        RereadStep::OutOfReach { why } => line.say(&why),
    })
    .await;
    drop(line);
    book.close().await;
    outcome.map_err(failed)?;
    if arguments.json {
        return output.json(&json!({
            "worker": orders.name, "read": read, "could_not_read": could_not, "recorded": recorded,
        }));
    }
    output.text(&format!(
        "{read} recordings read, {could_not} that cannot be read\n"
    ))
}

fn machine_and_process() -> String {
    let machine = gethostname::gethostname();
    format!("{} {}", machine.to_string_lossy(), std::process::id())
}

async fn shown(arguments: &RereadShowArguments, output: &Output) -> Result<(), Failure> {
    let book = to_write(&arguments.book).await?;
    let found = chosen(&book, arguments.id).await?;
    let rereadings = book.rereadings().map_err(failed)?;
    let told = rereadings.told(found.id).await.map_err(failed)?;
    let failures = rereadings
        .failures(found.id, MOST_MOVED)
        .await
        .map_err(failed)?;
    let moved = rereadings
        .tubes(found.id, None, 0, MOST_MOVED)
        .await
        .map_err(failed)?;
    book.close().await;
    if arguments.json {
        return output.json(&document(&found, &told));
    }
    let mut text = summary(&found, &told);
    for failure in failures {
        text.push_str(&format!(
            "cannot be read: recording {}: {}\n",
            failure.recording, failure.why
        ));
    }
    for tube in moved {
        let by = |end: Option<meltrange_labbook::Moved>| {
            end.map_or_else(
                || "–".into(),
                |end| format!("{:+.3}", end.by_c).replace('-', "−"),
            )
        };
        text.push_str(&format!(
            "recording {} tube {}: {}, first liquid {} °C, last crystal {} °C\n",
            tube.recording,
            tube.place,
            tube.change.name(),
            by(tube.first_liquid),
            by(tube.last_crystal)
        ));
    }
    output.text(&text)
}

/// The one named, or the last.
async fn chosen(book: &Book, id: Option<Uuid>) -> Result<Rereading, Failure> {
    let rereadings = book.rereadings().map_err(failed)?;
    match id {
        Some(id) => rereadings.one(id).await.map_err(failed),
        None => rereadings
            .all()
            .await
            .map_err(failed)?
            .into_iter()
            .next()
            .ok_or_else(|| {
                Failure::new("nothing of this book was read again; expected a re-reading")
                    .hint("\"meltrange reread begin BOOK\" begins one")
            }),
    }
}

fn document(found: &Rereading, told: &RereadingTold) -> Value {
    let changes: serde_json::Map<String, Value> = told
        .changes
        .iter()
        .map(|(change, tubes)| (change.name().to_owned(), json!(tubes)))
        .collect();
    json!({
        "rereading": found.id,
        "engine": found.engine,
        "state": found.state,
        "counts": told.counts,
        "changes": changes,
        "first_liquid": told.first_liquid,
        "last_crystal": told.last_crystal,
        "workers": told.workers,
        "per_min": told.per_min,
    })
}

fn summary(found: &Rereading, told: &RereadingTold) -> String {
    let counts = told.counts;
    let mut text = format!(
        "{} by {}: {} of {} recordings read, {} cannot be read, {} left out, {} accepted\n",
        found.state.name(),
        found.engine,
        counts.read + counts.left_out + counts.accepted,
        counts.total(),
        counts.failed,
        counts.left_out,
        counts.accepted,
    );
    let changes: Vec<String> = told
        .changes
        .iter()
        .map(|(change, tubes)| format!("{tubes} {}", change.name()))
        .collect();
    if !changes.is_empty() {
        text.push_str(&format!("tubes: {}\n", changes.join(", ")));
    }
    for (name, end) in [
        ("first liquid", told.first_liquid),
        ("last crystal", told.last_crystal),
    ] {
        if let Some(line) = end_line(end) {
            text.push_str(&format!("{name}: {line}\n"));
        }
    }
    text
}

fn end_line(end: EndMoved) -> Option<String> {
    let (median_c, p95_c, furthest_c) = (end.median_c?, end.p95_c?, end.furthest_c?);
    let median = format!("{median_c:+.3}").replace('-', "−");
    Some(format!(
        "moved by {median} °C (median of {} tubes); 95 % by at most {p95_c:.3} °C, the furthest by {furthest_c:.3} °C",
        end.tubes
    ))
}

async fn accepted(
    arguments: &RereadDecideArguments,
    output: &Output,
    progress: &Progress,
) -> Result<(), Failure> {
    let book = to_write(&arguments.book).await?;
    let who = supervisor(&book, arguments.by.as_deref()).await?;
    let found = chosen(&book, arguments.id).await?;
    let rereadings = book.rereadings().map_err(failed)?;
    // One whose acceptance was cut off is gone on with.
    if found.state != meltrange_labbook::RereadState::Accepting {
        rereadings.accept(found.id, who).await.map_err(failed)?;
    }
    let all = rereadings.told(found.id).await.map_err(failed)?.counts.read;
    let stretch = progress.begin("recording");
    let recorded = accept_all(&book, found.id, |left| {
        stretch.at(1.0 - left as f64 / all.max(1) as f64);
    })
    .await
    .map_err(failed)?;
    drop(stretch);
    book.close().await;
    if arguments.json {
        return output.json(&json!({"rereading": found.id, "recorded": recorded}));
    }
    output.text(&format!("{recorded} new readings are in the book\n"))
}

async fn dropped(arguments: &RereadDecideArguments, output: &Output) -> Result<(), Failure> {
    let book = to_write(&arguments.book).await?;
    let who = supervisor(&book, arguments.by.as_deref()).await?;
    let found = chosen(&book, arguments.id).await?;
    book.rereadings()
        .map_err(failed)?
        .drop_it(found.id, who)
        .await
        .map_err(failed)?;
    book.close().await;
    if arguments.json {
        return output.json(&json!({"rereading": found.id, "recorded": 0}));
    }
    output.text("nothing of it was recorded\n")
}
