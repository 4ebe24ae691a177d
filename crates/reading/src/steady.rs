//! Steadying: where did the reference picture go in this frame, and how did the light change?
//!
//! Least squares over well-structured points of the unchanging parts (glass, window, background):
//! frame(W(p)) ≈ gain · reference(p) + offset, W a similarity about the picture centre.
//! Gauss–Newton with the reference's gradients and Tukey weights
//! (B. D. Lucas, T. Kanade, IJCAI 1981; S. Baker, I. Matthews, Int. J. Comput. Vis. 56 (2004) 221).

use crate::frame::Frame;
use crate::image::{Plane, quantile, sample_luma, shrink_luma};

/// Points used for the fit; more gain nothing visible.
const MAX_POINTS: usize = 1600;
/// Iterations until a fit is given up as it stands.
const MAX_ITERATIONS: usize = 12;
/// An update that moves no point further than this [px] ends the iteration.
const CONVERGED_PX: f32 = 0.01;
/// Weight of "no offset" against one point's evidence.
const OFFSET_PULL: f64 = 0.3;
/// Block size for the coarse search.
const COARSE_FACTOR: usize = 4;

/// Similarity from reference to frame coordinates, about the picture centre.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Motion {
    pub dx_px: f32,
    pub dy_px: f32,
    pub rotation_rad: f32,
    pub zoom: f32,
}

impl Motion {
    /// `frame_from_reference`.
    pub fn apply(&self, centre: (f32, f32), x: f32, y: f32) -> (f32, f32) {
        let (rx, ry) = (x - centre.0, y - centre.1);
        let (s, c) = self.rotation_rad.sin_cos();
        let scale = 1.0 + self.zoom;
        (
            centre.0 + self.dx_px + scale * (c * rx - s * ry),
            centre.1 + self.dy_px + scale * (s * rx + c * ry),
        )
    }
}

/// How a frame lies on the reference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Alignment {
    pub motion: Motion,
    pub gain: f32,
    pub offset: f32,
    /// Share of the points that agree with the fit, 0..1.
    pub agreeing: f32,
}

#[derive(Debug, Clone, Copy)]
struct Point {
    x: f32,
    y: f32,
    value: f32,
    gx: f32,
    gy: f32,
}

/// The reference picture, reduced to points worth following.
#[derive(Debug, Clone)]
pub(crate) struct Steadier {
    points: Vec<Point>,
    coarse: Plane,
    coarse_mask: Vec<bool>,
    centre: (f32, f32),
    /// Scale of what counts as agreeing [luma].
    tolerance: f32,
}

impl Steadier {
    /// `reference`: the picture all others are laid on; `fixed(x, y)`: whether that pixel belongs
    /// to what does not change.
    pub fn new(reference: &Plane, fixed: &dyn Fn(usize, usize) -> bool) -> Self {
        let smooth = reference.smoothed(1);
        let (w, h) = (smooth.width, smooth.height);
        // Spread the points: the strongest gradients of each cell, so that one bright edge does not take them all.
        let cell_px = ((w * h) as f32 / 400.0).sqrt().max(4.0) as usize;
        let per_cell = MAX_POINTS.div_ceil(400).max(4);
        let mut points = Vec::new();
        let mut cell_points: Vec<(f32, Point)> = Vec::new();
        for cy in (2..h.saturating_sub(2)).step_by(cell_px) {
            for cx in (2..w.saturating_sub(2)).step_by(cell_px) {
                cell_points.clear();
                for y in cy..(cy + cell_px).min(h - 2) {
                    for x in cx..(cx + cell_px).min(w - 2) {
                        if !fixed(x, y) {
                            continue;
                        }
                        let (gx, gy) = smooth.gradient(x, y);
                        let point = Point {
                            x: x as f32,
                            y: y as f32,
                            value: smooth.at(x, y),
                            gx,
                            gy,
                        };
                        cell_points.push((gx * gx + gy * gy, point));
                    }
                }
                cell_points.sort_by(|a, b| b.0.total_cmp(&a.0));
                points.extend(cell_points.iter().take(per_cell * 3).map(|&(_, p)| p));
            }
        }
        points.sort_by(|a, b| {
            (b.gx.powi(2) + b.gy.powi(2)).total_cmp(&(a.gx.powi(2) + a.gy.powi(2)))
        });
        points.truncate(MAX_POINTS);
        let bytes: Vec<u8> = reference
            .data
            .iter()
            .map(|&v| v.clamp(0.0, 255.0) as u8)
            .collect();
        let coarse = shrink_luma(&bytes, w, h, COARSE_FACTOR);
        let coarse_mask = (0..coarse.data.len())
            .map(|i| {
                let (x, y) = (i % coarse.width, i / coarse.width);
                fixed(
                    x * COARSE_FACTOR + COARSE_FACTOR / 2,
                    y * COARSE_FACTOR + COARSE_FACTOR / 2,
                )
            })
            .collect();
        let mut strengths: Vec<f32> = points
            .iter()
            .map(|p| (p.gx.powi(2) + p.gy.powi(2)).sqrt())
            .collect();
        let typical_gradient = quantile(&mut strengths, 0.5);
        Self {
            points,
            coarse,
            coarse_mask,
            centre: (w as f32 / 2.0, h as f32 / 2.0),
            tolerance: (0.6 * typical_gradient).clamp(4.0, 20.0),
        }
    }

