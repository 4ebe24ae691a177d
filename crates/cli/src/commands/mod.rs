//! One module per command.

pub(crate) mod archive;
pub(crate) mod bench;
mod bench_learn;
pub(crate) mod book;
pub(crate) mod calibrate;
pub(crate) mod curve;
pub(crate) mod demo;
pub(crate) mod determine;
pub(crate) mod display;
pub(crate) mod drift;
pub(crate) mod identity;
pub(crate) mod import;
pub(crate) mod past_results;
pub(crate) mod person;
mod person_group;
pub(crate) mod plan;
pub(crate) mod read;
pub(crate) mod readers;
pub(crate) mod record;
pub(crate) mod recording;
pub(crate) mod report;
pub(crate) mod reread;
pub(crate) mod sample;
pub(crate) mod serve;
pub(crate) mod session;
mod shared;
pub(crate) mod sign_off;
pub(crate) mod simulate;

/// The program's name in its own files.
pub(crate) const PROGRAM_NAME: &str = "meltrange";

/// The program's version in its own files.
pub(crate) const PROGRAM_VERSION: &str = env!("CARGO_PKG_VERSION");

/// What was simulated, for a person, with the command that reads it.
pub(crate) fn simulate_text(made: &simulate::SimulateSummary) -> String {
    let (media, log) = (made.media.display(), made.log.display());
    format!(
        "{} pictures over {:.0} s; outcomes: {}\n\
         pictures: {media}\n\
         log:      {log}\n\
         read it:  meltrange read {media} --temperature {log} --video-start {}\n",
        made.frames,
        made.duration_s,
        made.outcomes.join(", "),
        made.video_start_s
    )
}
