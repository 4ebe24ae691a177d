//! When the last crystal went: what is solid in every frame against the clear end state.

use meltrange_physics::TemperatureLog;

use crate::column::Grid;
use crate::ending::{CRYSTAL, CRYSTAL_CUES, Ending, Remaining};
use crate::moments::{
    last_fall, median_of_last, middle_and_spread, moment, running_median, spacing_around,
};
use crate::powder::Powder;
use crate::result::Moment;

/// Solid share of the column below which the last crystal is gone.
const LAST_CRYSTAL: f32 = 0.003;
/// Most that the doubt about that level adds to the uncertainty [s], and what always remains [s].
const MOST_LEVEL_S: f64 = 10.0;
const LAST_LOOK_S: f64 = 1.4;
/// Span at the end in which what stays is no crystal [s], and the most of it that may stay.
const PLATEAU_S: f64 = 10.0;
const MOST_PLATEAU: f32 = 0.05;

/// Solid share of every frame against the end state.
pub(crate) struct EndOfMelting {
    times_s: Vec<f64>,
    solid: [Vec<f32>; 3],
    /// Share of the column that still looks solid in the end state.
    pub left_over: f32,
}

impl EndOfMelting {
    /// Go through all patches of one tube, whose powder has been followed.
    pub fn new(grid: &Grid, powder: &Powder, patches: &[(f64, &[u8])]) -> Self {
        let last_s = patches.last().map_or(0.0, |p| p.0);
        let tail = patches
            .partition_point(|p| p.0 < last_s - 15.0)
            .min(patches.len().saturating_sub(8));
        let looks: Vec<(f64, Vec<f32>)> = patches[tail..]
            .iter()
            .map(|(t, p)| (*t, powder.share_of_level(p)))
            .collect();
        let ending = Ending::new(&looks);
        let inside = powder.start_inside();
        let area = inside.iter().filter(|&&i| i).count().max(1) as f32;
        let margin = (crate::column::MARGIN_ACROSS / (1.0 + 2.0 * crate::column::MARGIN_ACROSS)
            * grid.across as f32)
            .round() as usize;
        let allowed: Vec<bool> = (0..grid.across * grid.along)
            .map(|i| {
                let (x, y) = (i % grid.across, i / grid.across);
                x >= margin
                    && x + margin < grid.across
                    && y >= grid.powder_rows.0
                    && y < grid.powder_rows.1
            })
            .collect();
        let mut solid: [Vec<f32>; 3] = std::array::from_fn(|_| Vec::with_capacity(patches.len()));
        let mut remaining: [Remaining; 3] = Default::default();
        for (time_s, patch) in patches {
            let look = powder.share_of_level(patch);
            for (cue, threshold) in CRYSTAL_CUES.into_iter().enumerate() {
                let found = ending.solid(&look, grid.across, threshold, &allowed);
                let count = remaining[cue].keep(*time_s, found, grid.across);
                solid[cue].push(count as f32 / area);
            }
        }
        Self {
            times_s: patches.iter().map(|p| p.0).collect(),
            solid: solid.map(|s| above_plateau(running_median(&s, 1), patches)),
            left_over: ending.left_over(
                inside,
                grid.across,
                grid.powder_rows,
                grid.across as f32 / (1.0 + 2.0 * crate::column::MARGIN_ACROSS),
                CRYSTAL + 0.05,
            ),
        }
    }

    /// Share of the column that is solid.
    pub fn solid_at(&self, time_s: f64) -> f32 {
        let i = self
            .times_s
            .partition_point(|&t| t < time_s)
            .min(self.solid[1].len() - 1);
        self.solid[1][i].min(1.0)
    }

    /// The moment the last of it went; `None` when the recording ends before.
    pub fn last_crystal(&self, log: &TemperatureLog) -> Option<Moment> {
        let time_s = last_fall(&self.times_s, &self.solid[1], LAST_CRYSTAL)?;
        let cues: Vec<f64> = self
            .solid
            .iter()
            .filter_map(|s| last_fall(&self.times_s, s, LAST_CRYSTAL))
            .collect();
        // The last of a crystal lies in the melt and looks dimmer than powder did: the most lenient cue may
        // have seen it for longer.
        let longest_s = cues.iter().copied().fold(time_s, f64::max) - time_s;
        let (_, spread_s) = middle_and_spread(cues)?;
        let at_level = |part: f32| last_fall(&self.times_s, &self.solid[1], part * LAST_CRYSTAL);
        let level_s = match (at_level(2.0), at_level(0.5)) {
            (Some(early), Some(late)) => 0.5 * (late - early).abs(),
            _ => 0.0,
        };
        let frame_s = spacing_around(&self.times_s, time_s) / 12f64.sqrt();
        let settled_s = (0.5 * spread_s)
            .max(longest_s.min(MOST_LEVEL_S))
            .hypot(level_s.min(MOST_LEVEL_S));
        moment(log, time_s, settled_s.hypot(frame_s).hypot(LAST_LOOK_S))
    }
}

/// What is above the level that stays to the end: bubbles and noise are no crystals.
///
/// Only a small level counts as such, and the very last pictures must show it too, so that crystals
/// that are just going when the recording ends are not taken for it.
fn above_plateau(mut solid: Vec<f32>, patches: &[(f64, &[u8])]) -> Vec<f32> {
    let last_s = patches.last().map_or(0.0, |p| p.0);
    let since = |span_s: f64| {
        let from = patches
            .partition_point(|p| p.0 < last_s - span_s)
            .min(solid.len().saturating_sub(3));
        median_of_last(&solid, solid.len() - from)
    };
    let plateau = since(PLATEAU_S).min(since(PLATEAU_S / 3.0));
    if plateau < MOST_PLATEAU {
        solid.iter_mut().for_each(|s| *s = (*s - plateau).max(0.0));
    }
    solid
}