    pub fn centre(&self) -> (f32, f32) {
        self.centre
    }

    /// Lay a frame on the reference, starting from where the last one lay.
    pub fn align(&self, frame: &Frame<'_>, start: &Alignment) -> Alignment {
        let near = self.refine(frame, *start);
        if near.agreeing >= 0.7 {
            return near;
        }
        // Lost: look around coarsely, from the last place and from the reference's own.
        let coarse = shrink_luma(frame.luma, frame.width, frame.height, COARSE_FACTOR);
        let found = self.search(&coarse);
        let far = self.refine(
            frame,
            Alignment {
                motion: found,
                gain: 1.0,
                offset: 0.0,
                agreeing: 0.0,
            },
        );
        if far.agreeing > near.agreeing {
            far
        } else {
            near
        }
    }

    /// Translation with the best normalised correlation of the coarse pictures.
    fn search(&self, frame: &Plane) -> Motion {
        let reach = (self.coarse.width / 5).max(2) as isize;
        let mut best = (f32::MIN, 0isize, 0isize);
        let mut step = 2;
        let (mut cx, mut cy, mut span) = (0isize, 0isize, reach);
        while step >= 1 {
            let mut dy = cy - span;
            while dy <= cy + span {
                let mut dx = cx - span;
                while dx <= cx + span {
                    let score = self.correlation(frame, dx, dy);
                    if score > best.0 {
                        best = (score, dx, dy);
                    }
                    dx += step;
                }
                dy += step;
            }
            (cx, cy, span) = (best.1, best.2, 2);
            step -= 1;
        }
        Motion {
            dx_px: (best.1 * COARSE_FACTOR as isize) as f32,
            dy_px: (best.2 * COARSE_FACTOR as isize) as f32,
            ..Motion::default()
        }
    }

    fn correlation(&self, frame: &Plane, dx: isize, dy: isize) -> f32 {
        let (w, h) = (self.coarse.width as isize, self.coarse.height as isize);
        let (mut n, mut sa, mut sb, mut saa, mut sbb, mut sab) =
            (0f32, 0f32, 0f32, 0f32, 0f32, 0f32);
        for y in (0..h).step_by(2) {
            let fy = y + dy;
            if fy < 0 || fy >= h.min(frame.height as isize) {
                continue;
            }
            for x in 0..w {
                let fx = x + dx;
                let i = (y * w + x) as usize;
                if fx < 0 || fx >= w.min(frame.width as isize) || !self.coarse_mask[i] {
                    continue;
                }
                let (a, b) = (self.coarse.data[i], frame.at(fx as usize, fy as usize));
                n += 1.0;
                sa += a;
                sb += b;
                saa += a * a;
                sbb += b * b;
                sab += a * b;
            }
        }
        if n < 0.3 * self.coarse.data.len() as f32 * 0.5 {
            return f32::MIN;
        }
        let (va, vb) = (saa - sa * sa / n, sbb - sb * sb / n);
        (sab - sa * sb / n) / (va * vb).max(1e-6).sqrt()
    }

