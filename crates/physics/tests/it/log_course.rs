//! Simulated block temperatures with known truth, and logs of them.

use std::f64::consts::TAU;

use meltrange_physics::{LogSample, TemperatureLog};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

/// A soak, then a ramp, seen through a first-order lag, with a controller's hunting on top.
#[derive(Debug, Clone, Copy)]
pub struct Course {
    pub start_c: f64,
    pub soak_s: f64,
    pub rate_c_per_min: f64,
    pub lag_s: f64,
    pub ripple_c: f64,
    pub ripple_period_s: f64,
    pub phase: f64,
}

impl Course {
    /// Exact response of the lag to the ramp, plus the ripple.
    pub fn at(&self, time_s: f64) -> f64 {
        let since_s = (time_s - self.soak_s).max(0.0);
        let ramp_c = self.rate_c_per_min / 60.0
            * (since_s - self.lag_s * (1.0 - (-since_s / self.lag_s).exp()));
        let turn = TAU * time_s / self.ripple_period_s + self.phase;
        self.start_c + ramp_c + self.ripple_c * turn.sin()
    }
}

/// How the course is logged.
#[derive(Debug, Clone, Copy)]
pub struct Logging {
    pub samples_per_s: f64,
    pub step_c: f64,
    pub noise_c: f64,
    pub jitter_s: f64,
    pub missing_fraction: f64,
    pub outlier_fraction: f64,
    pub duration_s: f64,
}

impl Default for Logging {
    fn default() -> Self {
        Self {
            samples_per_s: 2.0,
            step_c: 0.1,
            noise_c: 0.02,
            jitter_s: 0.03,
            missing_fraction: 0.0,
            outlier_fraction: 0.0,
            duration_s: 420.0,
        }
    }
}

/// A course with random start and phase, and its log. The seed fixes both.
pub fn simulate(seed: u64, mut course: Course, logging: Logging) -> (Course, TemperatureLog) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    course.start_c += rng.random_range(0.0..1.0);
    course.phase = rng.random_range(0.0..TAU);
    let normal = Normal::new(0.0, 1.0).expect("a standard normal");
    let count = (logging.duration_s * logging.samples_per_s) as usize;
    let mut samples: Vec<LogSample> = Vec::new();
    for at in 0..count {
        let nominal_s = at as f64 / logging.samples_per_s;
        let time_s = (nominal_s + logging.jitter_s * normal.sample(&mut rng)).max(0.0);
        let time_s = (time_s * 1000.0).round() / 1000.0;
        let mut shown_c = course.at(time_s) + logging.noise_c * normal.sample(&mut rng);
        if rng.random_range(0.0..1.0) < logging.outlier_fraction {
            shown_c += if rng.random_range(0.0..1.0) < 0.5 {
                3.0
            } else {
                -20.0
            };
        }
        let shown_c = (shown_c / logging.step_c).round() * logging.step_c;
        let late = samples.last().is_some_and(|last| time_s <= last.time_s);
        if late || rng.random_range(0.0..1.0) < logging.missing_fraction {
            continue;
        }
        samples.push(LogSample {
            time_s,
            temperature_c: (shown_c * 1e6).round() / 1e6,
        });
    }
    let log = TemperatureLog::new(samples).expect("a sound log");
    (course, log)
}

/// The bench of most tests: 30 s soak, 1 °C/min, lag 10 s, hunting by ±0.03 °C every 31 s.
pub const BENCH: Course = Course {
    start_c: 117.0,
    soak_s: 30.0,
    rate_c_per_min: 1.0,
    lag_s: 10.0,
    ripple_c: 0.03,
    ripple_period_s: 31.0,
    phase: 0.0,
};
