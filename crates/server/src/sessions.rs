//! Sessions: what a plan looks like on a wall of time, its file form, and the documents that are kept.

mod kept;
mod search;
mod stages;
mod toml_form;

pub(crate) use kept::KeptSessions;
pub(crate) use search::{Searches, seconds};
pub(crate) use stages::bench_pictures;
pub(crate) use toml_form::{from_toml, to_toml};
