//! Checks that need more than one module.

mod log_course;
mod log_smoothing;
