//! Clearing that stands still: powder that moved, taken for liquid at first.
//!
//! Once begun, melting goes on while the temperature rises. What cleared and then stays as it is
//! for a while was powder giving way when there is a sign of it besides: grains that came into sight
//! elsewhere when it happened at once (a settling that was not seen happening), or, against the light,
//! where the grains inside cannot be followed, that it lies along the outline. Standing still alone
//! proves nothing: what melts at a eutectic comes at once and then hardly grows for a while.

use std::collections::VecDeque;

/// How long nothing may be added [s].
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
/// Longest history kept [frames]; more than melting takes at any usual frame rate.
const HISTORY: usize = 4000;

/// Watches the cleared share of one column since its anchor.
#[derive(Debug, Clone, Default)]
pub(crate) struct Standstill {
    history: VecDeque<(f64, f32)>,
}

impl Standstill {
    /// Take the cleared and the brightened share now; whether what has cleared is moved powder.
    ///
    /// `along_outline` says which part of it is connected with the outside, where that is a sign at
    /// all; asked only when needed.
    pub fn push(
        &mut self,
        time_s: f64,
        cleared: f32,
        brightened: f32,
        along_outline: impl FnOnce() -> f32,
    ) -> bool {
        self.history.push_back((time_s, cleared));
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
        let (now_s, _) = *self.history.back()?;
        let first = self
            .history
            .partition_point(|(t, _)| *t < now_s - STILL_S)
            .checked_sub(1)?;
        let span: Vec<f32> = self.history.range(first..).map(|(_, c)| *c).collect();
        if span.len() < STILL_FRAMES {
            return None;
        }
        let median = |part: &[f32]| crate::image::quantile(&mut part.to_vec(), 0.5);
        let before = median(&span[..END_FRAMES]);
        let after = median(&span[span.len() - END_FRAMES..]);
        let most = (ADDED * after).max(ADDED_LEAST);
        ((LEAST..MOST).contains(&after) && (after - before).abs() < most).then_some(after)
    }

    fn came_at_once(&self, level: f32) -> bool {
        let last_below = |share: f32| {
            (0..self.history.len())
                .rev()
                .find(|&i| self.history[i].1 < share * level)
        };
        let (Some(early), Some(late)) = (last_below(0.2), last_below(0.8)) else {
            return false;
        };
        late - early < AT_ONCE_FRAMES || self.history[late].0 - self.history[early].0 < AT_ONCE_S
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
        series.any(|(t, c)| standstill.push(t, c, brightened, || along_outline))
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
    fn melting_never_stands_still() {
        let melting = |i: i32| (f64::from(i), 0.002 * (f64::from(i) / 15.0).exp() as f32);
        assert!(!any((0..60).map(melting), 0.1, 1.0));
    }
}
