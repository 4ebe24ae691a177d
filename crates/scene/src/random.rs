//! Seeded randomness: one stream per purpose, so that a change in one does not move the others.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// What a stream of random numbers is for; the number fixes the stream across versions.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Purpose {
    Log = 1,
    Times = 2,
    Camera = 3,
    Backdrop = 4,
    Sensor = 5,
    Grains = 100,
    Glass = 200,
    Melt = 300,
}

/// The stream of `purpose` for item `index` (a tube, or 0) of a scene seeded with `seed`.
pub(crate) fn stream(seed: u64, purpose: Purpose, index: usize) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(purpose as u64 + index as u64);
    rng
}

/// A normal deviate.
pub(crate) fn normal(rng: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(rng)
}

/// Uniform between two bounds; `low` when they are equal.
pub(crate) fn uniform(rng: &mut ChaCha8Rng, low: f64, high: f64) -> f64 {
    low + (high - low) * rng.random::<f64>()
}

/// A slow smooth wander with mean 0 and standard deviation about 1: a sum of sines whose periods
/// lie between two bounds.
#[derive(Debug, Clone)]
pub(crate) struct Wander {
    waves: Vec<(f64, f64)>,
}

impl Wander {
    pub(crate) fn new(rng: &mut ChaCha8Rng, shortest: f64, longest: f64) -> Self {
        let waves = (0..6)
            .map(|_| {
                let period = shortest * (longest / shortest).powf(rng.random::<f64>());
                (
                    std::f64::consts::TAU / period,
                    uniform(rng, 0.0, std::f64::consts::TAU),
                )
            })
            .collect();
        Self { waves }
    }

    pub(crate) fn at(&self, position: f64) -> f64 {
        let sum: f64 = self
            .waves
            .iter()
            .map(|(rate, phase)| (rate * position + phase).sin())
            .sum();
        sum * (2.0 / self.waves.len() as f64).sqrt()
    }
}

/// A smooth random field in three dimensions, mean 0, standard deviation about 1: plane waves of
/// random direction with wavelengths around a given one.
#[derive(Debug, Clone)]
pub(crate) struct Field {
    waves: Vec<([f64; 3], f64)>,
}

impl Field {
    pub(crate) fn new(rng: &mut ChaCha8Rng, wavelength: f64) -> Self {
        let waves = (0..14)
            .map(|_| {
                let direction: [f64; 3] = std::array::from_fn(|_| normal(rng));
                let norm = direction
                    .iter()
                    .map(|x| x * x)
                    .sum::<f64>()
                    .sqrt()
                    .max(1e-9);
                let rate = std::f64::consts::TAU / (wavelength * uniform(rng, 0.6, 1.6));
                (
                    direction.map(|x| x / norm * rate),
                    uniform(rng, 0.0, std::f64::consts::TAU),
                )
            })
            .collect();
        Self { waves }
    }

    pub(crate) fn at(&self, x: f64, y: f64, z: f64) -> f64 {
        let sum: f64 = self
            .waves
            .iter()
            .map(|(rate, phase)| (rate[0] * x + rate[1] * y + rate[2] * z + phase).sin())
            .sum();
        sum * (2.0 / self.waves.len() as f64).sqrt()
    }
}

/// Cubic step from 0 at `low` to 1 at `high`.
pub(crate) fn smooth_step(low: f64, high: f64, x: f64) -> f64 {
    let part = ((x - low) / (high - low)).clamp(0.0, 1.0);
    part * part * (3.0 - 2.0 * part)
}

/// Well mixed 32 bits from two numbers, for cheap per-frame choices.
pub(crate) fn mix(a: u64, b: u64) -> u32 {
    let mut x = a.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ b.wrapping_mul(0xC2B2_AE3D_27D4_EB4F);
    x ^= x >> 29;
    x = x.wrapping_mul(0xBF58_476D_1CE4_E5B9);
    (x >> 32) as u32
}
