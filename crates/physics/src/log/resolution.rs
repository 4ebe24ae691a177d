//! In what steps a log was written.

use super::LogSample;

/// Steps that thermometers show [°C]: decimal ones, quarters and sixteenths of a degree, and tenths
/// and whole degrees Fahrenheit.
const STEPS_C: [f64; 17] = [
    1.0,
    1.0 / 1.8,
    0.5,
    0.25,
    0.2,
    0.125,
    0.1,
    0.0625,
    0.1 / 1.8,
    0.05,
    0.025,
    0.02,
    0.01,
    0.005,
    0.002,
    0.001,
    0.0001,
];

/// Part of the samples that must lie on the grid; a few averaged or damaged ones may not.
const ON_GRID: f64 = 0.98;

/// Coarsest step of which all temperatures are multiples, from any starting value [°C]; 0 when they
/// show none. A log that never changes shows only the step of its decimals.
pub(super) fn resolution_c(samples: &[LogSample]) -> f64 {
    let Some(first) = samples.first() else {
        return 0.0;
    };
    let printed = printed_step_c(samples);
    let changes = samples
        .iter()
        .any(|sample| sample.temperature_c != first.temperature_c);
    if !changes {
        return printed;
    }
    STEPS_C
        .into_iter()
        .find(|&step| {
            // Printing with few decimals moves a value off a grid that is not decimal.
            let slack = (0.51 * printed).min(0.12 * step).max(1e-9);
            on_grid(samples, first.temperature_c, step, slack)
        })
        .unwrap_or(0.0)
}

/// Step of the last decimal printed [°C]; 0 when there are more than six.
fn printed_step_c(samples: &[LogSample]) -> f64 {
    (0..=6)
        .map(|decimals| 10_f64.powi(-decimals))
        .find(|&step| on_grid(samples, 0.0, step, 1e-4 * step))
        .unwrap_or(0.0)
}

fn on_grid(samples: &[LogSample], origin_c: f64, step_c: f64, slack_c: f64) -> bool {
    let near = samples
        .iter()
        .filter(|sample| {
            let off = sample.temperature_c - origin_c;
            (off - (off / step_c).round() * step_c).abs() <= slack_c
        })
        .count();
    near as f64 >= ON_GRID * samples.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn log(values: impl IntoIterator<Item = f64>) -> Vec<LogSample> {
        values
            .into_iter()
            .enumerate()
            .map(|(at, temperature_c)| LogSample {
                time_s: at as f64,
                temperature_c,
            })
            .collect()
    }

    fn ramp_in_steps(step_c: f64, offset_c: f64, decimals: i32) -> Vec<LogSample> {
        let print = 10_f64.powi(decimals);
        log((0..400).map(|at| {
            let true_c = 100.0 + 0.0213 * f64::from(at);
            let stepped = (true_c / step_c).round() * step_c + offset_c;
            (stepped * print).round() / print
        }))
    }

    #[test]
    fn steps_are_found_with_offset_and_rounded_print() {
        for (step_c, offset_c, decimals) in [
            (0.1, 0.0, 1),
            (0.1, 0.03, 2),
            (0.2, 0.0, 1),
            (0.5, 0.0, 1),
            (1.0, 0.4, 1),
            (0.0625, 0.0, 4),
            (0.0625, 0.0, 2),
            (0.25, 0.0, 2),
            (0.1 / 1.8, 0.0, 3),
            (0.01, 0.0, 2),
        ] {
            let found = resolution_c(&ramp_in_steps(step_c, offset_c, decimals));
            assert!(
                (found - step_c).abs() < 1e-12,
                "{step_c} with offset {offset_c} in {decimals} decimals: {found}"
            );
        }
    }

    #[test]
    fn a_log_without_steps_has_none() {
        let found = resolution_c(&log((0..400).map(|at| 100.0 + (f64::from(at)).sin())));
        assert_eq!(found, 0.0);
        assert_eq!(resolution_c(&log([20.5, 20.5, 20.5])), 0.1);
        assert_eq!(resolution_c(&[]), 0.0);
    }
}
