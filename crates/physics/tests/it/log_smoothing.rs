//! How near the smoothed log comes to the truth, and whether its uncertainty is honest.

use meltrange_physics::{LogSample, TemperatureLog};
use proptest::prelude::*;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

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
        ("fast ripple", hunting(0.03, 20.0), log, 0.022),
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
#[expect(clippy::print_stdout, reason = "the measured table is worth reading")]
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

/// Heating at 15 °C/min to 5 °C below the scan, soak, then the scan: the restless approach must not
/// spoil the scan, nor the calm scan the bend.
#[test]
fn a_fast_approach_does_not_spoil_the_scan() {
    let approach = Course {
        rate_c_per_min: 15.0,
        soak_s: 20.0,
        ripple_c: 0.0,
        ..BENCH
    };
    let scan = Course {
        soak_s: 420.0,
        ..BENCH
    };
    // Approach ends at 220 s, 50 °C up; both are exact responses of the same lag, so they add.
    let end = Course {
        soak_s: 220.0,
        rate_c_per_min: -15.0,
        ripple_c: 0.0,
        ..BENCH
    };
    let truth_c =
        |time_s: f64| approach.at(time_s) + end.at(time_s) + scan.at(time_s) - 2.0 * BENCH.start_c;
    let (mut rms, mut bend_within) = (Vec::new(), 0);
    for seed in 0..LOGS {
        let log = noisy_log(seed, 700.0, truth_c);
        let mut squares = Vec::new();
        for at in 0..200 {
            let time_s = 340.0 + 1.7 * f64::from(at);
            let point = log.at(time_s).expect("inside the log");
            squares.push((point.temperature_c - truth_c(time_s)).powi(2));
        }
        rms.push((squares.iter().sum::<f64>() / squares.len() as f64).sqrt());
        for time_s in [215.0, 222.0, 230.0, 240.0] {
            let point = log.at(time_s).expect("inside the log");
            let error_c = (point.temperature_c - truth_c(time_s)).abs();
            bend_within += usize::from(error_c <= 2.0 * point.standard_uncertainty_c);
        }
    }
    let rms_c = rms.iter().sum::<f64>() / rms.len() as f64;
    assert!(rms_c < 0.011, "scan after an approach: rms {rms_c} °C");
    assert!(
        bend_within as f64 >= 0.9 * (4 * LOGS) as f64,
        "{bend_within}"
    );
}

#[test]
fn one_stray_reading_does_not_matter() {
    let (truth, log) = simulate(5, BENCH, Logging::default());
    for (stray_c, allowed_c) in [(0.3, 0.02), (5.0, 0.02), (-100.0, 0.02), (800.0, 0.02)] {
        let mut samples = log.samples().to_vec();
        samples[400].temperature_c += stray_c;
        let time_s = samples[400].time_s;
        let spoilt = TemperatureLog::new(samples).expect("still a log");
        let point = spoilt.at(time_s).expect("inside the log");
        let moved_c = point.temperature_c - log.at(time_s).expect("inside").temperature_c;
        assert!(moved_c.abs() < allowed_c, "{stray_c}: moved by {moved_c}");
        assert!((point.temperature_c - truth.at(time_s)).abs() < 0.04);
    }
}

#[test]
fn gaps_are_bridged_with_growing_doubt_and_then_not_at_all() {
    let (truth, log) = simulate(9, BENCH, Logging::default());
    let without = |from_s: f64, to_s: f64| {
        let kept = log.samples().iter().copied();
        let kept = kept.filter(|sample| !(from_s..to_s).contains(&sample.time_s));
        TemperatureLog::new(kept.collect()).expect("still a log")
    };
    let short = without(200.0, 212.0);
    let (from_s, to_s) = short.gap_around(206.0).expect("12 s without a sample");
    assert!(from_s < 200.0 && to_s > 212.0 - 0.1);
    assert_eq!(short.gap_around(100.0), None);
    let (inside, before) = (short.at(206.0), short.at(150.0));
    let (inside, before) = (inside.expect("bridged"), before.expect("sampled"));
    assert!(inside.standard_uncertainty_c > 1.5 * before.standard_uncertainty_c);
    let error_c = (inside.temperature_c - truth.at(206.0)).abs();
    assert!(error_c < 3.0 * inside.standard_uncertainty_c);
    let long = without(200.0, 230.0);
    assert_eq!(long.at(215.0), None);
    assert_eq!(long.gaps().count(), 1);
    assert!(long.at(199.0).is_some() && long.at(231.0).is_some());
    assert_eq!(
        long.gap_around(-20.0).map(|gap| gap.0),
        Some(f64::NEG_INFINITY)
    );
}

