//! Emergent stem and the temperature scale before 1990.
//!
//! Stem: formula and factor of mercury V (NBS Monograph 150, CRC Handbook); values by hand C.
//! Scales: polynomial and three-decimal table V (CRC Handbook); four-decimal values C.

use crate::rows;
use meltrange_metrology::{
    Calibration, CorrectionCurve, EmergentStem, Indicated, StemError, Thermometer,
    ThermometricLiquid, correct_for_stem, old_scale, stem_correction_c, t90_minus_t68_c,
};
use meltrange_physics::Celsius;
use serde::Deserialize;

const MERCURY: Thermometer = Thermometer::TotalImmersion(ThermometricLiquid::Mercury);

fn stem(length_c: f64, mean_c: f64) -> EmergentStem {
    EmergentStem {
        length_c,
        mean: Celsius(mean_c),
        mean_u_c: 5.0,
    }
}

/// n, reading, stem temperature, K in one pass, K with the corrected temperature (C).
#[test]
fn table_of_corrections() {
    for (n, reading, mean, one_pass, closed) in [
        (60.0, 115.0, 30.0, 0.816, 0.8239),
        (80.0, 122.0, 30.0, 1.178, 1.1929),
        (100.0, 200.0, 40.0, 2.560, 2.6016),
        (150.0, 200.0, 35.0, 3.960, 4.0574),
        (190.0, 236.0, 45.0, 5.806, 5.9884),
        (200.0, 250.0, 60.0, 6.080, 6.2810),
    ] {
        let found = stem_correction_c(MERCURY, stem(n, mean), Celsius(reading)).expect("sound");
        assert!((found - closed).abs() < 0.000_051, "{n}: {found}, {closed}");
        // The single pass is what the closed form becomes when 1 − kn is left out.
        assert!(
            (found * (1.0 - 0.000_16 * n) - one_pass).abs() < 0.000_51,
            "{n}"
        );
    }
}

#[test]
fn no_column_no_correction_and_the_sign_turns() {
    let correction = |n, mean, reading| {
        stem_correction_c(MERCURY, stem(n, mean), Celsius(reading)).expect("sound")
    };
    assert_eq!(correction(0.0, 30.0, 200.0), 0.0);
    assert_eq!(correction(100.0, 30.0, 30.0), 0.0);
    assert!(correction(100.0, 30.0, 200.0) > 0.0);
    assert!(correction(100.0, 30.0, -20.0) < 0.0);
}

#[test]
fn no_correction_where_there_is_none() {
    let reading = Celsius(122.0);
    let found = stem_correction_c(
        Thermometer::PartialImmersionAtItsLine,
        stem(80.0, 30.0),
        reading,
    );
    assert_eq!(found, Err(StemError::PartialImmersion));
    let found = stem_correction_c(Thermometer::Electronic, stem(80.0, 30.0), reading);
    assert_eq!(found, Err(StemError::NoColumn));
    let curve: CorrectionCurve = serde_json::from_str(
        r#"{"degree":0,"origin_c":0,"coefficients":[1.2],"standard_uncertainties":[0.1],"covariance":[[0.01]],
            "residual_sd_c":0.2,"degrees_of_freedom":3,"valid_from_c":80,"valid_to_c":180}"#,
    )
    .expect("as the calibrate command prints it");
    let calibration = Calibration::new(curve).expect("sound");
    let reading = Indicated::new(reading, 0.1).expect("sound");
    let twice = correct_for_stem(MERCURY, stem(80.0, 30.0), reading, Some(&calibration));
    assert_eq!(twice, Err(StemError::ContainedInCalibration));
    let once = correct_for_stem(MERCURY, stem(80.0, 30.0), reading, None).expect("sound");
    assert!((once.value().0 - 123.1929).abs() < 0.000_1);
}

#[derive(Deserialize)]
struct Difference {
    t90_c: f64,
    t90_minus_t68_c: f64,
}

#[test]
fn scale_of_1990_against_that_of_1968() {
    let table: Vec<Difference> =
        rows(include_str!("data/its90_minus_ipts68.csv")).expect("a sound table");
    assert!(table.len() > 10);
    for row in table {
        let found = t90_minus_t68_c(Celsius(row.t90_c)).expect("in range");
        assert!(
            (found - row.t90_minus_t68_c).abs() < 0.000_051,
            "{}: {found}",
            row.t90_c
        );
    }
    // Three-decimal table of the CRC Handbook (V); 150 and 180 °C differ from the polynomial by up to 1 mK.
    for (t90, printed) in [
        (50.0, -0.013),
        (80.0, -0.021),
        (100.0, -0.026),
        (120.0, -0.030),
        (150.0, -0.036),
        (180.0, -0.039),
        (200.0, -0.040),
        (230.0, -0.040),
        (250.0, -0.040),
    ] {
        let found = t90_minus_t68_c(Celsius(t90)).expect("in range");
        assert!((found - printed).abs() < 0.001, "{t90}: {found}, {printed}");
    }
}

/// Never more than 0.041 °C below 300 °C: negligible beside 0.2 °C.
#[test]
fn old_values_need_no_conversion() {
    for t90 in 0..=300 {
        let found = old_scale(Celsius(f64::from(t90)), 0.2).expect("in range");
        assert!(
            found.difference_c.abs() < 0.041 && found.negligible,
            "{t90}: {found:?}"
        );
    }
    assert!(
        !old_scale(Celsius(200.0), 0.01)
            .expect("in range")
            .negligible
    );
    assert_eq!(old_scale(Celsius(700.0), 0.2), None);
}
