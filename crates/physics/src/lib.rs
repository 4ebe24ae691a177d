//! Physics of melting ranges: no input or output, numbers in and numbers out.

mod log;
mod units;

pub use log::{LogPoint, LogSample, TemperatureLog, TemperatureLogError};
pub use units::{Celsius, GAS_CONSTANT_J_PER_MOL_K, Kelvin, ZERO_CELSIUS_K};
