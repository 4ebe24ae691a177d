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

/// A line that is written anew, with other lines above it.
#[derive(Debug)]
pub(crate) struct StatusLine {
    bar: ProgressBar,
    hidden: bool,
}

impl Progress {
    /// A line that follows something that goes on.
    pub fn status(&self) -> StatusLine {
        let target = if self.hidden {
            ProgressDrawTarget::hidden()
        } else {
            ProgressDrawTarget::stderr()
        };
        let bar = ProgressBar::with_draw_target(None, target);
        if let Ok(style) = ProgressStyle::with_template("{wide_msg}") {
            bar.set_style(style);
        }
        StatusLine {
            bar,
            hidden: self.hidden,
        }
    }
}

impl StatusLine {
    /// Write it anew.
    pub fn show(&self, text: &str) {
        self.bar.set_message(text.to_owned());
        self.bar.tick();
    }

    /// A line above it, also where no progress is shown.
    #[expect(
        clippy::print_stderr,
        reason = "events of a run, where nobody watches a bar"
    )]
    pub fn say(&self, text: &str) {
        if self.hidden {
            eprintln!("{text}");
        } else {
            self.bar.println(text);
        }
    }
}

impl Drop for StatusLine {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
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
