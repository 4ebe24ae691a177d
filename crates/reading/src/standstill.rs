//! Clearing that stands still: powder that moved, taken for liquid at first.
//!
//! Once begun, melting goes on while the temperature rises. What cleared and then stays as it is
//! for a while, and for no less than it took to come, was powder giving way when there is a sign of it besides: grains that came into sight
//! elsewhere when it happened at once (a settling that was not seen happening), or, against the light,
//! where the grains inside cannot be followed, that it lies along the outline. Standing still alone
//! proves nothing: what melts at a eutectic comes at once and then hardly grows for a while.

use std::collections::VecDeque;

/// How long nothing may be added [s], at least: what came slowly must stand for as long as it took to come, for
/// slow heating melts slowly.
const STILL_S: f64 = 20.0;
/// Frames that this takes at least, and those whose median stands for either end of the span.
const STILL_FRAMES: usize = 6;
const END_FRAMES: usize = 3;
/// Smallest clearing that is looked at, and the most that may be added to it: share of it, share of the column.
const LEAST: f32 = 0.006;
/// Clearing beyond which powder can hardly have moved only.
const MOST: f32 = 0.3;
const ADDED: f32 = 0.06;
const ADDED_LEAST: f32 = 0.002;
/// All at once: from a fifth to four fifths of it within this time [s] or so many frames.
const AT_ONCE_S: f64 = 3.0;
const AT_ONCE_FRAMES: usize = 2;
/// Share that became more solid-looking, against what cleared, from which grains changed places.
const CAME_INTO_SIGHT: f32 = 0.1;
/// Part of it along the outline from which it is powder drawn from the glass.
const ALONG_OUTLINE: f32 = 0.85;
/// Fall of the area that looks solid that is still none: share of the clearing, share of the column. A column
/// that collapses takes its grains along, and nothing more seems to clear meanwhile.
const FALLEN: f32 = 0.1;
const FALLEN_LEAST: f32 = 0.005;
/// Longest history kept [frames]; more than melting takes at any usual frame rate.
const HISTORY: usize = 4000;

/// One moment.
#[derive(Debug, Clone, Copy)]
struct Kept {
    time_s: f64,
    cleared: f32,
    solid: f32,
}

/// Watches the cleared share of one column since its anchor.
#[derive(Debug, Clone, Default)]
pub(crate) struct Standstill {
    history: VecDeque<Kept>,
}

impl Standstill {
    /// Take the cleared, the brightened and the solid share now; whether what has cleared is moved powder.
    ///
    /// `along_outline` says which part of it is connected with the outside, where that is a sign at
    /// all; asked only when needed.
    pub fn push(
        &mut self,
        time_s: f64,
        [cleared, brightened, solid]: [f32; 3],
        along_outline: impl FnOnce() -> f32,
    ) -> bool {
        self.history.push_back(Kept {
            time_s,
            cleared,
            solid,
        });
        if self.history.len() > HISTORY {
            self.history.pop_front();
        }
        let Some(level) = self.still_at() else {
            return false;
        };
        let changed_places = brightened > CAME_INTO_SIGHT * level && self.came_at_once(level);
        changed_places || along_outline() > ALONG_OUTLINE
    }

    /// Begin anew, with a new anchor.
    pub fn reset(&mut self) {
        self.history.clear();
    }

    /// The level at which clearing stands, if it does.
    fn still_at(&self) -> Option<f32> {
        let at_end = |end: usize, of: fn(&Kept) -> f32| {
            let from = end.checked_sub(END_FRAMES)?;
            let mut part: Vec<f32> = self.history.range(from..end).map(of).collect();
            Some(crate::image::quantile(&mut part, 0.5))
        };
        let (n, now_s) = (self.history.len(), self.history.back()?.time_s);
        let level = at_end(n, |k| k.cleared)?;
        if !(LEAST..MOST).contains(&level) {
            return None;
        }
        let still_s = STILL_S.max(self.came_within_s(level));
        let first = self
            .history
            .partition_point(|k| k.time_s < now_s - still_s)
            .checked_sub(1)?;
        if n - first < STILL_FRAMES {
            return None;
        }
        let added = (level - at_end(first + END_FRAMES, |k| k.cleared)?).abs();
        let fallen = at_end(first + END_FRAMES, |k| k.solid)? - at_end(n, |k| k.solid)?;
        let stands =
            added < (ADDED * level).max(ADDED_LEAST) && fallen < (FALLEN * level).max(FALLEN_LEAST);
        stands.then_some(level)
    }

    /// Last moment below `share` of the level, as index.
    fn last_below(&self, share: f32, level: f32) -> Option<usize> {
        (0..self.history.len())
            .rev()
            .find(|&i| self.history[i].cleared < share * level)
    }

    /// Time from a fifth to four fifths of the level [s].
    fn came_within_s(&self, level: f32) -> f64 {
        let time_s = |share| self.history[self.last_below(share, level).unwrap_or(0)].time_s;
        time_s(0.8) - time_s(0.2)
    }

    fn came_at_once(&self, level: f32) -> bool {
        let (Some(early), Some(late)) = (self.last_below(0.2, level), self.last_below(0.8, level))
        else {
            return false;
        };
        late - early < AT_ONCE_FRAMES
            || self.history[late].time_s - self.history[early].time_s < AT_ONCE_S
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn any(
        mut series: impl Iterator<Item = (f64, f32)>,
        brightened: f32,
        along_outline: f32,
    ) -> bool {
        let mut standstill = Standstill::default();
        series.any(|(t, c)| standstill.push(t, [c, brightened, 1.0 - c], || along_outline))
    }

    fn step(t: f64) -> f32 {
        if t < 30.0 { 0.0 } else { 0.08 }
    }

    #[test]
    fn a_step_that_stays_is_moved_powder_only_when_grains_came_into_sight() {
        let steps = || (0..80).map(|i| (f64::from(i), step(f64::from(i))));
        assert!(any(steps(), 0.02, 0.0));
        // What melts at a eutectic.
        assert!(!any(steps(), 0.001, 0.0));
    }

    #[test]
    fn clearing_that_stays_is_moved_powder_when_along_the_outline() {
        let slow = |i: i32| (f64::from(i), (i as f32 / 400.0).min(0.1));
        assert!(any((0..90).map(slow), 0.0, 0.95));
        assert!(!any((0..90).map(slow), 0.0, 0.5));
    }

    #[test]
    fn slow_melting_is_no_standstill() {
        // Doubles every minute, as at 0.3 °C/min.
        let slow = |i: i32| (f64::from(i), 0.0005 * (f64::from(i) / 60.0).exp2() as f32);
        assert!(!any((0..540).map(slow), 0.0, 1.0));
    }

    #[test]
    fn a_column_that_collapses_does_not_stand() {
        let mut standstill = Standstill::default();
        let said = (0..80).map(f64::from).any(|t| {
            let solid = if t < 30.0 {
                1.0
            } else {
                1.0 - 0.01 * (t - 30.0) as f32
            };
            standstill.push(t, [step(t), 0.02, solid], || 1.0)
        });
        assert!(!said);
    }

    #[test]
    fn melting_never_stands_still() {
        let melting = |i: i32| (f64::from(i), 0.002 * (f64::from(i) / 15.0).exp() as f32);
        assert!(!any((0..60).map(melting), 0.1, 1.0));
    }
}
