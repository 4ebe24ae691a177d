//! The powder of one tube through time: how much of it has turned from scattering to clear.
//!
//! Each patch is compared with an anchor, the same powder a while ago, along the grains' own
//! displacement. A sample counts as cleared when it lost a set share of its solid look, more than
//! the column as a whole did (wet powder darkens without clearing). When the powder slides
//! abruptly, the anchor is renewed and what was cleared before is carried over.

use std::collections::VecDeque;

use crate::image::quantile;
use crate::ledger::{GrainMotion, Ledger};
use crate::patch::{local_mean, share_from_outside, silhouette, smooth, top_row};
use crate::standstill::Standstill;
use crate::tubes::Lighting;
use crate::warp::{Warp, WarpNet};

/// Loss of solid look, as a share of the local solid level, from which a sample counts as cleared:
/// three cues of different strictness, whose disagreement feeds the uncertainty.
pub(crate) const CLEARED: [f32; 3] = [0.25, 0.4, 0.55];
/// The cue that the account of moving powder goes by.
pub(crate) const MAIN_CUE: usize = 0;
/// Frames that make an anchor.
const ANCHOR_FRAMES: usize = 5;
/// A compaction between two frames [samples] that is a slide, not a drift.
const SLIDE_JUMP: f32 = 1.0;
/// Change and brightening that mean the grains were lost from one frame to the next.
const LOST_CHANGE: f32 = 0.15;
const LOST_BRIGHTENED: f32 = 0.04;
/// Share of samples that must change at once to speak of a slide.
const SLIDE_CHANGE: f32 = 0.06;
/// Fall of the powder's top [samples] that is a slide, the change that goes with it, and the frames in
/// which it is looked for.
const TOP_FALL: f32 = 1.5;
const TOP_FALL_CHANGE: f32 = 0.015;
const TOP_FRAMES: usize = 7;
/// After a slide the powder is left to come to rest this long [s].
const REST_S: f64 = 2.0;
/// Cleared share from which slides are melting's own and the anchor stays; less is enough against the
/// light, where dry powder lets nothing through.
const MELTING_IN_EARNEST_FRONT: f32 = 0.06;
const MELTING_IN_EARNEST_BACK: f32 = 0.012;
/// Area that looks solid, against the first picture's, below which more than settling has happened.
const SETTLED_AT_MOST: f32 = 0.75;
/// Look of the whole column against dry below which it is wet with melt.
const WET_GAIN: f32 = 0.88;
/// Longest slide [s].
const LONGEST_SLIDE_S: f64 = 8.0;
/// Frames of either end of the look-back that are compared.
const DRIFT_FRAMES: usize = 5;
/// Look-back for slow drift of the grains [s] and how far is drifting [samples].
const DRIFT_LOOK_BACK_S: f64 = 8.0;
const DRIFT: f32 = 0.35;
/// Solid look at the edge of the column, share of its typical level.
const EDGE: f32 = 0.2;
/// Absolute solid look that counts as solid, share of the first anchor's typical level.
const SOLID: f32 = 0.3;

/// What one frame says of one column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Look {
    pub time_s: f64,
    /// Cleared share of the column per cue, carried across anchors.
    pub cleared: [f32; 3],
    /// Share that became more solid-looking: sparkle, or grains lost from sight.
    pub brightened: f32,
    /// Solid look of the column as a whole against the start.
    pub gain: f32,
    /// Area that looks solid now, whatever its place, against the column's area at the start.
    pub solid: f32,
    /// Whether a slide happened here.
    pub slid: bool,
    /// Whether what had cleared so far turned out to be moved powder; counting began anew.
    pub discounted: bool,
    /// Whether the grains drift (shrinkage).
    pub drifting: bool,
    /// Whether liquid that came now could not be counted.
    pub blind: bool,
    /// Coming down of the top [samples] and narrowing [samples] against the anchor.
    pub compaction: f32,
    pub widening: f32,
}

/// The powder as it stood when last anchored.
struct Anchor {
    inside: Vec<usize>,
    fraction: Vec<f32>,
    local_level: Vec<f32>,
    net: WarpNet,
}

/// Follows one column; frames must come in order of time.
pub(crate) struct Powder {
    across: usize,
    along: usize,
    powder_rows: (usize, usize),
    lighting: Lighting,
    glass: Vec<f32>,
    level: f32,
    start_inside: Vec<bool>,
    start_area: f32,
    start_gain: f32,
    anchor: Option<Anchor>,
    recent: VecDeque<(f64, Vec<f32>)>,
    warps: VecDeque<(f64, [f32; 2])>,
    dry_gain: f32,
    slide_began_s: Option<f64>,
    warp: Warp,
    ledger: Ledger,
    resting_until_s: Option<f64>,
    last_gain: f32,
    tops: VecDeque<f32>,
    changed_before: f32,
    standstill: Standstill,
    first_solid: Option<f32>,
}

