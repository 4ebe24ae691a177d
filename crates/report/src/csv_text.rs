//! The melting curves as CSV.

use meltrange_reading::Reading;
use std::fmt::Write as _;

/// Melting curves of all tubes, one line a point.
///
/// Columns `tube,time_s,temperature_c,liquid_fraction,solid_fraction`: tube from left to right,
/// time on the log's clock [s], logged temperature smoothed and uncorrected [°C], fractions of the
/// original column area 0..1. Tubes in order, times in the order of the curve; a `#` line at the
/// top says that the temperatures are as logged.
pub fn curve_csv(reading: &Reading) -> String {
    let mut text = String::from(
        "# temperatures as logged, not corrected; no convention applied\n\
         tube,time_s,temperature_c,liquid_fraction,solid_fraction\n",
    );
    for tube in &reading.tubes {
        for point in &tube.curve {
            // Writing to a String cannot fail.
            let _ = writeln!(
                text,
                "{},{:.3},{:.3},{:.4},{:.4}",
                tube.tube,
                point.time_s,
                point.temperature_c,
                point.liquid_fraction,
                point.solid_fraction
            );
        }
    }
    text
}