    fn refine(&self, frame: &Frame<'_>, start: Alignment) -> Alignment {
        let mut now = start;
        let reach = 0.5 * self.centre.0.max(self.centre.1);
        let mut residuals = vec![0.0f32; self.points.len()];
        let mut tolerance = self.tolerance * 2.0;
        for _ in 0..MAX_ITERATIONS {
            self.residuals(frame, &now, &mut residuals);
            let mut sizes: Vec<f32> = residuals
                .iter()
                .filter(|r| r.is_finite())
                .map(|r| r.abs())
                .collect();
            let spread = 1.4826 * quantile(&mut sizes, 0.5);
            tolerance = (3.0 * spread).clamp(self.tolerance, tolerance.max(self.tolerance));
            let Some(step) = self.solve(&residuals, tolerance, &now, reach) else {
                break;
            };
            now.motion.dx_px += step[0];
            now.motion.dy_px += step[1];
            now.motion.rotation_rad += step[2] / reach;
            now.motion.zoom += step[3] / reach;
            now.gain = (now.gain + step[4] / 100.0).clamp(0.05, 20.0);
            now.offset += step[5];
            let moved = step[..4].iter().fold(0.0f32, |m, s| m.max(s.abs()));
            if moved < CONVERGED_PX && step[4].abs() < 0.5 {
                break;
            }
        }
        self.residuals(frame, &now, &mut residuals);
        let limit = self.tolerance * now.gain.clamp(0.5, 2.0);
        let agreeing = residuals.iter().filter(|r| r.abs() < limit).count();
        now.agreeing = agreeing as f32 / self.points.len().max(1) as f32;
        now
    }

    fn residuals(&self, frame: &Frame<'_>, now: &Alignment, out: &mut [f32]) {
        let (w, h) = (frame.width as f32, frame.height as f32);
        for (point, residual) in self.points.iter().zip(out) {
            let (x, y) = now.motion.apply(self.centre, point.x, point.y);
            *residual = if x < 0.0 || y < 0.0 || x > w - 1.0 || y > h - 1.0 {
                f32::NAN
            } else {
                sample_luma(frame.luma, frame.width, frame.height, x, y)
                    - now.gain * point.value
                    - now.offset
            };
        }
    }

    /// One Gauss–Newton step: (dx, dy, rotation·reach, zoom·reach) in px, gain in %, offset.
    fn solve(
        &self,
        residuals: &[f32],
        tolerance: f32,
        now: &Alignment,
        reach: f32,
    ) -> Option<[f32; 6]> {
        let mut normal = [[0.0f64; 6]; 6];
        let mut right = [0.0f64; 6];
        for (point, &residual) in self.points.iter().zip(residuals) {
            let ratio = residual / tolerance;
            if residual.is_nan() || ratio.abs() >= 1.0 {
                continue;
            }
            let weight = f64::from((1.0 - ratio * ratio).powi(2));
            let (rx, ry) = (
                (point.x - self.centre.0) / reach,
                (point.y - self.centre.1) / reach,
            );
            let (gx, gy) = (point.gx * now.gain, point.gy * now.gain);
            let row = [
                gx,
                gy,
                gy * rx - gx * ry,
                gx * rx + gy * ry,
                -point.value / 100.0,
                -1.0,
            ]
            .map(f64::from);
            for i in 0..6 {
                for j in i..6 {
                    normal[i][j] += weight * row[i] * row[j];
                }
                right[i] -= weight * row[i] * f64::from(residual);
            }
        }
        // Flare lifts the black level a little; more than that is a change of the lamp, which dark
        // scenes could not tell from an offset without this pull towards none.
        let pull = OFFSET_PULL * self.points.len() as f64;
        normal[5][5] += pull;
        right[5] -= pull * f64::from(now.offset);
        // A little damping: parameters that the picture cannot tell stay where they are.
        let n = self.points.len() as f64;
        for (i, damping) in [0.02, 0.02, 0.05, 0.05, 1e-4, 1e-3].into_iter().enumerate() {
            normal[i][i] += damping * n;
        }
        for i in 0..6 {
            let upper: [f64; 6] = std::array::from_fn(|j| normal[j.min(i)][j.max(i)]);
            normal[i] = upper;
        }
        let step = solve6(normal, right)?;
        Some(step.map(|v| v as f32))
    }
}

/// Gaussian elimination with partial pivoting; `None` when singular.
fn solve6(mut a: [[f64; 6]; 6], mut b: [f64; 6]) -> Option<[f64; 6]> {
    for col in 0..6 {
        let pivot = (col..6).max_by(|&i, &j| a[i][col].abs().total_cmp(&a[j][col].abs()))?;
        if a[pivot][col].abs() < 1e-12 {
            return None;
        }
        a.swap(col, pivot);
        b.swap(col, pivot);
        for row in col + 1..6 {
            let factor = a[row][col] / a[col][col];
            let above = a[col];
            for (cell, value) in a[row][col..].iter_mut().zip(&above[col..]) {
                *cell -= factor * value;
            }
            b[row] -= factor * b[col];
        }
    }
    for row in (0..6).rev() {
        let sum: f64 = (row + 1..6).map(|k| a[row][k] * b[k]).sum();
        b[row] = (b[row] - sum) / a[row][row];
    }
    Some(b)
}
