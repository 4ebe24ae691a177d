//! Melting curves as they are attached to a reading: thinned, in columns.

use meltrange_reading as engine;
use serde::{Deserialize, Serialize};

/// Points kept of each curve: more than a screen has columns for it.
const MOST_POINTS: usize = 500;

/// The curves of one reading, tubes from left to right.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Curves {
    /// One for each tube.
    pub tubes: Vec<Curve>,
}

/// The curve of one tube: columns of equal length, in order of time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Curve {
    /// Place, 1...
    pub place: u8,
    /// Log clock [s], to 0.01 s.
    pub time_s: Vec<f64>,
    /// As logged, smoothed, uncorrected [°C], to 0.001 °C.
    pub temperature_c: Vec<f64>,
    /// Liquid fraction of the column, 0..1, to 0.0001.
    pub liquid_fraction: Vec<f64>,
    /// Solid fraction of the original column area, 0..1, to 0.0001.
    pub solid_fraction: Vec<f64>,
}

impl Curves {
    /// Of an engine's reading: at most 500 points a tube, the first and the last among them.
    pub fn of(reading: &engine::Reading) -> Self {
        Self {
            tubes: reading.tubes.iter().map(Curve::of).collect(),
        }
    }
}

impl Curve {
    fn of(tube: &engine::TubeReading) -> Self {
        let last = tube.curve.len().saturating_sub(1);
        let kept = tube.curve.len().min(MOST_POINTS);
        let points: Vec<&engine::CurvePoint> = (0..kept)
            .filter_map(|at| tube.curve.get(at * last / (kept - 1).max(1)))
            .collect();
        let column = |value: fn(&engine::CurvePoint) -> f64, per_unit: f64| {
            points
                .iter()
                .map(|point| (value(point) * per_unit).round() / per_unit)
                .collect()
        };
        Self {
            place: tube.tube.min(usize::from(u8::MAX)) as u8,
            time_s: column(|point| point.time_s, 100.0),
            temperature_c: column(|point| point.temperature_c, 1000.0),
            liquid_fraction: column(|point| point.liquid_fraction, 10_000.0),
            solid_fraction: column(|point| point.solid_fraction, 10_000.0),
        }
    }
}
