//! Temperature logs: what the thermometer said and when, smoothed over its own noise.

mod outliers;
mod resolution;
mod rounded;
mod smoother;
mod tuning;

use serde::Serialize;

use smoother::{Course, State};

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

/// A stretch without samples is bridged up to this length [s] ...
const BRIDGED_S: f64 = 20.0;

/// ... or up to this many usual spacings ...
const BRIDGED_SPACINGS: f64 = 8.0;

/// ... but never beyond this [s].
const LONGEST_BRIDGED_S: f64 = 600.0;

/// The ends of the log are continued by one usual spacing, and no further than this [s].
const LONGEST_MARGIN_S: f64 = 60.0;

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

/// A temperature log with strictly rising times, smoothed over the thermometer's noise and rounding.
///
/// Each reading is taken for what it is, a temperature plus noise rounded to the display's step;
/// between readings the heating rate wanders by an amount learnt from the log, place by place, so
/// that a soak stays flat while a bend or a hunting controller is followed. Single readings far
/// off their neighbours are passed over. `docs/models/temperature_log.md` has the model and what it was
/// measured to do.
///
/// # Example
/// One degree a minute, shown in steps of 0.1 °C twice a second:
/// ```
/// use meltrange_physics::{LogSample, TemperatureLog};
///
/// let samples = (0..600).map(|at| {
///     let time_s = 0.5 * f64::from(at);
///     let true_c = 120.0 + time_s / 60.0;
///     LogSample { time_s, temperature_c: (true_c * 10.0).round() / 10.0 }
/// });
/// let log = TemperatureLog::new(samples.collect())?;
/// let point = log.at(151.3).ok_or("inside the log")?;
/// assert!((point.temperature_c - (120.0 + 151.3 / 60.0)).abs() < 0.01);
/// assert!(log.at(400.0).is_none());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(into = "Vec<LogSample>")]
pub struct TemperatureLog {
    samples: Vec<LogSample>,
    /// Smoothed course at each sample.
    states: Vec<State>,
    /// Wander of the rate in the step to each sample [°C²/s³].
    wanders: Vec<f64>,
    median_spacing_s: f64,
    resolution_c: f64,
    noise_c: f64,
}

impl From<TemperatureLog> for Vec<LogSample> {
    fn from(log: TemperatureLog) -> Self {
        log.samples
    }
}

impl TemperatureLog {
    /// Take samples in order of time and smooth them.
    ///
    /// # Errors
    /// [`TemperatureLogError`] when fewer than two samples are given, one is not finite or times do not rise strictly.
    pub fn new(samples: Vec<LogSample>) -> Result<Self, TemperatureLogError> {
        check(&samples)?;
        let median_spacing_s = median_spacing_s(&samples);
        let resolution_c = resolution::resolution_c(&samples);
        let out = outliers::outliers(&samples, resolution_c);
        let longest_step_s = longest_step_s(median_spacing_s);
        let display = tuning::display(&samples, &out, resolution_c, longest_step_s);
        let course = Course {
            samples: &samples,
            out: &out,
            display,
            longest_step_s,
        };
        let wanders = tuning::wanders(&course);
        let states = course.smooth(|at| wanders[at]);
        Ok(Self {
            states,
            wanders,
            median_spacing_s,
            resolution_c,
            noise_c: display.noise_c,
            samples,
        })
    }

    /// The smoothed log at one moment [s].
    ///
    /// `None` outside the log (beyond one usual spacing, at most 60 s, from its ends) and as far
    /// inside a stretch without samples that is too long to be bridged: longer than 20 s and
    /// than 8 usual spacings, or than 10 min. The standard uncertainty covers noise, rounding and what the temperature may
    /// have done between the samples; not the thermometer's calibration.
    pub fn at(&self, time_s: f64) -> Option<LogPoint> {
        let (start_s, end_s) = self.span_s();
        let margin_s = self.median_spacing_s.min(LONGEST_MARGIN_S);
        if !(start_s - margin_s..=end_s + margin_s).contains(&time_s) {
            return None;
        }
        let next = self
            .samples
            .partition_point(|sample| sample.time_s <= time_s);
        let state = match (next.checked_sub(1), self.samples.get(next)) {
            (None, _) => self.states[0].moved(time_s - start_s, self.wanders[0]),
            (Some(last), None) => self.states[last].moved(time_s - end_s, self.wanders[last]),
            (Some(before), Some(after)) => {
                let before_s = self.samples[before].time_s;
                let step_s = after.time_s - before_s;
                if step_s > longest_step_s(self.median_spacing_s) {
                    let (since_s, until_s) = (time_s - before_s, after.time_s - time_s);
                    let near = since_s.min(until_s) <= margin_s;
                    return near
                        .then(|| {
                            if since_s <= until_s {
                                self.states[before].moved(since_s, self.wanders[before])
                            } else {
                                self.states[next].moved(-until_s, self.wanders[next])
                            }
                        })
                        .and_then(point);
                }
                let share = (time_s - before_s) / step_s;
                self.states[before].between(&self.states[next], step_s, share, self.wanders[next])
            }
        };
        point(state)
    }

