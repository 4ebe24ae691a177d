//! Small image operations on luma: what the engine needs and no more.

/// A picture in floating point, row-major `height × width`, luma 0..=255.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Plane {
    pub width: usize,
    pub height: usize,
    pub data: Vec<f32>,
}

impl Plane {
    pub fn new(width: usize, height: usize) -> Self {
        Self {
            width,
            height,
            data: vec![0.0; width * height],
        }
    }

    pub fn from_luma(width: usize, height: usize, luma: &[u8]) -> Self {
        Self {
            width,
            height,
            data: luma.iter().map(|&v| f32::from(v)).collect(),
        }
    }

    pub fn at(&self, x: usize, y: usize) -> f32 {
        self.data[y * self.width + x]
    }

    /// Bilinear value; coordinates outside are taken at the edge.
    pub fn sample(&self, x: f32, y: f32) -> f32 {
        let (x0, fx) = cell(x, self.width);
        let (y0, fy) = cell(y, self.height);
        let (x1, y1) = ((x0 + 1).min(self.width - 1), (y0 + 1).min(self.height - 1));
        let top = self.at(x0, y0) + fx * (self.at(x1, y0) - self.at(x0, y0));
        let bottom = self.at(x0, y1) + fx * (self.at(x1, y1) - self.at(x0, y1));
        top + fy * (bottom - top)
    }

    /// Separable binomial smoothing (1 2 1)/4, `passes` times; σ² = passes / 2 px².
    pub fn smoothed(&self, passes: usize) -> Self {
        let mut out = self.clone();
        for _ in 0..passes {
            out = out.binomial();
        }
        out
    }

    fn binomial(&self) -> Self {
        let (w, h) = (self.width, self.height);
        let mut rows = Self::new(w, h);
        for (source, target) in self.data.chunks_exact(w).zip(rows.data.chunks_exact_mut(w)) {
            for x in 0..w {
                let left = source[x.saturating_sub(1)];
                let right = source[(x + 1).min(w - 1)];
                target[x] = 0.25 * (left + 2.0 * source[x] + right);
            }
        }
        let mut out = Self::new(w, h);
        for y in 0..h {
            let up = &rows.data[y.saturating_sub(1) * w..][..w];
            let mid = &rows.data[y * w..][..w];
            let down = &rows.data[(y + 1).min(h - 1) * w..][..w];
            for (x, target) in out.data[y * w..(y + 1) * w].iter_mut().enumerate() {
                *target = 0.25 * (up[x] + 2.0 * mid[x] + down[x]);
            }
        }
        out
    }

    /// Central differences (d/dx, d/dy) at an inner pixel.
    pub fn gradient(&self, x: usize, y: usize) -> (f32, f32) {
        let x = x.clamp(1, self.width - 2);
        let y = y.clamp(1, self.height - 2);
        (
            0.5 * (self.at(x + 1, y) - self.at(x - 1, y)),
            0.5 * (self.at(x, y + 1) - self.at(x, y - 1)),
        )
    }
}

fn cell(position: f32, size: usize) -> (usize, f32) {
    let limited = position.clamp(0.0, (size - 1) as f32);
    let whole = limited.floor();
    (whole as usize, limited - whole)
}

/// Bilinear value straight from 8-bit luma; outside is taken at the edge.
pub(crate) fn sample_luma(luma: &[u8], width: usize, height: usize, x: f32, y: f32) -> f32 {
    let (x0, fx) = cell(x, width);
    let (y0, fy) = cell(y, height);
    let (x1, y1) = ((x0 + 1).min(width - 1), (y0 + 1).min(height - 1));
    let get = |x: usize, y: usize| f32::from(luma[y * width + x]);
    let top = get(x0, y0) + fx * (get(x1, y0) - get(x0, y0));
    let bottom = get(x0, y1) + fx * (get(x1, y1) - get(x0, y1));
    top + fy * (bottom - top)
}

/// Mean over `factor × factor` blocks; a rest at the right and bottom is left out.
pub(crate) fn shrink_luma(luma: &[u8], width: usize, height: usize, factor: usize) -> Plane {
    let (w, h) = ((width / factor).max(1), (height / factor).max(1));
    let mut out = Plane::new(w, h);
    let norm = 1.0 / (factor * factor) as f32;
    for y in 0..h {
        for x in 0..w {
            let mut sum = 0u32;
            for yy in 0..factor.min(height) {
                let start = (y * factor + yy) * width + x * factor;
                for &v in &luma[start..start + factor.min(width)] {
                    sum += u32::from(v);
                }
            }
            out.data[y * w + x] = sum as f32 * norm;
        }
    }
    out
}

/// Value below which a share `q` (0..1) of the values lie; 0 for none. Reorders `values`.
pub(crate) fn quantile(values: &mut [f32], q: f64) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let index = ((values.len() - 1) as f64 * q).round() as usize;
    *values.select_nth_unstable_by(index, f32::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sampling_a_ramp_is_exact_inside_and_clamped_outside() {
        let luma: Vec<u8> = (0..12).map(|i| (i % 4) * 10).collect();
        assert!((sample_luma(&luma, 4, 3, 1.25, 1.5) - 12.5).abs() < 1e-5);
        assert!((sample_luma(&luma, 4, 3, 99.0, -3.0) - 30.0).abs() < 1e-5);
        assert_eq!(Plane::from_luma(4, 3, &luma).sample(2.5, 0.0), 25.0);
    }

    #[test]
    fn quantile_of_few_values() {
        assert_eq!(quantile(&mut [3.0, 1.0, 2.0], 0.5), 2.0);
        assert_eq!(quantile(&mut [], 0.5), 0.0);
    }

    #[test]
    fn shrinking_keeps_the_mean_and_survives_tiny_pictures() {
        let luma = [0, 10, 20, 30, 40, 50, 60, 70];
        assert_eq!(shrink_luma(&luma, 4, 2, 2).data, vec![25.0, 45.0]);
        assert_eq!(shrink_luma(&[7], 1, 1, 4).width, 1);
    }
}
