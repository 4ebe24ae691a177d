//! Temperature logs: what the thermometer said and when, smoothed over its own noise.

use serde::Serialize;

/// One line of a temperature log.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LogSample {
    /// Time on the log's own clock [s].
    pub time_s: f64,
    /// Temperature as indicated [°C].
    pub temperature_c: f64,
}

/// Why samples cannot form a temperature log.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TemperatureLogError {
    /// Fewer samples than a slope needs.
    #[error(
        "the temperature log has {found} usable sample(s); at least 2 are needed to know how the temperature rises"
    )]
    TooFewSamples {
        /// How many were usable.
        found: usize,
    },
    /// A time or a temperature is not a finite number.
    #[error("sample {index} of the temperature log is not a finite number")]
    NotFinite {
        /// Zero-based position in the input.
        index: usize,
    },
    /// Times do not rise strictly.
    #[error("sample {index} of the temperature log is at {found_s} s, not after {before_s} s")]
    NotRising {
        /// Zero-based position in the input.
        index: usize,
        /// Its time [s].
        found_s: f64,
        /// The time before it [s].
        before_s: f64,
    },
}

/// A stretch without samples is a gap when it is longer than this [s] ...
const GAP_S: f64 = 5.0;

/// ... and than this many usual spacings.
const GAP_SPACINGS: f64 = 8.0;

/// The smoothed log at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LogPoint {
    /// Smoothed temperature [°C].
    pub temperature_c: f64,
    /// Standard uncertainty of the smoothed temperature from log noise and resolution [°C].
    pub standard_uncertainty_c: f64,
    /// Slope [°C/s].
    pub rate_c_per_s: f64,
}

/// A temperature log with strictly rising times.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TemperatureLog {
    samples: Vec<LogSample>,
}

impl TemperatureLog {
    /// Take samples in order of time.
    ///
    /// # Errors
    /// [`TemperatureLogError`] when fewer than two samples are given, one is not finite or times do not rise strictly.
    pub fn new(samples: Vec<LogSample>) -> Result<Self, TemperatureLogError> {
        for (index, sample) in samples.iter().enumerate() {
            if !sample.time_s.is_finite() || !sample.temperature_c.is_finite() {
                return Err(TemperatureLogError::NotFinite { index });
            }
        }
        for (index, pair) in samples.windows(2).enumerate() {
            if pair[1].time_s <= pair[0].time_s {
                return Err(TemperatureLogError::NotRising {
                    index: index + 1,
                    found_s: pair[1].time_s,
                    before_s: pair[0].time_s,
                });
            }
        }
        if samples.len() < 2 {
            return Err(TemperatureLogError::TooFewSamples {
                found: samples.len(),
            });
        }
        Ok(Self { samples })
    }

    /// The samples, times rising strictly.
    pub fn samples(&self) -> &[LogSample] {
        &self.samples
    }

    /// Stretches without a sample: longer than 5 s and than 8 times the usual spacing; `(from_s, to_s)`.
    pub fn gaps(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let least_s = GAP_S.max(GAP_SPACINGS * self.median_spacing_s());
        self.samples
            .windows(2)
            .map(|pair| (pair[0].time_s, pair[1].time_s))
            .filter(move |(from_s, to_s)| to_s - from_s > least_s)
    }

    /// Usual spacing of the samples [s].
    pub fn median_spacing_s(&self) -> f64 {
        let mut steps: Vec<f64> = self
            .samples
            .windows(2)
            .map(|pair| pair[1].time_s - pair[0].time_s)
            .collect();
        steps.sort_by(f64::total_cmp);
        steps[steps.len() / 2]
    }

    /// First and last time [s].
    pub fn span_s(&self) -> (f64, f64) {
        (
            self.samples[0].time_s,
            self.samples[self.samples.len() - 1].time_s,
        )
    }
}