    /// Mean heating rate between two moments [°C/s]; at one moment its slope. `None` where
    /// [`at`](Self::at) is.
    pub fn rate_c_per_s_between(&self, from_s: f64, to_s: f64) -> Option<f64> {
        let (from, to) = (self.at(from_s)?, self.at(to_s)?);
        if from_s == to_s {
            return Some(from.rate_c_per_s);
        }
        Some((to.temperature_c - from.temperature_c) / (to_s - from_s))
    }

    /// The first moment at which the smoothed temperature rises through `temperature_c` [s];
    /// `None` when it never does.
    pub fn time_at_temperature(&self, temperature_c: f64) -> Option<f64> {
        let at = self.states.windows(2).position(|pair| {
            pair[0].temperature_c <= temperature_c && temperature_c < pair[1].temperature_c
        })?;
        let (mut low_s, mut high_s) = (self.samples[at].time_s, self.samples[at + 1].time_s);
        // Halved to far below a microsecond; the course is nearly straight between samples.
        for _ in 0..50 {
            let middle_s = 0.5 * (low_s + high_s);
            if self.at(middle_s)?.temperature_c <= temperature_c {
                low_s = middle_s;
            } else {
                high_s = middle_s;
            }
        }
        Some(low_s)
    }

    /// The gap in which a moment lies, as [`gaps`](Self::gaps) lists it; outside the log, the
    /// stretch from or to infinity.
    pub fn gap_around(&self, time_s: f64) -> Option<(f64, f64)> {
        let (start_s, end_s) = self.span_s();
        let margin_s = self.median_spacing_s.min(LONGEST_MARGIN_S);
        if time_s < start_s - margin_s {
            return Some((f64::NEG_INFINITY, start_s));
        }
        if time_s > end_s + margin_s {
            return Some((end_s, f64::INFINITY));
        }
        self.gaps()
            .find(|&(from_s, to_s)| from_s < time_s && time_s < to_s)
    }

    /// Step in which the temperatures are written [°C]; 0 when none is seen.
    pub fn resolution_c(&self) -> f64 {
        self.resolution_c
    }

    /// Noise of the thermometer before rounding, standard deviation [°C], as estimated.
    pub fn noise_c(&self) -> f64 {
        self.noise_c
    }

    /// The samples, times rising strictly.
    pub fn samples(&self) -> &[LogSample] {
        &self.samples
    }

    /// Stretches without a sample: longer than 5 s and than 8 times the usual spacing; `(from_s, to_s)`.
    pub fn gaps(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let least_s = GAP_S.max(GAP_SPACINGS * self.median_spacing_s);
        self.samples
            .windows(2)
            .map(|pair| (pair[0].time_s, pair[1].time_s))
            .filter(move |(from_s, to_s)| to_s - from_s > least_s)
    }

    /// Usual spacing of the samples [s].
    pub fn median_spacing_s(&self) -> f64 {
        self.median_spacing_s
    }

    /// First and last time [s].
    pub fn span_s(&self) -> (f64, f64) {
        (
            self.samples[0].time_s,
            self.samples[self.samples.len() - 1].time_s,
        )
    }
}

fn point(state: State) -> Option<LogPoint> {
    // Only values at the limits of the number format lead to anything but finite numbers.
    (state.temperature_c.is_finite() && state.tt.is_finite()).then(|| LogPoint {
        temperature_c: state.temperature_c,
        standard_uncertainty_c: state.tt.max(0.0).sqrt(),
        rate_c_per_s: state.rate_c_per_s,
    })
}

fn check(samples: &[LogSample]) -> Result<(), TemperatureLogError> {
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
    Ok(())
}

fn median_spacing_s(samples: &[LogSample]) -> f64 {
    let mut steps: Vec<f64> = samples
        .windows(2)
        .map(|pair| pair[1].time_s - pair[0].time_s)
        .collect();
    let middle = steps.len() / 2;
    *steps.select_nth_unstable_by(middle, f64::total_cmp).1
}

fn longest_step_s(median_spacing_s: f64) -> f64 {
    (BRIDGED_SPACINGS * median_spacing_s).clamp(BRIDGED_S, LONGEST_BRIDGED_S)
}
