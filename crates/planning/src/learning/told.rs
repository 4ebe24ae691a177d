//! What the logs tell beside the fit: how approaches are led and arrive, what ends a scan, how the thermometer shows.

use super::fit::Fitted;
use super::learned::{ApproachStyle, ScanEnd};
use super::model::Crossing;
use super::run_log::{Approach, RunLog, ScanOver};
use meltrange_physics::{LogSample, TemperatureLog};

/// Distances from the target that programmes take for arrived [°C].
const TOLERANCES_C: [f64; 7] = [0.05, 0.1, 0.2, 0.25, 0.3, 0.5, 1.0];
/// Taken where the logs do not tell.
const USUAL_TOLERANCE_C: f64 = 0.5;
/// Soaks are whole halves of a minute [s].
const SOAK_STEP_S: f64 = 30.0;
/// What an approach may take longer or shorter while too few were seen, as a part of its time.
const UNKNOWN_SCATTER: f64 = 0.1;
/// What the end of a scan may be off while too few were seen [°C].
const UNKNOWN_SCAN_C: f64 = 0.2;
/// Fewest approaches from which the tolerance is told.
const ENOUGH: usize = 3;

/// Whether the setpoint jumps to the target or is led there, and how fast.
pub(super) fn style(approaches: &[(usize, Approach)]) -> ApproachStyle {
    let mut rates: Vec<f64> = approaches
        .iter()
        .filter_map(|(_, found)| found.setpoint_rate)
        .collect();
    if 2 * rates.len() <= approaches.len() {
        return ApproachStyle::Jump;
    }
    let led = rates.len();
    let tapering = approaches.iter().filter(|(_, found)| found.tapers).count();
    let middle = rates.len() / 2;
    let (_, rate, _) = rates.select_nth_unstable_by(middle, f64::total_cmp);
    ApproachStyle::Led {
        rate_c_per_min: *rate,
        tapers: 2 * tapering > led,
    }
}

/// How close to its target a block has arrived, told by the soaks: with the right distance they are all
/// whole halves of a minute. Where none makes them so, the usual one.
pub(super) fn tolerance_c(logs: &[RunLog], approaches: &[(usize, Approach)]) -> f64 {
    let off_s = |tolerance_c: f64| -> Option<f64> {
        let mut worst_s: f64 = 0.0;
        let mut seen = 0;
        for (number, approach) in approaches.iter().filter(|(_, found)| found.then_scan) {
            let log = &logs[*number];
            let soaked_s =
                log.samples()[approach.until - 1].time_s - log.arrival_s(approach, tolerance_c)?;
            let halves = (soaked_s / SOAK_STEP_S).round().max(1.0);
            worst_s = worst_s.max((soaked_s - halves * SOAK_STEP_S).abs());
            seen += 1;
        }
        (seen >= ENOUGH).then_some(worst_s)
    };
    let spacing_s = logs.iter().map(RunLog::spacing_s).fold(0.0, f64::max);
    // By chance that many soaks hardly ever lie within this of whole halves.
    let most_s = (2.0 * spacing_s).clamp(1.5, 4.0);
    TOLERANCES_C
        .into_iter()
        .filter_map(|tolerance_c| Some((off_s(tolerance_c)?, tolerance_c)))
        .filter(|(off_s, _)| *off_s <= most_s)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(USUAL_TOLERANCE_C, |(_, tolerance_c)| tolerance_c)
}

/// When scans end. By the thermometer: then the reading that ended each is above all before it. By the setpoint:
/// then all end at whole tenths, within a step, where that is no chance. Else the logs do not tell.
pub(super) fn scan_end(logs: &[RunLog]) -> ScanEnd {
    let ends: Vec<ScanOver> = logs.iter().flat_map(RunLog::scans_over).collect();
    if ends.len() >= ENOUGH && ends.iter().all(|end| end.reading_is_highest) {
        return ScanEnd::Thermometer;
    }
    let mut by_chance = 1.0;
    for end in &ends {
        let within_c = end.step_c + 0.001;
        if ((10.0 * end.setpoint_c).round() / 10.0 - end.setpoint_c).abs() > within_c {
            return ScanEnd::Unknown;
        }
        by_chance *= (2.0 * within_c / 0.1).min(1.0);
    }
    if by_chance < 0.01 {
        ScanEnd::Setpoint
    } else {
        ScanEnd::Unknown
    }
}

