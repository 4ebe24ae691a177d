//! What was asked of a block and what it did: the log of one run.

use serde::{Deserialize, Serialize};

/// Fewest samples from which anything can be learned.
const LEAST_SAMPLES: usize = 60;

/// Longest run [s], and least often a thermometer is worth reading [s].
const LONGEST_S: f64 = 12.0 * 3600.0;
const SPARSEST_S: f64 = 30.0;

/// One line of a run's log.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RunSample {
    /// Time on the log's own clock [s].
    pub time_s: f64,
    /// Temperature as indicated [°C].
    pub temperature_c: f64,
    /// What the controller was asked for at that moment [°C]; none while the heating was off.
    pub setpoint_c: Option<f64>,
    /// Whether the fan blew.
    pub fan: bool,
}

/// Why samples are no log of a run.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RunLogError {
    /// Too few.
    #[error("{log}: {found} samples; expected at least {LEAST_SAMPLES}, a whole run")]
    TooFew {
        /// Which log.
        log: String,
        /// How many it has.
        found: usize,
    },
    /// Times that no run has.
    #[error(
        "{log}: it lasts {lasts_s:.0} s with a sample every {spacing_s:.0} s; expected at most 12 h and a sample every 30 s or less. Is time_s in seconds?"
    )]
    Times {
        /// Which log.
        log: String,
        /// From first to last sample [s].
        lasts_s: f64,
        /// Usual spacing [s].
        spacing_s: f64,
    },
    /// A value that cannot be.
    #[error("{log}, sample {sample}: {what} is {found}; expected {expected}")]
    Value {
        /// Which log.
        log: String,
        /// Which sample, from 1.
        sample: usize,
        /// Which value.
        what: &'static str,
        /// What it is.
        found: f64,
        /// What would do.
        expected: &'static str,
    },
}

/// The log of one run, times rising strictly.
#[derive(Debug, Clone, PartialEq)]
pub struct RunLog {
    name: String,
    samples: Vec<RunSample>,
}

impl RunLog {
    /// Check samples; `name` is what errors and findings call the log.
    ///
    /// # Errors
    /// [`RunLogError`]: fewer than 60 samples, more than 12 h or 30 s between samples, a time that does not rise, a temperature out of -50..=600 °C.
    pub fn new(name: impl Into<String>, samples: Vec<RunSample>) -> Result<Self, RunLogError> {
        let name = name.into();
        if samples.len() < LEAST_SAMPLES {
            return Err(RunLogError::TooFew {
                log: name,
                found: samples.len(),
            });
        }
        let wrong = |sample: usize, what, found, expected| {
            Err(RunLogError::Value {
                log: name.clone(),
                sample: sample + 1,
                what,
                found,
                expected,
            })
        };
        let mut before_s = f64::NEG_INFINITY;
        for (at, sample) in samples.iter().enumerate() {
            if !(sample.time_s.is_finite() && sample.time_s > before_s) {
                return wrong(at, "time_s", sample.time_s, "a time after the one before");
            }
            before_s = sample.time_s;
            let inside = |found: f64| (-50.0..=600.0).contains(&found);
            if !inside(sample.temperature_c) {
                let found = sample.temperature_c;
                return wrong(at, "temperature_c", found, "-50 to 600 °C");
            }
            if let Some(found) = sample.setpoint_c.filter(|found| !inside(*found)) {
                return wrong(at, "setpoint_c", found, "-50 to 600 °C, or nothing");
            }
        }
        let log = Self { name, samples };
        let lasts_s = before_s - log.samples[0].time_s;
        let spacing_s = log.spacing_s();
        if lasts_s > LONGEST_S || spacing_s > SPARSEST_S {
            return Err(RunLogError::Times {
                log: log.name,
                lasts_s,
                spacing_s,
            });
        }
        Ok(log)
    }

