//! Determinations from readings; expected numbers worked out by hand beside each.

use meltrange_metrology::{
    Correction, Decision, DecisionRule, Determination, DeterminationOptions, EmergentStem,
    Indicated, OutlierTest, Repeatability, RequiredRange, ResultEnd, Thermometer,
    ThermometricLiquid, TubeReading, check_specification, determine, student_t,
};
use meltrange_physics::Celsius;

fn reading(run: &str, tube: &str, first_c: f64, last_c: f64) -> TubeReading {
    TubeReading {
        run: run.into(),
        tube: tube.into(),
        first_liquid: Indicated::new(Celsius(first_c), 0.0).expect("sound"),
        last_crystal: Indicated::new(Celsius(last_c), 0.0).expect("sound"),
    }
}

fn runs(values: &[(f64, f64)]) -> Vec<TubeReading> {
    values
        .iter()
        .zip(1..)
        .map(|(&(first_c, last_c), run)| reading(&run.to_string(), "1", first_c, last_c))
        .collect()
}

fn has(found: &Determination, kind: &str) -> bool {
    found.remarks.iter().any(|remark| remark.kind == kind)
}

fn determined(readings: &[TubeReading]) -> Determination {
    determine(readings, DeterminationOptions::default()).expect("sound readings")
}

/// GUM, 4.2: two means 0.2 apart have s = 0.2/√2, u = s/√2 = 0.1, one degree of freedom, t95 = 12.706.
#[test]
fn two_runs_by_hand() {
    let found = determined(&runs(&[(121.5, 122.3), (121.7, 122.5)]));
    assert!(found.agreed);
    assert_eq!(found.further_runs_needed, 0);
    assert_eq!(found.runs_used, ["1", "2"]);
    assert!((found.first_liquid.value_c - 121.6).abs() < 1e-9);
    assert!((found.first_liquid.standard_uncertainty_c - 0.1).abs() < 1e-9);
    // Part of the variance is that of the step of 0.1 °C, 0.1²/12/2, taken as known:
    // ν = 0.1⁴/((0.01 − 0.000417)²/1) = 1.09.
    let effective = found
        .first_liquid
        .effective_degrees_of_freedom
        .expect("finite");
    assert!(
        (effective - 1e-4 / (0.01f64 - 0.01 / 24.0).powi(2)).abs() < 1e-6,
        "{effective}"
    );
    assert!((found.first_liquid.coverage_factor - student_t(effective, 0.95)).abs() < 1e-12);
    assert!((found.spread_c - 0.2).abs() < 1e-9);
    assert!((found.width_c - 0.8).abs() < 1e-9);
    assert_eq!(found.range_text, "121.6–122.4 °C");
    assert!(has(&found, "uncorrected"));
}

/// Tubes of one run are no repeats: three tubes of one run are one run, averaged.
#[test]
fn tubes_of_a_run_are_averaged_first() {
    let one = [("1", 121.3), ("2", 121.5), ("3", 121.7)]
        .map(|(tube, first_c)| reading("7", tube, first_c, 122.5));
    let found = determined(&one);
    assert!(!found.agreed);
    assert_eq!(found.further_runs_needed, 1);
    assert!((found.first_liquid.value_c - 121.5).abs() < 1e-9);
    assert!(has(&found, "one_run"));
    // Limit 0.5 °C over 2.8.
    assert!((found.first_liquid.standard_uncertainty_c - 0.5 / 2.8).abs() < 1e-9);
    // A run of three tubes counts as much as a run of one.
    let mut two = one.to_vec();
    two.push(reading("8", "1", 121.9, 122.5));
    let found = determined(&two);
    assert!(found.agreed);
    assert!((found.first_liquid.value_c - 121.7).abs() < 1e-9);
}

#[test]
fn runs_that_do_not_agree_give_a_provisional_mean() {
    let found = determined(&runs(&[(121.0, 122.3), (121.7, 122.5)]));
    assert!(!found.agreed);
    assert!(
        (1..=5).contains(&found.further_runs_needed),
        "{}",
        found.further_runs_needed
    );
    assert_eq!(found.runs_used, ["1", "2"]);
    assert!((found.first_liquid.value_c - 121.35).abs() < 1e-9);
    assert!(
        found
            .remarks
            .iter()
            .any(|remark| remark.kind == "not_agreed")
    );
    // A wider limit, if somebody answers for it.
    let options = DeterminationOptions {
        agree_within_c: 1.0,
        ..DeterminationOptions::default()
    };
    assert!(
        determine(&runs(&[(121.0, 122.3), (121.7, 122.5)]), options)
            .expect("sound")
            .agreed
    );
}

#[test]
fn a_run_far_off_is_named_and_left_out() {
    let found = determined(&runs(&[
        (119.0, 121.0),
        (121.6, 122.4),
        (121.7, 122.5),
        (121.6, 122.4),
        (121.5, 122.4),
    ]));
    assert!(found.agreed);
    assert_eq!(found.runs_used, ["2", "3", "4", "5"]);
    assert!(
        found
            .outliers
            .iter()
            .all(|outlier| outlier.run == "1" && !outlier.used)
    );
    for test in [OutlierTest::Grubbs, OutlierTest::AgreementLimit] {
        assert!(
            found.outliers.iter().any(|outlier| outlier.test == test),
            "{test:?}"
        );
    }
}

