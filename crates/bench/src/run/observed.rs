//! The temperatures of a run so far, and what the tubes looked like.

use super::view::{Look, TubeView};
use meltrange_reading::{LiveStage, LiveTube};

/// A first liquid is news for this long [s].
const NEWS_S: f64 = 15.0;

/// Indications in order of time.
#[derive(Debug, Clone, Default)]
pub(super) struct Indications(Vec<(f64, f64)>);

impl Indications {
    pub fn push(&mut self, time_s: f64, temperature_c: f64) {
        self.0.push((time_s, temperature_c));
    }

    /// Between the two neighbours, or the nearest one at the ends.
    pub fn at(&self, time_s: f64) -> Option<f64> {
        let after = self.0.partition_point(|point| point.0 < time_s);
        match (
            after.checked_sub(1).and_then(|at| self.0.get(at)),
            self.0.get(after),
        ) {
            (Some(a), Some(b)) if b.0 > a.0 => {
                Some(a.1 + (b.1 - a.1) * (time_s - a.0) / (b.0 - a.0))
            }
            (Some(a), _) => Some(a.1),
            (None, b) => b.map(|b| b.1),
        }
    }
}

/// The engine's state of a tube with its temperatures; times from the start of the run.
pub(super) fn tube_view(tube: &LiveTube, now_s: f64, start_s: f64, seen: &Indications) -> TubeView {
    let first_liquid_s = tube.first_liquid_s.map(|time_s| time_s - start_s);
    let last_crystal_s = tube.last_crystal_s.map(|time_s| time_s - start_s);
    TubeView {
        place: tube.tube,
        look: match tube.stage {
            LiveStage::Empty => Look::Empty,
            LiveStage::Waiting => Look::Waiting,
            LiveStage::Solid if tube.settling => Look::Settling,
            LiveStage::Solid => Look::Solid,
            LiveStage::Melting if first_liquid_s.is_some_and(|at_s| now_s - at_s < NEWS_S) => {
                Look::FirstLiquid
            }
            LiveStage::Melting => Look::Melting,
            LiveStage::Liquid => Look::Clear,
            LiveStage::Darkened => Look::Darkened,
        },
        first_liquid_s,
        last_crystal_s,
        first_liquid_c: first_liquid_s.and_then(|time_s| seen.at(time_s)),
        last_crystal_c: last_crystal_s.and_then(|time_s| seen.at(time_s)),
        in_sight: tube.in_sight,
    }
}
