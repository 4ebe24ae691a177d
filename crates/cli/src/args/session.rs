//! Arguments of `session`.

use clap::Args;
use std::path::PathBuf;

/// What `session` takes.
#[derive(Debug, Args)]
#[command(after_help = "\
SESSION.toml: length_min, operators, [policy] and one [[bench]] and [[sample]] each; docs/models/session.md says
how the times of a load are worked out. The plan is a proposal: hot blocks, fumes and what your laboratory and its
responsible person ask for come first. Exit status: 0 planned (also when not all fits), 1 the session cannot be
planned, 2 wrong usage.

Example: meltrange session evening.toml --time-limit 10")]
pub(crate) struct SessionArguments {
    /// What is to be measured, where and in which time
    #[arg(value_name = "SESSION.toml")]
    pub session: PathBuf,

    /// Look no longer than this for a shorter plan, and as long again for what to relax where not all fits [s]
    #[arg(long, value_name = "S", default_value = "5", value_parser = seconds)]
    pub time_limit: f64,

    /// Say also what one more bench, one more place at each and one more person would save; takes as long again
    #[arg(long)]
    pub what_more: bool,

    /// Print one JSON object; what could be relaxed stands in it only with --what-more
    #[arg(long)]
    pub json: bool,
}

/// Longest search [s].
const LONGEST_S: f64 = 86_400.0;

fn seconds(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(seconds) if (0.0..=LONGEST_S).contains(&seconds) => Ok(seconds),
        _ => Err("expected seconds with a decimal point, 0 to 86400, e.g. 10".to_owned()),
    }
}
