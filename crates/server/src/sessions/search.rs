//! Searches for plans: a few at a time, each for as long as was asked, ended when nobody waits any more.

use crate::limits::{LONGEST_SEARCH_S, SEARCHES};
use crate::problem::Problem;
use axum::http::StatusCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use tokio::sync::Semaphore;

/// How many searches may be under way.
#[derive(Debug)]
pub(crate) struct Searches(Arc<Semaphore>);

impl Default for Searches {
    fn default() -> Self {
        Self(Arc::new(Semaphore::new(SEARCHES)))
    }
}

/// Ends the search when the request goes.
struct Waits(Arc<AtomicBool>);

impl Drop for Waits {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

impl Searches {
    /// Search on a thread of its own; `search` is given whether to go on, and is to ask often.
    pub async fn run<T: Send + 'static>(
        &self,
        most: Duration,
        search: impl FnOnce(&mut dyn FnMut() -> bool) -> T + Send + 'static,
    ) -> Result<T, Problem> {
        let permit = Arc::clone(&self.0).try_acquire_owned().map_err(|_| {
            Problem::new(
                StatusCode::SERVICE_UNAVAILABLE,
                "busy",
                "Too much to do at once",
                format!(
                    "{SEARCHES} plans are being looked for already; try again in a few seconds"
                ),
            )
        })?;
        let ended = Arc::new(AtomicBool::new(false));
        let _waits = Waits(Arc::clone(&ended));
        let task = tokio::task::spawn_blocking(move || {
            let _permit = permit;
            let begun = Instant::now();
            search(&mut || begun.elapsed() < most && !ended.load(Ordering::Relaxed))
        });
        task.await.map_err(|error| Problem::internal(&error))
    }
}

/// How long to look [s], once it is within the limit.
pub(crate) fn seconds(asked: f64) -> Result<f64, Problem> {
    if (0.1..=LONGEST_SEARCH_S).contains(&asked) {
        return Ok(asked);
    }
    Err(Problem::field(
        "seconds",
        asked.to_string(),
        format!("0.1 to {LONGEST_SEARCH_S}"),
    ))
}