impl Powder {
    pub fn new(
        across: usize,
        along: usize,
        powder_rows: (usize, usize),
        lighting: Lighting,
    ) -> Self {
        Self {
            across,
            along,
            powder_rows,
            lighting,
            glass: Vec::new(),
            level: 0.0,
            start_inside: Vec::new(),
            start_area: 0.0,
            start_gain: 1.0,
            anchor: None,
            recent: VecDeque::new(),
            warps: VecDeque::new(),
            dry_gain: 1.0,
            slide_began_s: None,
            warp: Warp::default(),
            ledger: Ledger::default(),
            resting_until_s: None,
            last_gain: 1.0,
            tops: VecDeque::new(),
            changed_before: 0.0,
            standstill: Standstill::default(),
            first_solid: None,
        }
    }

    /// Take the next patch; `None` until there are enough to anchor on.
    pub fn push(&mut self, time_s: f64, patch: &[u8]) -> Option<Look> {
        if self.glass.is_empty() {
            self.glass = self.glass_profile(patch);
        }
        let solid_look = self.solid_look(patch);
        let smooth = smooth(&solid_look, self.across, self.along);
        self.recent.push_back((time_s, smooth));
        if self.recent.len() > ANCHOR_FRAMES {
            self.recent.pop_front();
        }
        if self.anchor.is_none() {
            if self.recent.len() < ANCHOR_FRAMES {
                return None;
            }
            self.drop_anchor();
            self.anchor.as_ref()?;
        }
        if let Some(until) = self.resting_until_s {
            let rested = self
                .recent
                .front()
                .is_some_and(|f| f.0 > until - 0.5 * REST_S);
            if rested && self.recent.len() == ANCHOR_FRAMES {
                self.resting_until_s = None;
                self.slide_began_s = None;
                self.ledger.carry_over();
                self.drop_anchor();
            }
        }
        Some(self.look(time_s))
    }

    /// Where the powder stood at the start; empty before the first anchor.
    pub fn start_inside(&self) -> &[bool] {
        &self.start_inside
    }

    /// A patch as share of the powder's typical solid look: 0 empty glass, 1 dry powder.
    pub fn share_of_level(&self, patch: &[u8]) -> Vec<f32> {
        let scale = 1.0 / self.level.max(1.0);
        let mut look = smooth(&self.solid_look(patch), self.across, self.along);
        look.iter_mut().for_each(|v| *v *= scale);
        look
    }

