//! What a bench looks like from outside.

use crate::run::RunView;
use serde::Serialize;
use std::sync::Arc;

/// A bench as it is now.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct BenchView {
    /// Bench clock [s].
    pub time_s: f64,
    /// As indicated [°C]; none while the thermometer tells nothing.
    pub temperature_c: Option<f64>,
    /// The thermometer.
    pub thermometer: DeviceHealth,
    /// The heater.
    pub heater: DeviceHealth,
    /// The camera.
    pub camera: DeviceHealth,
    /// Number of the newest picture, from 1; 0 while there is none.
    pub picture: u64,
    /// Pictures that the engine passed over because it was behind, and that it could not decode.
    pub passed_over: u64,
    /// How far the engine is behind the newest picture, bench clock [s].
    pub engine_behind_s: f64,
    /// What keeps the recording from being written, with what waits in memory.
    pub recording_trouble: Option<String>,
    /// The run under way, or the last one.
    pub run: Option<RunView>,
    /// How many points the series has.
    pub points: usize,
}

/// How a device is.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum DeviceHealth {
    /// It has not told anything yet.
    Waiting,
    /// It works.
    Well,
    /// It answers, but not usefully.
    Doubtful {
        /// Why.
        why: String,
    },
    /// It cannot be reached.
    Lost {
        /// Why.
        why: String,
    },
}

/// A picture as it came.
#[derive(Debug, Clone)]
pub struct LivePicture {
    /// From 1.
    pub number: u64,
    /// Bench clock [s].
    pub time_s: f64,
    /// JPEG.
    pub jpeg: Arc<[u8]>,
}

/// A point of a run's curves.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SeriesPoint {
    /// From the start of the run [s].
    pub time_s: f64,
    /// As indicated [°C].
    pub actual_c: f64,
    /// Where it should have been [°C].
    pub wanted_c: f64,
}
