//! Chance and optics of the rendered displays.

use rand::RngExt as _;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;

/// Uniform between two values.
pub fn uniform(rng: &mut ChaCha8Rng, from: f64, to: f64) -> f64 {
    from + (to - from) * rng.random::<f64>()
}

/// Plus or minus one.
pub fn sign(rng: &mut ChaCha8Rng) -> f64 {
    if rng.random::<bool>() { 1.0 } else { -1.0 }
}

/// Nearly normal: twelve uniform numbers of 16 bits, summed (Irwin–Hall), from three draws.
pub fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let mut sum = 0.0;
    for _ in 0..3 {
        let bits = rng.random::<u64>();
        for k in 0..4 {
            sum += f64::from((bits >> (16 * k)) as u16);
        }
    }
    sum / 65_536.0 - 6.0
}

/// The random numbers of one picture.
pub fn rng(seed: u64, number: u64) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(number);
    rng
}

/// A point and where it goes.
pub type Pair = ((f64, f64), (f64, f64));

/// The projective map through four pairs of points, by elimination.
pub fn projective(points: &[Pair]) -> [f64; 8] {
    let mut rows: Vec<[f64; 9]> = Vec::new();
    for &((x, y), (u, v)) in points {
        rows.push([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, u]);
        rows.push([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, v]);
    }
    for i in 0..8 {
        let pivot = (i..8)
            .max_by(|&a, &b| rows[a][i].abs().total_cmp(&rows[b][i].abs()))
            .expect("rows are left");
        rows.swap(i, pivot);
        let first = rows[i];
        for (j, row) in rows.iter_mut().enumerate() {
            if j != i {
                let factor = row[i] / first[i];
                for (value, from) in row.iter_mut().zip(first) {
                    *value -= factor * from;
                }
            }
        }
    }
    std::array::from_fn(|i| rows[i][8] / rows[i][i])
}

/// Smoothed by a Gaussian, edges repeated.
pub fn gaussian(values: &[f32], width: usize, height: usize, sigma: f64) -> Vec<f32> {
    let reach = (3.0 * sigma).ceil() as isize;
    let weights: Vec<f32> = (-reach..=reach)
        .map(|i| (-0.5 * (i as f64 / sigma).powi(2)).exp() as f32)
        .collect();
    let total: f32 = weights.iter().sum();
    let mut rows = vec![0.0; values.len()];
    for y in 0..height {
        for x in 0..width {
            let mut sum = 0.0;
            for (weight, i) in weights.iter().zip(-reach..) {
                let from = (x as isize + i).clamp(0, width as isize - 1) as usize;
                sum += weight * values[y * width + from];
            }
            rows[y * width + x] = sum / total;
        }
    }
    let mut out = vec![0.0; values.len()];
    for y in 0..height {
        for (weight, i) in weights.iter().zip(-reach..) {
            let from = (y as isize + i).clamp(0, height as isize - 1) as usize;
            for x in 0..width {
                out[y * width + x] += weight / total * rows[from * width + x];
            }
        }
    }
    out
}
