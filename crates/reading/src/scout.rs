//! Where in a long recording to look closely, told from its key frames alone.

use meltrange_physics::TemperatureLog;

use crate::column::Grid;
use crate::watch::{Fitness, Seen, Watch};

/// Fewest key frames that can stand for a recording.
pub(crate) const FEWEST_SCOUTS: usize = 8;
/// Change of a sample that counts, share of the column's contrast.
const CHANGED: f32 = 0.22;
/// Share of changed samples up to which a column still is as it was.
const AS_BEFORE: f32 = 0.006;
/// Share of samples changing between key frames up to which a column has come to its end.
const AT_REST: f32 = 0.006;
/// Look this far back before the first change [°C] and at least [s]: liquid grows from nothing, and
/// the powder's look before it is needed.
const BACK_C: f64 = 0.7;
const BACK_S: f64 = 30.0;
/// And this far on after the last change [s]: the clear end state is needed.
const ON_S: f64 = 16.0;

/// The span to look at closely, or `None` when the key frames cannot tell and all must be seen.
pub(crate) fn close_span(
    watch: &Watch,
    scouts: &[Seen],
    log: &TemperatureLog,
) -> Option<(f64, f64)> {
    let mut span: Option<(f64, f64)> = None;
    for (k, tube) in watch.scene.tubes.iter().enumerate() {
        if !tube.filled {
            continue;
        }
        let good: Vec<&Seen> = scouts
            .iter()
            .filter(|s| s.fitness[k] == Fitness::Good)
            .collect();
        if good.len() < FEWEST_SCOUTS {
            return None;
        }
        let (from_s, mut to_s) = span_of_tube(&watch.grids[k], k, &good)?;
        // What the last pictures hid from the scout may still be melting.
        if let Some(last) = scouts.last().filter(|s| s.fitness[k] != Fitness::Good) {
            to_s = last.time_s;
        }
        span = Some(span.map_or((from_s, to_s), |s| (s.0.min(from_s), s.1.max(to_s))));
    }
    let (from_s, to_s) = span?;
    let rate_c_per_s = log
        .at(from_s)
        .map_or(0.0, |p| p.rate_c_per_s.abs())
        .max(1e-4);
    Some((
        from_s - (BACK_C / rate_c_per_s).clamp(BACK_S, 120.0),
        to_s + ON_S,
    ))
}

/// Last key frame that shows the column as it was, and first after which it no longer changes.
fn span_of_tube(grid: &Grid, k: usize, scouts: &[&Seen]) -> Option<(f64, f64)> {
    let first = &scouts[0].patches[k];
    let contrast = grid.contrast(first).max(8.0);
    let share = |a: &[u8], b: &[u8]| {
        let limit = CHANGED * contrast;
        let (from, to) = (
            grid.powder_rows.0 * grid.across,
            grid.powder_rows.1 * grid.across,
        );
        let changed = a[from..to]
            .iter()
            .zip(&b[from..to])
            .filter(|(x, y)| (f32::from(**x) - f32::from(**y)).abs() > limit);
        changed.count() as f32 / (to - from).max(1) as f32
    };
    let last_as_before = scouts
        .iter()
        .rposition(|s| share(first, &s.patches[k]) <= AS_BEFORE)?;
    if last_as_before + 1 >= scouts.len() {
        // It never changed for good: nothing to look at closely can be told from key frames.
        return None;
    }
    let last_change = (1..scouts.len())
        .rev()
        .find(|&i| share(&scouts[i - 1].patches[k], &scouts[i].patches[k]) > AT_REST)
        .unwrap_or(last_as_before + 1);
    Some((scouts[last_as_before].time_s, scouts[last_change].time_s))
}
