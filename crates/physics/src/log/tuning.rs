//! How noisy a thermometer is and how restless the heating, learnt from the log itself.

use super::LogSample;
use super::rounded::Display;
use super::smoother::Course;

/// Noise tried, as multiples of the coarser of the display's step and the samples' scatter.
const NOISE_FACTORS: [f64; 9] = [0.05, 0.1, 0.2, 0.4, 0.7, 1.0, 1.4, 2.0, 4.0];

/// Least noise [°C]: below it, nothing that matters here changes.
const LEAST_NOISE_C: f64 = 5e-4;

/// Restlessness tried, decimal logarithms of the rate's wander [°C²/s³].
const WANDERS_LOG10: [f64; 13] = [
    -8.0, -7.5, -7.0, -6.5, -6.0, -5.5, -5.0, -4.5, -4.0, -3.5, -3.0, -2.0, -1.0,
];

/// Usual restlessness: a controller hunting by ±0.03 °C with a period of half a minute, or a bend
/// between soak and a 1 °C/min scan, wanders by about 10⁻⁵ °C²/s³. Common practice, no source.
const USUAL_WANDER_LOG10: f64 = -5.0;

/// Spread of that expectation [decades]: towards restless benches wide, towards calm ones narrow.
/// A coarse or sparse log looks calm because it cannot show the hunting that is there; believing
/// it would make the stated uncertainty too small. With 0.25 (tried: 0.25, 0.35, 0.7) the simulated
/// logs of tests/it/log_smoothing.rs hold their stated uncertainty, at no cost to fine logs.
const RESTLESS_SPREAD_LOG10: f64 = 0.8;
const CALM_SPREAD_LOG10: f64 = 0.25;

/// Restlessness is learnt from the samples within this time on either side [s]: long enough for
/// some turns of a hunting controller, short enough to keep approach and scan apart.
const LEARN_WITHIN_S: f64 = 45.0;

/// Longest stretch from which noise is learnt [samples].
const NOISE_SAMPLES: usize = 4000;

/// Noise of the thermometer before rounding, by maximum likelihood [°C].
pub(super) fn display(
    samples: &[LogSample],
    out: &[bool],
    resolution_c: f64,
    longest_step_s: f64,
) -> Display {
    let begin = samples.len().saturating_sub(NOISE_SAMPLES) / 2;
    let end = (begin + NOISE_SAMPLES).min(samples.len());
    let (samples, out) = (&samples[begin..end], &out[begin..end]);
    let unit_c = scatter_c(samples).max(0.5 * resolution_c);
    let tried: Vec<(f64, f64)> = NOISE_FACTORS
        .iter()
        .map(|factor| (factor * unit_c).max(LEAST_NOISE_C))
        .map(|noise_c| {
            let course = Course {
                samples,
                out,
                display: Display {
                    resolution_c,
                    noise_c,
                },
                longest_step_s,
            };
            let likelihoods = course.log_likelihoods(|_| 10_f64.powf(USUAL_WANDER_LOG10));
            (noise_c.ln(), likelihoods.iter().sum())
        })
        .collect();
    Display {
        resolution_c,
        noise_c: peak(&tried).exp().max(LEAST_NOISE_C),
    }
}

/// Scatter of neighbouring samples about their common slope, robust [°C].
fn scatter_c(samples: &[LogSample]) -> f64 {
    let mut bends: Vec<f64> = samples
        .windows(3)
        .map(|three| {
            let share = (three[1].time_s - three[0].time_s) / (three[2].time_s - three[0].time_s);
            let expected =
                three[0].temperature_c + share * (three[2].temperature_c - three[0].temperature_c);
            (three[1].temperature_c - expected).abs()
        })
        .filter(|bend| bend.is_finite())
        .collect();
    if bends.is_empty() {
        return LEAST_NOISE_C;
    }
    let middle = bends.len() / 2;
    let median = *bends.select_nth_unstable_by(middle, f64::total_cmp).1;
    // Median of |N(0, 1.5 σ²)| is 0.6745 √1.5 σ.
    (median / (0.674_5 * 1.5_f64.sqrt())).max(LEAST_NOISE_C)
}

/// Place of the highest value, by a parabola through it and its neighbours.
fn peak(tried: &[(f64, f64)]) -> f64 {
    let best = (0..tried.len())
        .max_by(|&a, &b| tried[a].1.total_cmp(&tried[b].1))
        .expect("several values were tried");
    if best == 0 || best + 1 == tried.len() {
        return tried[best].0;
    }
    let ((x0, y0), (x1, y1), (x2, y2)) = (tried[best - 1], tried[best], tried[best + 1]);
    let (left, right) = ((y1 - y0) / (x1 - x0), (y2 - y1) / (x2 - x1));
    let bend = (right - left) / (x2 - x0);
    if bend < 0.0 {
        (0.5 * (x0 + x1) - 0.5 * left / bend).clamp(x0, x2)
    } else {
        x1
    }
}

/// Wander of the rate for the step to each sample [°C²/s³].
///
/// At each sample the posterior mean of its logarithm, from the likelihood of the samples near it
/// and the expectation of usual benches.
pub(super) fn wanders(course: &Course<'_>) -> Vec<f64> {
    let samples = course.samples;
    let windows = windows(samples);
    let mut posterior: Vec<[f64; WANDERS_LOG10.len()]> =
        vec![[0.0; WANDERS_LOG10.len()]; samples.len()];
    for (nth, log10) in WANDERS_LOG10.into_iter().enumerate() {
        let likelihoods = course.log_likelihoods(|_| 10_f64.powf(log10));
        let mut sums = Vec::with_capacity(samples.len() + 1);
        sums.push(0.0);
        for likelihood in &likelihoods {
            sums.push(sums[sums.len() - 1] + likelihood);
        }
        let spread = if log10 > USUAL_WANDER_LOG10 {
            RESTLESS_SPREAD_LOG10
        } else {
            CALM_SPREAD_LOG10
        };
        let off = (log10 - USUAL_WANDER_LOG10) / spread;
        for (at, &(begin, end)) in windows.iter().enumerate() {
            posterior[at][nth] = sums[end] - sums[begin] - 0.5 * off * off;
        }
    }
    posterior
        .iter()
        .map(|logs| 10_f64.powf(mean(logs)))
        .collect()
}

/// For each sample the range of samples near it.
fn windows(samples: &[LogSample]) -> Vec<(usize, usize)> {
    let (mut begin, mut end) = (0, 0);
    samples
        .iter()
        .map(|sample| {
            while samples[begin].time_s < sample.time_s - LEARN_WITHIN_S {
                begin += 1;
            }
            while end < samples.len() && samples[end].time_s <= sample.time_s + LEARN_WITHIN_S {
                end += 1;
            }
            (begin, end)
        })
        .collect()
}

/// Mean of the logarithm of the wander under unnormalised log weights.
fn mean(logs: &[f64; WANDERS_LOG10.len()]) -> f64 {
    let highest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (mut sum, mut total) = (0.0, 0.0);
    for (at, (log10, log)) in WANDERS_LOG10.iter().zip(logs).enumerate() {
        // The grid is wider at its upper end.
        let width = match at {
            0 => 0.5,
            at if at + 1 == WANDERS_LOG10.len() => 1.0,
            at => 0.5 * (WANDERS_LOG10[at + 1] - WANDERS_LOG10[at - 1]),
        };
        let weight = width * (log - highest).exp();
        sum += weight * log10;
        total += weight;
    }
    sum / total
}
