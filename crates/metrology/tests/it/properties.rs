//! Properties of calibrations and determinations.

use meltrange_metrology::{
    Calibration, CalibrationFit, CalibrationOptions, Certificate, Convention, Correction,
    CorrectionCurve, DeterminationOptions, Indicated, StandardPoint, TubeReading, UncertaintyFrom,
    calibrate, determine,
};
use meltrange_physics::Celsius;
use proptest::prelude::*;

/// Standards some degrees apart with corrections within a degree; weights as asked.
fn standards(stated: bool) -> impl Strategy<Value = Vec<StandardPoint>> {
    prop::collection::vec((2.0..30.0f64, -1.0..1.0f64, 0.05..0.3f64), 4..12).prop_map(move |rows| {
        let mut indicated_c = 40.0;
        rows.into_iter()
            .map(|(step, correction, u)| {
                indicated_c += step;
                StandardPoint {
                    substance: format!("at {indicated_c:.1}"),
                    reference: Celsius(indicated_c + correction),
                    indicated: Celsius(indicated_c),
                    reference_u_c: stated.then_some(u),
                    indicated_u_c: None,
                    convention: Convention::Thermodynamic,
                    certificate: Certificate::NotStated,
                }
            })
            .collect()
    })
}

fn fit(points: &[StandardPoint], degree: usize, origin_c: f64) -> CalibrationFit {
    let options = CalibrationOptions {
        degree: Some(degree),
        origin: Some(Celsius(origin_c)),
    };
    calibrate(points, options).expect("sound standards")
}

/// Correction and its uncertainty at some places, within and beyond the standards.
fn predictions(fit: &CalibrationFit) -> Vec<(f64, f64)> {
    [20.0, 60.0, 95.0, 130.0, 250.0]
        .into_iter()
        .map(|at| {
            let at = fit.curve.at(Celsius(at));
            (
                at.correction_c,
                at.standard_uncertainty_c
                    .expect("degrees of freedom to spare"),
            )
        })
        .collect()
}

fn assert_alike(a: &CalibrationFit, b: &CalibrationFit) {
    for ((correction_a, u_a), (correction_b, u_b)) in predictions(a).into_iter().zip(predictions(b))
    {
        assert!(
            (correction_a - correction_b).abs() < 1e-8,
            "{correction_a} {correction_b}"
        );
        assert!((u_a - u_b).abs() < 1e-7 * (1.0 + u_a), "{u_a} {u_b}");
    }
}

proptest! {
    #[test]
    fn shifting_the_origin_changes_nothing(
        points in standards(false), degree in 0..=2usize, origin_c in -200.0..400.0f64,
    ) {
        assert_alike(&fit(&points, degree, 100.0), &fit(&points, degree, origin_c));
    }

    #[test]
    fn the_order_of_the_standards_changes_nothing(
        (points, shuffled) in standards(true).prop_flat_map(|points| (Just(points.clone()), Just(points).prop_shuffle())),
        degree in 0..=2usize,
    ) {
        assert_alike(&fit(&points, degree, 100.0), &fit(&shuffled, degree, 100.0));
    }

    #[test]
    fn an_equal_copy_halves_the_variances(points in standards(true), degree in 0..=2usize) {
        // Stated uncertainties large enough that the scatter does not overrule them.
        let generous: Vec<StandardPoint> = points
            .into_iter()
            .map(|point| StandardPoint { reference_u_c: point.reference_u_c.map(|u| 20.0 * u), ..point })
            .collect();
        let once = fit(&generous, degree, 100.0);
        let twice = fit(&[generous.clone(), generous].concat(), degree, 100.0);
        prop_assert_eq!(once.curve.uncertainty_from, Some(UncertaintyFrom::Stated));
        for ((correction_a, u_a), (correction_b, u_b)) in predictions(&once).into_iter().zip(predictions(&twice)) {
            prop_assert!((correction_a - correction_b).abs() < 1e-8);
            prop_assert!((u_a * u_a / 2.0 / (u_b * u_b) - 1.0).abs() < 1e-6, "{} {}", u_a, u_b);
        }
    }

    #[test]
    fn equal_weights_are_no_weights(points in standards(false), degree in 0..=2usize) {
        let weighted: Vec<StandardPoint> = points
            .iter()
            .map(|point| StandardPoint { reference_u_c: Some(0.2), ..point.clone() })
            .collect();
        let (plain, weighted) = (fit(&points, degree, 100.0), fit(&weighted, degree, 100.0));
        for (a, b) in plain.curve.coefficients.iter().zip(&weighted.curve.coefficients) {
            prop_assert!((a - b).abs() < 1e-9 * (1.0 + a.abs()));
        }
        let (a, b) = (plain.curve.residual_sd_c.expect("known"), weighted.curve.residual_sd_c.expect("known"));
        prop_assert!((a - b).abs() < 1e-9);
    }

    /// To the last digits: the parser may round the last bit of a number the other way.
    #[test]
    fn what_is_printed_reads_back_the_same(points in standards(true), degree in 0..=2usize) {
        let printed = fit(&points, degree, 100.0);
        let text = serde_json::to_string(&printed.curve).expect("a curve is JSON");
        let curve: CorrectionCurve = serde_json::from_str(&text).expect("as printed");
        prop_assert_eq!(curve.convention, printed.curve.convention);
        prop_assert_eq!(curve.uncertainty_from, printed.curve.uncertainty_from);
        prop_assert_eq!(curve.degrees_of_freedom, printed.curve.degrees_of_freedom);
        assert_alike(&CalibrationFit { curve: curve.clone(), ..printed.clone() }, &printed);
        prop_assert!(Calibration::new(curve).is_ok());
    }

    /// The correction is in the result once: value − indicated is what the curve says there.
    #[test]
    fn a_calibration_is_applied_once(
        points in standards(true),
        runs in prop::collection::vec((60.0..61.0f64, 0.2..1.0f64), 1..5),
    ) {
        let calibration = Calibration::new(fit(&points, 1, 100.0).curve).expect("sound");
        let readings: Vec<TubeReading> = runs
            .iter()
            .enumerate()
            .map(|(run, (first_c, width_c))| TubeReading {
                run: run.to_string(),
                tube: "1".into(),
                first_liquid: Indicated::new(Celsius(*first_c), 0.05).expect("sound"),
                last_crystal: Indicated::new(Celsius(first_c + width_c), 0.05).expect("sound"),
            })
            .collect();
        let options = DeterminationOptions {
            correction: Correction::Calibration(&calibration),
            monte_carlo: None,
            ..DeterminationOptions::default()
        };
        let with = determine(&readings, options).expect("sound");
        let without = determine(&readings, DeterminationOptions { correction: Correction::None, ..options }).expect("sound");
        for (with, without) in [(&with.first_liquid, &without.first_liquid), (&with.last_crystal, &without.last_crystal)] {
            let at = calibration.curve().at(Celsius(without.value_c));
            prop_assert!((with.value_c - without.value_c - at.correction_c).abs() < 1e-9);
            prop_assert!(with.standard_uncertainty_c > at.standard_uncertainty_c.expect("known"));
        }
    }
}
