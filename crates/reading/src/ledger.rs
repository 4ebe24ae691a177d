//! Bookkeeping of what was cleared: which part of it is liquid, and which is powder that moved.

use std::collections::VecDeque;

use crate::image::quantile;
use crate::powder::MAIN_CUE;

/// Frames whose median stands for "now" when the account is held.
const MEDIAN_FRAMES: usize = 5;
/// Frames after anchoring in which the noise's own count is learnt.
const LEARNING_FRAMES: usize = 8;
/// Frames straight after anchoring that show noise whatever their count: dim powder has much of it.
const SURELY_NOISE_FRAMES: usize = 2;
/// Clearing beyond what was learnt so far that is too much for noise.
const TOO_MUCH_FOR_NOISE: f32 = 0.02;
/// Cleared share from which drifting no longer explains clearing.
const DRIFT_EXPLAINS: f32 = 0.025;
/// Apparent clearing that each sample of drift may add.
const EXPLAINED_PER_SAMPLE: f32 = 0.006;

/// What the grains were doing in a frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum GrainMotion {
    Still,
    /// Moving steadily; how far they have gone since the anchor [samples].
    Drifting {
        distance: f32,
    },
    /// Sliding, or not yet at rest after it.
    Sliding,
}

/// The account of one column, per cue.
#[derive(Debug, Clone, Default)]
pub(crate) struct Ledger {
    raw: VecDeque<[f32; 3]>,
    shown: VecDeque<[f32; 3]>,
    carry: [f32; 3],
    zero: [f32; 3],
    noise: [f32; 3],
    learnt: usize,
    held: Option<[f32; 3]>,
    blind: bool,
}

impl Ledger {
    /// Enter what a frame shows cleared against the anchor; returns what counts as liquid so far.
    pub fn enter(&mut self, cleared: [f32; 3], motion: GrainMotion) -> [f32; 3] {
        keep(&mut self.raw, cleared);
        let now = median(&self.raw);
        let account = |zero: &[f32; 3], cleared: &[f32; 3]| -> [f32; 3] {
            std::array::from_fn(|i| self.carry[i] + cleared[i] - zero[i])
        };
        self.blind = true;
        let like_noise = cleared[MAIN_CUE] - self.noise[MAIN_CUE] < TOO_MUCH_FOR_NOISE;
        if self.learnt < SURELY_NOISE_FRAMES || self.learnt < LEARNING_FRAMES && like_noise {
            self.learnt += 1;
            for (noise, now) in self.noise.iter_mut().zip(cleared) {
                *noise += (now - *noise) / self.learnt as f32;
            }
            self.zero = self.noise;
            return self.show(self.carry);
        }
        let so_far = self.held.unwrap_or_else(|| median(&self.shown));
        let hold = match motion {
            GrainMotion::Still => false,
            GrainMotion::Sliding => true,
            GrainMotion::Drifting { distance } => {
                let explained =
                    self.carry[MAIN_CUE] + now[MAIN_CUE] - so_far[MAIN_CUE] - self.noise[MAIN_CUE];
                so_far[MAIN_CUE] < DRIFT_EXPLAINS
                    && explained < DRIFT_EXPLAINS + EXPLAINED_PER_SAMPLE * distance
            }
        };
        if hold {
            self.held = Some(so_far);
            self.zero = std::array::from_fn(|i| self.carry[i] + now[i] - so_far[i]);
            self.show(so_far)
        } else {
            self.held = None;
            self.blind = false;
            let free = account(&self.zero, &cleared);
            self.show(free)
        }
    }

    /// A new anchor: what counts so far is carried, the comparison starts afresh.
    pub fn carry_over(&mut self) {
        self.carry = self.held.unwrap_or_else(|| median(&self.shown));
        self.held = None;
        self.zero = [0.0; 3];
        self.noise = [0.0; 3];
        self.learnt = 0;
        self.raw.clear();
    }

    /// Whether liquid that came with the last entry could not count: noise was learnt, or the account held.
    pub fn is_blind(&self) -> bool {
        self.blind
    }

    /// Share that counts as liquid now, middle cue, noise smoothed out.
    pub fn liquid(&self) -> f32 {
        self.held.unwrap_or_else(|| median(&self.shown))[MAIN_CUE]
    }

    fn show(&mut self, value: [f32; 3]) -> [f32; 3] {
        keep(&mut self.shown, value);
        value
    }
}

fn keep(queue: &mut VecDeque<[f32; 3]>, value: [f32; 3]) {
    queue.push_back(value);
    if queue.len() > MEDIAN_FRAMES {
        queue.pop_front();
    }
}

fn median(queue: &VecDeque<[f32; 3]>) -> [f32; 3] {
    std::array::from_fn(|i| {
        let mut values: Vec<f32> = queue.iter().map(|v| v[i]).collect();
        quantile(&mut values, 0.5)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn feed(ledger: &mut Ledger, values: &[f32], motion: GrainMotion) -> f32 {
        values
            .iter()
            .fold(0.0, |_, &v| ledger.enter([v; 3], motion)[1])
    }

    #[test]
    fn noise_is_learnt_and_liquid_counts_from_there() {
        let mut ledger = Ledger::default();
        feed(&mut ledger, &[0.004; 8], GrainMotion::Still);
        let shown = feed(
            &mut ledger,
            &[0.004, 0.008, 0.014, 0.024],
            GrainMotion::Still,
        );
        assert!((shown - 0.020).abs() < 1e-5, "{shown}");
    }

    #[test]
    fn much_noise_is_noise_too() {
        let mut ledger = Ledger::default();
        let shown = feed(&mut ledger, &[0.03; 12], GrainMotion::Still);
        assert!(shown.abs() < 1e-5, "{shown}");
    }

    #[test]
    fn a_slide_does_not_count_and_what_was_liquid_is_kept() {
        let mut ledger = Ledger::default();
        feed(&mut ledger, &[0.0; 8], GrainMotion::Still);
        feed(&mut ledger, &[0.006; 6], GrainMotion::Still);
        let held = feed(&mut ledger, &[0.15; 4], GrainMotion::Sliding);
        assert!((held - 0.006).abs() < 1e-5, "{held}");
        ledger.carry_over();
        feed(&mut ledger, &[0.001; 8], GrainMotion::Still);
        let after = feed(&mut ledger, &[0.005; 3], GrainMotion::Still);
        assert!((after - 0.010).abs() < 1e-5, "{after}");
    }

    #[test]
    fn drift_explains_no_more_than_it_can() {
        let mut ledger = Ledger::default();
        feed(&mut ledger, &[0.0; 8], GrainMotion::Still);
        let slow = feed(
            &mut ledger,
            &[0.02; 6],
            GrainMotion::Drifting { distance: 2.0 },
        );
        assert!(slow.abs() < 1e-5);
        let much = feed(
            &mut ledger,
            &[0.2; 6],
            GrainMotion::Drifting { distance: 2.0 },
        );
        assert!(much > 0.15, "{much}");
    }
}