/// How the thermometer shows temperatures.
#[derive(Debug, Clone, Copy)]
pub(super) struct Display {
    pub noise_c: f64,
    pub step_c: f64,
    pub spacing_s: f64,
}

impl Display {
    /// Step and spacing are medians over the logs, 0 for a step that is not seen; noise is what the fit leaves
    /// over, the rounding taken out.
    pub fn of(logs: &[RunLog], left_c: f64) -> Self {
        let median = |mut values: Vec<f64>| {
            values.sort_by(f64::total_cmp);
            values.get(values.len() / 2).copied().unwrap_or(0.0)
        };
        let steps = logs.iter().filter_map(|log| {
            let samples = log.samples().iter().map(|sample| LogSample {
                time_s: sample.time_s,
                temperature_c: sample.temperature_c,
            });
            Some(TemperatureLog::new(samples.collect()).ok()?.resolution_c())
        });
        let step_c = median(steps.collect());
        Self {
            noise_c: (left_c * left_c - step_c * step_c / 12.0).max(1e-6).sqrt(),
            step_c,
            spacing_s: median(logs.iter().map(RunLog::spacing_s).collect()),
        }
    }
}

/// How far approaches took longer than the model says, as a part of their time: mean, and the standard
/// deviation of one more, for few approaches widened as Student's distribution is.
pub(super) fn scatter(
    fit: &Fitted<'_>,
    logs: &[RunLog],
    approaches: &[(usize, Approach)],
    tolerance_c: f64,
    display: Display,
) -> (f64, f64) {
    let mut parts = Vec::new();
    for (number, approach) in approaches {
        let log = &logs[*number];
        let Some(shown) = fit.problem.course_of(*number, &fit.point) else {
            continue;
        };
        let samples = log.samples();
        let first = approach
            .setpoint_rate
            .map_or(approach.from, |_| approach.standing);
        let threshold_c = approach.to_c - tolerance_c;
        let mut crossing = Crossing::rising(threshold_c, display.noise_c, display.step_c);
        let modelled_s = (first..approach.until)
            .find(|&at| crossing.reached(shown[at], 1.0))
            .map(|at| samples[at].time_s);
        let begun_s = samples[approach.from].time_s;
        if let (Some(real_s), Some(modelled_s)) = (log.arrival_s(approach, tolerance_c), modelled_s)
            && modelled_s > begun_s
        {
            parts.push((real_s - modelled_s) / (modelled_s - begun_s));
        }
    }
    let count = parts.len() as f64;
    if count < 2.0 {
        return (0.0, UNKNOWN_SCATTER);
    }
    let mean = parts.iter().sum::<f64>() / count;
    let variance = parts.iter().map(|part| (part - mean).powi(2)).sum::<f64>() / (count - 1.0);
    // Variance of Student's distribution with n - 1 degrees of freedom, (n - 1)/(n - 3); 3 where there is none.
    let widened = if count > 3.5 {
        (count - 1.0) / (count - 3.0)
    } else {
        3.0
    };
    (mean, (variance * widened * (1.0 + 1.0 / count)).sqrt())
}

/// How far the last readings of slow ramps, the mean of some 20 s, are from the model, root mean square [°C].
pub(super) fn scan_scatter_c(fit: &Fitted<'_>, logs: &[RunLog]) -> f64 {
    let mut squares = Vec::new();
    for (number, log) in logs.iter().enumerate() {
        let Some(shown) = fit.problem.course_of(number, &fit.point) else {
            continue;
        };
        let samples = log.samples();
        for (end, three) in samples.windows(3).enumerate() {
            let rises =
                matches!((three[0].setpoint_c, three[1].setpoint_c), (Some(a), Some(b)) if b > a);
            if rises && three[2].setpoint_c.is_none() {
                let readings = (20.0 / log.spacing_s()).ceil().max(1.0) as usize;
                let last = (end + 2).saturating_sub(readings)..end + 2;
                let off_c: f64 = last
                    .clone()
                    .map(|at| samples[at].temperature_c - shown[at])
                    .sum();
                squares.push((off_c / last.len() as f64).powi(2));
            }
        }
    }
    if squares.len() < 2 {
        return UNKNOWN_SCAN_C;
    }
    let count = squares.len() as f64;
    // As of Student's distribution with as many degrees of freedom.
    let widened = if count > 2.5 {
        count / (count - 2.0)
    } else {
        3.0
    };
    (squares.iter().sum::<f64>() / count * widened).sqrt()
}
