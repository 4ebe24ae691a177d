//! Benchmarks live in this package; see `make bench`.

pub mod browser;
