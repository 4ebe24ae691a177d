//! How near the smoothed log comes to the truth, and whether its uncertainty is honest.

use crate::log_course::{BENCH, Course, Logging, simulate};

/// Errors over many logs: root mean square, root mean square of the stated uncertainty, part of
/// the errors within twice the stated uncertainty, the largest.
#[derive(Debug)]
struct Measured {
    rms_c: f64,
    stated_c: f64,
    within: f64,
    largest_c: f64,
}

fn measure(course: Course, logging: Logging, from_s: f64) -> Measured {
    let (mut square, mut stated, mut within, mut count, mut largest_c) = (0.0, 0.0, 0, 0, 0.0_f64);
    for seed in 0..LOGS {
        let (truth, log) = simulate(seed, course, logging);
        let mut time_s = from_s;
        while time_s < logging.duration_s - 15.0 {
            // A gap may fall anywhere; between samples counts as much as at them.
            if let Some(point) = log.at(time_s) {
                let error_c = point.temperature_c - truth.at(time_s);
                square += error_c * error_c;
                stated += point.standard_uncertainty_c.powi(2);
                within += usize::from(error_c.abs() <= 2.0 * point.standard_uncertainty_c);
                largest_c = largest_c.max(error_c.abs());
                count += 1;
            }
            time_s += 3.7;
        }
    }
    let count = count as f64;
    Measured {
        rms_c: (square / count).sqrt(),
        stated_c: (stated / count).sqrt(),
        within: within as f64 / count,
        largest_c,
    }
}

const LOGS: u64 = 12;

/// Kinds of log, with the error allowed [°C rms] over the scan.
fn kinds() -> Vec<(&'static str, Course, Logging, f64)> {
    let log = Logging::default();
    let at_rate = |rate_c_per_min| Course {
        rate_c_per_min,
        ..BENCH
    };
    let hunting = |ripple_c, ripple_period_s| Course {
        ripple_c,
        ripple_period_s,
        ..BENCH
    };
    vec![
        ("usual", BENCH, log, 0.010),
        ("0.5 °C/min", at_rate(0.5), log, 0.010),
        ("2 °C/min", at_rate(2.0), log, 0.010),
        ("10 °C/min", at_rate(10.0), log, 0.012),
        (
            "1 Hz",
            BENCH,
            Logging {
                samples_per_s: 1.0,
                ..log
            },
            0.013,
        ),
        (
            "0.2 Hz",
            BENCH,
            Logging {
                samples_per_s: 0.2,
                ..log
            },
            0.023,
        ),
        ("0.2 °C", BENCH, Logging { step_c: 0.2, ..log }, 0.014),
        ("0.5 °C", BENCH, Logging { step_c: 0.5, ..log }, 0.05),
        ("1 °C", BENCH, Logging { step_c: 1.0, ..log }, 0.08),
        (
            "fine",
            at_rate(0.5),
            Logging {
                samples_per_s: 4.0,
                step_c: 0.01,
                noise_c: 0.01,
                ..log
            },
            0.005,
        ),
        (
            "sixteenths",
            BENCH,
            Logging {
                step_c: 0.0625,
                ..log
            },
            0.010,
        ),
        (
            "noisy",
            BENCH,
            Logging {
                noise_c: 0.1,
                ..log
            },
            0.024,
        ),
        (
            "very noisy",
            BENCH,
            Logging {
                noise_c: 0.3,
                ..log
            },
            0.05,
        ),
        ("no ripple", hunting(0.0, 31.0), log, 0.008),
        ("strong ripple", hunting(0.1, 31.0), log, 0.013),
        ("slow ripple", hunting(0.08, 120.0), log, 0.010),
        ("fast ripple", hunting(0.03, 12.0), log, 0.022),
        (
            "a third missing",
            BENCH,
            Logging {
                missing_fraction: 0.33,
                ..log
            },
            0.012,
        ),
        (
            "outliers",
            BENCH,
            Logging {
                outlier_fraction: 0.02,
                ..log
            },
            0.011,
        ),
    ]
}

#[test]
fn errors_are_small_and_uncertainties_honest() {
    let mut faults = Vec::new();
    for (name, course, logging, allowed_c) in kinds() {
        let found = measure(course, logging, 20.0);
        println!(
            "{name:16} rms {:.4} stated {:.4} within {:.3} largest {:.4}",
            found.rms_c, found.stated_c, found.within, found.largest_c
        );
        if found.rms_c > allowed_c || !(0.90..=0.999).contains(&found.within) {
            faults.push(format!("{name}: allowed {allowed_c}, {found:?}"));
        }
    }
    assert!(faults.is_empty(), "{faults:#?}");
}
