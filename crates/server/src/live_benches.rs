//! Benches at work: those that bench files in the book's folder describe.

mod keeper;
mod marks;

pub(crate) use keeper::Keeper;

use crate::kept_run::KeptRunError;
use crate::problem::Problem;
use crate::state::locked;
use axum::http::StatusCode;
use meltrange_bench::{BenchFile, OpenBench, OrderError};
use meltrange_labbook::{RecordingId, RunId};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// The folder of the bench files within the book's.
const BENCHES: &str = "benches";

/// All benches that are open, by name.
#[derive(Debug)]
pub(crate) struct LiveBenches {
    folder: PathBuf,
    open: Mutex<BTreeMap<String, Live>>,
}

/// A bench that is open.
#[derive(Debug, Clone)]
pub(crate) struct Live {
    pub bench: OpenBench,
    /// The run under way or just over, with its recording.
    pub run: Option<(RunId, RecordingId)>,
}

/// Since when a bench is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Opened {
    Now,
    Before,
}

/// A bench file as it was found.
#[derive(Debug)]
pub(crate) struct Found {
    /// The bench's name, or the file's where it cannot be read.
    pub name: String,
    /// What it says, or what is wrong with it.
    pub file: Result<BenchFile, String>,
    /// Where it is.
    pub path: PathBuf,
}

impl LiveBenches {
    /// Of the bench files in a book's folder.
    pub fn in_book(book: &Path) -> Self {
        Self {
            folder: book.join(BENCHES),
            open: Mutex::default(),
        }
    }

    /// Every bench file, by name; those with faults too.
    pub fn files(&self) -> Vec<Found> {
        let Ok(entries) = std::fs::read_dir(&self.folder) else {
            return Vec::new();
        };
        let mut found: Vec<Found> = entries
            .flatten()
            .map(|entry| entry.path())
            .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
            .map(|path| {
                let stem = path.file_stem().unwrap_or_default();
                match BenchFile::read(&path) {
                    Ok(file) => Found {
                        name: file.name.clone(),
                        file: Ok(file),
                        path,
                    },
                    Err(error) => Found {
                        name: stem.to_string_lossy().into_owned(),
                        file: Err(crate::problem::in_full(&error)
                            .replace(&format!("{}/", self.folder.display()), "")),
                        path: path.clone(),
                    },
                }
            })
            .collect();
        found.sort_by(|a, b| a.name.cmp(&b.name));
        found
    }

    /// The bench file of a bench.
    pub fn file(&self, name: &str) -> Result<BenchFile, Problem> {
        let found = self.files().into_iter().find(|found| found.name == name);
        match found.map(|found| found.file) {
            Some(Ok(file)) => Ok(file),
            Some(Err(why)) => Err(Problem::new(
                StatusCode::CONFLICT,
                "bench-file",
                "The bench file cannot be used",
                why,
            )),
            None => Err(unknown(name)),
        }
    }

    /// The bench file of a bench, and where it is.
    pub fn file_and_path(&self, name: &str) -> Result<(BenchFile, PathBuf), Problem> {
        let file = self.file(name)?;
        let found = self.files().into_iter().find(|found| found.name == name);
        found
            .map(|found| (file, found.path))
            .ok_or_else(|| unknown(name))
    }

    /// The bench, when it is open.
    pub fn get(&self, name: &str) -> Option<Live> {
        locked(&self.open).get(name).cloned()
    }

    /// The bench; refused when it is not open.
    pub fn open_bench(&self, name: &str) -> Result<Live, Problem> {
        match self.get(name) {
            Some(live) => Ok(live),
            None => {
                self.file(name)?;
                Err(Problem::new(
                    StatusCode::CONFLICT,
                    "bench-closed",
                    "The bench is not open",
                    format!("open the bench \"{name}\" first: its devices are not at work"),
                ))
            }
        }
    }

    /// Set a bench's devices to work, anew when its clock is to run at another speed.
    pub fn open(&self, name: &str, speed: f64) -> Result<(Live, Opened), Problem> {
        if let Some(live) = self.get(name) {
            let busy = is_busy(&live);
            if busy || live.bench.clock().speed() == speed {
                return Ok((live, Opened::Before));
            }
        }
        let file = self.file(name)?;
        let bench = OpenBench::open(file, speed).map_err(|error| {
            Problem::new(
                StatusCode::CONFLICT,
                "device",
                "A device cannot be used",
                crate::problem::in_full(&error),
            )
        })?;
        let live = Live { bench, run: None };
        locked(&self.open).insert(name.to_owned(), live.clone());
        Ok((live, Opened::Now))
    }

    /// Let a bench's devices go, unless a run is under way.
    pub fn close(&self, name: &str) -> Result<(), Problem> {
        let mut open = locked(&self.open);
        if open.get(name).is_some_and(is_busy) {
            return Err(busy(name));
        }
        open.remove(name);
        Ok(())
    }

    /// How many are open, and at how many of these a run is under way.
    pub fn counts(&self) -> (usize, usize) {
        let open = locked(&self.open);
        (
            open.len(),
            open.values().filter(|live| is_busy(live)).count(),
        )
    }

    /// Let all go, whatever is under way: the program ends.
    pub fn close_all(&self) {
        locked(&self.open).clear();
    }

    pub fn set_run(&self, name: &str, run: RunId, recording: RecordingId) {
        if let Some(live) = locked(&self.open).get_mut(name) {
            live.run = Some((run, recording));
        }
    }
}

/// Whether a run is under way.
pub(crate) fn is_busy(live: &Live) -> bool {
    let view = live.bench.view();
    let view = view.borrow();
    view.run.as_ref().is_some_and(|run| !run.phase.is_over())
}

fn unknown(name: &str) -> Problem {
    let shown: String = name.chars().take(60).collect();
    Problem::unknown(format!(
        "there is no bench \"{shown}\" here; its bench file belongs into the folder {BENCHES} of the book"
    ))
}

fn busy(name: &str) -> Problem {
    Problem::new(
        StatusCode::CONFLICT,
        "run-under-way",
        "A run is under way",
        format!("stop the run at \"{name}\" first"),
    )
}

impl From<KeptRunError> for Problem {
    fn from(error: KeptRunError) -> Self {
        match error {
            KeptRunError::Book(error) => error.into(),
            KeptRunError::Bench(error) => error.into(),
        }
    }
}

impl From<OrderError> for Problem {
    fn from(error: OrderError) -> Self {
        Self::new(
            StatusCode::CONFLICT,
            "not-now",
            "This cannot be done now",
            error.to_string(),
        )
    }
}
