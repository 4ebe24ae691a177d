//! Benches at work.

mod kept;
mod simulated_run;
