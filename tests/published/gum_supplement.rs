//! JCGM 101:2008 (GUM, supplement 1), clause 9.2: an additive model by Monte Carlo.
//!
//! Published intervals M; exact ones computed independently (C), which is what is asked for here.
//! An end of a 95 % interval from 1,000,000 draws has a standard error of √(p q/n)/f ≈ 0.006 standard
//! deviations for a normal result; tolerances are four of them.

use meltrange_metrology::{
    Component, DegreesOfFreedomRule, Distribution, Interval, MonteCarloOptions, Source, combine,
    numerical_tolerance, propagate,
};

fn budget(shapes: &[(Distribution, f64)]) -> Vec<Component> {
    shapes
        .iter()
        .map(|&(distribution, standard_uncertainty)| Component {
            source: Source::Other,
            text: String::new(),
            standard_uncertainty,
            sensitivity: 1.0,
            degrees_of_freedom: f64::INFINITY,
            distribution,
        })
        .collect()
}

/// Clauses 9.2.2 to 9.2.4: normal ±3.92; four rectangular ±3.88 where first order says ±3.92; one of
/// them ten times as wide ±17.0 where first order says ±19.9.
#[test]
fn additive_model() {
    let (normal, rectangular) = (Distribution::Normal, Distribution::Rectangular);
    let cases = [
        (vec![(normal, 1.0); 4], 2.0, 3.92, 3.919_928, 0.05),
        (vec![(rectangular, 1.0); 4], 2.0, 3.92, 3.879_407, 0.05),
        (
            [vec![(rectangular, 1.0); 3], vec![(rectangular, 10.0)]].concat(),
            103f64.sqrt(),
            19.891,
            17.015_814,
            0.05,
        ),
    ];
    for (shapes, u, first_order, exact, tolerance) in cases {
        let budget = budget(&shapes);
        let combined = combine(&budget, 0.95, DegreesOfFreedomRule::AsTheyCome);
        assert!((combined.standard_uncertainty - u).abs() < 1e-12);
        assert!((combined.expanded_uncertainty - first_order).abs() < 0.001);
        for interval in [Interval::Symmetric, Interval::Shortest] {
            let options = MonteCarloOptions {
                draws: 1_000_000,
                interval,
                ..MonteCarloOptions::default()
            };
            let found = propagate(0.0, &budget, options);
            // The shortest interval of a flat-topped density may slide, so its length is what counts.
            let half = (found.high - found.low) / 2.0;
            assert!(
                (half - exact).abs() < tolerance,
                "{interval:?}: {half}, {exact}"
            );
            if interval == Interval::Symmetric {
                assert!((found.low + exact).abs() < tolerance, "{}", found.low);
                assert!((found.high - exact).abs() < tolerance, "{}", found.high);
            }
            assert!((found.standard_deviation - u).abs() < 0.01 * u);
        }
    }
}

/// First order and Monte Carlo are told apart by more than the tolerance in the third case only
/// because the widest input is rectangular (S1 9.2.4); in the first they are not (9.2.2).
#[test]
fn tolerance_parts_what_differs() {
    for (shapes, differs) in [
        (vec![(Distribution::Normal, 1.0); 4], false),
        (
            vec![
                (Distribution::Rectangular, 10.0),
                (Distribution::Rectangular, 1.0),
            ],
            true,
        ),
    ] {
        let budget = budget(&shapes);
        let combined = combine(&budget, 0.95, DegreesOfFreedomRule::AsTheyCome);
        let options = MonteCarloOptions {
            draws: 1_000_000,
            ..MonteCarloOptions::default()
        };
        let found = propagate(0.0, &budget, options);
        let off = (found.high - combined.expanded_uncertainty).abs();
        let tolerance = numerical_tolerance(combined.standard_uncertainty);
        assert_eq!(off > tolerance, differs, "{off} beside {tolerance}");
    }
}

/// Clause 7.9.2: u = c·10^l with c of two digits has the tolerance ½·10^l; u = 0.0041 gives 0.00005.
#[test]
fn numerical_tolerance_of_two_digits() {
    for (u, expected) in [
        (0.0041, 0.000_05),
        (2.0, 0.05),
        (10.149, 0.5),
        (0.0996, 0.005),
    ] {
        let found = numerical_tolerance(u);
        assert!((found / expected - 1.0).abs() < 1e-9, "{u}: {found}");
    }
}