    fn look(&mut self, time_s: f64) -> Look {
        let newest = self.recent.back().map(|f| f.1.clone()).unwrap_or_default();
        let Some(anchor) = self.anchor.as_ref() else {
            unreachable!("look is called only with an anchor");
        };
        let last = self.warp;
        let earlier_gain = self.last_gain;
        // Once much is liquid the grains can no longer be followed; they stay where they were.
        if self.ledger.liquid() < 0.25 {
            self.warp = anchor.net.follow(&newest, &last);
        }
        let sampled = anchor.net.sampled(&newest, &self.warp);
        let mut ratios: Vec<f32> = sampled
            .iter()
            .zip(&anchor.fraction)
            .zip(&anchor.local_level)
            .filter(|((_, f), _)| **f > 0.5)
            .map(|((v, f), l)| v / (f * l))
            .collect();
        let gain = quantile(&mut ratios, 0.5).max(0.05);
        let n = anchor.inside.len().max(1) as f32;
        let mut cleared = [0.0f32; 3];
        let mut cleared_here = vec![false; self.across * self.along];
        let mut brightened = 0.0;
        for (i, value) in sampled.iter().enumerate() {
            let fraction = anchor.fraction[i];
            let loss = fraction - value / (anchor.local_level[i] * gain.max(0.3));
            for (count, threshold) in cleared.iter_mut().zip(CLEARED) {
                if loss > threshold * fraction.clamp(0.35, 1.0) {
                    *count += 1.0 / n;
                    cleared_here[anchor.inside[i]] = true;
                }
            }
            if loss < -CLEARED[MAIN_CUE] {
                brightened += 1.0 / n;
            }
        }
        let solid = newest.iter().filter(|&&v| v > SOLID * self.level).count() as f32
            / self.start_area.max(1.0);
        let changed = self.changed_share();
        let jump = self.warp.compaction() - last.compaction();
        let top_fall = self.top_fall(&newest);
        let moved = changed > SLIDE_CHANGE && jump > SLIDE_JUMP
            || changed > LOST_CHANGE && brightened > LOST_BRIGHTENED
            || changed.max(self.changed_before) > TOP_FALL_CHANGE && top_fall > TOP_FALL;
        // The top has fallen for good only once a second picture shows it so.
        self.changed_before = changed;
        let stands = solid > SETTLED_AT_MOST * *self.first_solid.get_or_insert(solid);
        let slid = moved && self.is_slide(time_s, gain, earlier_gain) && stands;
        if slid {
            self.slide_began_s.get_or_insert(time_s);
            self.resting_until_s = Some(time_s + REST_S);
        }
        let drifting = self.drifts(time_s);
        let distance = self.warp.compaction().abs() + self.warp.widening().abs();
        let motion = if self.resting_until_s.is_some() {
            GrainMotion::Sliding
        } else if drifting && gain > WET_GAIN * self.dry_gain && self.lighting == Lighting::Front {
            // Against the light only the outline can be followed, and melting moves that too.
            GrainMotion::Drifting { distance }
        } else {
            GrainMotion::Still
        };
        let liquid = self.ledger.enter(cleared, motion);
        if self.ledger.liquid() < 0.005 {
            self.dry_gain += 0.1 * (gain - self.dry_gain);
        }
        self.last_gain = gain;
        let keeps_look = gain > WET_GAIN * self.dry_gain;
        let (across, along) = (self.across, self.along);
        let standing = self
            .standstill
            .push(
                time_s,
                [liquid[MAIN_CUE], brightened, solid],
                || match self.lighting {
                    Lighting::Front => 0.0,
                    Lighting::Back => {
                        let mut inside = vec![false; across * along];
                        self.anchor
                            .iter()
                            .flat_map(|a| &a.inside)
                            .for_each(|&i| inside[i] = true);
                        share_from_outside(&cleared_here, &inside, across, along)
                    }
                },
            );
        let discounted = standing && keeps_look;
        let gain_since_start = gain * self.start_gain;
        if discounted {
            self.ledger = Ledger::default();
            self.drop_anchor();
        }
        Look {
            time_s,
            cleared: if discounted { [0.0; 3] } else { liquid },
            brightened,
            gain: gain_since_start,
            solid,
            slid,
            discounted,
            drifting,
            blind: discounted || self.ledger.is_blind(),
            compaction: self.warp.compaction(),
            widening: self.warp.widening(),
        }
    }

    /// How far the top of the powder came down within the last pictures, for two of them at least and
    /// below where it stood in any before: a shaken picture comes back [samples].
    fn top_fall(&mut self, newest: &[f32]) -> f32 {
        let threshold = 0.5 * self.level * self.last_gain.max(0.3);
        self.tops
            .push_back(top_row(newest, self.across, self.along, threshold));
        if self.tops.len() > TOP_FRAMES {
            self.tops.pop_front();
        }
        let earlier = self.tops.len().saturating_sub(2);
        if earlier < 2 {
            return 0.0;
        }
        let lowest_before = self.tops.range(..earlier).copied().fold(f32::MIN, f32::max);
        let highest_now = self.tops.range(earlier..).copied().fold(f32::MAX, f32::min);
        highest_now - lowest_before
    }

    /// Whether moving powder is a slide of dry powder rather than melting's own collapse.
    fn is_slide(&mut self, time_s: f64, gain: f32, earlier_gain: f32) -> bool {
        let usual = self.dry_gain.max(0.2);
        // Melting makes the column darker and goes on; a slide keeps its look and is over in a moment.
        let keeps_look = gain > WET_GAIN * usual
            || gain > 0.93 * earlier_gain && earlier_gain > WET_GAIN * usual;
        let short = self
            .slide_began_s
            .is_none_or(|began| time_s - began < LONGEST_SLIDE_S);
        let in_earnest = match self.lighting {
            Lighting::Front => MELTING_IN_EARNEST_FRONT,
            Lighting::Back => MELTING_IN_EARNEST_BACK,
        };
        let is_slide = self.ledger.liquid() < in_earnest && keeps_look && short;
        if !is_slide {
            self.resting_until_s = None;
        }
        is_slide
    }

