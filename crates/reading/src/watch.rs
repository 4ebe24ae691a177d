//! From pictures to patches: the reference picture, the tubes in it, and each frame laid on it.

use crate::column::Grid;
use crate::frame::Frame;
use crate::image::{Plane, quantile, sample_luma};
use crate::steady::{Alignment, Motion, Steadier};
use crate::tubes::{Tubes, find_tubes};

/// Frames that make the reference picture.
pub(crate) const REFERENCE_FRAMES: usize = 5;
/// Share of agreeing points below which a frame does not show the scene.
const LEAST_AGREEING: f32 = 0.45;
/// Light beyond this range against the usual light: a black or blown-out frame, not a lamp change.
const GAIN_RANGE: (f32, f32) = (0.35, 2.8);
/// Sharpness against the reference below which grains cannot be told.
const LEAST_SHARPNESS: f32 = 0.45;
/// Share of a change of the glass above the powder that is taken over with each frame.
const ROOM_FOLLOWS: f32 = 0.2;
/// How much a sample above the powder may differ from the glass at the top of the patch, in contrasts.
const GLASS_LIKE: f32 = 0.25;
/// Change of glass and surroundings, in contrasts, that means something stands before a tube.
const COVERED: f32 = 0.22;

/// A picture kept for a while.
#[derive(Debug, Clone)]
pub(crate) struct KeptFrame {
    pub time_s: f64,
    pub width: usize,
    pub height: usize,
    pub luma: Vec<u8>,
}

impl KeptFrame {
    pub fn of(frame: &Frame<'_>) -> Self {
        Self {
            time_s: frame.time_s,
            width: frame.width,
            height: frame.height,
            luma: frame.luma.to_vec(),
        }
    }

    pub fn borrow(&self) -> Frame<'_> {
        Frame {
            time_s: self.time_s,
            width: self.width,
            height: self.height,
            luma: &self.luma,
        }
    }
}

/// Why a frame says nothing about a tube.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fitness {
    Good,
    /// Something stands before the tube or the picture is black, white or elsewhere.
    Covered,
    Blurred,
}

/// One frame laid on the reference.
#[derive(Debug, Clone)]
pub(crate) struct Seen {
    pub time_s: f64,
    pub alignment: Alignment,
    pub sharpness: f32,
    /// Per tube.
    pub patches: Vec<Vec<u8>>,
    pub fitness: Vec<Fitness>,
}

/// The scene as found, and the frame before.
pub(crate) struct Watch {
    pub scene: Tubes,
    pub grids: Vec<Grid>,
    steadier: Steadier,
    /// Look of the empty glass above the powder, following slow changes such as a sublimate.
    room_looks: Vec<Vec<f32>>,
    /// Which samples of that room show glass at the start: an uneven heap may stand in it.
    room_is_glass: Vec<Vec<usize>>,
    contrast: f32,
    size: (usize, usize),
    last: Alignment,
    usual_gain: f32,
    /// x, y, unit gradient, strength.
    edges: Vec<(f32, f32, f32, f32, f32)>,
    /// Sharpness of recent good frames; the reference, a mean, cannot say what one frame should have.
    usual_sharpness: Option<f32>,
}

impl Watch {
    /// Set up from the first pictures; `None` when no tube stands out in them.
    pub fn start(frames: &[KeptFrame], wanted: Option<usize>) -> Option<Self> {
        let reference = reference_of(frames)?;
        let scene = find_tubes(&reference, wanted)?;
        let tubes = scene.tubes.clone();
        let fixed = |x: usize, y: usize| {
            let (x, y) = (x as f32, y as f32);
            !tubes.iter().any(|t| {
                t.filled
                    && (x - t.axis_at(y)).abs() < 0.54 * t.bore_px
                    && y > t.top_y_px - 0.5 * t.bore_px
                    && y < t.bottom_y_px + 0.04 * t.bore_px
            })
        };
        let steadier = Steadier::new(&reference, &fixed);
        let grids: Vec<Grid> = scene.tubes.iter().map(Grid::new).collect();
        let bytes: Vec<u8> = reference
            .data
            .iter()
            .map(|v| v.round().clamp(0.0, 255.0) as u8)
            .collect();
        let still = Frame {
            time_s: 0.0,
            width: reference.width,
            height: reference.height,
            luma: &bytes,
        };
        let identity = Alignment {
            motion: Motion::default(),
            gain: 1.0,
            offset: 0.0,
            agreeing: 1.0,
        };
        let still_patches: Vec<Vec<u8>> = grids
            .iter()
            .map(|g| g.cut(&still, steadier.centre(), &identity))
            .collect();
        let contrast = scene_contrast(&scene, &grids, &still_patches);
        let room_looks = still_patches
            .iter()
            .map(|p| p.iter().map(|&v| f32::from(v)).collect())
            .collect();
        let room_is_glass = grids
            .iter()
            .zip(&still_patches)
            .map(|(grid, patch)| glass_above(grid, patch, GLASS_LIKE * contrast))
            .collect();
        let edges = strongest_edges(&reference.smoothed(1), &fixed);
        Some(Self {
            scene,
            grids,
            steadier,
            room_looks,
            room_is_glass,
            size: (reference.width, reference.height),
            contrast,
            last: identity,
            usual_gain: 1.0,
            edges,
            usual_sharpness: None,
        })
    }

