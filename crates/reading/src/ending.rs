//! The end of melting: how much solid is still to be seen against the clear end state.
//!
//! The end state of each sample is known once the recording is over: the clearest look it had in
//! the last seconds. What exceeds it by a good part of the powder's own look, and has neighbours
//! that do, is solid; a meniscus or a lasting highlight is part of the end state.

use crate::image::quantile;

/// Excess over the end state that counts as solid, share of the powder's look.
pub(crate) const CRYSTAL: f32 = 0.25;
/// The same, more and less strict: their disagreement feeds the uncertainty.
pub(crate) const CRYSTAL_CUES: [f32; 3] = [0.15, CRYSTAL, 0.4];
/// Span at the end from which the end state is taken [s] and at least so many frames.
const END_SPAN_S: f64 = 12.0;
const END_FRAMES: usize = 6;
/// How far solid may have gone between two pictures [samples]: at once and per second.
const REACH: f32 = 2.0;
const REACH_PER_S: f32 = 2.0;

/// Solid looks of one column through the recording, against its own end.
pub(crate) struct Ending {
    /// Clearest look of each sample at the end, share of the powder's level.
    pub floor: Vec<f32>,
}

impl Ending {
    /// `looks`: per frame time and solid look as share of the powder's level.
    pub fn new(looks: &[(f64, Vec<f32>)]) -> Self {
        let last_s = looks.last().map_or(0.0, |l| l.0);
        let first = looks
            .iter()
            .position(|l| l.0 >= last_s - END_SPAN_S)
            .unwrap_or(0)
            .min(looks.len().saturating_sub(END_FRAMES));
        let frames = &looks[first..];
        let n = frames.first().map_or(0, |f| f.1.len());
        let mut stack = vec![0.0f32; frames.len()];
        let floor = (0..n)
            .map(|i| {
                for (s, f) in stack.iter_mut().zip(frames) {
                    *s = f.1[i];
                }
                quantile(&mut stack, 0.25)
            })
            .collect();
        Self { floor }
    }

    /// Samples that look solid beyond the end state by `threshold`, lone ones left out.
    pub fn solid(
        &self,
        look: &[f32],
        across: usize,
        threshold: f32,
        allowed: &[bool],
    ) -> Vec<bool> {
        let along = look.len() / across;
        let solid: Vec<bool> = look
            .iter()
            .zip(&self.floor)
            .zip(allowed)
            .map(|((v, f), a)| *a && v - f.max(-0.2) > threshold)
            .collect();
        (0..solid.len())
            .map(|i| {
                solid[i]
                    && crate::patch::neighbours(i, across, along)
                        .into_iter()
                        .flatten()
                        .filter(|&j| solid[j])
                        .count()
                        >= 2
            })
            .collect()
    }

    /// Share of the column that still looks solid in the end state itself; the meniscus, the
    /// rounded bottom and the rim along the glass are left out, for clear liquid shows them too.
    pub fn left_over(
        &self,
        inside: &[bool],
        across: usize,
        powder_rows: (usize, usize),
        bore: f32,
        threshold: f32,
    ) -> f32 {
        let along = self.floor.len() / across;
        let central = |x: usize| (x as f32 + 0.5 - across as f32 / 2.0).abs() < 0.4 * bore;
        let is_bar: Vec<bool> = (0..along)
            .map(|y| {
                let row: Vec<f32> = (0..across)
                    .filter(|&x| central(x))
                    .map(|x| self.floor[y * across + x])
                    .collect();
                row.iter().filter(|v| **v > threshold).count() as f32 > 0.5 * row.len() as f32
            })
            .collect();
        let mut spared = vec![false; along];
        let mut y = 0;
        while y < along {
            let start = y;
            while y < along && is_bar[y] {
                y += 1;
            }
            if y > start && (y - start) as f32 <= 0.3 * bore {
                let reach = (0.25 * bore) as usize;
                spared[start.saturating_sub(reach)..(y + reach / 3).min(along)].fill(true);
            }
            y += 1;
        }
        let bottom = powder_rows.1.saturating_sub((0.25 * bore) as usize);
        spared[bottom.min(along)..].fill(true);
        let (mut area, mut solid) = (0usize, 0usize);
        for (i, (floor, within)) in self.floor.iter().zip(inside).enumerate() {
            let (x, y) = (i % across, i / across);
            if *within && central(x) && !spared[y] {
                area += 1;
                solid += usize::from(*floor > threshold);
            }
        }
        solid as f32 / area.max(1) as f32
    }
}

/// Follows what is solid from picture to picture: solid melts, floats and sinks, but does not appear
/// where there was clear liquid, as bubbles do.
#[derive(Debug, Default)]
pub(crate) struct Remaining {
    before: Option<(f64, Vec<bool>)>,
}

impl Remaining {
    /// Keep of `solid` what lies within reach of what was solid before; returns the number of samples.
    pub fn keep(&mut self, time_s: f64, mut solid: Vec<bool>, across: usize) -> usize {
        if let Some((before_s, before)) = &self.before {
            let reach = (REACH + REACH_PER_S * (time_s - before_s) as f32).min(across as f32);
            let near = crate::patch::dilated(before, across, reach.round() as usize);
            solid.iter_mut().zip(&near).for_each(|(s, n)| *s &= n);
        }
        let count = solid.iter().filter(|s| **s).count();
        self.before = Some((time_s, solid));
        count
    }
}
