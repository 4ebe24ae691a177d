//! Heating-rate laws of a sample that takes its heat through a resistance.
//!
//! The numbers are worked out independently by hand from ∫(βt)/R dt = Q (mark C); only the
//! ratios have physical authority, the resistance of 300 K/W is an assumption.

use std::error::Error;

use meltrange_physics::{FirstMelt, HeatedSample, ImpureSolid, Kelvin, ThermalContact};

const PURE_K: f64 = 395.52;
const START_BELOW_K: f64 = 2.0;

/// Block temperature above T₀ and time since T₀ when the last of a pure sample melts, integrated.
fn clear_point(contact: ThermalContact, rate_c_per_min: f64) -> Result<(f64, f64), Box<dyn Error>> {
    let pure = Kelvin(PURE_K);
    let solid = ImpureSolid::new(pure, 18_020.0, 0.0, FirstMelt::BelowFraction(0.0))?;
    let mut sample = HeatedSample::new(contact, solid, Kelvin(PURE_K - START_BELOW_K));
    let rate_k_per_s = rate_c_per_min / 60.0;
    let block = |time_s: f64| Kelvin(PURE_K - START_BELOW_K + rate_k_per_s * time_s);
    let step_s = 0.02;
    let mut steps = 0.0;
    while sample.melted_fraction() < 1.0 {
        sample.advance(block(steps * step_s), block((steps + 1.0) * step_s), step_s);
        steps += 1.0;
        if steps > 1e6 {
            return Err("the sample never melts".into());
        }
    }
    let time_s = steps * step_s;
    Ok((
        block(time_s).0 - PURE_K,
        time_s - START_BELOW_K / rate_k_per_s,
    ))
}

/// 1.4 mg benzoic acid, Q = 0.21 J, R = 300 K/W: at 0.2, 0.5, 1, 2, 5, 10 °C/min the clear point is
/// 0.65, 1.02, 1.45, 2.05, 3.24, 4.58 K high and melting takes 194, 123, 87, 61, 39, 27 s (C).
#[test]
fn worked_example_of_the_square_root_law() -> Result<(), Box<dyn Error>> {
    // Heat capacity all but absent, as in the derivation.
    let contact = ThermalContact::new(300.0, 0.05, 0.21)?;
    let table = [
        (0.2, 0.65, 194.0),
        (0.5, 1.02, 123.0),
        (1.0, 1.45, 87.0),
        (2.0, 2.05, 61.0),
        (5.0, 3.24, 39.0),
        (10.0, 4.58, 27.0),
    ];
    for (rate, shift_k, time_s) in table {
        let (found_k, found_s) = clear_point(contact, rate)?;
        assert!(
            (found_k - shift_k).abs() < 0.006 + 0.002 * shift_k,
            "{rate} °C/min: {found_k} K"
        );
        assert!((found_s - time_s).abs() < 0.6, "{rate} °C/min: {found_s} s");
    }
    Ok(())
}

/// Onset lag τ β, linear in rate (C).
#[test]
fn onset_lag_is_linear_in_rate() -> Result<(), Box<dyn Error>> {
    let contact = ThermalContact::new(300.0, 6.0, 0.21)?;
    let solid = ImpureSolid::new(Kelvin(PURE_K), 18_020.0, 0.0, FirstMelt::BelowFraction(0.0))?;
    for rate in [0.5, 1.0, 2.0, 4.0] {
        let rate_k_per_s = rate / 60.0;
        let mut sample = HeatedSample::new(contact, solid, Kelvin(PURE_K - 10.0));
        let duration_s = 60.0;
        let block_k = PURE_K - 10.0 + rate_k_per_s * duration_s;
        sample.advance(Kelvin(PURE_K - 10.0), Kelvin(block_k), duration_s);
        let lag_k = block_k - sample.temperature().0;
        let expected_k = 6.0 * rate_k_per_s;
        assert!(
            (lag_k / expected_k - 1.0).abs() < 0.01,
            "{rate} °C/min: lag {lag_k} K"
        );
    }
    Ok(())
}

/// Zero rate from two rates, T0 = (T2√β1 − T1√β2)/(√β1 − √β2): the shift of the integrated model
/// at 1 and 4 °C/min must lead back to T₀ (C).
#[test]
fn two_rates_lead_back_to_zero_rate() -> Result<(), Box<dyn Error>> {
    let contact = ThermalContact::new(300.0, 0.05, 0.21)?;
    let (slow_k, _) = clear_point(contact, 1.0)?;
    let (fast_k, _) = clear_point(contact, 4.0)?;
    let (slow_root, fast_root) = (1.0f64.sqrt(), 4.0f64.sqrt());
    let zero_k = (fast_k * slow_root - slow_k * fast_root) / (slow_root - fast_root);
    assert!(zero_k.abs() < 0.005, "{zero_k} K off");
    Ok(())
}