    /// Whether a frame has the reference's size.
    pub fn accepts(&self, frame: &Frame<'_>) -> bool {
        (frame.width, frame.height) == self.size
    }

    /// Lay a frame on the reference and cut the patches.
    pub fn look(&mut self, frame: &Frame<'_>) -> Seen {
        let alignment = self.steadier.align(frame, &self.last);
        let lit = alignment.gain > GAIN_RANGE.0 * self.usual_gain
            && alignment.gain < GAIN_RANGE.1 * self.usual_gain;
        let found = alignment.agreeing >= LEAST_AGREEING && lit;
        if found {
            self.last = alignment;
            self.usual_gain += 0.1 * (alignment.gain - self.usual_gain);
        }
        let sharpness = if found {
            self.relative_sharpness(frame, &alignment)
        } else {
            1.0
        };
        let patches: Vec<Vec<u8>> = self
            .grids
            .iter()
            .map(|g| g.cut(frame, self.steadier.centre(), &alignment))
            .collect();
        let mut fitness = Vec::with_capacity(patches.len());
        for (k, patch) in patches.iter().enumerate() {
            fitness.push(if !found || self.is_covered(k, patch) {
                Fitness::Covered
            } else if sharpness < LEAST_SHARPNESS {
                Fitness::Blurred
            } else {
                Fitness::Good
            });
        }
        Seen {
            time_s: frame.time_s,
            alignment,
            sharpness,
            patches,
            fitness,
        }
    }

    /// Whether the empty glass above the powder looks quite different from the reference. The glass
    /// beside the powder is no witness: its look changes when the powder melts.
    fn is_covered(&mut self, tube: usize, patch: &[u8]) -> bool {
        let grid = &self.grids[tube];
        let room = grid.powder_rows.0.saturating_sub(3) * grid.across;
        let usual = &mut self.room_looks[tube][..room];
        let mut changes: Vec<f32> = self.room_is_glass[tube]
            .iter()
            .map(|&i| (f32::from(patch[i]) - usual[i]).abs())
            .collect();
        let covered = !changes.is_empty()
            && quantile(&mut changes, 0.6) > (COVERED * self.contrast).max(10.0);
        if !covered {
            for (then, &now) in usual.iter_mut().zip(&patch[..room]) {
                *then += ROOM_FOLLOWS * (f32::from(now) - *then);
            }
        }
        covered
    }

    fn relative_sharpness(&mut self, frame: &Frame<'_>, alignment: &Alignment) -> f32 {
        let now = self.sharpness(frame, alignment);
        let usual = self.usual_sharpness.get_or_insert(now);
        let relative = now / usual.max(1e-3);
        // Drift with the slow change of the scene, quickly towards sharper, never towards a focus hunt.
        if relative > 1.0 {
            *usual += 0.2 * (now - *usual);
        } else if relative > 0.8 {
            *usual += 0.02 * (now - *usual);
        }
        relative
    }

    /// Mean steepness across the scene's strongest fixed edges against the reference's.
    fn sharpness(&self, frame: &Frame<'_>, alignment: &Alignment) -> f32 {
        let centre = self.steadier.centre();
        let (mut now, mut then) = (0.0, 0.0);
        for &(x, y, ux, uy, strength) in &self.edges {
            let at = |s: f32| {
                let (fx, fy) = alignment.motion.apply(centre, x + s * ux, y + s * uy);
                sample_luma(frame.luma, frame.width, frame.height, fx, fy)
            };
            now += 0.5 * (at(1.0) - at(-1.0)) / alignment.gain.max(0.05);
            then += strength;
        }
        if then > 0.0 { now / then } else { 1.0 }
    }
}

