//! Logs of runs kept beside the book, and what is learned of a bench from them.

use crate::problem::{Problem, in_full};
use axum::http::StatusCode;
use meltrange_bench::{BenchFile, OpenBench, read_run_log, write_run_log};
use meltrange_labbook::RunId;
use meltrange_planning::{LearnedBench, RunLog, doubts, learn};
use sha2::{Digest as _, Sha256};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The folder of the logs within the book's.
const RUN_LOGS: &str = "run-logs";
/// Fewest temperatures of a run that is worth keeping for this.
const LEAST: usize = 60;
/// Letters of a bench's name in that of its folder.
const MOST_LETTERS: usize = 40;
/// A run that began is told within this.
const BEGINS_WITHIN: Duration = Duration::from_secs(10);
/// A bench is learned from its latest runs, so many at most.
pub(crate) const LATEST: usize = 10;

/// Where the logs of a bench are: in a folder of its name's plain letters, and of the name's digest, since several names may have
/// the same plain letters, and some disks know no capitals.
fn folder(book: &Path, bench: &str) -> PathBuf {
    let plain = |sign: char| {
        if sign.is_ascii_alphanumeric() {
            sign.to_ascii_lowercase()
        } else {
            '-'
        }
    };
    let letters: String = bench.chars().take(MOST_LETTERS).map(plain).collect();
    let digest = Sha256::digest(bench);
    let digits: String = digest
        .iter()
        .take(4)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    book.join(RUN_LOGS).join(format!("{letters}-{digits}"))
}

/// Keep the log of the run under way once it is over.
pub(crate) fn keep_when_over(book: &Path, bench: &OpenBench, run: RunId) {
    let folder = folder(book, &bench.file().name);
    let bench = bench.clone();
    tokio::spawn(async move {
        let mut view = bench.view();
        // What is told may for a moment still be the run before, or none.
        let begun = view.wait_for(|view| view.run.as_ref().is_some_and(|run| !run.phase.is_over()));
        let begun = tokio::time::timeout(BEGINS_WITHIN, begun).await;
        if begun.is_ok_and(|seen| seen.is_ok()) {
            let over =
                view.wait_for(|view| view.run.as_ref().is_none_or(|run| run.phase.is_over()));
            // A bench that was closed tells nothing more.
            drop(over.await);
        }
        let samples = bench.run_log();
        // A bench that nobody else holds is closed now, not after the disk has been waited for.
        drop(bench);
        if samples.len() < LEAST {
            return;
        }
        let path = folder.join(format!("{run}.csv"));
        let written = std::fs::create_dir_all(&folder)
            .map_err(|error| error.to_string())
            .and_then(|()| write_run_log(&path, &samples).map_err(|error| in_full(&error)));
        if let Err(error) = written {
            // The run itself is in the book; only learning misses one log.
            tracing::warn!("the log of run {run} for learning was not written: {error}");
        }
    });
}

/// Logs of a bench, latest first; names begin with the time.
fn paths(book: &Path, bench: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder(book, bench));
    let mut paths: Vec<PathBuf> = entries
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "csv"))
        .collect();
    paths.sort_unstable_by(|a, b| b.cmp(a));
    paths
}

/// How many logs there are, and what the latest shows to do less than learned.
pub(crate) fn standing(book: &Path, file: &BenchFile) -> (usize, Vec<String>) {
    let paths = paths(book, &file.name);
    let doubted = file.learned.as_ref().zip(paths.first());
    let texts = doubted.and_then(|(learned, path)| {
        let log = read_run_log(path).ok()?;
        let found = doubts(learned, &log).into_iter();
        Some(found.map(|doubt| doubt.to_string()).collect())
    });
    (paths.len(), texts.unwrap_or_default())
}

/// Learn from the latest logs and write it into the bench file. Some seconds of work.
pub(crate) fn learn_from_runs(
    book: &Path,
    path: &Path,
    file: &BenchFile,
) -> Result<LearnedBench, Problem> {
    let cannot = |why: String| {
        Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "learn",
            "The bench cannot be learned from these runs",
            why,
        )
    };
    let mut unreadable = 0;
    let logs: Vec<RunLog> = paths(book, &file.name)
        .iter()
        .filter_map(|path| match read_run_log(path) {
            Ok(log) => Some(log),
            Err(error) => {
                tracing::warn!("a log for learning is left out: {}", in_full(&error));
                unreadable += 1;
                None
            }
        })
        .take(LATEST)
        .collect();
    let learned = learn(&logs, file.room_c, &mut |_| ()).map_err(|error| {
        cannot(match unreadable {
            0 => error.to_string(),
            some => {
                format!("{error}; {some} of the latest logs could not be read and were left out")
            }
        })
    })?;
    BenchFile::write_learned(path, &learned).map_err(|error| cannot(in_full(&error)))?;
    Ok(learned)
}
