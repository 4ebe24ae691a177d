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

    /// Write the plan as a calendar: when somebody must be at which bench, and what for
    #[arg(long, value_name = "FILE.ics", requires = "start")]
    pub calendar: Option<PathBuf>,

    /// When the session begins, by the clock of this machine or with an offset, e.g. 2026-11-26T18:00
    #[arg(long, value_name = "TIME", value_parser = moment, requires = "calendar")]
    pub start: Option<jiff::Timestamp>,

    /// Who is there, for the calendar; once for each person
    #[arg(long = "person", value_name = "NAME", requires = "calendar")]
    pub people: Vec<String>,

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

/// A moment: with an offset, or by the clock on the wall here.
fn moment(text: &str) -> Result<jiff::Timestamp, String> {
    let wrong =
        || "expected a time such as 2026-11-26T18:00 or 2026-11-26T18:00:00+01:00".to_owned();
    if let Ok(moment) = text.parse::<jiff::Timestamp>() {
        return Ok(moment);
    }
    let wall: jiff::civil::DateTime = text.parse().map_err(|_| wrong())?;
    // Where clocks are put forward a time may not be there: not guessed.
    jiff::tz::TimeZone::system()
        .to_ambiguous_timestamp(wall)
        .unambiguous()
        .map_err(|_| {
            format!("{text} is there twice or never on this machine's clock; say it with an offset")
        })
}