    /// The same with samples no closer than 1 s: a block does not change faster, and the fit takes half as long. The
    /// last sample of each stretch of heating and of cooling stays.
    pub(super) fn thinned(&self) -> Self {
        let at = &self.samples;
        let mut last_s = f64::NEG_INFINITY;
        let samples = at.iter().enumerate().filter(|(number, sample)| {
            let turns = [number.checked_sub(1), number.checked_add(1)]
                .into_iter()
                .flatten()
                .filter_map(|other| at.get(other))
                .any(|other| other.setpoint_c.is_some() != sample.setpoint_c.is_some());
            let kept = turns || sample.time_s >= last_s + 1.0 - 1e-6;
            if kept {
                last_s = sample.time_s;
            }
            kept
        });
        Self {
            name: self.name.clone(),
            samples: samples.map(|(_, sample)| *sample).collect(),
        }
    }

    /// What it is called.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its samples, times rising strictly.
    pub fn samples(&self) -> &[RunSample] {
        &self.samples
    }

    /// Usual spacing of the samples [s].
    pub(super) fn spacing_s(&self) -> f64 {
        let mut steps: Vec<f64> = self
            .samples
            .windows(2)
            .map(|pair| pair[1].time_s - pair[0].time_s)
            .collect();
        let middle = steps.len() / 2;
        *steps.select_nth_unstable_by(middle, f64::total_cmp).1
    }
}

/// An approach found in a log.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Approach {
    /// Samples at which it begins, and at which the setpoint stands at its target, and at which that ends.
    pub from: usize,
    pub standing: usize,
    pub until: usize,
    /// Where it goes [°C].
    pub to_c: f64,
    /// How fast the setpoint moved there [°C/min]; none where it jumped.
    pub setpoint_rate: Option<f64>,
    /// Whether it then moved more slowly over the last degrees.
    pub tapers: bool,
    /// Whether a slow ramp follows.
    pub then_scan: bool,
}

/// Setpoints this close are the same [°C].
const SAME_C: f64 = 1e-6;
/// A setpoint that stands this long is a target [s].
const STANDS_S: f64 = 20.0;
/// A setpoint that moves is renewed within this [s].
const RENEWED_S: f64 = 5.0;
/// Over the last of an approach a setpoint may slow down [°C].
const LAST_C: f64 = 5.0;
/// An approach rises by this at least [°C] ...
const RISE_C: f64 = 10.0;
/// ... and its setpoint, where it moves, by this [°C/min] at least.
pub(super) const FAST_C_PER_MIN: f64 = 4.0;

impl RunLog {
    /// Stretches in which the block is brought to a temperature as fast as it goes.
    pub(super) fn approaches(&self) -> Vec<Approach> {
        let at = &self.samples;
        let mut found = Vec::new();
        let mut start = 0;
        while start < at.len() {
            let Some(to_c) = at[start].setpoint_c else {
                start += 1;
                continue;
            };
            let same = |sample: &RunSample| {
                sample
                    .setpoint_c
                    .is_some_and(|setpoint_c| (setpoint_c - to_c).abs() <= SAME_C)
            };
            let end = start + at[start..].iter().take_while(|sample| same(sample)).count();
            if at[end - 1].time_s - at[start].time_s >= STANDS_S {
                let jump = to_c - at[start].temperature_c >= RISE_C;
                let ramp = self.fast_ramp_before(start);
                let then_scan = at.get(end).is_some_and(|next| {
                    next.setpoint_c
                        .is_some_and(|setpoint_c| setpoint_c > to_c && setpoint_c < to_c + 2.0)
                });
                let approach = |from, setpoint_rate, tapers| Approach {
                    from,
                    standing: start,
                    until: end,
                    to_c,
                    setpoint_rate,
                    tapers,
                    then_scan,
                };
                if let Some((from, rate, tapers)) = ramp {
                    found.push(approach(from, Some(rate), tapers));
                } else if jump {
                    found.push(approach(start, None, false));
                }
            }
            start = end;
        }
        found
    }

