//! Following the powder: a smooth displacement of the column's grains between an anchor patch and now.
//!
//! Displacements stand at a coarse net of knots, bilinear between them; Gauss–Newton with Tukey
//! weights so that spots which turned liquid do not pull the grains along, and a small stiffness
//! that keeps parts without texture with their neighbours.

/// Knots across and along the column.
pub(crate) const KNOTS_ACROSS: usize = 3;
pub(crate) const KNOTS_ALONG: usize = 6;
const KNOTS: usize = KNOTS_ACROSS * KNOTS_ALONG;
const PARAMETERS: usize = 2 * KNOTS;
const MAX_ITERATIONS: usize = 6;
/// A step below this [samples] ends the iteration.
const CONVERGED: f32 = 0.02;
/// Stiffness against neighbours, in mean diagonals of the normal matrix.
const STIFFNESS: f32 = 0.06;
/// Pull towards the anchor's own place, likewise.
const HOMING: f32 = 0.001;

/// Displacement of the knots [samples]: first across, then along.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Warp {
    knots: [f32; PARAMETERS],
}

impl Default for Warp {
    fn default() -> Self {
        Self {
            knots: [0.0; PARAMETERS],
        }
    }
}

impl Warp {
    /// Mean displacement of the top row of knots along the column [samples], downwards positive.
    pub fn top_drop(&self) -> f32 {
        self.knots[KNOTS..KNOTS + KNOTS_ACROSS].iter().sum::<f32>() / KNOTS_ACROSS as f32
    }

    /// How far the top came down towards the bottom [samples].
    pub fn compaction(&self) -> f32 {
        let bottom =
            self.knots[PARAMETERS - KNOTS_ACROSS..].iter().sum::<f32>() / KNOTS_ACROSS as f32;
        self.top_drop() - bottom
    }

    /// Mean narrowing of the column: right edge's displacement less the left's [samples], negative when it narrows.
    pub fn widening(&self) -> f32 {
        (0..KNOTS_ALONG)
            .map(|i| self.knots[i * KNOTS_ACROSS + KNOTS_ACROSS - 1] - self.knots[i * KNOTS_ACROSS])
            .sum::<f32>()
            / KNOTS_ALONG as f32
    }

    fn at(&self, p: &WarpPoint) -> (f32, f32) {
        let (mut dx, mut dy) = (0.0, 0.0);
        for (&k, &w) in p.knots.iter().zip(&p.weights) {
            dx += w * self.knots[k as usize];
            dy += w * self.knots[KNOTS + k as usize];
        }
        (dx, dy)
    }
}

/// A sample of the anchor that is followed.
#[derive(Debug, Clone, Copy)]
pub(crate) struct WarpPoint {
    x: f32,
    y: f32,
    value: f32,
    gx: f32,
    gy: f32,
    knots: [u8; 4],
    weights: [f32; 4],
}

/// The followed samples of an anchor patch.
#[derive(Debug, Clone)]
pub(crate) struct WarpNet {
    points: Vec<WarpPoint>,
    across: usize,
    along: usize,
    contrast: f32,
}

impl WarpNet {
    /// `anchor`: smoothed patch `along × across`; `inside`: which samples belong to the powder.
    pub fn new(
        anchor: &[f32],
        inside: &[bool],
        across: usize,
        along: usize,
        contrast: f32,
    ) -> Self {
        let rows = (0..along).filter(|&y| inside[y * across..(y + 1) * across].contains(&true));
        let (first, last) = (
            rows.clone().min().unwrap_or(0),
            rows.max().unwrap_or(along - 1),
        );
        let span = (last - first).max(1) as f32;
        let mut points = Vec::new();
        for y in 0..along {
            for x in 0..across {
                if !inside[y * across + x] {
                    continue;
                }
                let v =
                    ((y as f32 - first as f32) / span).clamp(0.0, 1.0) * (KNOTS_ALONG - 1) as f32;
                let u = x as f32 / (across - 1).max(1) as f32 * (KNOTS_ACROSS - 1) as f32;
                let (i, fu) = (u.floor().min((KNOTS_ACROSS - 2) as f32), u);
                let (j, fv) = (v.floor().min((KNOTS_ALONG - 2) as f32), v);
                let (fu, fv) = (fu - i, fv - j);
                let base = j as usize * KNOTS_ACROSS + i as usize;
                let get =
                    |xx: usize, yy: usize| anchor[yy.min(along - 1) * across + xx.min(across - 1)];
                points.push(WarpPoint {
                    x: x as f32,
                    y: y as f32,
                    value: anchor[y * across + x],
                    gx: 0.5 * (get(x + 1, y) - get(x.saturating_sub(1), y)),
                    gy: 0.5 * (get(x, y + 1) - get(x, y.saturating_sub(1))),
                    knots: [base, base + 1, base + KNOTS_ACROSS, base + KNOTS_ACROSS + 1]
                        .map(|k| k as u8),
                    weights: [
                        (1.0 - fu) * (1.0 - fv),
                        fu * (1.0 - fv),
                        (1.0 - fu) * fv,
                        fu * fv,
                    ],
                });
            }
        }
        Self {
            points,
            across,
            along,
            contrast,
        }
    }