#[test]
fn the_ends_reach_one_spacing_further() {
    let (_, log) = simulate(1, BENCH, Logging::default());
    let (start_s, end_s) = log.span_s();
    assert!(log.at(start_s - 0.4).is_some() && log.at(end_s + 0.4).is_some());
    assert!(log.at(start_s - 1.0).is_none() && log.at(end_s + 1.0).is_none());
    assert!(log.at(f64::NAN).is_none());
}

#[test]
fn rates_and_crossings_agree_with_the_course() {
    let (truth, log) = simulate(3, BENCH, Logging::default());
    let rate = log
        .rate_c_per_s_between(150.0, 350.0)
        .expect("inside the log");
    let expected = (truth.at(350.0) - truth.at(150.0)) / 200.0;
    assert!((rate - expected).abs() < 2e-4, "{rate} and {expected} °C/s");
    let crossing_s = log
        .time_at_temperature(truth.start_c + 3.0)
        .expect("reached");
    assert!((truth.at(crossing_s) - truth.start_c - 3.0).abs() < 0.03);
    assert_eq!(log.time_at_temperature(500.0), None);
}

fn noisy_log(seed: u64, duration_s: f64, truth_c: impl Fn(f64) -> f64) -> TemperatureLog {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let normal = Normal::new(0.0, 0.02).expect("a normal distribution");
    let samples = (0..(2.0 * duration_s) as u32).map(|at| {
        let time_s = 0.5 * f64::from(at);
        let shown_c: f64 = truth_c(time_s) + normal.sample(&mut rng);
        LogSample {
            time_s,
            temperature_c: (shown_c * 10.0).round() / 10.0,
        }
    });
    TemperatureLog::new(samples.collect()).expect("a sound log")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A log read later, on another clock, is the same log.
    #[test]
    fn the_clock_does_not_matter(shift_s in -1e6_f64..1e9) {
        let (_, log) = simulate(2, BENCH, Logging { duration_s: 120.0, ..Logging::default() });
        let shift_s = shift_s.round();
        let moved = log.samples().iter().map(|sample| LogSample {
            time_s: sample.time_s + shift_s,
            ..*sample
        });
        let moved = TemperatureLog::new(moved.collect()).expect("a log");
        for time_s in [10.0, 60.0, 100.3] {
            let (here, there) = (log.at(time_s), moved.at(time_s + shift_s));
            let (here, there) = (here.expect("inside"), there.expect("inside"));
            prop_assert!((here.temperature_c - there.temperature_c).abs() < 1e-4);
        }
    }

    /// Whatever is logged: no panic, and what is said is finite.
    #[test]
    fn anything_finite_is_survived(
        steps in prop::collection::vec((1e-3_f64..1e4, -273.0_f64..1000.0), 2..60),
        wild in prop::collection::vec((prop::num::f64::NORMAL, prop::num::f64::NORMAL), 2..20),
    ) {
        let mut time_s = 0.0;
        let rising = steps.iter().map(|&(step_s, temperature_c)| {
            time_s += step_s;
            LogSample { time_s, temperature_c }
        });
        let log = TemperatureLog::new(rising.collect()).expect("rising times");
        for sample in log.samples() {
            let point = log.at(sample.time_s).expect("at a sample");
            prop_assert!(point.temperature_c.is_finite());
            prop_assert!(point.standard_uncertainty_c.is_finite());
            prop_assert!(point.rate_c_per_s.is_finite());
        }
        let mut wild: Vec<LogSample> = wild
            .into_iter()
            .map(|(time_s, temperature_c)| LogSample { time_s, temperature_c })
            .collect();
        wild.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
        if let Ok(log) = TemperatureLog::new(wild) {
            let said = log.at(log.samples()[0].time_s);
            prop_assert!(said.is_none_or(|point| point.temperature_c.is_finite()));
        }
    }
}
