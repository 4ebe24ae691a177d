//! The simulated view: scene files, pictures and truth.

mod evidence;
mod extremes;
mod files;
mod pictures;
mod stage;
mod truth;
mod whole_suite;
