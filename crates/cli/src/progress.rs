//! How far the work has come, on standard error and only where somebody watches.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal as _;

/// Steps of the bar; finer cannot be seen.
const STEPS: u64 = 1000;

/// A progress bar, or nothing.
#[derive(Debug)]
pub(crate) struct Progress {
    hidden: bool,
}

/// One stretch of work; the bar goes when this does.
#[derive(Debug)]
pub(crate) struct Stretch {
    bar: ProgressBar,
}

impl Progress {
    /// Progress as asked for: hidden when `silent`, without a terminal, or with
    /// `MELTRANGE_NO_PROGRESS` set to anything.
    pub fn new(silent: bool) -> Self {
        let unwanted = std::env::var_os("MELTRANGE_NO_PROGRESS").is_some_and(|set| !set.is_empty());
        Self {
            hidden: silent || unwanted || !std::io::stderr().is_terminal(),
        }
    }

    /// Begin a stretch of work that a word describes.
    pub fn begin(&self, doing: &'static str) -> Stretch {
        let target = if self.hidden {
            ProgressDrawTarget::hidden()
        } else {
            ProgressDrawTarget::stderr()
        };
        let bar = ProgressBar::with_draw_target(Some(STEPS), target).with_message(doing);
        if let Ok(style) = ProgressStyle::with_template("{msg} {bar:30} {percent} % {elapsed}") {
            bar.set_style(style);
        }
        Stretch { bar }
    }
}

impl Stretch {
    /// The part done so far, 0..1.
    pub fn at(&self, fraction: f64) {
        let fraction = if fraction.is_finite() { fraction } else { 0.0 };
        self.bar
            .set_position((fraction.clamp(0.0, 1.0) * STEPS as f64) as u64);
    }
}

impl Drop for Stretch {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
