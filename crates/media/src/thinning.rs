//! Which frames of a sequence a request means, the same for videos and folders of pictures.

use meltrange_reading::{Density, Region};

/// Slack on the limits of a request [s]: far below any frame spacing, above the rounding of times.
pub(crate) const TIME_TOLERANCE_S: f64 = 1e-6;

/// Containers round times to a millisecond; a frame early by that much still counts as spaced.
const ROUNDING_S: f64 = 1.5e-3;

/// Wide enough to mean "one frame only" [s], and still a plain number for ffmpeg.
const LONGEST_SPACING_S: f64 = 1e9;

/// Least spacing of a request.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Spacing {
    least_s: f64,
}

impl Spacing {
    pub fn of(density: Density) -> Self {
        let (Density::KeyFrames { spacing_s } | Density::Spaced { spacing_s }) = density;
        let slack_s = ROUNDING_S.min(0.01 * spacing_s);
        Self {
            least_s: if spacing_s > 0.0 {
                (spacing_s - slack_s).min(LONGEST_SPACING_S)
            } else {
                0.0
            },
        }
    }

    /// Least spacing less the rounding slack [s]; 0 means every frame.
    pub fn least_s(self) -> f64 {
        self.least_s
    }

    /// Whether a frame at `time_s` is far enough from the one delivered before.
    pub fn admits(self, time_s: f64, before_s: Option<f64>) -> bool {
        before_s.is_none_or(|before_s| time_s - before_s >= self.least_s)
    }
}

/// The part of `region` inside a picture; `None` when nothing is left.
pub(crate) fn clip_region(region: Region, width: usize, height: usize) -> Option<Region> {
    let clipped = Region {
        x: region.x,
        y: region.y,
        width: region.width.min(width.saturating_sub(region.x)),
        height: region.height.min(height.saturating_sub(region.y)),
    };
    (clipped.width > 0 && clipped.height > 0).then_some(clipped)
}
