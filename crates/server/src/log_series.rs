//! Temperature logs as columns.

use crate::problem::Problem;
use crate::wire::LogSeries;
use meltrange_labbook::BookError;
use meltrange_media::LogRead;
use std::path::PathBuf;

/// Read a log that was sent; messages call it `name`.
pub(crate) async fn parsed(path: PathBuf, name: &str) -> Result<LogRead, Problem> {
    let file = path.clone();
    tokio::task::spawn_blocking(move || meltrange_media::read_log(&file))
        .await
        .map_err(|error| Problem::internal(&error))?
        .map_err(|error| Problem::from(BookError::Log(error)).naming(&path, name))
}

/// At most `most` points of a log, the first and the last among them.
pub(crate) fn log_series(log: &LogRead, most: usize) -> LogSeries {
    let samples = log.log.samples();
    let last = samples.len().saturating_sub(1);
    let kept = samples.len().min(most);
    let points = (0..kept).filter_map(|at| samples.get(at * last / kept.saturating_sub(1).max(1)));
    let temperatures = samples.iter().map(|sample| sample.temperature_c);
    LogSeries {
        time_s: points.clone().map(|point| point.time_s).collect(),
        temperature_c: points.map(|point| point.temperature_c).collect(),
        rows: samples.len() as u64,
        // A log has at least two rows.
        lowest_c: temperatures.clone().fold(f64::INFINITY, f64::min),
        highest_c: temperatures.fold(f64::NEG_INFINITY, f64::max),
        remarks: log.remarks.iter().map(ToString::to_string).collect(),
    }
}