#[test]
fn a_step_of_rounding_is_no_outlier() {
    let found = determined(&runs(&[
        (121.6, 122.4),
        (121.6, 122.4),
        (121.6, 122.4),
        (121.7, 122.4),
    ]));
    assert_eq!(found.outliers, []);
    assert_eq!(found.trends, []);
    // All last crystals alike promise no more than the step of the readings: 0.1/√12/√4. 0.2 is the
    // coarsest step that 122.4 fits.
    let u = found.last_crystal.standard_uncertainty_c;
    assert!((u - 0.2 / 12f64.sqrt() / 2.0).abs() < 1e-9, "{u}");
}

#[test]
fn a_drift_with_run_order_is_flagged() {
    let found = determined(&runs(&[
        (120.0, 121.0),
        (120.6, 121.4),
        (121.2, 121.9),
        (121.8, 122.4),
    ]));
    assert!(!found.agreed);
    assert_eq!(found.trends.len(), 2);
    assert!((found.trends[0].per_run_c - 0.60).abs() < 1e-9);
    assert!(found.remarks.iter().any(|remark| remark.kind == "trend"));
}

/// With a repeatability known from many runs, two runs need no factor of 12.7: u = 0.15/√2, k = 1.96.
#[test]
fn known_repeatability_makes_small_factors() {
    let options = DeterminationOptions {
        repeatability: Some(Repeatability {
            standard_deviation_c: 0.15,
            degrees_of_freedom: f64::INFINITY,
        }),
        ..DeterminationOptions::default()
    };
    let found = determine(&runs(&[(121.5, 122.3), (121.7, 122.5)]), options).expect("sound");
    assert!((found.first_liquid.standard_uncertainty_c - 0.15 / 2f64.sqrt()).abs() < 1e-9);
    assert!((found.first_liquid.coverage_factor - 1.96).abs() < 1e-3);
    let check = found.first_liquid.monte_carlo.expect("done by default");
    assert!(!check.differs, "{check:?}");
}

/// 80 degrees emerging at 30 °C: 1.19 °C at 122 °C (formula of NBS Monograph 150; value by hand, C).
#[test]
fn a_stem_is_corrected_without_a_calibration() {
    let stem = EmergentStem {
        length_c: 80.0,
        mean: Celsius(30.0),
        mean_u_c: 5.0,
    };
    let options = DeterminationOptions {
        correction: Correction::Stem(
            Thermometer::TotalImmersion(ThermometricLiquid::Mercury),
            stem,
        ),
        ..DeterminationOptions::default()
    };
    let found = determine(&runs(&[(122.0, 122.0), (122.0, 122.0)]), options).expect("sound");
    assert!((found.first_liquid.correction_c - 1.1929).abs() < 1e-4);
    assert!(found.corrected);
    assert!(has(&found, "convention_not_stated"));
}

#[test]
fn contradicting_readings_are_refused() {
    for readings in [
        vec![],
        vec![reading("1", "1", 122.5, 121.5)],
        vec![
            reading("1", "1", 121.5, 122.5),
            reading("1", "1", 121.6, 122.5),
        ],
    ] {
        assert!(determine(&readings, DeterminationOptions::default()).is_err());
    }
    for agree_within_c in [0.0, -0.5, f64::NAN, f64::INFINITY] {
        let options = DeterminationOptions {
            agree_within_c,
            ..DeterminationOptions::default()
        };
        assert!(
            determine(&runs(&[(121.5, 122.5)]), options).is_err(),
            "{agree_within_c}"
        );
    }
}

/// JCGM 106:2012, 7: at the limit the probability of conformity is one half; 1.645 u inside it, 0.95 (normal).
#[test]
fn a_required_range_is_met_missed_or_open() {
    let end = |value_c| ResultEnd {
        value_c,
        standard_uncertainty_c: 0.2,
        degrees_of_freedom: f64::INFINITY,
    };
    let required = RequiredRange {
        lower_c: 121.0,
        upper_c: 123.0,
    };
    let guarded = DecisionRule::Guarded { probability: 0.95 };
    for (first_c, last_c, rule, expected) in [
        (121.5, 122.5, guarded, Decision::Meets),
        (121.2, 122.5, guarded, Decision::CannotBeDecided),
        (120.8, 122.5, guarded, Decision::CannotBeDecided),
        (120.6, 122.5, guarded, Decision::DoesNotMeet),
        (121.5, 123.4, guarded, Decision::DoesNotMeet),
        (
            121.2,
            122.5,
            DecisionRule::SimpleAcceptance,
            Decision::Meets,
        ),
        (
            120.9,
            122.5,
            DecisionRule::SimpleAcceptance,
            Decision::DoesNotMeet,
        ),
    ] {
        let found = check_specification(end(first_c), end(last_c), required, rule).expect("sound");
        assert_eq!(found.decision, expected, "{first_c} {last_c} {rule:?}");
    }
    let found = check_specification(end(121.0), end(123.0 - 1.644_85 * 0.2), required, guarded)
        .expect("sound");
    assert!((found.probability_lower - 0.5).abs() < 1e-9);
    assert!((found.probability_upper - 0.95).abs() < 1e-5);
    assert!((found.guard_upper_c - 1.644_85 * 0.2).abs() < 1e-5);
    let turned = RequiredRange {
        lower_c: 123.0,
        upper_c: 121.0,
    };
    assert!(check_specification(end(121.0), end(122.0), turned, guarded).is_err());
}