/// Mean of the first frames laid on the sharpest of them.
fn reference_of(frames: &[KeptFrame]) -> Option<Plane> {
    let energies: Vec<f32> = frames
        .iter()
        .map(|f| gradient_energy(&f.borrow()))
        .collect();
    let (base, _) = energies
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(b.1))?;
    let base_plane = Plane::from_luma(frames[base].width, frames[base].height, &frames[base].luma);
    let (w, h) = (base_plane.width, base_plane.height);
    if w < 16 || h < 16 {
        return None;
    }
    let steadier = Steadier::new(&base_plane, &|_, _| true);
    let identity = Alignment {
        motion: Motion::default(),
        gain: 1.0,
        offset: 0.0,
        agreeing: 1.0,
    };
    let mut sum = base_plane.clone();
    let mut count = 1.0;
    for (i, frame) in frames.iter().enumerate() {
        if i == base || (frame.width, frame.height) != (w, h) {
            continue;
        }
        let laid = steadier.align(&frame.borrow(), &identity);
        if laid.agreeing < 0.7 || !(0.5..2.0).contains(&laid.gain) {
            continue;
        }
        for y in 0..h {
            for x in 0..w {
                let (fx, fy) = laid.motion.apply(steadier.centre(), x as f32, y as f32);
                sum.data[y * w + x] +=
                    (sample_luma(&frame.luma, w, h, fx, fy) - laid.offset) / laid.gain;
            }
        }
        count += 1.0;
    }
    sum.data.iter_mut().for_each(|v| *v /= count);
    Some(sum)
}

fn gradient_energy(frame: &Frame<'_>) -> f32 {
    let mut sum = 0.0;
    for y in (2..frame.height.saturating_sub(2)).step_by(3) {
        for x in (2..frame.width.saturating_sub(2)).step_by(3) {
            let i = y * frame.width + x;
            let dx = f32::from(frame.luma[i + 1]) - f32::from(frame.luma[i - 1]);
            let dy =
                f32::from(frame.luma[i + frame.width]) - f32::from(frame.luma[i - frame.width]);
            sum += (dx * dx + dy * dy).min(2500.0);
        }
    }
    sum
}

/// Samples above the powder that look like the glass at the top of the patch, within `tolerance`.
fn glass_above(grid: &Grid, patch: &[u8], tolerance: f32) -> Vec<usize> {
    let rows = grid.powder_rows.0.saturating_sub(3);
    let profile: Vec<f32> = (0..grid.across)
        .map(|x| {
            let mut values: Vec<f32> = (0..rows.div_ceil(2))
                .map(|y| f32::from(patch[y * grid.across + x]))
                .collect();
            quantile(&mut values, 0.5)
        })
        .collect();
    (0..rows * grid.across)
        .filter(|&i| (f32::from(patch[i]) - profile[i % grid.across]).abs() < tolerance)
        .collect()
}

/// Typical difference between powder and empty glass.
fn scene_contrast(scene: &Tubes, grids: &[Grid], patches: &[Vec<u8>]) -> f32 {
    let mut contrasts: Vec<f32> = grids
        .iter()
        .zip(patches)
        .zip(&scene.tubes)
        .filter(|(_, tube)| tube.filled)
        .map(|((grid, patch), _)| grid.contrast(patch))
        .collect();
    quantile(&mut contrasts, 0.5)
}

fn strongest_edges(
    reference: &Plane,
    fixed: &dyn Fn(usize, usize) -> bool,
) -> Vec<(f32, f32, f32, f32, f32)> {
    let mut edges = Vec::new();
    for y in (3..reference.height.saturating_sub(3)).step_by(2) {
        for x in (3..reference.width.saturating_sub(3)).step_by(2) {
            if fixed(x, y) {
                let (gx, gy) = reference.gradient(x, y);
                let strength = gx.hypot(gy);
                if strength > 2.0 {
                    edges.push((x as f32, y as f32, gx / strength, gy / strength, strength));
                }
            }
        }
    }
    edges.sort_by(|a, b| b.4.total_cmp(&a.4));
    edges.truncate(300);
    edges
}