    /// Follow the grains into `patch` (smoothed like the anchor), from where they were last.
    pub fn follow(&self, patch: &[f32], start: &Warp) -> Warp {
        let mut warp = *start;
        let mut values = vec![0.0f32; self.points.len()];
        for _ in 0..MAX_ITERATIONS {
            self.sample_into(patch, &warp, &mut values);
            let (mut vs, mut ss) = (0.0f32, 1e-6f32);
            for (p, v) in self.points.iter().zip(&values) {
                vs += v * p.value;
                ss += p.value * p.value;
            }
            let gain = vs / ss;
            let mut residuals: Vec<f32> = self
                .points
                .iter()
                .zip(&values)
                .map(|(p, v)| v - gain * p.value)
                .collect();
            let middle = crate::image::quantile(&mut residuals.clone(), 0.5);
            residuals.iter_mut().for_each(|r| *r -= middle);
            let mut sizes: Vec<f32> = residuals.iter().map(|r| r.abs()).collect();
            let tolerance =
                3.0 * (1.4826 * crate::image::quantile(&mut sizes, 0.5)).max(0.03 * self.contrast);
            let Some(step) = self.step(&residuals, gain, tolerance, &warp) else {
                break;
            };
            let mut moved = 0.0f32;
            for (knot, s) in warp.knots.iter_mut().zip(&step) {
                let s = s.clamp(-2.0, 2.0);
                *knot += s;
                moved = moved.max(s.abs());
            }
            if moved < CONVERGED {
                break;
            }
        }
        warp
    }

    fn step(
        &self,
        residuals: &[f32],
        gain: f32,
        tolerance: f32,
        warp: &Warp,
    ) -> Option<[f32; PARAMETERS]> {
        let mut normal = vec![0.0f64; PARAMETERS * PARAMETERS];
        let mut right = [0.0f64; PARAMETERS];
        for (p, &r) in self.points.iter().zip(residuals) {
            let ratio = r / tolerance;
            if ratio.abs() >= 1.0 {
                continue;
            }
            let weight = (1.0 - ratio * ratio).powi(2);
            let (gx, gy) = (gain * p.gx, gain * p.gy);
            for a in 0..4 {
                let (ka, wa) = (p.knots[a] as usize, weight * p.weights[a]);
                right[ka] -= f64::from(wa * gx * r);
                right[KNOTS + ka] -= f64::from(wa * gy * r);
                for b in 0..4 {
                    let (kb, wab) = (p.knots[b] as usize, wa * p.weights[b]);
                    normal[ka * PARAMETERS + kb] += f64::from(wab * gx * gx);
                    normal[ka * PARAMETERS + KNOTS + kb] += f64::from(wab * gx * gy);
                    normal[(KNOTS + ka) * PARAMETERS + KNOTS + kb] += f64::from(wab * gy * gy);
                }
            }
        }
        for i in 0..KNOTS {
            for j in 0..KNOTS {
                normal[(KNOTS + j) * PARAMETERS + i] = normal[i * PARAMETERS + KNOTS + j];
            }
        }
        let mean = (0..PARAMETERS)
            .map(|i| normal[i * PARAMETERS + i])
            .sum::<f64>()
            / PARAMETERS as f64;
        let (stiff, homing) = (f64::from(STIFFNESS) * mean, f64::from(HOMING) * mean + 1e-9);
        let mut couple = |a: usize, b: usize| {
            for part in [0, KNOTS] {
                let (a, b) = (a + part, b + part);
                let difference = f64::from(warp.knots[a] - warp.knots[b]);
                normal[a * PARAMETERS + a] += stiff;
                normal[b * PARAMETERS + b] += stiff;
                normal[a * PARAMETERS + b] -= stiff;
                normal[b * PARAMETERS + a] -= stiff;
                right[a] -= stiff * difference;
                right[b] += stiff * difference;
            }
        };
        for row in 0..KNOTS_ALONG {
            for col in 0..KNOTS_ACROSS {
                let k = row * KNOTS_ACROSS + col;
                if col + 1 < KNOTS_ACROSS {
                    couple(k, k + 1);
                }
                if row + 1 < KNOTS_ALONG {
                    couple(k, k + KNOTS_ACROSS);
                }
            }
        }
        for i in 0..PARAMETERS {
            normal[i * PARAMETERS + i] += homing;
            right[i] -= homing * f64::from(warp.knots[i]);
        }
        cholesky_solve(&mut normal, &mut right)?;
        Some(right.map(|v| v as f32))
    }

