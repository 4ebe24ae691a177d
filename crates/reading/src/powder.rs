//! The powder of one tube through time: how much of it has turned from scattering to clear.
//!
//! Each patch is compared with an anchor, the same powder a while ago, along the grains' own
//! displacement. A sample counts as cleared when it lost a set share of its solid look, more than
//! the column as a whole did (wet powder darkens without clearing). When the powder slides
//! abruptly, the anchor is renewed and what was cleared before is carried over.

use std::collections::VecDeque;

use crate::image::quantile;
use crate::ledger::{GrainMotion, Ledger};
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
/// After a slide the powder is left to come to rest this long [s].
const REST_S: f64 = 2.0;
/// Cleared share from which slides are melting's own and the anchor stays.
const MELTING_IN_EARNEST: f32 = 0.06;
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
    /// Whether the grains drift (shrinkage).
    pub drifting: bool,
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
    sign: f32,
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
            sign: if lighting == Lighting::Front {
                1.0
            } else {
                -1.0
            },
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
        let mut brightened = 0.0;
        for ((value, fraction), level) in sampled
            .iter()
            .zip(&anchor.fraction)
            .zip(&anchor.local_level)
        {
            let loss = fraction - value / (level * gain.max(0.3));
            for (count, threshold) in cleared.iter_mut().zip(CLEARED) {
                if loss > threshold * fraction.clamp(0.35, 1.0) {
                    *count += 1.0 / n;
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
        let moved = changed > SLIDE_CHANGE && jump > SLIDE_JUMP
            || changed > LOST_CHANGE && brightened > LOST_BRIGHTENED;
        let slid = moved && self.is_slide(time_s, gain, earlier_gain);
        if slid {
            self.slide_began_s.get_or_insert(time_s);
            self.resting_until_s = Some(time_s + REST_S);
        }
        let drifting = self.drifts(time_s);
        let distance = self.warp.compaction().abs() + self.warp.widening().abs();
        let motion = if self.resting_until_s.is_some() {
            GrainMotion::Sliding
        } else if drifting && gain > WET_GAIN * self.dry_gain {
            GrainMotion::Drifting { distance }
        } else {
            GrainMotion::Still
        };
        let liquid = self.ledger.enter(cleared, motion);
        if self.ledger.liquid() < 0.005 {
            self.dry_gain += 0.1 * (gain - self.dry_gain);
        }
        self.last_gain = gain;
        Look {
            time_s,
            cleared: liquid,
            brightened,
            gain: gain * self.start_gain,
            solid,
            slid,
            drifting,
            compaction: self.warp.compaction(),
            widening: self.warp.widening(),
        }
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
        let is_slide = self.ledger.liquid() < MELTING_IN_EARNEST && keeps_look && short;
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
        patch
            .iter()
            .enumerate()
            .map(|(i, &v)| self.sign * (f32::from(v) - self.glass[i % self.across]))
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
        self.dry_gain = 1.0;
    }
}

/// Binomial smoothing (1 2 1)/4 both ways.
pub(crate) fn smooth(patch: &[f32], across: usize, along: usize) -> Vec<f32> {
    crate::image::Plane {
        width: across,
        height: along,
        data: patch.to_vec(),
    }
    .smoothed(1)
    .data
}

/// Largest connected area above `threshold`, holes filled.
pub(crate) fn silhouette(patch: &[f32], across: usize, along: usize, threshold: f32) -> Vec<bool> {
    let mut inside: Vec<bool> = patch.iter().map(|&v| v > threshold).collect();
    let keep = largest_component(&inside, across, along);
    inside = keep;
    // Fill: what cannot be reached from the border is a pore, not outside.
    let mut outside = vec![false; inside.len()];
    let mut stack: Vec<usize> = (0..inside.len())
        .filter(|i| {
            let (x, y) = (i % across, i / across);
            (x == 0 || y == 0 || x == across - 1 || y == along - 1) && !inside[*i]
        })
        .collect();
    for &i in &stack {
        outside[i] = true;
    }
    while let Some(i) = stack.pop() {
        for j in neighbours(i, across, along).into_iter().flatten() {
            if !inside[j] && !outside[j] {
                outside[j] = true;
                stack.push(j);
            }
        }
    }
    outside.iter().map(|o| !o).collect()
}

fn largest_component(mask: &[bool], across: usize, along: usize) -> Vec<bool> {
    let mut label = vec![0u32; mask.len()];
    let (mut best, mut best_size, mut next) = (0, 0, 0);
    for start in 0..mask.len() {
        if !mask[start] || label[start] != 0 {
            continue;
        }
        next += 1;
        label[start] = next;
        let (mut stack, mut size) = (vec![start], 0);
        while let Some(i) = stack.pop() {
            size += 1;
            for j in neighbours(i, across, along).into_iter().flatten() {
                if mask[j] && label[j] == 0 {
                    label[j] = next;
                    stack.push(j);
                }
            }
        }
        if size > best_size {
            (best, best_size) = (next, size);
        }
    }
    label.iter().map(|&l| l == best && best != 0).collect()
}

/// The four neighbours of a sample.
pub(crate) fn neighbours(i: usize, across: usize, along: usize) -> [Option<usize>; 4] {
    let (x, y) = (i % across, i / across);
    [
        (x > 0).then(|| i - 1),
        (x + 1 < across).then(|| i + 1),
        (y > 0).then(|| i - across),
        (y + 1 < along).then(|| i + across),
    ]
}

/// Mean over a `2·radius+1` square of the samples inside; zero where there are none.
fn local_mean(
    patch: &[f32],
    inside: &[bool],
    across: usize,
    along: usize,
    radius: usize,
) -> Vec<f32> {
    // Summed-area tables of value and count.
    let stride = across + 1;
    let mut sums = vec![0.0f64; stride * (along + 1)];
    let mut counts = vec![0.0f64; stride * (along + 1)];
    for y in 0..along {
        for x in 0..across {
            let i = y * across + x;
            let value = if inside[i] { f64::from(patch[i]) } else { 0.0 };
            let count = if inside[i] { 1.0 } else { 0.0 };
            let at = (y + 1) * stride + x + 1;
            sums[at] = value + sums[at - 1] + sums[at - stride] - sums[at - stride - 1];
            counts[at] = count + counts[at - 1] + counts[at - stride] - counts[at - stride - 1];
        }
    }
    let mut out = vec![0.0f32; patch.len()];
    for y in 0..along {
        for x in 0..across {
            let (x0, x1) = (x.saturating_sub(radius), (x + radius + 1).min(across));
            let (y0, y1) = (y.saturating_sub(radius), (y + radius + 1).min(along));
            let area = |t: &[f64]| {
                t[y1 * stride + x1] - t[y0 * stride + x1] - t[y1 * stride + x0]
                    + t[y0 * stride + x0]
            };
            let count = area(&counts);
            out[y * across + x] = if count > 0.0 {
                (area(&sums) / count) as f32
            } else {
                0.0
            };
        }
    }
    out
}