    /// Where a fast ramp of the setpoint that ends at sample `end` begins, its rate half-way [°C/min], and
    /// whether it slows down at its end.
    fn fast_ramp_before(&self, end: usize) -> Option<(usize, f64, bool)> {
        let at = &self.samples;
        let mut from = end;
        // A setpoint that is renewed less often than the thermometer tells stands still in between.
        let mut moved_s = at[end].time_s;
        while from > 0 {
            let (Some(earlier), Some(later)) = (at[from - 1].setpoint_c, at[from].setpoint_c)
            else {
                break;
            };
            if later < earlier - SAME_C || later - earlier > RISE_C {
                break;
            }
            if later > earlier + SAME_C {
                moved_s = at[from - 1].time_s;
            } else if moved_s - at[from - 1].time_s > RENEWED_S {
                break;
            }
            from -= 1;
        }
        let (low_c, high_c) = (at[from].setpoint_c?, at[end].setpoint_c?);
        let minutes = (at[end].time_s - at[from].time_s) / 60.0;
        if high_c - low_c < RISE_C || (high_c - low_c) / minutes < FAST_C_PER_MIN {
            return None;
        }
        let reaches = |part: f64| {
            let setpoint_c = low_c + part * (high_c - low_c);
            at[from..=end]
                .iter()
                .find(|sample| sample.setpoint_c.is_some_and(|found| found >= setpoint_c))
                .map(|sample| (sample.time_s, sample.setpoint_c.unwrap_or(setpoint_c)))
        };
        let ((from_s, from_c), (to_s, to_c)) = (reaches(0.25)?, reaches(0.6)?);
        let rate = 60.0 * (to_c - from_c) / (to_s - from_s).max(1e-9);
        // How long the last degrees take, beside what they would at that rate.
        let (last_s, last_c) = reaches(1.0 - LAST_C / (high_c - low_c))?;
        let unhurried_min = (at[end].time_s - last_s) / 60.0;
        let tapers = unhurried_min > 2.0 * (high_c - last_c) / rate + RENEWED_S / 60.0;
        (to_s > from_s).then_some((from, rate, tapers))
    }

    /// The first sample at which an approach may have arrived: not before the setpoint stands.
    pub(super) fn first_of_arrival(&self, approach: &Approach) -> usize {
        match approach.setpoint_rate {
            Some(_) => approach.standing,
            None => approach.from,
        }
    }

    /// The first moment of an approach at which the block is within `tolerance_c` of its target [s].
    pub(super) fn arrival_s(&self, approach: &Approach, tolerance_c: f64) -> Option<f64> {
        self.samples[self.first_of_arrival(approach)..approach.until]
            .iter()
            .find(|sample| sample.temperature_c >= approach.to_c - tolerance_c - 1e-9)
            .map(|sample| sample.time_s)
    }

    /// How the slow ramps ended after which the heating goes off.
    pub(super) fn scans_over(&self) -> Vec<ScanOver> {
        let at = &self.samples;
        (1..at.len().saturating_sub(1))
            .filter_map(|end| {
                let (before_c, end_c) = (at[end - 1].setpoint_c?, at[end].setpoint_c?);
                if end_c <= before_c || at[end + 1].setpoint_c.is_some() {
                    return None;
                }
                let ramp = at[..end]
                    .iter()
                    .rev()
                    .take_while(|sample| sample.setpoint_c.is_some())
                    .map(|sample| sample.temperature_c);
                let last_c = at[end].temperature_c.max(at[end + 1].temperature_c);
                Some(ScanOver {
                    setpoint_c: end_c,
                    step_c: end_c - before_c,
                    reading_is_highest: ramp.fold(f64::NEG_INFINITY, f64::max) < last_c - 1e-9,
                })
            })
            .collect()
    }
}

/// The end of a slow ramp.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ScanOver {
    /// Last setpoint, and the last step to it [°C].
    pub setpoint_c: f64,
    pub step_c: f64,
    /// Whether the reading then is above all before it in the run.
    pub reading_is_highest: bool,
}
