//! What was asked of the block and what it did during a run, and the file that keeps it.

use crate::device::HeaterCommand;
use meltrange_planning::{RunLog, RunLogError, RunSample};
use serde::{Deserialize, Serialize};
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

/// The log of the run under way or just over; clones share it.
#[derive(Debug, Clone, Default)]
pub(super) struct RunLogKeeper(Arc<Mutex<Vec<RunSample>>>);

impl RunLogKeeper {
    pub fn clear(&self) {
        self.0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clear();
    }

    /// A temperature, and what the heater was asked for at that moment.
    pub fn push(&self, time_s: f64, temperature_c: f64, asked: HeaterCommand) {
        let (setpoint_c, fan) = match asked {
            HeaterCommand::Off { fan } => (None, fan),
            HeaterCommand::Setpoint { setpoint_c, .. } => (Some(setpoint_c), false),
        };
        let mut samples = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        samples.push(RunSample {
            time_s,
            temperature_c,
            setpoint_c,
            fan,
        });
    }

    pub fn samples(&self) -> Vec<RunSample> {
        self.0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }
}

/// One line of the file.
#[derive(Debug, Serialize, Deserialize)]
struct Line {
    time_s: f64,
    temperature_c: f64,
    setpoint_c: Option<f64>,
    fan: u8,
}

/// Why a file is no log of a run.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RunLogFileError {
    /// It cannot be read or written, or is no such table.
    #[error("{path}: {source}")]
    Table {
        /// The file.
        path: std::path::PathBuf,
        /// What was wrong.
        #[source]
        source: csv::Error,
    },
    /// Its values are no run.
    #[error(transparent)]
    Log(#[from] RunLogError),
}

/// Whether a log could be written there, asked before a run: afterwards is late to learn that it cannot.
///
/// # Errors
/// [`RunLogFileError::Table`].
pub fn run_log_can_be_written(path: &Path) -> Result<(), RunLogFileError> {
    let wrong = |error: std::io::Error| RunLogFileError::Table {
        path: path.into(),
        source: error.into(),
    };
    if path.is_dir() {
        return Err(wrong(std::io::ErrorKind::IsADirectory.into()));
    }
    begin_beside(path).map(drop).map_err(wrong)
}

/// Beside it first: a log is there whole or not at all.
fn begin_beside(path: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    tempfile::NamedTempFile::new_in(folder.unwrap_or(Path::new(".")))
}

/// Write a log as CSV: `time_s,temperature_c,setpoint_c,fan`.
///
/// # Errors
/// [`RunLogFileError::Table`].
pub fn write_run_log(path: &Path, samples: &[RunSample]) -> Result<(), RunLogFileError> {
    let wrong = |source| RunLogFileError::Table {
        path: path.into(),
        source,
    };
    let mut new = begin_beside(path).map_err(|error| wrong(error.into()))?;
    let mut writer = csv::Writer::from_writer(&mut new);
    for sample in samples {
        let line = Line {
            time_s: sample.time_s,
            temperature_c: sample.temperature_c,
            setpoint_c: sample.setpoint_c,
            fan: u8::from(sample.fan),
        };
        writer.serialize(line).map_err(wrong)?;
    }
    writer.flush().map_err(|error| wrong(error.into()))?;
    drop(writer);
    new.persist(path)
        .map_err(|error| wrong(error.error.into()))?;
    Ok(())
}

/// Read a log that [`write_run_log`] wrote; its name is that of the file.
///
/// # Errors
/// [`RunLogFileError`].
pub fn read_run_log(path: &Path) -> Result<RunLog, RunLogFileError> {
    let wrong = |source| RunLogFileError::Table {
        path: path.into(),
        source,
    };
    let mut reader = csv::Reader::from_path(path).map_err(wrong)?;
    let mut samples = Vec::new();
    for line in reader.deserialize() {
        let line: Line = line.map_err(wrong)?;
        samples.push(RunSample {
            time_s: line.time_s,
            temperature_c: line.temperature_c,
            setpoint_c: line.setpoint_c,
            fan: line.fan == 1,
        });
    }
    let name = path.file_name().unwrap_or(path.as_os_str());
    Ok(RunLog::new(name.to_string_lossy(), samples)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_reads_back() {
        let keeper = RunLogKeeper::default();
        for at in 0..100 {
            let asked = match at {
                0..50 => HeaterCommand::Setpoint {
                    setpoint_c: 80.25,
                    rate_c_per_min: 0.0,
                },
                _ => HeaterCommand::Off { fan: at > 60 },
            };
            keeper.push(f64::from(at) / 3.0, 20.1 + f64::from(at) / 7.0, asked);
        }
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("run.csv");
        write_run_log(&path, &keeper.samples()).expect("there is room");
        let text = std::fs::read_to_string(&path).expect("there");
        assert!(
            text.starts_with("time_s,temperature_c,setpoint_c,fan\n0.0,20.1,80.25,0\n"),
            "{text}"
        );
        assert_eq!(
            read_run_log(&path).expect("a log").samples(),
            keeper.samples()
        );
        keeper.clear();
        assert!(keeper.samples().is_empty());
        std::fs::write(&path, "time_s,temperature_c\n1,2\n").expect("there is room");
        let error = read_run_log(&path).expect_err("no log").to_string();
        assert!(error.contains("run.csv"), "{error}");
    }
}
