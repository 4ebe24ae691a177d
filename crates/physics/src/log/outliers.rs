//! Single samples that have nothing to do with their neighbours.

use super::LogSample;

/// Samples looked at on either side.
const SIDE: usize = 3;

/// A sample is out when it is off by more than this many robust standard deviations of its like ...
const DEVIATIONS: f64 = 6.0;

/// ... and by more than this many steps of the thermometer ...
const STEPS: f64 = 1.6;

/// ... and this many times more than its neighbours are: where the curve itself bends, they are too.
const TIMES_NEIGHBOURS: f64 = 4.0;

/// Ratio of standard deviation to median absolute deviation of the normal distribution.
const SD_PER_MAD: f64 = 1.4826;

/// Which samples are to be left out of the smoothing.
pub(super) fn outliers(samples: &[LogSample], resolution_c: f64) -> Vec<bool> {
    let off: Vec<f64> = (0..samples.len()).map(|at| off_c(samples, at)).collect();
    let scale_c = SD_PER_MAD * median(off.clone());
    let least_c = (STEPS * resolution_c).max(DEVIATIONS * scale_c).max(1e-6);
    (0..samples.len())
        .map(|at| {
            let around = around(off.len(), at).map(|other| off[other]).collect();
            off[at] > least_c && off[at] > TIMES_NEIGHBOURS * median(around)
        })
        .collect()
}

/// How far a sample is off what its neighbours let expect, in the kindest view: the course before
/// it continued, the course after it continued back, or the line between both. At a bend one of
/// them holds; for a stray sample none does, even with a second one beside it.
fn off_c(samples: &[LogSample], at: usize) -> f64 {
    let before = |steps: usize| -> Option<&[LogSample]> {
        samples.get(at.checked_sub(steps * SIDE)?..at - (steps - 1) * SIDE)
    };
    let after = |steps: usize| samples.get(at + 1 + (steps - 1) * SIDE..at + 1 + steps * SIDE);
    [
        before(1).zip(after(1)),
        before(1).zip(before(2)),
        after(1).zip(after(2)),
    ]
    .into_iter()
    .flatten()
    .map(|(one, other)| (samples[at].temperature_c - on_line(one, other, samples[at].time_s)).abs())
    .filter(|off| off.is_finite())
    .min_by(f64::total_cmp)
    // Too few neighbours for a statement.
    .unwrap_or(0.0)
}

/// Temperature at `time_s` on the line through the middles of two stretches.
fn on_line(one: &[LogSample], other: &[LogSample], time_s: f64) -> f64 {
    let centre = |part: &[LogSample]| {
        let times = part.iter().map(|sample| sample.time_s).collect();
        let temperatures = part.iter().map(|sample| sample.temperature_c).collect();
        (median(times), median(temperatures))
    };
    let ((one_s, one_c), (other_s, other_c)) = (centre(one), centre(other));
    one_c + (time_s - one_s) / (other_s - one_s) * (other_c - one_c)
}

fn around(len: usize, at: usize) -> impl Iterator<Item = usize> {
    (at.saturating_sub(SIDE)..(at + SIDE + 1).min(len)).filter(move |&other| other != at)
}

/// The middle value (the upper one of two); 0 of none.
fn median(mut values: Vec<f64>) -> f64 {
    let middle = values.len() / 2;
    if values.is_empty() {
        return 0.0;
    }
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp(len: usize) -> Vec<LogSample> {
        (0..len)
            .map(|at| LogSample {
                time_s: 0.5 * at as f64,
                temperature_c: (10.0 * (100.0 + 0.008 * at as f64)).round() / 10.0,
            })
            .collect()
    }

    fn found(samples: &[LogSample]) -> Vec<usize> {
        outliers(samples, 0.1)
            .iter()
            .enumerate()
            .filter_map(|(at, &out)| out.then_some(at))
            .collect()
    }

    #[test]
    fn single_and_double_outliers_are_found_wherever_they_stand() {
        let mut samples = ramp(200);
        assert_eq!(found(&samples), []);
        for at in [0, 60, 120, 121, 199] {
            samples[at].temperature_c += 1.0;
        }
        assert_eq!(found(&samples), [0, 60, 120, 121, 199]);
    }

    #[test]
    fn a_bend_is_no_outlier() {
        // Sampled every 5 s: level, then 15 °C/min reached within one sample.
        let samples: Vec<LogSample> = (0..60)
            .map(|at| LogSample {
                time_s: 5.0 * f64::from(at),
                temperature_c: 50.0 + 1.25 * f64::from((at - 30).max(0)),
            })
            .collect();
        assert_eq!(found(&samples), []);
    }

    #[test]
    fn short_logs_have_none() {
        for len in 0..8 {
            assert_eq!(found(&ramp(len)), []);
        }
    }
}
