//! The simulated view: scene files, pictures and truth.

mod files;
mod pictures;
mod truth;
