//! A bench learned from the logs of its runs. Equations and sources in docs/models/bench_model.md.

mod fit;
mod learned;
mod model;
mod predict;
mod problem;
mod run_log;
mod standing;
mod told;

pub use fit::{LearnError, Unidentified, learn};
pub use learned::{ApproachStyle, LearnedBench, LearnedConstant, ScanEnd};
pub use model::ControllerModel;
pub use predict::OutOfReach;
pub use run_log::{RunLog, RunLogError, RunSample};
pub use standing::{Doubt, doubts};
