//! A worker: takes what waits for this version of the engine, reads it, keeps what it found beside what was read before.

use super::accepting::{accept_all, under_way};
use crate::engine;
use meltrange_labbook::{Book, BookError, PROGRAM, RecordingId, Taken};
use std::time::{Duration, Instant};
use tokio::sync::watch;

/// How often it says that it still reads: four times in the time for which a recording is taken.
const STILL_READS: Duration = Duration::from_secs(30);

/// How long it waits where there is nothing to do, or nobody to ask.
const AGAIN: Duration = Duration::from_secs(3);

/// What a worker is to do.
#[derive(Debug, Clone)]
pub struct RereadOrders {
    /// What it is called: machine and process.
    pub name: String,
    /// Whether it waits for more when nothing waits for it.
    pub waits: bool,
}

/// What a worker did.
#[derive(Debug, Clone, PartialEq)]
pub enum RereadStep {
    /// It read a recording, and how long that took [s].
    Read {
        /// Which.
        recording: RecordingId,
        /// From taking it to keeping what was found [s].
        took_s: f64,
    },
    /// It could not read one.
    CouldNot {
        /// Which.
        recording: RecordingId,
        /// Why.
        why: String,
    },
    /// What it read was no longer its own to say: it was dropped, or given to another worker.
    TakenAway {
        /// Which.
        recording: RecordingId,
    },
    /// It recorded readings that were accepted.
    Recorded {
        /// How many.
        readings: u64,
    },
    /// The book is out of reach, it tries again.
    OutOfReach {
        /// What was said.
        why: String,
    },
}

/// Read until nothing waits, or until `stop` turns true: then what it had taken is given back. `heard` is told of
/// every step.
///
/// # Errors
/// [`BookError`], except for a book that is out of reach: that is waited for.
pub async fn reread(
    book: &Book,
    orders: &RereadOrders,
    mut stop: watch::Receiver<bool>,
    mut heard: impl FnMut(RereadStep),
) -> Result<(), BookError> {
    while !*stop.borrow() {
        let pause = match one(book, &orders.name, stop.clone()).await {
            Ok(Some(step)) => {
                heard(step);
                continue;
            }
            Ok(None) if !orders.waits => return Ok(()),
            Ok(None) => AGAIN,
            Err(error) if error.is_out_of_reach() => {
                let why = error.to_string();
                heard(RereadStep::OutOfReach { why });
                AGAIN
            }
            Err(error) => return Err(error),
        };
        tokio::select! {
            () = tokio::time::sleep(pause) => {}
            _ = told(&mut stop) => {}
        }
    }
    Ok(())
}

/// Returns when the worker is to stop; also when nobody can tell it any more.
async fn told(stop: &mut watch::Receiver<bool>) {
    let _ = stop.wait_for(|stop| *stop).await;
}

/// One step; none where there is nothing to do.
async fn one(
    book: &Book,
    name: &str,
    mut stop: watch::Receiver<bool>,
) -> Result<Option<RereadStep>, BookError> {
    let rereadings = book.rereadings()?;
    let Some(taken) = rereadings.take(name, PROGRAM).await? else {
        let Some(id) = under_way(book).await? else {
            return Ok(None);
        };
        let readings = accept_all(book, id, |_| ()).await?;
        return Ok((readings > 0).then_some(RereadStep::Recorded { readings }));
    };
    let step = tokio::select! {
        step = read(book, &taken) => step?,
        () = told(&mut stop) => {
            rereadings.give_back(&taken).await?;
            return Ok(None);
        }
    };
    // On a worker's disk recordings come and go.
    book.let_go(taken.recording).await?;
    Ok(Some(step))
}

async fn read(book: &Book, taken: &Taken) -> Result<RereadStep, BookError> {
    let began = Instant::now();
    let took_s = || began.elapsed().as_secs_f64();
    let rereadings = book.rereadings()?;
    let recording = taken.recording;
    let mut reading = std::pin::pin!(engine::found_in(book, recording, None, |_| ()));
    let found = loop {
        tokio::select! {
            found = &mut reading => break found,
            // One that cannot be asked for a while is asked again.
            () = tokio::time::sleep(STILL_READS) => {
                if let Ok(false) = rereadings.still_reads(taken).await {
                    return Ok(RereadStep::TakenAway { recording });
                }
            }
        }
    };
    let (found, notes) = match found {
        Ok(found) => found,
        Err(problem) => {
            let why = problem.detail;
            rereadings.could_not_read(taken, &why, took_s()).await?;
            return Ok(RereadStep::CouldNot { recording, why });
        }
    };
    let (reading, curves) = book.engine_reading(recording, &found, notes).await?;
    let took_s = took_s();
    loop {
        match rereadings.keep(taken, &reading, &curves, took_s).await {
            Ok(true) => return Ok(RereadStep::Read { recording, took_s }),
            Ok(false) => return Ok(RereadStep::TakenAway { recording }),
            // What took long to find is not thrown away for a database that is away for a moment.
            Err(error) if error.is_out_of_reach() => tokio::time::sleep(AGAIN).await,
            Err(error) => return Err(error),
        }
    }
}
