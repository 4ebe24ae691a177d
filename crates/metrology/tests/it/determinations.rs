//! Determinations from readings; expected numbers worked out by hand beside each.

use meltrange_metrology::{
    Calibration, Convention, Correction, CorrectionCurve, Decision, DecisionRule, Determination,
    DeterminationOptions, EmergentStem, Indicated, Lag, OutlierTest, Repeatability, RequiredRange,
    ResultEnd, Source, StatedFrom, Thermometer, ThermometricLiquid, TubeReading,
    check_specification, determine, student_t,
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

fn calibration(correction_c: f64, convention: Convention, read_at: Option<f64>) -> Calibration {
    Calibration::new(CorrectionCurve {
        degree: 0,
        origin_c: 100.0,
        coefficients: vec![correction_c],
        standard_uncertainties: Some(vec![0.1]),
        covariance: Some(vec![vec![0.01]]),
        residual_sd_c: None,
        degrees_of_freedom: 0,
        valid_from_c: 50.0,
        valid_to_c: 200.0,
        uncertainty_from: None,
        convention,
        read_at_c_per_min: read_at,
    })
    .expect("a sound curve")
}

/// Runs of two benches: each is corrected by its own calibration, agreement is judged on what is
/// corrected, and two calibrations with u = 0.1 each leave 0.1/√2 (GUM 5.1.2 with weights ½).
#[test]
fn runs_of_two_benches_are_corrected_each_by_its_own() {
    let [low, high] =
        [0.9, -0.1].map(|correction| calibration(correction, Convention::Thermodynamic, None));
    let by_run = [
        ("1", Correction::Calibration(&low)),
        ("2", Correction::Calibration(&high)),
    ];
    let options = DeterminationOptions {
        by_run: &by_run,
        ..DeterminationOptions::default()
    };
    let readings = runs(&[(121.0, 121.9), (122.1, 122.9)]);
    let found = determine(&readings, options).expect("one convention");
    assert!(found.agreed, "121.9 and 122.0 °C at the first liquid");
    assert!((found.first_liquid.value_c - 121.95).abs() < 1e-9);
    assert!((found.spread_c - 0.1).abs() < 1e-9);
    let of_calibrations: f64 = found
        .first_liquid
        .budget
        .iter()
        .filter(|line| line.source == Source::Calibration)
        .map(|line| line.contribution().powi(2))
        .sum();
    assert!((of_calibrations - 0.005).abs() < 1e-12);
    // As indicated they do not agree.
    assert!(!determined(&readings).agreed);
}

#[test]
fn runs_of_two_conventions_are_not_averaged() {
    let thermodynamic = calibration(0.5, Convention::Thermodynamic, None);
    let by_run = [("1", Correction::Calibration(&thermodynamic))];
    let options = DeterminationOptions {
        by_run: &by_run,
        ..DeterminationOptions::default()
    };
    let error = determine(&runs(&[(121.0, 121.9), (121.1, 121.9)]), options)
        .expect_err("one is corrected and one is not");
    let text = error.to_string();
    assert!(
        text.contains("run 2 would be uncorrected") && text.contains("\"thermodynamic\""),
        "{text}"
    );
}

/// What is written down covers at least what the draws cover: two runs leave one degree of freedom,
/// whose long tails the effective ones of Welch and Satterthwaite hide behind the readings'.
#[test]
fn the_wider_interval_is_written_down() {
    let readings: Vec<TubeReading> = [("1", 112.9, 113.6), ("2", 113.1, 113.8)]
        .into_iter()
        .map(|(run, first_c, last_c)| TubeReading {
            run: run.into(),
            tube: "1".into(),
            first_liquid: Indicated::new(Celsius(first_c), 0.1).expect("sound"),
            last_crystal: Indicated::new(Celsius(last_c), 0.05).expect("sound"),
        })
        .collect();
    let found = determined(&readings);
    let end = &found.first_liquid;
    let drawn = end.monte_carlo.expect("it was drawn");
    assert!(drawn.differs);
    assert_eq!(end.stated_from, StatedFrom::MonteCarlo);
    assert!(end.stated_expanded_uncertainty_c > 2.0 * end.expanded_uncertainty_c);
    assert!(
        found.notebook_text.contains("by Monte Carlo"),
        "{}",
        found.notebook_text
    );
    // Without draws, each component with its own factor: √((1.96 · 0.0707)² + (12.706 · 0.0707)²).
    let options = DeterminationOptions {
        monte_carlo: None,
        ..DeterminationOptions::default()
    };
    let undrawn = determine(&readings, options).expect("sound").first_liquid;
    assert_eq!(undrawn.stated_from, StatedFrom::EachComponent);
    let expected = 0.005f64.sqrt() * student_t(1.0, 0.95).hypot(student_t(f64::INFINITY, 0.95));
    assert!((undrawn.stated_expanded_uncertainty_c - expected).abs() < 1e-3);
    // It is the safe side of the draws.
    assert!(undrawn.stated_expanded_uncertainty_c >= 0.98 * end.stated_expanded_uncertainty_c);
}

/// Rectangular within ±2.2 (√β − √β₀) for the rate, ±τ |β − β₀| for the lag (laws: docs/models/physics.md).
#[test]
fn another_heating_rate_than_that_of_the_standards_is_paid_for() {
    let calibration = calibration(0.5, Convention::Thermodynamic, Some(1.0));
    let of = |rate: f64, source: Source| {
        let rates = [("1", rate), ("2", rate)];
        let options = DeterminationOptions {
            correction: Correction::Calibration(&calibration),
            rates: &rates,
            lag: Some(Lag {
                seconds: 6.0,
                standard_uncertainty_s: 0.0,
            }),
            ..DeterminationOptions::default()
        };
        let found = determine(&runs(&[(121.0, 121.9), (121.1, 121.9)]), options).expect("sound");
        found
            .first_liquid
            .budget
            .iter()
            .find(|line| line.source == source)
            .expect("there is a line")
            .contribution()
    };
    assert!(of(1.0, Source::Rate).abs() < 1e-12);
    assert!(of(1.0, Source::Lag).abs() < 1e-12);
    assert!((of(4.0, Source::Rate) - 2.2 / 3f64.sqrt()).abs() < 1e-9);
    assert!((of(2.0, Source::Lag) - 0.1 / 3f64.sqrt()).abs() < 1e-9);
}

/// 122.37 + 1.45 √β, as in tests/published/zero_rate.rs, by runs of a determination.
#[test]
fn runs_at_several_rates_give_both_ends_at_zero_rate() {
    let rates = [("1", 1.0), ("2", 4.0)];
    let options = DeterminationOptions {
        rates: &rates,
        ..DeterminationOptions::default()
    };
    let found = determine(&runs(&[(123.32, 123.82), (124.77, 125.27)]), options).expect("sound");
    assert!(has(&found, "rates_differ"));
    let at_zero = found.zero_rate.expect("two rates");
    assert!((at_zero.last_crystal.root.temperature.0 - 122.37).abs() < 1e-9);
    assert!((at_zero.first_liquid.root.temperature.0 - 121.87).abs() < 1e-9);
    assert!(determined(&runs(&[(123.32, 123.82)])).zero_rate.is_none());
    let bad = [("1", -1.0)];
    let options = DeterminationOptions {
        rates: &bad,
        ..DeterminationOptions::default()
    };
    assert!(determine(&runs(&[(123.32, 123.82)]), options).is_err());
}

/// What is kept in a book comes back as it was, infinite degrees of freedom included.
#[test]
fn a_result_survives_being_written_down() {
    let found = determined(&runs(&[(121.5, 122.3), (121.7, 122.5)]));
    let text = serde_json::to_string(&found).expect("finite");
    let back: Determination = serde_json::from_str(&text).expect("it was written by the program");
    assert_eq!(serde_json::to_string(&back).expect("finite"), text);
    assert!(
        back.first_liquid
            .budget
            .iter()
            .any(|line| line.degrees_of_freedom.is_infinite())
    );
}

/// One bench or two: rate and lag are of the same sample with the same sign, so their half-widths are averaged
/// over the runs and do not shrink with the number of benches.
#[test]
fn rate_and_lag_do_not_average_out_over_benches() {
    let [one, other] = [0.5, 0.6].map(|c| calibration(c, Convention::Thermodynamic, Some(1.0)));
    let rates = [("1", 4.0), ("2", 4.0)];
    let lines = |second: &Calibration| {
        let by_run = [
            ("1", Correction::Calibration(&one)),
            ("2", Correction::Calibration(second)),
        ];
        let options = DeterminationOptions {
            by_run: &by_run,
            rates: &rates,
            lag: Some(Lag {
                seconds: 6.0,
                standard_uncertainty_s: 0.0,
            }),
            ..DeterminationOptions::default()
        };
        let found = determine(&runs(&[(121.0, 121.9), (121.0, 121.9)]), options).expect("sound");
        [Source::Rate, Source::Lag].map(|source| {
            let of_source = found
                .first_liquid
                .budget
                .iter()
                .filter(|line| line.source == source);
            of_source
                .map(|line| line.contribution().powi(2))
                .sum::<f64>()
                .sqrt()
        })
    };
    let (same, two) = (lines(&one), lines(&other));
    assert!((same[0] - 2.2 / 3f64.sqrt()).abs() < 1e-9);
    assert!((same[1] - 0.3 / 3f64.sqrt()).abs() < 1e-9);
    for (same, two) in same.iter().zip(two) {
        assert!((same - two).abs() < 1e-12, "{same} and {two}");
    }
}

/// A guard band is no narrower than the interval that is written down beside it: at 95 % two-sided both are one.
#[test]
fn decisions_take_the_interval_that_is_written_down() {
    let readings: Vec<TubeReading> = [("1", 112.9, 113.6), ("2", 113.1, 113.8)]
        .into_iter()
        .map(|(run, first_c, last_c)| TubeReading {
            run: run.into(),
            tube: "1".into(),
            first_liquid: Indicated::new(Celsius(first_c), 0.1).expect("sound"),
            last_crystal: Indicated::new(Celsius(last_c), 0.05).expect("sound"),
        })
        .collect();
    let found = determined(&readings);
    let end = &found.first_liquid;
    assert_ne!(end.stated_from, StatedFrom::FirstOrder);
    let guarded = |probability| {
        let required = RequiredRange {
            lower_c: 112.5,
            upper_c: 120.0,
        };
        check_specification(
            end.to_decide_on(),
            found.last_crystal.to_decide_on(),
            required,
            DecisionRule::Guarded { probability },
        )
        .expect("in order")
    };
    let check = guarded(0.975);
    assert!((check.guard_lower_c - end.stated_expanded_uncertainty_c).abs() < 1e-9);
    // 0.5 °C above the limit, within the stated interval; by first order, ± 0.25 °C, it would meet.
    assert_eq!(check.decision, Decision::CannotBeDecided);
    assert!(end.expanded_uncertainty_c < 0.5);
}
