//! Extrapolation to zero heating rate; values by hand (C).

use meltrange_metrology::{AtRate, zero_rate};
use meltrange_physics::Celsius;

fn run(rate_c_per_min: f64, temperature_c: f64) -> AtRate {
    AtRate {
        rate_c_per_min,
        temperature: Celsius(temperature_c),
        standard_uncertainty_c: 0.1,
    }
}

/// T0 = (T2√β1 − T1√β2)/(√β1 − √β2): 123.82 at 1 and 125.27 at 4 °C/min lead back to 122.37.
#[test]
fn worked_example_of_the_square_root_law() {
    let found = zero_rate(&[run(1.0, 123.82), run(4.0, 125.27)]).expect("two rates");
    assert!((found.root.temperature.0 - 122.37).abs() < 1e-9);
    assert!((found.root.shift_at_1_c_per_min_c - 1.45).abs() < 1e-9);
    // A line through the same two: 123.82 − 1.45/3.
    assert!((found.line.temperature.0 - (123.82 - 1.45 / 3.0)).abs() < 1e-9);
    let difference = 1.45 - 1.45 / 3.0;
    assert!((found.difference_c - difference).abs() < 1e-9);
    assert!(found.depends_on_law);
    assert!(found.standard_uncertainty_c > difference / 2.0);
    // Weights of two alike points: u² = u₁² (2² + 1²) for √β = 1, 2 at 0.
    assert!((found.root.standard_uncertainty_c - 0.1 * 5f64.sqrt()).abs() < 1e-9);
}

/// Onset lag is linear in rate, so the line is right and says so without residue.
#[test]
fn a_lag_linear_in_rate_leads_back_by_the_line() {
    let runs: Vec<AtRate> = [0.5, 1.0, 2.0, 4.0]
        .into_iter()
        .map(|rate| run(rate, 114.37 + 0.3 * rate))
        .collect();
    let found = zero_rate(&runs).expect("four rates");
    assert!((found.line.temperature.0 - 114.37).abs() < 1e-9);
    assert!(found.root.temperature.0 < 114.37);
}
