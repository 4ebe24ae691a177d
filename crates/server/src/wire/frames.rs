//! Times and temperatures of pictures, as columns.

use serde::Serialize;
use utoipa::ToSchema;

/// All pictures of a recording; entry `n` of each list belongs to picture `n`, from 0.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct FrameTimes {
    /// How many.
    pub count: u64,
    /// When each was taken, log clock, rising [s].
    pub time_s: Vec<f64>,
    /// Smoothed log temperature of each [°C], uncorrected; null where the log says nothing.
    pub temperature_c: Vec<Option<f64>>,
    /// Width of the source's pictures [source pixels], in which tubes are placed.
    #[schema(required)]
    pub source_width_px: Option<f64>,
    /// Height of the source's pictures [source pixels].
    #[schema(required)]
    pub source_height_px: Option<f64>,
}

/// A temperature log.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct LogSeries {
    /// When, rising [s].
    pub time_s: Vec<f64>,
    /// As logged, uncorrected [°C].
    pub temperature_c: Vec<f64>,
    /// How many rows the log has; more than are given here when it was thinned.
    pub rows: u64,
    /// Lowest [°C].
    pub lowest_c: f64,
    /// Highest [°C].
    pub highest_c: f64,
    /// What had to be mended, in words.
    pub remarks: Vec<String>,
}
