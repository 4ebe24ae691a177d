//! Physics of melting ranges: no input or output, numbers in and numbers out.

mod binary;
mod block;
mod controller;
mod heat;
mod log;
mod melting;
mod programme;
mod units;

pub use binary::{BinaryMixture, Component, Eutectic, MixtureMelting, mole_fraction_b};
pub use block::{BlockConstants, Fan, HeatedBlock};
pub use controller::{Demand, Drive, SetpointController};
pub use heat::{HeatedSample, ThermalContact};
pub use log::{LogPoint, LogSample, TemperatureLog, TemperatureLogError};
pub use melting::{
    FirstMelt, ImpureSolid, MeltingError, cryoscopic_constant_k_kg_per_mol,
    depression_per_mole_fraction_k, ideal_liquidus,
};
pub use programme::{BlockResponse, BlockTemperature, SetpointLeg};
pub use units::{Celsius, GAS_CONSTANT_J_PER_MOL_K, Kelvin, ZERO_CELSIUS_K};
