//! Control charts against worked examples.

use meltrange_metrology::{ChartOptions, ChartRule, control_chart};

/// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, individuals: flow rate of ten batches;
/// mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159 with 1.128 for 2/√π.
#[test]
fn individuals_and_moving_range_of_the_handbook() {
    let flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    let chart = control_chart(&flow, ChartOptions::default()).expect("ten values");
    assert!((chart.centre_c - 50.81).abs() < 1e-9);
    assert!((chart.moving_range.mean_c - 1.8778).abs() < 5e-5);
    // The handbook rounds 2/√π to 1.128, which moves the limits by 0.0017.
    assert!(
        (chart.limits.high_c - 55.8041).abs() < 2e-3,
        "{:?}",
        chart.limits
    );
    assert!(
        (chart.limits.low_c - 45.8159).abs() < 2e-3,
        "{:?}",
        chart.limits
    );
    let ranges: Vec<f64> = chart
        .moving_range
        .values_c
        .iter()
        .flatten()
        .copied()
        .collect();
    let listed = [2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5];
    assert_eq!(ranges.len(), listed.len());
    for (found, expected) in ranges.iter().zip(listed) {
        assert!((found - expected).abs() < 1e-9);
    }
    // "On both charts the process is in control, since none of the plotted points fall outside."
    let broken = |rule| {
        chart
            .points
            .iter()
            .any(|point| point.alarms.iter().any(|alarm| alarm.rule == rule))
    };
    assert!(!broken(ChartRule::BeyondLimits) && !broken(ChartRule::MovingRange));
}

/// The same handbook, 6.3.2.4, quoted second-hand: start 50, s = 2.0539, λ = 0.3, three standard
/// deviations give 52.5884 and 47.4115 (truncated) in the steady state.
#[test]
fn limits_of_the_weighted_average_of_the_handbook() {
    let options = ChartOptions {
        centre_c: Some(50.0),
        sigma_c: Some(2.0539),
        ..ChartOptions::default()
    };
    let chart = control_chart(&[50.0; 40], options).expect("forty values");
    let steady = chart.weighted_average.limits.last().expect("forty");
    assert!((steady.high_c - 52.5884).abs() < 1e-4, "{steady:?}");
    assert!((steady.low_c - 47.4115).abs() < 1e-4, "{steady:?}");
}

/// Data of a textbook example of the weighted average (Montgomery, Introduction to Statistical
/// Quality Control; second-hand from the documentation of a numerical library): thirty values, the
/// last ten from a process moved up by one standard deviation. λ = 0.1, 2.7 standard deviations.
/// The limits are worked out here: first 10 ± 0.27, steady 10 ± 2.7 √(0.1/1.9).
#[test]
fn a_shift_of_one_standard_deviation_is_seen() {
    let values = [
        9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34, 9.03, 11.47, 10.51, 9.40,
        10.08, 9.37, 10.62, 10.31, 8.52, 10.84, 10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38,
        11.62, 11.31, 10.52,
    ];
    let options = ChartOptions {
        centre_c: Some(10.0),
        sigma_c: Some(1.0),
        lambda: 0.1,
        width: 2.7,
        ..ChartOptions::default()
    };
    let chart = control_chart(&values, options).expect("thirty values");
    let limits = &chart.weighted_average.limits;
    assert!((limits[0].high_c - 10.27).abs() < 1e-9);
    let steady = 2.7 * (0.1f64 / 1.9).sqrt();
    assert!((limits[29].high_c - 10.0 - steady).abs() < 2e-3);
    // 0.1 · 9.45 + 0.9 · 10 and 0.1 · 7.99 + 0.9 · 9.945.
    assert!((chart.weighted_average.values_c[0] - 9.945).abs() < 1e-9);
    assert!((chart.weighted_average.values_c[1] - 9.7495).abs() < 1e-9);
    let seen = |place: usize| {
        chart.points[place]
            .alarms
            .iter()
            .any(|alarm| alarm.rule == ChartRule::WeightedAverage)
    };
    assert!((0..20).all(|place| !seen(place)), "none before the shift");
    assert!((20..30).any(seen), "the shift is seen");
    // Single values do not show it.
    assert!(chart.points.iter().all(|point| {
        point
            .alarms
            .iter()
            .all(|alarm| alarm.rule != ChartRule::BeyondLimits)
    }));
}