    /// Whether the grains moved steadily over the last seconds, beyond the jitter of following them.
    fn drifts(&mut self, time_s: f64) -> bool {
        self.warps
            .push_back((time_s, [self.warp.compaction(), self.warp.widening()]));
        while self.warps.len() > 3 * DRIFT_FRAMES && self.warps[1].0 < time_s - DRIFT_LOOK_BACK_S {
            self.warps.pop_front();
        }
        let n = self.warps.len();
        if n < 2 * DRIFT_FRAMES {
            return false;
        }
        (0..2).any(|part| {
            let middle = |range: std::ops::Range<usize>| {
                let mut values: Vec<f32> = range.map(|i| self.warps[i].1[part]).collect();
                quantile(&mut values, 0.5)
            };
            let mut jitter: Vec<f32> = (1..n)
                .map(|i| (self.warps[i].1[part] - self.warps[i - 1].1[part]).abs())
                .collect();
            let limit = DRIFT.max(2.0 * quantile(&mut jitter, 0.5));
            (middle(n - DRIFT_FRAMES..n) - middle(0..DRIFT_FRAMES)).abs() > limit
        })
    }

    /// Share of the column that differs between the last two frames, without following grains.
    fn changed_share(&self) -> f32 {
        let (Some(anchor), true) = (self.anchor.as_ref(), self.recent.len() >= 2) else {
            return 0.0;
        };
        let (a, b) = (
            &self.recent[self.recent.len() - 2].1,
            &self.recent[self.recent.len() - 1].1,
        );
        let limit = 0.2 * self.level * self.last_gain.max(0.3);
        let changed = anchor
            .inside
            .iter()
            .filter(|&&i| (a[i] - b[i]).abs() > limit)
            .count();
        changed as f32 / anchor.inside.len().max(1) as f32
    }

    /// Look of the empty glass across the tube, from the room above the powder.
    fn glass_profile(&self, patch: &[u8]) -> Vec<f32> {
        let rows = (self.powder_rows.0 * 2 / 3).max(1).min(self.along);
        (0..self.across)
            .map(|x| {
                let mut column: Vec<f32> = (0..rows)
                    .map(|y| f32::from(patch[y * self.across + x]))
                    .collect();
                quantile(&mut column, 0.5)
            })
            .collect()
    }

    /// How far each sample is from empty glass towards solid.
    fn solid_look(&self, patch: &[u8]) -> Vec<f32> {
        let sign = match self.lighting {
            Lighting::Front => 1.0,
            Lighting::Back => -1.0,
        };
        patch
            .iter()
            .enumerate()
            .map(|(i, &v)| sign * (f32::from(v) - self.glass[i % self.across]))
            .collect()
    }

    /// Take the median of the recent frames as the new reference state of the powder.
    fn drop_anchor(&mut self) {
        let frames: Vec<&Vec<f32>> = self.recent.iter().map(|f| &f.1).collect();
        let mut median = vec![0.0f32; self.across * self.along];
        let mut stack = vec![0.0f32; frames.len()];
        for (i, m) in median.iter_mut().enumerate() {
            for (s, f) in stack.iter_mut().zip(&frames) {
                *s = f[i];
            }
            *m = quantile(&mut stack, 0.5);
        }
        let (top, bottom) = self.powder_rows;
        let middle = (top + bottom) / 2;
        let mut lower: Vec<f32> =
            median[middle * self.across..bottom.max(middle + 1) * self.across].to_vec();
        let level = quantile(&mut lower, 0.6);
        if level < 4.0 {
            return;
        }
        let inside = silhouette(&median, self.across, self.along, EDGE * level);
        let count = inside.iter().filter(|&&i| i).count();
        if count < 20 {
            return;
        }
        let local = local_mean(&median, &inside, self.across, self.along, 4);
        let net = WarpNet::new(&median, &inside, self.across, self.along, level);
        let indices: Vec<usize> = (0..inside.len()).filter(|&i| inside[i]).collect();
        if self.anchor.is_none() {
            self.level = level;
            self.start_area = count as f32;
            self.start_inside.clone_from(&inside);
        } else {
            self.start_gain *= self.last_gain;
        }
        self.last_gain = 1.0;
        self.anchor = Some(Anchor {
            fraction: indices
                .iter()
                .map(|&i| median[i] / local[i].max(1.0))
                .collect(),
            local_level: indices.iter().map(|&i| local[i].max(1.0)).collect(),
            inside: indices,
            net,
        });
        self.warp = Warp::default();
        self.warps.clear();
        self.tops.clear();
        self.standstill.reset();
        self.dry_gain = 1.0;
    }
}
