//! One tube's column, laid straight: patches of the same size whatever the camera did.

use crate::frame::Frame;
use crate::image::{quantile, sample_luma};
use crate::steady::Alignment;
use crate::tubes::Tube;

/// Widest patch across the bore; wider bores are averaged down.
const MAX_ACROSS: usize = 40;
/// Margin on either side of the bore, in bores: shows the wall.
pub(crate) const MARGIN_ACROSS: f32 = 0.08;
/// Room above the powder, in bores.
const ROOM_ABOVE: f32 = 0.35;
/// Room below the sealed bottom, in bores.
const ROOM_BELOW: f32 = 0.04;

/// Where a patch samples the reference picture.
#[derive(Debug, Clone)]
pub(crate) struct Grid {
    /// Samples across and along; row 0 is the top.
    pub across: usize,
    pub along: usize,
    /// Reference pixels per sample.
    pub step_px: f32,
    /// First row of the powder and one past the last, in samples.
    pub powder_rows: (usize, usize),
    points: Vec<(f32, f32)>,
    supersample: bool,
}

impl Grid {
    pub fn new(tube: &Tube) -> Self {
        let step_px = (tube.bore_px / MAX_ACROSS as f32).max(1.0);
        let width_px = tube.bore_px * (1.0 + 2.0 * MARGIN_ACROSS);
        let top = tube.top_y_px - ROOM_ABOVE * tube.bore_px;
        let bottom = tube.bottom_y_px + ROOM_BELOW * tube.bore_px;
        let across = (width_px / step_px).ceil() as usize;
        let along = ((bottom - top) / step_px).ceil() as usize;
        let mut points = Vec::with_capacity(across * along);
        for row in 0..along {
            let y = top + (row as f32 + 0.5) * step_px;
            let axis = tube.axis_at(y);
            for col in 0..across {
                let u = (col as f32 + 0.5 - across as f32 / 2.0) * step_px;
                points.push((axis + u, y));
            }
        }
        let row_of = |y: f32| ((y - top) / step_px).round().clamp(0.0, along as f32) as usize;
        Self {
            across,
            along,
            step_px,
            powder_rows: (row_of(tube.top_y_px), row_of(tube.bottom_y_px)),
            points,
            supersample: step_px > 1.4,
        }
    }

    /// The patch of one frame, brought to the reference's light, 0..=255.
    pub fn cut(&self, frame: &Frame<'_>, centre: (f32, f32), alignment: &Alignment) -> Vec<u8> {
        let scale = 1.0 / alignment.gain.max(0.05);
        self.points
            .iter()
            .map(|&(x, y)| {
                let raw = if self.supersample {
                    let h = 0.25 * self.step_px;
                    let mut sum = 0.0;
                    for (ox, oy) in [(-h, -h), (h, -h), (-h, h), (h, h)] {
                        let (fx, fy) = alignment.motion.apply(centre, x + ox, y + oy);
                        sum += sample_luma(frame.luma, frame.width, frame.height, fx, fy);
                    }
                    0.25 * sum
                } else {
                    let (fx, fy) = alignment.motion.apply(centre, x, y);
                    sample_luma(frame.luma, frame.width, frame.height, fx, fy)
                };
                ((raw - alignment.offset) * scale + 0.5).clamp(0.0, 255.0) as u8
            })
            .collect()
    }

    /// Difference between the lower half of the powder and the empty glass above it [luma].
    pub fn contrast(&self, patch: &[u8]) -> f32 {
        let middle_of = |rows: std::ops::Range<usize>| {
            let mut values: Vec<f32> = patch[rows.start * self.across..rows.end * self.across]
                .iter()
                .map(|&v| f32::from(v))
                .collect();
            quantile(&mut values, 0.5)
        };
        let (top, bottom) = self.powder_rows;
        let middle = (top + bottom) / 2;
        (middle_of(middle..bottom.max(middle + 1)) - middle_of(0..top.saturating_sub(2).max(1)))
            .abs()
    }
}