    fn sample_into(&self, patch: &[f32], warp: &Warp, out: &mut [f32]) {
        for (p, value) in self.points.iter().zip(out) {
            let (dx, dy) = warp.at(p);
            *value = sample(patch, self.across, self.along, p.x + dx, p.y + dy);
        }
    }

    /// The patch as seen by the anchor's samples, in the order of the anchor's inside samples.
    pub fn sampled(&self, patch: &[f32], warp: &Warp) -> Vec<f32> {
        let mut out = vec![0.0; self.points.len()];
        self.sample_into(patch, warp, &mut out);
        out
    }
}

fn sample(patch: &[f32], across: usize, along: usize, x: f32, y: f32) -> f32 {
    let x = x.clamp(0.0, (across - 1) as f32);
    let y = y.clamp(0.0, (along - 1) as f32);
    let (x0, y0) = (x as usize, y as usize);
    let (x1, y1) = ((x0 + 1).min(across - 1), (y0 + 1).min(along - 1));
    let (fx, fy) = (x - x0 as f32, y - y0 as f32);
    let top = patch[y0 * across + x0] + fx * (patch[y0 * across + x1] - patch[y0 * across + x0]);
    let bottom = patch[y1 * across + x0] + fx * (patch[y1 * across + x1] - patch[y1 * across + x0]);
    top + fy * (bottom - top)
}

/// Solve in place; `None` when the matrix is not positive definite.
fn cholesky_solve(a: &mut [f64], b: &mut [f64; PARAMETERS]) -> Option<()> {
    const N: usize = PARAMETERS;
    for j in 0..N {
        for k in 0..j {
            let factor = a[j * N + k];
            for i in j..N {
                a[i * N + j] -= a[i * N + k] * factor;
            }
        }
        let pivot = a[j * N + j];
        if pivot <= 0.0 || !pivot.is_finite() {
            return None;
        }
        let root = pivot.sqrt();
        for i in j..N {
            a[i * N + j] /= root;
        }
    }
    for i in 0..N {
        let sum: f64 = (0..i).map(|k| a[i * N + k] * b[k]).sum();
        b[i] = (b[i] - sum) / a[i * N + i];
    }
    for i in (0..N).rev() {
        let sum: f64 = (i + 1..N).map(|k| a[k * N + i] * b[k]).sum();
        b[i] = (b[i] - sum) / a[i * N + i];
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texture(across: usize, along: usize, shift: impl Fn(f32, f32) -> (f32, f32)) -> Vec<f32> {
        let mut out = Vec::new();
        for y in 0..along {
            for x in 0..across {
                let (sx, sy) = shift(x as f32, y as f32);
                let (u, v) = (x as f32 - sx, y as f32 - sy);
                out.push(
                    120.0
                        + 30.0 * (u * 0.7).sin() * (v * 0.5).cos()
                        + 15.0 * (u * 0.31 + v * 0.43).sin(),
                );
            }
        }
        out
    }

    #[test]
    fn compression_is_followed() {
        let (across, along) = (40, 100);
        let anchor = texture(across, along, |_, _| (0.0, 0.0));
        let inside = vec![true; across * along];
        let net = WarpNet::new(&anchor, &inside, across, along, 120.0);
        let mut warp = Warp::default();
        for part in 1..=6 {
            let drop = part as f32;
            let now = texture(across, along, |_, y| (0.0, drop * (1.0 - y / 99.0)));
            warp = net.follow(&now, &warp);
        }
        assert!((warp.top_drop() - 6.0).abs() < 0.6, "{}", warp.top_drop());
        assert!(warp.widening().abs() < 0.3);
    }
}
